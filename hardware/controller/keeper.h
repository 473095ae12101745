/* The keeper's rules: what it takes, when it lights, why it goes dark. docs/protocol.md is the contract. */
#pragma once
#include "clock.h"

void keeper_start(void);
void keeper_turn(ticks_t now); /* once around the main loop */

/* All of the keeper, put together. */
#pragma once
#include "clock.h"

void keeper_start(void);
void keeper_turn(ticks_t now); /* once around the main loop */

/* The footswitch's contact. Its edges are noted in an interrupt, with their time, and told to the rules in foot.c in their
 * order, from the main loop. */
#pragma once
#include "clock.h"

void contact_start(void);
/* Once around the main loop: foot.c now knows all edges up to the time that is returned, those of the lamp's line too. */
ticks_t contact_turn(void);

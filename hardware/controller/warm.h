/* How much sooner a lamp comes up that was on not long ago (docs/protocol.md, "Warm lamps"). Pure. */
#pragma once
#include "clock.h"

/* less exp(-x) / sqrt(1 + 64 x), x = rested / recovery, rested at least 0.2 s: in integers, within 0.2 ms of it
 * (tests/hil/test_warm.py). less up to 1 s, recovery up to 30 s; either 0: nothing. */
uint32_t warm_cut(uint32_t less_us, uint32_t recovery_us, ticks_t rested);

/* The first instructions after any reset, and the watchdog. */
#pragma once
#include "clock.h"
#include <stdbool.h>

#define WATCHDOG US(64000) /* nominal; its oscillator is a tenth off, or more */

bool reset_by_watchdog(void); /* as far as a boot loader has left word of it */

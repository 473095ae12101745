/* The lamp's line. Its off-edge is set up before its on-edge happens; nothing outside of here touches the pin. */
#pragma once
#include "clock.h"
#include <stdbool.h>

void lamp_start(void);             /* output, dark: the first thing after reset */
void lamp_light(ticks_t duration); /* on now, off after duration; call with interrupts off */
bool lamp_off(void);               /* off now; true if it was lit */
bool lamp_lit(void);
bool lamp_line_is_high(void);      /* as read back from the pin itself */
bool lamp_took_its_end(void);      /* once after it went off by its own end */
ticks_t lamp_on_at(void);
ticks_t lamp_off_at(void);
void lamp_view(bool on);           /* focus light: no end here, the keeper watches it */
void lamp_on_overflow(uint32_t high); /* from the clock, each 32.8 ms */

/* The lamp's line. Its off-edge is set up before its on-edge happens; nothing outside of here touches the pin. */
#pragma once
#include "clock.h"
#include <stdbool.h>

void lamp_start(void);          /* output, dark: the first thing after reset */
void lamp_on(ticks_t duration); /* on now and off after duration; if it is on already, off after duration from now */
void lamp_off_sooner(ticks_t at); /* its end is nearer than was said; nothing if it is off already */
bool lamp_off(void);            /* off now; false if it was off already, by its own end or by the sensor's */
bool lamp_lit(void);
bool lamp_line_is_right(void);       /* the pin reads what it should be */
ticks_t lamp_on_at(void);            /* of the last light */
ticks_t lamp_off_at(void);           /* of the last light, once it is off */
ticks_t lamp_edge_at(void);          /* the last edge of its line, either way; 0: none yet */

/* What the keeper tells of itself: events to the host, sounds to the printer. */
#pragma once
#include "clock.h"
#include "protocol.h"
#include <stdbool.h>

void tell_lit(uint64_t exposure, ticks_t on, uint32_t ordered_us, bool by_pedal);
void tell_dark(const exposure_record_t *given);
void tell_disarmed(uint64_t exposure, uint8_t why);
void tell_cue(uint64_t exposure, uint32_t at_us, uint8_t cue); /* heard too */
void tell_focus(uint64_t left_us, uint8_t why);
void tell_press(uint8_t press, ticks_t at);
void tell_fault(const char *text); /* in flash */

void sound(uint8_t cue);
void sound_start(void);
void sound_turn(ticks_t now); /* once around the main loop */

/* What light was given: kept in memory that a reset does not clear, so that the host can read it after a watchdog's reset,
 * a brown-out or a boot loader. Entries carry checksums: what did not survive is not known, and is never made up. */
#pragma once
#include "clock.h"
#include "protocol.h"
#include <stdbool.h>

void record_start(uint32_t counts); /* what the sensor had counted of a light that a reset broke off */
/* What a reset broke off: the exposure that was lit, its end as last seen; or 0. And the exposure that was armed; or 0. */
const exposure_record_t *record_broken_off(void);
uint64_t record_was_armed(void);

const exposure_record_t *record_find(uint64_t exposure); /* 0: it never began, as far as is known */
void record_armed(uint64_t exposure);                    /* 0: nothing is */
void record_begin(uint64_t exposure, uint32_t ordered_us); /* before its light, which is not to be longer than that */
void record_lit(ticks_t on, uint32_t ordered_us);
const exposure_record_t *record_end(ticks_t off, uint8_t why, uint32_t counts);
uint16_t record_next_event(void); /* events are numbered on through a reset: none is lost without a gap */
uint16_t record_last_event(void);

void record_alive(uint32_t now_low32, bool lit); /* from an interrupt, 9,615 times a second */
void record_turned(ticks_t now);                 /* the main loop is alive */

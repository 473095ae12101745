/* What is armed or lit, as it was ordered. */
#pragma once
#include "protocol.h"

typedef struct {
    uint64_t exposure;
    uint32_t on_us, less_us, recovery_us; /* as ordered */
    uint32_t ordered_us;                  /* as lit: less for a warm lamp */
    uint32_t target;                      /* of a dose; 0: by time */
    uint16_t half_us;
    uint8_t cues;
    cue_t cue[MAX_CUES];
} order_t;

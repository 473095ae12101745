/* Time since reset, from Timer 1 at 0.5 microseconds a tick: 48 bits of it are counted, which are 4.4 years with power. */
#pragma once
#include <stdint.h>

typedef uint64_t ticks_t;
#define TICKS_PER_US 2
#define US(n) ((ticks_t)(n) * TICKS_PER_US)

void clock_start(void);
ticks_t clock_now(void);    /* callable with interrupts on or off */
uint32_t clock_low32(void); /* its low half, for interrupts: only there, or with interrupts off */
uint32_t clock_overflow(void); /* one more, each 32.8 ms; how many there were: from the timer's interrupt */
static inline uint64_t ticks_to_us(ticks_t t) { return t / TICKS_PER_US; }

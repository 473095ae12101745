#include "clock.h"
#include <avr/io.h>
#include <stdbool.h>
#include <util/atomic.h>

static volatile uint32_t high; /* overflows of the 16-bit timer */

void clock_start(void)
{
    TCCR1A = 0;
    TCCR1B = _BV(CS11); /* 16 MHz / 8 */
    TIMSK1 = _BV(TOIE1);
}

/* Whether an overflow has happened by the time that TCNT1 read `low`, and has not been counted yet. */
static inline bool uncounted(uint16_t low) { return (TIFR1 & _BV(TOV1)) && low < 0x8000; }

ticks_t clock_now(void)
{
    uint32_t h;
    uint16_t low;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        h = high;
        low = TCNT1;
        if (uncounted(low))
            h++;
    }
    return ((ticks_t)h << 16) | low;
}

uint32_t clock_low32(void)
{
    uint16_t low = TCNT1, h = (uint16_t)high;
    if (uncounted(low))
        h++;
    return ((uint32_t)h << 16) | low;
}

uint32_t clock_overflow(void) { return ++high; }

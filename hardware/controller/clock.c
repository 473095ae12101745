#include "clock.h"
#include "lamp.h"
#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>

static volatile uint32_t high; /* overflows of the 16-bit timer */

void clock_start(void)
{
    TCCR1A = 0;
    TCCR1B = _BV(CS11); /* 16 MHz / 8 */
    TIMSK1 = _BV(TOIE1);
}

ticks_t clock_now(void)
{
    uint32_t h;
    uint16_t low;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        h = high;
        low = TCNT1;
        /* An overflow that has happened and not been counted yet. */
        if ((TIFR1 & _BV(TOV1)) && low < 0x8000)
            h++;
    }
    return ((ticks_t)h << 16) | low;
}

ISR(TIMER1_OVF_vect)
{
    high++;
    lamp_overflow(high);
}

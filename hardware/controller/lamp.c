#include "lamp.h"
#include "board.h"
#include <avr/interrupt.h>
#include <util/atomic.h>

/* The compare interrupt comes this much early and waits out the rest itself, so that it does not matter what other
 * interrupt it had to wait for. */
#define LEAD ((uint16_t)(40 * TICKS_PER_US))
/* Ticks from reading the clock to the pin, less the same at the other end: measured in the simulator. */
#define TRIM (-10)

static volatile bool lit, took_end;
static ticks_t on_at, off_at;
static uint32_t early_high; /* overflow count in which the compare is due */
static uint16_t early_low, off_low;

static inline void pin(bool on)
{
    if (on)
        LAMP_PORT |= _BV(LAMP_BIT);
    else
        LAMP_PORT &= (uint8_t)~_BV(LAMP_BIT);
}

void lamp_start(void)
{
    pin(false);
    LAMP_DDR |= _BV(LAMP_BIT);
}

/* The last stretch, with interrupts off: wait for the tick and switch. */
static void finish(void)
{
    while ((int16_t)(TCNT1 - off_low) < 0)
        ;
    pin(false);
    lit = false;
    took_end = true;
    TIMSK1 &= (uint8_t)~_BV(OCIE1A);
}

static void arm_compare(void)
{
    OCR1A = early_low;
    TIFR1 = _BV(OCF1A);
    TIMSK1 |= _BV(OCIE1A);
    if (TCNT1 >= early_low) /* both in this overflow of the timer */
        finish();
}

void lamp_light(ticks_t duration)
{
    ticks_t now = clock_now();
    pin(true);
    on_at = now;
    off_at = now + duration;
    off_low = (uint16_t)off_at - TRIM;
    ticks_t early = off_at - TRIM;
    early = duration > 2 * LEAD ? early - LEAD : now;
    early_high = (uint32_t)(early >> 16);
    early_low = (uint16_t)early;
    lit = true;
    took_end = false;
    if (early_high == (uint32_t)(clock_now() >> 16))
        arm_compare();
}

void lamp_on_overflow(uint32_t h)
{
    if (lit && h == early_high)
        arm_compare();
}

ISR(TIMER1_COMPA_vect)
{
    if (lit)
        finish();
}

bool lamp_off(void)
{
    bool was;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        ticks_t now = clock_now(); /* read before the pin moves, as at the other edge: what both are late by cancels */
        pin(false);
        TIMSK1 &= (uint8_t)~_BV(OCIE1A);
        was = lit;
        if (was) {
            off_at = now;
            lit = false;
        }
    }
    return was;
}

bool lamp_lit(void) { return lit; }
bool lamp_line_is_high(void) { return LAMP_PIN & _BV(LAMP_BIT); }

bool lamp_took_its_end(void)
{
    bool took;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        took = took_end;
        took_end = false;
    }
    return took;
}

ticks_t lamp_on_at(void) { return on_at; }
ticks_t lamp_off_at(void) { return off_at; }
void lamp_view(bool on) { pin(on); }

#include "lamp.h"
#include "board.h"
#include <avr/interrupt.h>
#include <util/atomic.h>

/* The compare interrupt comes this much early and waits out the rest itself, so that it does not matter what other
 * interrupts it had to wait for. */
#define LEAD ((uint16_t)US(40))
/* Ticks from reading the clock to the pin, less the same at the other end: measured in the simulator. */
#define TRIM (-10)
/* More ticks than the last look at the clock takes: the end was missed, by whatever held this up. */
#define MISSED ((uint16_t)US(4))

static volatile bool lit;
static ticks_t on_at, off_at;
static uint32_t early_high; /* overflow count in which the compare is due */
static uint16_t early_low, off_low;
static uint16_t laps_left; /* overflows until light is certainly over */

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

/* With interrupts off: it went dark at the tick `at`. */
static void went_dark(ticks_t at)
{
    TIMSK1 &= (uint8_t)~_BV(OCIE1A);
    lit = false;
    off_at = at;
}

/* The last stretch, with interrupts off: wait for the tick and switch. */
static void finish(void)
{
    uint16_t over;
    do
        over = TCNT1 - off_low;
    while ((int16_t)over < 0);
    pin(false);
    went_dark(over > MISSED ? off_at + over : off_at);
}

static void arm_compare(void)
{
    OCR1A = early_low;
    TIFR1 = _BV(OCF1A);
    TIMSK1 |= _BV(OCIE1A);
    if (TCNT1 >= early_low) /* both in this overflow of the timer */
        finish();
}

/* With interrupts off: off at the tick `at`, which is `ahead` from now or from a little before. */
static void set_end(ticks_t at, ticks_t ahead)
{
    TIMSK1 &= (uint8_t)~_BV(OCIE1A);
    off_at = at;
    at -= TRIM;
    off_low = (uint16_t)at;
    at -= ahead > 2 * LEAD ? LEAD : ahead;
    early_high = (uint32_t)(at >> 16);
    early_low = (uint16_t)at;
    laps_left = (uint16_t)(ahead >> 16) + 2;
    uint32_t high = (uint32_t)(clock_now() >> 16);
    if (early_high == high)
        arm_compare();
    else if (early_high < high) /* the timer has gone over meanwhile */
        finish();
}

void lamp_on(ticks_t duration)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        ticks_t now = clock_now();
        pin(true);
        if (!lit)
            on_at = now;
        lit = true;
        set_end(now + duration, duration);
    }
}

void lamp_off_sooner(ticks_t at)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        ticks_t now = clock_now();
        if (lit && at < off_at)
            set_end(at, at > now ? at - now : 0);
    }
}

/* Each 32.8 ms. */
ISR(TIMER1_OVF_vect)
{
    uint32_t high = clock_overflow();
    LAMP_DDR |= _BV(LAMP_BIT);
    if (!lit)
        pin(false);
    else if (high == early_high)
        arm_compare();
    else if (!--laps_left) { /* should never come to this: the compare has missed its lap */
        pin(false);
        went_dark((ticks_t)high << 16);
    }
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
        was = lit;
        if (was)
            went_dark(now);
    }
    return was;
}

bool lamp_lit(void) { return lit; }

bool lamp_line_is_right(void)
{
    bool right;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { right = !(LAMP_PIN & _BV(LAMP_BIT)) == !lit; }
    return right;
}

ticks_t lamp_on_at(void) { return on_at; }
ticks_t lamp_off_at(void) { return off_at; }

ticks_t lamp_edge_at(void)
{
    ticks_t at;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { at = lit ? on_at : off_at; }
    return at;
}

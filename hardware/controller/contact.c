#include "contact.h"
#include "board.h"
#include "foot.h"
#include <avr/interrupt.h>
#include <stdbool.h>
#include <util/atomic.h>
#include <util/delay.h>

/* Edges taken in one turn of the main loop. A line that chatters faster is looked at once a turn: it must hold up neither
 * the off-edge nor the loop. */
#define MOST_EDGES 3

static uint8_t edges;

static bool is_closed(void) { return !(FOOT_PIN & _BV(FOOT_BIT)); }

ISR(INT0_vect)
{
    ticks_t now = clock_now();
    bool down = is_closed();
    if (down == foot_is_down())
        foot_edge(!down, now); /* it went and came back before it could be seen: both edges */
    foot_edge(down, now);
    if (++edges >= MOST_EDGES)
        EIMSK = 0;
}

void contact_turn(void)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        edges = 0;
        EIMSK = _BV(INT0); /* an edge meanwhile is waiting in its flag */
    }
}

void contact_start(void)
{
    FOOT_PORT |= _BV(FOOT_BIT);
    _delay_us(100); /* the pull-up against the cable */
    foot_start(is_closed(), clock_now());
    EICRA = _BV(ISC00); /* any edge */
    EIFR = _BV(INTF0);
    EIMSK = _BV(INT0);
}

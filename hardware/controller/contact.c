#include "contact.h"
#include "board.h"
#include "foot.h"
#include "lamp.h"
#include <avr/interrupt.h>
#include <stdbool.h>
#include <util/atomic.h>
#include <util/delay.h>

/* Edges noted in one turn of the main loop. Of a line that chatters faster the rest is one edge: it must hold up neither the
 * off-edge nor the loop. */
#define MAX_EDGES 8

static volatile struct {
    uint32_t at_low32;
    bool down;
} edges[MAX_EDGES];
static volatile uint8_t count;
static ticks_t lamp_edge;

static bool is_closed(void) { return !(FOOT_PIN & _BV(FOOT_BIT)); }

ISR(INT0_vect)
{
    uint8_t n = count;
    edges[n].at_low32 = clock_low32();
    edges[n].down = is_closed();
    count = ++n;
    if (n == MAX_EDGES)
        EIMSK = 0;
}

/* Edges of the lamp's own line, as far as they were before `at`. */
static void blank_until(ticks_t at)
{
    ticks_t edge = lamp_edge_at();
    if (edge != lamp_edge && edge <= at) {
        lamp_edge = edge;
        foot_blank(edge);
    }
}

static void note(bool down, ticks_t at)
{
    blank_until(at);
    if (down == foot_is_down())
        foot_edge(!down, at); /* it went and came back before it could be seen: both edges */
    foot_edge(down, at);
}

ticks_t contact_turn(void)
{
    for (uint8_t n = 0;; n++) {
        ticks_t now;
        uint32_t at_low32 = 0;
        bool more, down = false;
        ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
            now = clock_now();
            more = n < count;
            if (more) {
                at_low32 = edges[n].at_low32;
                down = edges[n].down;
            } else {
                count = 0;
                EIMSK = _BV(INT0); /* an edge meanwhile is waiting in its flag */
            }
        }
        if (!more) {
            blank_until(now);
            return now;
        }
        note(down, now - ((uint32_t)now - at_low32));
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

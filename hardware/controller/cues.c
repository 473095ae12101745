#include "cues.h"
#include "tell.h"
#include <stdbool.h>

static uint8_t next_cue; /* of the order's; as many as there are: none is left */
static uint32_t tick_at;

/* The soonest cue that is later than `at_us`, or as late and not before the n-th, in whatever order they were given;
 * order->cues: there is none. */
static uint8_t soonest(const order_t *order, uint32_t at_us, uint8_t n)
{
    uint8_t found = order->cues;
    uint32_t found_us = UINT32_MAX;
    const cue_t *cue = order->cue;
    for (uint8_t i = 0; i < order->cues; i++, cue++) {
        uint32_t us = cue->at_us;
        if (us < found_us && (us > at_us || (us == at_us && i >= n))) {
            found = i;
            found_us = us;
        }
    }
    return found;
}

void cues_begin(const order_t *order)
{
    next_cue = soonest(order, 0, 0);
    tick_at = SECOND_US;
}

/* A warm lamp has given any share of its light so much sooner: the given cues come as much sooner. */
static uint32_t early_us(const order_t *order) { return order->on_us - order->ordered_us; }

/* A tick each second, but none near enough to a given cue to hide it. */
static bool hidden(const order_t *order, uint32_t at)
{
    at += early_us(order);
    for (uint8_t n = 0; n < order->cues; n++) {
        uint32_t given = order->cue[n].at_us;
        if (given < order->on_us && (given > at ? given - at : at - given) <= NEAR_CUE_US)
            return true;
    }
    return false;
}

void cues_due(const order_t *order, uint32_t since_us)
{
    if (next_cue < order->cues && order->cue[next_cue].at_us <= since_us + early_us(order)) {
        const cue_t *cue = &order->cue[next_cue];
        if (cue->at_us < order->on_us)
            tell_cue(order->exposure, cue->at_us, cue->cue);
        next_cue = soonest(order, cue->at_us, next_cue + 1);
    } else if (tick_at <= since_us && tick_at < order->ordered_us) {
        if (!hidden(order, tick_at))
            tell_cue(order->exposure, tick_at, CUE_TICK);
        tick_at += SECOND_US;
    }
}

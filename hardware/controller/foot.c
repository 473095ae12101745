#include "foot.h"
#include "protocol.h"

static struct {
    bool down;
    bool candidate; /* this closure becomes a press if it lasts */
    bool pressed;   /* it did, and nobody has been told yet */
    bool holding;   /* it becomes a hold if it lasts */
    ticks_t since;    /* the last edge */
    ticks_t released; /* when a closure that lasted was last let go */
    ticks_t blanked;  /* the last edge of our own line */
    ticks_t held_from, pressed_at;
} foot;

void foot_start(bool down, ticks_t now)
{
    foot.down = down;
    foot.candidate = foot.pressed = foot.holding = false;
    foot.since = now;
    foot.released = now - US(FOOT_AGAIN_US); /* long ago; differences are modulo 2^64 */
    foot.blanked = now - US(FOOT_BLANK_US);
}

bool foot_is_down(void) { return foot.down; }

/* The closure in progress, if it has lasted: a press, whatever comes after it. */
static void ripen(ticks_t now)
{
    if (foot.candidate && now - foot.since >= US(FOOT_CLOSED_US)) {
        foot.candidate = false;
        foot.pressed = true;
        foot.pressed_at = foot.since + US(FOOT_CLOSED_US);
    }
}

void foot_edge(bool down, ticks_t at)
{
    if (down == foot.down)
        return;
    ripen(at);
    ticks_t lasted = at - foot.since;
    foot.down = down;
    foot.since = at;
    foot.candidate = false;
    if (!down) {
        /* A closure too short to be a press is no release either: bounces must not put off the press they belong to. */
        if (lasted >= US(FOOT_CLOSED_US))
            foot.released = at;
        return;
    }
    if (lasted >= US(FOOT_BOUNCE_US)) {
        foot.holding = true;
        foot.held_from = at;
    }
    foot.candidate = at - foot.released >= US(FOOT_AGAIN_US) && at - foot.blanked >= US(FOOT_BLANK_US);
}

void foot_blank(ticks_t at)
{
    ripen(at);
    foot.candidate = false;
    foot.blanked = at;
}

bool foot_pressed(ticks_t now, ticks_t *at)
{
    ripen(now);
    if (!foot.pressed)
        return false;
    foot.pressed = false;
    *at = foot.pressed_at;
    return true;
}

bool foot_held(ticks_t now)
{
    if (!foot.down || !foot.holding || now - foot.held_from < US(FOOT_HOLD_US))
        return false;
    foot.holding = false;
    return true;
}

void foot_never_hold(void) { foot.holding = false; }

#include "rules.h"
#include "contact.h"
#include "cues.h"
#include "foot.h"
#include "lamp.h"
#include "record.h"
#include "sensor.h"
#include "tell.h"
#include "warm.h"
#include <avr/pgmspace.h>

#define LINE_WRONG US(1000) /* how long the lamp's line may read wrong before it is a fault and no spike */

static order_t order;

/* The lamp's last light, whatever it was for: how warm it may be. */
static struct {
    bool known;
    ticks_t off;
    uint32_t lasted_us, cut_us;
} last;

/* Focus light not yet made up for by as much dark: what keeps lamp and negative warm. */
static struct {
    ticks_t at;
    uint32_t us;
} heat;

static uint8_t state;
static ticks_t heard_at, focus_warn_at, line_wrong_at;
static bool focus_warned, line_wrong;
static const char *fault_text; /* in flash; sticky: no light until reset */

static const char LINE_HIGH[] PROGMEM = "the lamp line is high and should be low: a short, or a wire in the wrong place";
static const char LINE_LOW[] PROGMEM = "the lamp line is low and should be high: a short to ground, or too much load";

uint8_t rules_state(void) { return state; }
order_t *rules_order(void) { return &order; }
void rules_heard(void) { heard_at = clock_now(); }

void rules_tell_fault(void)
{
    if (state == STATE_FAULT)
        tell_fault(fault_text);
}

void rules_tell_last(void)
{
    const exposure_record_t *broken = record_broken_off();
    uint64_t armed = record_was_armed();
    if (broken)
        tell_dark(broken);
    if (armed && !(broken && broken->exposure == armed))
        tell_disarmed(armed, WHY_FAULT);
}

/* ── light ─────────────────────────────────────────────────────────────── */

/* By how much less than for a cold lamp, for a light that began at `on`. */
static uint32_t cut_for_warmth(ticks_t on)
{
    if (!order.less_us || !last.known)
        return 0;
    uint32_t cut = warm_cut(order.less_us, order.recovery_us, on - last.off);
    uint32_t heated = last.lasted_us + last.cut_us; /* no filament is warmer than its heating */
    return cut < heated ? cut : heated;
}

/* Light first, with the end that a cold lamp would have; how warm it is takes a third of a millisecond to work out, and only
 * brings the end nearer. */
static void light(bool by_pedal)
{
    record_begin(order.exposure, order.on_us);
    sensor_count(order.target, order.half_us);
    lamp_on(US(order.on_us));
    ticks_t on = lamp_on_at();
    order.ordered_us = order.on_us - cut_for_warmth(on);
    lamp_off_sooner(on + US(order.ordered_us));
    record_lit(on, order.ordered_us);
    state = STATE_LIT;
    cues_begin(&order);
    tell_lit(order.exposure, on, order.ordered_us, by_pedal);
}

static void remember_warmth(uint32_t cut_us)
{
    last.known = true;
    last.off = lamp_off_at();
    last.lasted_us = (uint32_t)ticks_to_us(lamp_off_at() - lamp_on_at());
    last.cut_us = cut_us;
}

/* The lamp is off that was lit for an exposure; `why` if it was we who made it so. */
static void exposure_over(bool by_us, uint8_t why)
{
    if (!by_us)
        why = order.target && !sensor_reached() ? WHY_CEILING : WHY_COMPLETE;
    if (lamp_off_at() - lamp_on_at() > US(order.ordered_us) + US(LATE_US))
        why = WHY_LATE;
    state = STATE_IDLE;
    remember_warmth(order.on_us - order.ordered_us);
    tell_dark(record_end(lamp_off_at(), why, sensor_counts()));
    if (why == WHY_COMPLETE)
        sound(CUE_END);
}

static uint32_t heat_us(ticks_t now)
{
    uint64_t since = ticks_to_us(now - heat.at);
    if (state == STATE_FOCUS)
        return heat.us + (uint32_t)since;
    return since < heat.us ? heat.us - (uint32_t)since : 0;
}

static void focus_over(uint8_t why)
{
    heat.us = heat_us(lamp_off_at());
    heat.at = lamp_off_at();
    state = STATE_IDLE;
    remember_warmth(0);
    tell_focus(0, why);
}

void rules_dark(uint8_t why)
{
    bool by_us = lamp_off();
    switch (state) {
    case STATE_LIT: exposure_over(by_us, why); break;
    case STATE_FOCUS: focus_over(by_us ? why : WHY_TIME_UP); break;
    case STATE_ARMED:
        state = STATE_IDLE;
        record_armed(0);
        if (why != WHY_HALTED) /* the host knows what it asked for itself */
            tell_disarmed(order.exposure, why);
        break;
    }
}

static void fault(const char *text)
{
    fault_text = text;
    rules_dark(WHY_FAULT);
    state = STATE_FAULT;
    tell_fault(text);
}

/* ── what is asked ─────────────────────────────────────────────────────── */

uint8_t rules_refuse(uint64_t exposure, uint64_t on_us)
{
    if (state == STATE_FAULT)
        return REFUSED_FAULT;
    if (!exposure || !on_us)
        return REFUSED_BAD_BODY;
    if (on_us > CEILING_US)
        return REFUSED_OVER_CEILING;
    if (record_find(exposure))
        return REFUSED_ALREADY_GIVEN;
    if (state != STATE_IDLE && state != STATE_ARMED)
        return REFUSED_BUSY;
    return 0;
}

void rules_take(bool now)
{
    if (now)
        light(false);
    else {
        record_armed(order.exposure);
        state = STATE_ARMED;
    }
}

/* On for `limit_us`, or until lamp and negative are as warm as they may be. False: they are. */
static bool focus(uint32_t limit_us)
{
    ticks_t now = clock_now();
    uint32_t warm_us = heat_us(now);
    if (warm_us + SECOND_US > MAX_FOCUS_US)
        return false;
    if (limit_us > MAX_FOCUS_US - warm_us)
        limit_us = MAX_FOCUS_US - warm_us;
    heat.us = warm_us;
    heat.at = now;
    sensor_count(0, 0);
    lamp_on(US(limit_us));
    state = STATE_FOCUS;
    focus_warned = limit_us <= FOCUS_WARN_US;
    focus_warn_at = now + US(limit_us) - US(FOCUS_WARN_US);
    tell_focus(limit_us, WHY_COMPLETE);
    return true;
}

uint8_t rules_focus(uint64_t limit_us)
{
    if (!limit_us) {
        if (state == STATE_FOCUS)
            rules_dark(WHY_HALTED);
        return 0;
    }
    if (state == STATE_FAULT)
        return REFUSED_FAULT;
    if (limit_us > MAX_FOCUS_US)
        return REFUSED_OVER_CEILING;
    if (state != STATE_IDLE && state != STATE_FOCUS)
        return REFUSED_BUSY;
    return focus((uint32_t)limit_us) ? 0 : REFUSED_TOO_HOT;
}

/* ── time ──────────────────────────────────────────────────────────────── */

static void light_due(ticks_t now)
{
    if (state == STATE_LIT) {
        if (!lamp_lit())
            exposure_over(false, WHY_COMPLETE);
        else
            cues_due(&order, (uint32_t)ticks_to_us(now - lamp_on_at()));
    } else if (state == STATE_FOCUS) {
        if (!lamp_lit())
            focus_over(WHY_TIME_UP);
        else if (!focus_warned && now >= focus_warn_at) {
            focus_warned = true;
            sound(CUE_WARN);
            tell_focus(FOCUS_WARN_US, WHY_COMPLETE);
        }
    }
}

static void foot_due(ticks_t now)
{
    ticks_t at;
    if (foot_pressed(now, &at)) {
        if (state == STATE_ARMED) {
            foot_never_hold(); /* the press that starts the light must not end it by being long */
            light(true);
        } else
            tell_press(PRESS_DOWN, at);
    }
    if (foot_held(now)) {
        rules_dark(WHY_PEDAL);
        tell_press(PRESS_HOLD, now);
    }
}

static void line_due(ticks_t now)
{
    if (state == STATE_FAULT)
        return;
    bool was = line_wrong;
    line_wrong = !lamp_line_is_right();
    if (!was)
        line_wrong_at = now;
    else if (line_wrong && now - line_wrong_at >= LINE_WRONG)
        fault(lamp_lit() ? LINE_LOW : LINE_HIGH);
}

void rules_turn(ticks_t now)
{
    light_due(now);
    foot_due(contact_turn());
    if (state != STATE_IDLE && state != STATE_FAULT && now - heard_at >= US(SILENCE_US))
        rules_dark(WHY_HOST_SILENT);
    line_due(now);
}

#include "keeper.h"
#include "board.h"
#include "contact.h"
#include "foot.h"
#include "lamp.h"
#include "link.h"
#include "protocol.h"
#include "record.h"
#include "sensor.h"
#include "warm.h"
#include <avr/pgmspace.h>
#include <stddef.h>
#include <string.h>
#include <util/atomic.h>

/* Light begins in one place, light(), and only from the main loop: so nothing that the main loop does, such as going
 * dark, can be cut in two by a press. Interrupts note edges, count, and end light. */

#define LINE_WRONG US(1000) /* how long the lamp's line may read wrong before it is a fault and no spike */

/* What is armed or lit. */
static struct {
    uint64_t exposure;
    uint32_t on_us, less_us, recovery_us; /* as ordered */
    uint32_t ordered_us;                  /* as lit: less for a warm lamp */
    uint32_t target;                      /* of a dose; 0: by time */
    uint16_t half_us;
    uint8_t cues;
    cue_t cue[MAX_CUES];
} order;

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
static ticks_t heard_at, focus_warn_at, buzz_end, line_wrong_at;
static bool focus_warned, line_wrong;
static uint8_t next_cue; /* of the order's; as many as there are: none is left */
static uint32_t tick_at;
static const char *fault_text; /* in flash; sticky: no light until reset */

static struct {
    uint16_t number;
    uint32_t crc;
    uint8_t kind, length, body[sizeof(exposure_record_t)];
} answered;

static const char LINE_HIGH[] PROGMEM = "the lamp line is high and should be low: a short, or a wire in the wrong place";
static const char LINE_LOW[] PROGMEM = "the lamp line is low and should be high: a short to ground, or too much load";

/* ── telling ───────────────────────────────────────────────────────────── */

static void event(uint8_t kind, const void *body, uint8_t length) { link_event(kind, record_next_event(), body, length); }

static void tell_focus(uint64_t left_us, uint8_t why)
{
    focus_light_changed_t body = {left_us, why};
    event(MSG_FOCUS_LIGHT_CHANGED, &body, sizeof body);
}

static void tell_press(uint8_t press, ticks_t at)
{
    pedal_t body = {press, ticks_to_us(at)};
    event(MSG_PEDAL, &body, sizeof body);
}

static void tell_disarmed(uint64_t exposure, uint8_t why)
{
    disarmed_t body = {exposure, why};
    event(MSG_DISARMED, &body, sizeof body);
}

/* Dark is an exposure record without its first byte. */
static void tell_dark(const exposure_record_t *given)
{
    _Static_assert(sizeof(dark_t) == sizeof *given - offsetof(exposure_record_t, exposure), "Dark");
    event(MSG_DARK, &given->exposure, sizeof(dark_t));
}

static void tell_fault(void) { link_event_flash(MSG_FAULT, record_next_event(), fault_text, (uint8_t)strlen_P(fault_text)); }

static void sound(uint8_t cue)
{
    static const uint16_t ms[] PROGMEM = {20, 80, 150, 400};
    BUZZ_PORT |= _BV(BUZZ_BIT);
    buzz_end = clock_now() + US(1000) * pgm_read_word(&ms[cue]);
}

/* ── light ─────────────────────────────────────────────────────────────── */

/* The soonest cue that is later than `at_us`, or as late and not before the n-th, in whatever order they were given;
 * order.cues: there is none. */
static uint8_t soonest_cue(uint32_t at_us, uint8_t n)
{
    uint8_t found = order.cues;
    for (uint8_t i = 0; i < order.cues; i++) {
        uint32_t us = order.cue[i].at_us;
        if ((us > at_us || (us == at_us && i >= n)) && (found == order.cues || us < order.cue[found].at_us))
            found = i;
    }
    return found;
}

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
    next_cue = soonest_cue(0, 0);
    tick_at = SECOND_US;
    lit_t body = {order.exposure, ticks_to_us(on), order.ordered_us, by_pedal};
    event(MSG_LIT, &body, sizeof body);
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

/* Everything that shines off, nothing armed. Always allowed, in every state. */
static void dark(uint8_t why)
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
    dark(WHY_FAULT);
    state = STATE_FAULT;
    tell_fault();
}

/* ── commands ──────────────────────────────────────────────────────────── */

static void answer(const frame_t *frame, uint8_t kind, const void *body, uint8_t length)
{
    if (frame->number) {
        answered.number = frame->number;
        answered.crc = frame->crc;
        answered.kind = kind;
        answered.length = length;
        memcpy(answered.body, body, length);
    }
    link_answer(kind, frame->number, body, length);
}

static void done(const frame_t *frame) { answer(frame, MSG_DONE, "", 0); }

static void refuse(const frame_t *frame, uint8_t reason) { answer(frame, MSG_REFUSAL, &reason, 1); }

static void hello(const frame_t *frame, const hello_t *asked)
{
    if (asked->protocol != PROTOCOL) {
        refuse(frame, REFUSED_WRONG_PROTOCOL);
        return;
    }
    hello_reply_t body = {PROTOCOL, FIRMWARE_VERSION, ticks_to_us(clock_now()), CEILING_US, 1000, 0, 0};
    answer(frame, MSG_HELLO_REPLY, &body, sizeof body);
    if (state == STATE_FAULT)
        tell_fault(); /* whoever comes back must hear why nothing is lit */
}

static void heartbeat(const frame_t *frame)
{
    heartbeat_reply_t body = {state, lamp_lit(), ticks_to_us(clock_now()), record_last_event()};
    answer(frame, MSG_HEARTBEAT_REPLY, &body, sizeof body);
}

/* Why an exposure is not taken; 0 if it is. */
static uint8_t why_not(uint64_t exposure, uint64_t on_us, const cue_t *cues, uint8_t n)
{
    if (state == STATE_FAULT)
        return REFUSED_FAULT;
    if (!exposure || !on_us)
        return REFUSED_BAD_BODY;
    while (n--)
        if (cues[n].cue > CUE_END)
            return REFUSED_BAD_BODY;
    if (on_us > CEILING_US)
        return REFUSED_OVER_CEILING;
    if (record_find(exposure))
        return REFUSED_ALREADY_GIVEN;
    if (state != STATE_IDLE && state != STATE_ARMED)
        return REFUSED_BUSY;
    return 0;
}

/* In place of what was armed before; the caller has filled in the rest of the order. */
static void take(const frame_t *frame, uint64_t exposure, const cue_t *cues, uint8_t n, bool now)
{
    order.exposure = exposure;
    order.cues = n;
    memcpy(order.cue, cues, n * sizeof *cues);
    if (now)
        light(false);
    else {
        record_armed(exposure);
        state = STATE_ARMED;
    }
    done(frame);
}

static void arm(const frame_t *frame, const arm_t *asked)
{
    const cue_t *cues = (const cue_t *)(asked + 1);
    uint8_t no = why_not(asked->exposure, asked->on_us, cues, asked->cues);
    if (no != REFUSED_FAULT
        && (asked->less_us >= asked->on_us || asked->less_us > MAX_LESS_US || asked->recovery_us > MAX_RECOVERY_US))
        no = REFUSED_BAD_BODY;
    if (no) {
        refuse(frame, no);
        return;
    }
    order.on_us = (uint32_t)asked->on_us;
    order.less_us = asked->less_us;
    order.recovery_us = asked->recovery_us;
    order.target = 0;
    order.half_us = 0;
    take(frame, asked->exposure, cues, asked->cues, asked->now);
}

static void dose(const frame_t *frame, const dose_t *asked)
{
    const cue_t *cues = (const cue_t *)(asked + 1);
    uint8_t no = why_not(asked->exposure, asked->on_us, cues, asked->cues);
    if (no != REFUSED_FAULT && (!asked->target || asked->mains_half_cycle_us < 1000))
        no = REFUSED_BAD_BODY;
    if (no) {
        refuse(frame, no);
        return;
    }
    order.on_us = (uint32_t)asked->on_us;
    order.less_us = order.recovery_us = 0;
    order.target = asked->target;
    order.half_us = asked->mains_half_cycle_us;
    take(frame, asked->exposure, cues, asked->cues, asked->now);
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

static void focus_light(const frame_t *frame, const focus_light_t *asked)
{
    uint8_t no = 0;
    if (!asked->limit_us) {
        if (state == STATE_FOCUS)
            dark(WHY_HALTED);
    } else if (state == STATE_FAULT)
        no = REFUSED_FAULT;
    else if (asked->limit_us > MAX_FOCUS_US)
        no = REFUSED_OVER_CEILING;
    else if (state != STATE_IDLE && state != STATE_FOCUS)
        no = REFUSED_BUSY;
    else if (!focus((uint32_t)asked->limit_us))
        no = REFUSED_TOO_HOT;
    if (no)
        refuse(frame, no);
    else
        done(frame);
}

static void safelight(const frame_t *frame, const safelight_t *asked)
{
    if (asked->on)
        SAFE_PORT |= _BV(SAFE_BIT);
    else
        SAFE_PORT &= (uint8_t)~_BV(SAFE_BIT);
    done(frame);
}

static void ask_record(const frame_t *frame, const ask_record_t *asked)
{
    const exposure_record_t unknown = {.known = 0, .exposure = asked->exposure};
    const exposure_record_t *kept = record_find(asked->exposure);
    answer(frame, MSG_EXPOSURE_RECORD, kept ? kept : &unknown, sizeof unknown);
}

static void read_sensor(const frame_t *frame)
{
    sensor_reading_t body = {sensor_reading()};
    answer(frame, MSG_SENSOR_READING, &body, sizeof body);
}

/* Whether the body is as long as its type says: `head`, and in those that end in cues, now and n, n cues. */
static bool well_formed(const frame_t *frame)
{
    uint8_t head = 0;
    switch (frame->kind) {
    case MSG_HELLO: head = sizeof(hello_t); break;
    case MSG_FOCUS_LIGHT: head = sizeof(focus_light_t); break;
    case MSG_SAFELIGHT: return frame->length == sizeof(safelight_t) && frame->body[0] <= 1;
    case MSG_ASK_RECORD: head = sizeof(ask_record_t); break;
    case MSG_ARM:
    case MSG_DOSE:
        head = frame->kind == MSG_ARM ? sizeof(arm_t) : sizeof(dose_t);
        if (frame->length < head)
            return false;
        uint8_t now = frame->body[head - 2], n = frame->body[head - 1];
        return now <= 1 && n <= MAX_CUES && frame->length == head + n * sizeof(cue_t);
    }
    return frame->length == head;
}

static void command(const frame_t *frame)
{
    heard_at = clock_now();
    bool acts = frame->kind != MSG_HELLO && frame->kind != MSG_HEARTBEAT; /* the others are answered with what is so now */
    if (acts && frame->number && frame->number == answered.number && frame->crc == answered.crc) {
        link_answer(answered.kind, frame->number, answered.body, answered.length);
        return;
    }
    if (frame->kind == MSG_HALT)
        dark(WHY_HALTED); /* however odd its body is */
    bool known = frame->kind >= MSG_HELLO && frame->kind <= MSG_READ_SENSOR && frame->kind != 0x04;
    if (!known || !well_formed(frame)) {
        refuse(frame, known ? REFUSED_BAD_BODY : REFUSED_NOT_KNOWN);
        return;
    }
    const void *body = frame->body;
    switch (frame->kind) {
    case MSG_HELLO: hello(frame, body); break;
    case MSG_HEARTBEAT: heartbeat(frame); break;
    case MSG_ARM: arm(frame, body); break;
    case MSG_DOSE: dose(frame, body); break;
    case MSG_HALT: done(frame); break;
    case MSG_FOCUS_LIGHT: focus_light(frame, body); break;
    case MSG_SAFELIGHT: safelight(frame, body); break;
    case MSG_ASK_RECORD: ask_record(frame, body); break;
    case MSG_READ_SENSOR: read_sensor(frame); break;
    }
}

/* ── time ──────────────────────────────────────────────────────────────── */

static void play(uint32_t at_us, uint8_t cue)
{
    cue_event_t body = {order.exposure, at_us, cue};
    sound(cue);
    event(MSG_CUE_EVENT, &body, sizeof body);
}

/* A warm lamp has given any share of its light so much sooner: the given cues come as much sooner. */
static uint32_t early_us(void) { return order.on_us - order.ordered_us; }

/* A tick each second, but none near enough to a given cue to hide it. */
static bool hidden(uint32_t at)
{
    at += early_us();
    for (uint8_t n = 0; n < order.cues; n++) {
        uint32_t given = order.cue[n].at_us;
        if (given < order.on_us && (given > at ? given - at : at - given) <= NEAR_CUE_US)
            return true;
    }
    return false;
}

static void cues_due(ticks_t now)
{
    uint32_t since = (uint32_t)ticks_to_us(now - lamp_on_at());
    if (next_cue < order.cues && order.cue[next_cue].at_us <= since + early_us()) {
        const cue_t *cue = &order.cue[next_cue];
        if (cue->at_us < order.on_us)
            play(cue->at_us, cue->cue);
        next_cue = soonest_cue(cue->at_us, next_cue + 1);
    } else if (tick_at <= since && tick_at < order.ordered_us) {
        if (!hidden(tick_at))
            play(tick_at, CUE_TICK);
        tick_at += SECOND_US;
    }
}

static void light_due(ticks_t now)
{
    if (state == STATE_LIT) {
        if (!lamp_lit())
            exposure_over(false, WHY_COMPLETE);
        else
            cues_due(now);
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
        dark(WHY_PEDAL);
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

void keeper_turn(ticks_t now)
{
    frame_t frame;
    record_turned(now);
    light_due(now);
    foot_due(contact_turn());
    if (state != STATE_IDLE && state != STATE_FAULT && now - heard_at >= US(SILENCE_US))
        dark(WHY_HOST_SILENT);
    line_due(now);
    if (buzz_end && now >= buzz_end) {
        buzz_end = 0;
        BUZZ_PORT &= (uint8_t)~_BV(BUZZ_BIT);
    }
    if (link_receive(&frame))
        command(&frame);
}

void keeper_start(void)
{
    SAFE_DDR |= _BV(SAFE_BIT);
    BUZZ_DDR |= _BV(BUZZ_BIT);
    clock_start();
    link_start();
    record_start();
    sensor_start();
    contact_start();
    const exposure_record_t *broken = record_broken_off();
    uint64_t armed = record_was_armed();
    if (broken)
        tell_dark(broken);
    if (armed && !(broken && broken->exposure == armed))
        tell_disarmed(armed, WHY_FAULT);
}

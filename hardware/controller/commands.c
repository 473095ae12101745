#include "commands.h"
#include "board.h"
#include "lamp.h"
#include "record.h"
#include "rules.h"
#include "sensor.h"
#include <string.h>

static struct {
    uint16_t number;
    uint32_t crc;
    uint8_t kind, length, body[sizeof(exposure_record_t)];
} answered;

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
    rules_tell_fault();
}

static void heartbeat(const frame_t *frame)
{
    heartbeat_reply_t body = {rules_state(), lamp_lit(), ticks_to_us(clock_now()), record_last_event()};
    answer(frame, MSG_HEARTBEAT_REPLY, &body, sizeof body);
}

static bool cues_known(const cue_t *cues, uint8_t n)
{
    while (n--)
        if (cues[n].cue > CUE_END)
            return false;
    return true;
}

/* Into the order, but for how its light ends; the rules have not refused it. */
static order_t *ordered(uint64_t exposure, uint64_t on_us, const cue_t *cues, uint8_t n)
{
    order_t *order = rules_order();
    order->exposure = exposure;
    order->on_us = (uint32_t)on_us;
    order->less_us = order->recovery_us = order->target = 0;
    order->half_us = 0;
    order->cues = n;
    memcpy(order->cue, cues, n * sizeof *cues);
    return order;
}

static void arm(const frame_t *frame, const arm_t *asked)
{
    const cue_t *cues = (const cue_t *)(asked + 1);
    uint8_t no = rules_refuse(asked->exposure, asked->on_us);
    if (no != REFUSED_FAULT
        && (asked->less_us >= asked->on_us || asked->less_us > MAX_LESS_US || asked->recovery_us > MAX_RECOVERY_US
            || !cues_known(cues, asked->cues)))
        no = REFUSED_BAD_BODY;
    if (no) {
        refuse(frame, no);
        return;
    }
    order_t *order = ordered(asked->exposure, asked->on_us, cues, asked->cues);
    order->less_us = asked->less_us;
    order->recovery_us = asked->recovery_us;
    rules_take(asked->now);
    done(frame);
}

static void dose(const frame_t *frame, const dose_t *asked)
{
    const cue_t *cues = (const cue_t *)(asked + 1);
    uint8_t no = rules_refuse(asked->exposure, asked->on_us);
    if (no != REFUSED_FAULT && (!asked->target || asked->mains_half_cycle_us < 1000 || !cues_known(cues, asked->cues)))
        no = REFUSED_BAD_BODY;
    if (no) {
        refuse(frame, no);
        return;
    }
    order_t *order = ordered(asked->exposure, asked->on_us, cues, asked->cues);
    order->target = asked->target;
    order->half_us = asked->mains_half_cycle_us;
    rules_take(asked->now);
    done(frame);
}

static void focus_light(const frame_t *frame, const focus_light_t *asked)
{
    uint8_t no = rules_focus(asked->limit_us);
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

void command(const frame_t *frame)
{
    rules_heard();
    bool acts = frame->kind != MSG_HELLO && frame->kind != MSG_HEARTBEAT; /* the others are answered with what is so now */
    if (acts && frame->number && frame->number == answered.number && frame->crc == answered.crc) {
        link_answer(answered.kind, frame->number, answered.body, answered.length);
        return;
    }
    if (frame->kind == MSG_HALT)
        rules_dark(WHY_HALTED); /* however odd its body is */
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

#include "keeper.h"
#include "board.h"
#include "clock.h"
#include "lamp.h"
#include "link.h"
#include <avr/interrupt.h>
#include <string.h>
#include <util/atomic.h>

#define PROTOCOL 1
#define VERSION 1
#define MS(n) ((ticks_t)(n) * 1000 * TICKS_PER_US)
#define CEILING_US 120000000ULL
#define LONGEST_VIEW_US 600000000ULL
#define VIEW_WARN_US 15000000ULL
#define SILENCE MS(1000)
#define BOUNCE MS(30)
#define AGAIN MS(300)
#define HOLD MS(800)
#define SECOND_US 1000000UL
#define NEAR_US 150000UL
#define MOST_CUES 45
#define REMEMBERED 8
#define MAGIC 0x4C48u

enum { HELLO = 0x01, BEAT = 0x02, ARM = 0x03, HALT = 0x05, VIEW = 0x06, SAFELIGHT = 0x07, TALLY = 0x08, DOSE = 0x09, SENSE = 0x0A };
enum { HELLO_IS = 0x81, DONE, REFUSAL, ALIVE, LIT, DARK, CUE_NOW, PEDAL, VIEWING, TALLY_IS, FAULT_IS, DOSE_IS, SENSE_IS };
enum state { S_IDLE, S_ARMED, S_LIT, S_VIEWING, S_FAULT };
enum why { W_COMPLETE, W_HALTED, W_PEDAL, W_SILENT, W_LINK, W_SIGNAL, W_FAULT, W_LOST, W_TIME_UP, W_CEILING };
enum no { N_UNKNOWN = 1, N_CEILING, N_BUSY, N_GIVEN, N_FAULT, N_BODY, N_PROTOCOL };
enum cue { C_TICK, C_WARN, C_CHANGE, C_END };

typedef struct __attribute__((packed)) {
    uint32_t at_us;
    uint8_t cue;
} cue_t;

typedef struct {
    uint64_t exposure, on_us;
    uint32_t target; /* of a dose; 0: by time */
    uint16_t half_us;
    uint8_t cues;
    cue_t cue[MOST_CUES];
} order_t;

typedef struct __attribute__((packed)) {
    uint8_t known;
    uint64_t exposure, ordered, on, off;
    uint8_t why;
} tally_t;

/* Not cleared at reset: after a watchdog or brown-out the host can still read what was given. */
static struct {
    uint16_t magic;
    uint8_t next;
    tally_t entry[REMEMBERED];
} memory __attribute__((section(".noinit")));

static volatile enum state state;
static order_t order, wanted; /* wanted: as it comes in, before it is known to be allowed */
static volatile bool tell_lit, tell_press, by_pedal;
static volatile uint32_t dose_sum, dose_before;
static volatile ticks_t dose_due;
static volatile bool dosing, dose_reached;
static volatile uint16_t sensed;
static ticks_t heard_at, view_end, view_warn, buzz_end;
static uint8_t cue_at;
static uint32_t tick_at;
static uint16_t events;
static const char *fault_text; /* sticky: no light until reset */

static struct {
    bool down, holding;
    ticks_t since, pressed, held_from;
} pedal;

static struct {
    uint16_t number;
    uint32_t crc;
    uint8_t kind, length, body[40];
} answered;

/* ── memory of light ───────────────────────────────────────────────────── */

static tally_t *find(uint64_t exposure)
{
    for (uint8_t n = 0; n < REMEMBERED; n++)
        if (memory.entry[n].known && memory.entry[n].exposure == exposure)
            return &memory.entry[n];
    return 0;
}

static tally_t *last_entry(void) { return &memory.entry[memory.next]; }

/* ── light: called with interrupts off ─────────────────────────────────── */

static void start(bool pressed)
{
    memory.next = (uint8_t)((memory.next + 1) % REMEMBERED);
    tally_t *entry = last_entry();
    memset(entry, 0, sizeof *entry);
    entry->known = 1;
    entry->exposure = order.exposure;
    entry->ordered = order.on_us;
    dose_sum = dose_before = 0;
    dose_reached = false;
    lamp_light((ticks_t)order.on_us * TICKS_PER_US);
    dosing = true;
    dose_due = lamp_on_at() + (ticks_t)order.half_us * TICKS_PER_US;
    state = S_LIT;
    by_pedal = pressed;
    tell_lit = true;
}

ISR(INT0_vect)
{
    ticks_t now = clock_now();
    bool down = !(PEDAL_PIN & _BV(PEDAL_BIT));
    if (down == pedal.down)
        return;
    bool settled = now - pedal.since >= BOUNCE;
    pedal.down = down;
    pedal.since = now;
    if (!down || (pedal.holding && !settled))
        return; /* let go; or the contact chattered under the foot */
    pedal.holding = false;
    if (!settled || now - pedal.pressed < AGAIN)
        return;
    pedal.pressed = now;
    pedal.held_from = now;
    if (state == S_ARMED)
        start(true); /* and this press never becomes a hold */
    else {
        pedal.holding = true;
        tell_press = true;
    }
}

/* The light sensor, 9,615 times a second. A dose ends on a whole half-cycle of the mains, the nearest one. */
ISR(ADC_vect)
{
    sensed = ADC;
    if (!dosing || !lamp_lit())
        return;
    dose_sum += sensed;
    if (!order.target || clock_now() < dose_due)
        return;
    uint32_t half = dose_sum - dose_before;
    dose_before = dose_sum;
    dose_due += (ticks_t)order.half_us * TICKS_PER_US;
    if (dose_sum + half / 2 >= order.target) {
        dosing = false;
        dose_reached = true;
        lamp_off();
    }
}

/* ── telling ───────────────────────────────────────────────────────────── */

static void event(uint8_t kind, const void *body, uint8_t length)
{
    events = events == 0xFFFF ? 1 : events + 1;
    link_send(kind, events, body, length);
}

static void tell_viewing(uint64_t left_us, uint8_t why)
{
    struct __attribute__((packed)) {
        uint64_t left;
        uint8_t why;
    } body = {left_us, why};
    event(VIEWING, &body, sizeof body);
}

static void sound(uint8_t cue)
{
    static const uint16_t ms[] = {20, 80, 150, 400};
    BUZZ_PORT |= _BV(BUZZ_BIT);
    buzz_end = clock_now() + MS(ms[cue]);
}

static void tell_dark(uint8_t why)
{
    tally_t *entry = last_entry();
    entry->on = ticks_to_us(lamp_on_at());
    entry->off = ticks_to_us(lamp_off_at());
    entry->why = why;
    struct __attribute__((packed)) {
        uint64_t exposure, ordered, on, off;
        uint8_t why;
    } body = {entry->exposure, entry->ordered, entry->on, entry->off, why};
    event(DARK, &body, sizeof body);
    struct __attribute__((packed)) {
        uint64_t exposure;
        uint32_t counts;
    } dose = {entry->exposure, dose_sum};
    event(DOSE_IS, &dose, sizeof dose);
    if (why == W_COMPLETE)
        sound(C_END);
}

/* Everything that shines off, nothing armed. */
static void dark(uint8_t why)
{
    bool was = lamp_off();
    bool viewing = state == S_VIEWING;
    bool told = state == S_LIT;
    dosing = false;
    if (state != S_FAULT)
        state = S_IDLE;
    if (told && (was || !lamp_took_its_end()))
        tell_dark(why);
    else if (told)
        tell_dark(W_COMPLETE); /* its end came in the moment of the word */
    if (viewing)
        tell_viewing(0, why);
}

static void tell_fault(void) { event(FAULT_IS, fault_text, (uint8_t)strlen(fault_text)); }

static void fault(const char *text)
{
    fault_text = text;
    dark(W_FAULT);
    state = S_FAULT;
    tell_fault();
}

/* ── commands ──────────────────────────────────────────────────────────── */

static void answer(const frame_t *frame, uint8_t kind, const void *body, uint8_t length)
{
    if (frame->number && length <= sizeof answered.body) {
        answered.number = frame->number;
        answered.crc = link_crc(frame->body - 3, (uint16_t)(frame->length + 3));
        answered.kind = kind;
        answered.length = length;
        memcpy(answered.body, body, length);
    }
    link_send(kind, frame->number, body, length);
}

static void done(const frame_t *frame) { answer(frame, DONE, "", 0); }

static void refuse(const frame_t *frame, uint8_t reason) { answer(frame, REFUSAL, &reason, 1); }

static uint8_t why_not(uint64_t exposure, uint64_t on_us)
{
    if (state == S_FAULT)
        return N_FAULT;
    if (!exposure || !on_us)
        return N_BODY;
    if (on_us > CEILING_US)
        return N_CEILING;
    if (find(exposure))
        return N_GIVEN;
    if (state != S_IDLE && state != S_ARMED)
        return N_BUSY;
    return 0;
}

static void take_order(const frame_t *frame, uint8_t now)
{
    uint8_t reason = why_not(wanted.exposure, wanted.on_us);
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        if (!reason && (state == S_IDLE || state == S_ARMED)) {
            order = wanted;
            if (now)
                start(false);
            else
                state = S_ARMED;
        } else if (!reason)
            reason = find(wanted.exposure) ? N_GIVEN : N_BUSY; /* the pedal was quicker */
    }
    if (reason)
        refuse(frame, reason);
    else
        done(frame);
}

/* Both orders end in: now u8, count u8, and so many cues. False if they do not. */
static bool take_cues(const frame_t *frame, uint8_t at)
{
    if (frame->length < at + 2 || frame->body[at] > 1 || frame->body[at + 1] > MOST_CUES
        || frame->length != at + 2 + 5 * frame->body[at + 1])
        return false;
    wanted.cues = frame->body[at + 1];
    memcpy(wanted.cue, frame->body + at + 2, (uint16_t)(5 * wanted.cues));
    for (uint8_t n = 0; n < wanted.cues; n++)
        if (wanted.cue[n].cue > C_END)
            return false;
    return true;
}

static void arm(const frame_t *frame)
{
    memset(&wanted, 0, sizeof wanted);
    if (!take_cues(frame, 16)) {
        refuse(frame, N_BODY);
        return;
    }
    memcpy(&wanted.exposure, frame->body, 8);
    memcpy(&wanted.on_us, frame->body + 8, 8);
    take_order(frame, frame->body[16]);
}

static void dose(const frame_t *frame)
{
    memset(&wanted, 0, sizeof wanted);
    if (!take_cues(frame, 22)) {
        refuse(frame, N_BODY);
        return;
    }
    memcpy(&wanted.exposure, frame->body, 8);
    memcpy(&wanted.target, frame->body + 8, 4);
    memcpy(&wanted.on_us, frame->body + 12, 8);
    memcpy(&wanted.half_us, frame->body + 20, 2);
    if (!wanted.target || wanted.half_us < 1000)
        refuse(frame, N_BODY);
    else
        take_order(frame, frame->body[22]);
}

static void view(const frame_t *frame)
{
    uint64_t limit;
    if (frame->length != 8) {
        refuse(frame, N_BODY);
        return;
    }
    memcpy(&limit, frame->body, 8);
    if (!limit) {
        if (state == S_VIEWING)
            dark(W_HALTED);
    } else if (state == S_FAULT) {
        refuse(frame, N_FAULT);
        return;
    } else if (limit > LONGEST_VIEW_US) {
        refuse(frame, N_CEILING);
        return;
    } else if (state != S_IDLE && state != S_VIEWING) {
        refuse(frame, N_BUSY);
        return;
    } else {
        ticks_t now = clock_now();
        view_end = now + (ticks_t)limit * TICKS_PER_US;
        view_warn = limit > VIEW_WARN_US ? view_end - (ticks_t)VIEW_WARN_US * TICKS_PER_US : 0;
        state = S_VIEWING;
        lamp_view(true);
        tell_viewing(limit, W_COMPLETE);
    }
    done(frame);
}

static void tally(const frame_t *frame)
{
    tally_t body = {0};
    if (frame->length != 8) {
        refuse(frame, N_BODY);
        return;
    }
    memcpy(&body.exposure, frame->body, 8);
    tally_t *entry = find(body.exposure);
    if (entry)
        body = *entry;
    if (entry == last_entry() && entry && lamp_lit())
        body.on = ticks_to_us(lamp_on_at());
    answer(frame, TALLY_IS, &body, sizeof body);
}

static void hello(const frame_t *frame)
{
    if (frame->length != 1) {
        refuse(frame, N_BODY);
        return;
    }
    if (frame->body[0] != PROTOCOL) {
        refuse(frame, N_PROTOCOL);
        return;
    }
    struct __attribute__((packed)) {
        uint8_t protocol;
        uint16_t version;
        uint64_t now, ceiling;
        uint32_t speed, process;
    } body = {PROTOCOL, VERSION, ticks_to_us(clock_now()), CEILING_US, 1000, 0};
    answer(frame, HELLO_IS, &body, sizeof body);
    if (state == S_FAULT)
        tell_fault(); /* whoever comes back must hear why nothing is lit */
}

static void command(const frame_t *frame)
{
    heard_at = clock_now();
    if (frame->number && frame->number == answered.number
        && answered.crc == link_crc(frame->body - 3, (uint16_t)(frame->length + 3))) {
        link_send(answered.kind, frame->number, answered.body, answered.length);
        return;
    }
    switch (frame->kind) {
    case HELLO: hello(frame); break;
    case BEAT: {
        struct __attribute__((packed)) {
            uint8_t state, lamp;
            uint64_t now;
        } body = {(uint8_t)state, state == S_LIT || state == S_VIEWING, ticks_to_us(clock_now())};
        if (frame->length)
            refuse(frame, N_BODY);
        else
            answer(frame, ALIVE, &body, sizeof body);
        break;
    }
    case ARM: arm(frame); break;
    case DOSE: dose(frame); break;
    case HALT:
        dark(W_HALTED);
        done(frame);
        break;
    case VIEW: view(frame); break;
    case SAFELIGHT:
        if (frame->length != 1 || frame->body[0] > 1) {
            refuse(frame, N_BODY);
            break;
        }
        if (frame->body[0])
            SAFE_PORT |= _BV(SAFE_BIT);
        else
            SAFE_PORT &= (uint8_t)~_BV(SAFE_BIT);
        done(frame);
        break;
    case TALLY: tally(frame); break;
    case SENSE: {
        uint16_t value;
        ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { value = sensed; }
        answer(frame, SENSE_IS, &value, sizeof value);
        break;
    }
    default: refuse(frame, N_UNKNOWN);
    }
}

/* ── time ──────────────────────────────────────────────────────────────── */

static void tell_cue(uint32_t at_us, uint8_t cue)
{
    struct __attribute__((packed)) {
        uint64_t exposure, at;
        uint8_t cue;
    } body = {order.exposure, at_us, cue};
    sound(cue);
    event(CUE_NOW, &body, sizeof body);
}

/* A tick each second, but none near enough to a given cue to hide it. */
static bool hidden(uint32_t at)
{
    for (uint8_t n = 0; n < order.cues; n++) {
        uint32_t given = order.cue[n].at_us;
        if ((given > at ? given - at : at - given) <= NEAR_US)
            return true;
    }
    return false;
}

static void cues(ticks_t now)
{
    uint64_t since = ticks_to_us(now - lamp_on_at());
    while (cue_at < order.cues && order.cue[cue_at].at_us <= since) {
        if (order.cue[cue_at].at_us < order.on_us)
            tell_cue(order.cue[cue_at].at_us, order.cue[cue_at].cue);
        cue_at++;
    }
    if (tick_at <= since && tick_at < order.on_us) {
        if (!hidden(tick_at))
            tell_cue(tick_at, C_TICK);
        tick_at += SECOND_US;
    }
}

void keeper_turn(void)
{
    frame_t frame;
    ticks_t now = clock_now();
    if (tell_lit) {
        struct __attribute__((packed)) {
            uint64_t exposure, at;
            uint8_t by_pedal;
        } body = {order.exposure, ticks_to_us(lamp_on_at()), by_pedal};
        tell_lit = false;
        cue_at = 0;
        tick_at = SECOND_US;
        last_entry()->on = body.at;
        event(LIT, &body, sizeof body);
    }
    if (state == S_LIT) {
        if (lamp_took_its_end()) {
            bool by_dose = order.target != 0;
            state = S_IDLE;
            dosing = false;
            tell_dark(by_dose ? W_CEILING : W_COMPLETE);
        } else if (dose_reached) {
            dose_reached = false;
            state = S_IDLE;
            tell_dark(W_COMPLETE);
        } else
            cues(now);
    }
    if (tell_press) {
        struct __attribute__((packed)) {
            uint8_t press;
            uint64_t at;
        } body = {1, ticks_to_us(pedal.pressed)};
        tell_press = false;
        event(PEDAL, &body, sizeof body);
    }
    bool held = false;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        if (pedal.holding && pedal.down && now - pedal.held_from >= HOLD && now > pedal.held_from) {
            pedal.holding = false;
            held = true;
        }
    }
    if (held) {
        struct __attribute__((packed)) {
            uint8_t press;
            uint64_t at;
        } body = {2, ticks_to_us(now)};
        dark(W_PEDAL);
        event(PEDAL, &body, sizeof body);
    }
    if (state == S_VIEWING) {
        if (now >= view_end)
            dark(W_TIME_UP);
        else if (view_warn && now >= view_warn) {
            view_warn = 0;
            sound(C_WARN);
            tell_viewing(VIEW_WARN_US, W_COMPLETE);
        }
    }
    if (state != S_IDLE && state != S_FAULT && now > heard_at && now - heard_at >= SILENCE)
        dark(W_SILENT);
    if (state == S_IDLE && !tell_lit && lamp_line_is_high())
        fault("the lamp line is high and should be low: a short, or a wire in the wrong place");
    if (buzz_end && now >= buzz_end) {
        buzz_end = 0;
        BUZZ_PORT &= (uint8_t)~_BV(BUZZ_BIT);
    }
    if (link_receive(&frame))
        command(&frame);
}

void keeper_start(void)
{
    lamp_start();
    SAFE_DDR |= _BV(SAFE_BIT);
    BUZZ_DDR |= _BV(BUZZ_BIT);
    PEDAL_PORT |= _BV(PEDAL_BIT);
    if (memory.magic != MAGIC || memory.next >= REMEMBERED) {
        memset(&memory, 0, sizeof memory);
        memory.magic = MAGIC;
    }
    clock_start();
    link_start();
    ADMUX = _BV(REFS0) | SENSOR_CHANNEL;
    ADCSRB = 0;
    ADCSRA = _BV(ADEN) | _BV(ADSC) | _BV(ADATE) | _BV(ADIE) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0);
    for (volatile uint16_t settle = 0; settle < 2000; settle++)
        ; /* the pull-up needs its microseconds */
    pedal.down = !(PEDAL_PIN & _BV(PEDAL_BIT));
    ticks_t now = clock_now();
    pedal.since = pedal.down ? now : now - BOUNCE;
    pedal.pressed = now - AGAIN;
    EICRA = _BV(ISC00); /* any edge */
    EIFR = _BV(INTF0);
    EIMSK = _BV(INT0);
}

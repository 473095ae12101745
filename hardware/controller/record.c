#include "record.h"
#include "reset.h"
#include <stddef.h>
#include <string.h>
#include <util/atomic.h>
#include <util/crc16.h>

#define KEPT __attribute__((section(".noinit")))
#define REMEMBERED 8
#define MAGIC 0x4C32
/* A light cannot outlast its end by more than the timer's second count and the watchdog. */
#define LONGEST_OVER US(200000)

/* An entry is what its last byte says: one store changes it, so a reset finds it in one state or in the other. */
enum { OPEN = 0x5A, ENDED = 0xA5 };

typedef struct {
    exposure_record_t told;
    uint16_t begun_check; /* of its name */
    uint16_t ended_check; /* of all of it */
    volatile uint8_t state;
} entry_t;

static struct {
    uint16_t magic, events;
    uint64_t armed;
    uint8_t last;
    uint16_t check; /* of all before it */
} head KEPT;
static entry_t entries[REMEMBERED] KEPT;
/* Low halves of the clock: when an interrupt last saw the lamp lit, when it last came at all, when the loop last turned. */
static volatile uint32_t seen KEPT, alive KEPT;
static uint32_t turned KEPT;

static const exposure_record_t *broken_off;
static uint64_t was_armed;

static uint16_t check_of(const void *data, uint8_t length)
{
    uint16_t check = 0xFFFF;
    for (const uint8_t *byte = data; length; length--)
        check = _crc16_update(check, *byte++);
    return check;
}

static uint16_t head_check(void) { return check_of(&head, offsetof(__typeof__(head), check)); }
static uint16_t begun_check(const entry_t *e) { return check_of(&e->told, offsetof(exposure_record_t, ordered_us)); }
static uint16_t ended_check(const entry_t *e) { return check_of(&e->told, sizeof e->told); }

/* The light of an entry that has no end: it ended with the reset. False if what was kept of it cannot be so. */
static bool close_broken(entry_t *e, uint32_t counts)
{
    uint32_t off = seen;
    if (reset_by_watchdog() && alive == off && off - turned < WATCHDOG / 2)
        off = turned + WATCHDOG; /* interrupts stood still too: it was lit until the watchdog came */
    if (!e->told.on_us) { /* it was about to begin */
        e->told.on_us = ticks_to_us(off);
        off = (uint32_t)US(e->told.on_us);
    }
    uint32_t lit = off - (uint32_t)US(e->told.on_us);
    if (lit > US(e->told.ordered_us) + LONGEST_OVER)
        return false;
    e->told.off_us = e->told.on_us + lit / TICKS_PER_US;
    e->told.why = WHY_FAULT;
    e->told.counts = counts;
    e->ended_check = ended_check(e);
    e->state = ENDED;
    return true;
}

void record_start(uint32_t counts)
{
    if (head.magic != MAGIC || head.last >= REMEMBERED || head.check != head_check()) {
        memset(&head, 0, sizeof head);
        head.magic = MAGIC;
    }
    for (uint8_t n = 0; n < REMEMBERED; n++) {
        entry_t *e = &entries[n];
        bool begun = e->told.known == 1 && e->begun_check == begun_check(e);
        if (begun && e->state == ENDED && e->ended_check == ended_check(e))
            continue;
        if (begun && e->state == OPEN && close_broken(e, counts)) {
            broken_off = &e->told;
            head.last = n;
        } else
            memset(e, 0, sizeof *e);
    }
    was_armed = head.armed;
    record_armed(0);
}

const exposure_record_t *record_broken_off(void) { return broken_off; }
uint64_t record_was_armed(void) { return was_armed; }

const exposure_record_t *record_find(uint64_t exposure)
{
    for (uint8_t n = 0; n < REMEMBERED; n++)
        if (entries[n].told.known && entries[n].told.exposure == exposure)
            return &entries[n].told;
    return 0;
}

void record_armed(uint64_t exposure)
{
    head.armed = exposure;
    head.check = head_check();
}

void record_begin(uint64_t exposure, uint32_t ordered_us)
{
    head.last = (uint8_t)((head.last + 1) % REMEMBERED);
    entry_t *e = &entries[head.last];
    e->state = 0;
    memset(&e->told, 0, sizeof e->told);
    e->told.ordered_us = ordered_us;
    e->told.exposure = exposure;
    e->told.known = 1;
    e->begun_check = begun_check(e);
    e->state = OPEN;
    record_armed(0);
}

void record_lit(ticks_t on, uint32_t ordered_us)
{
    exposure_record_t *told = &entries[head.last].told;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { seen = alive = (uint32_t)on; }
    told->on_us = ticks_to_us(on);
    told->ordered_us = ordered_us;
}

const exposure_record_t *record_end(ticks_t off, uint8_t why, uint32_t counts)
{
    entry_t *e = &entries[head.last];
    e->told.off_us = ticks_to_us(off);
    e->told.why = why;
    e->told.counts = counts;
    e->ended_check = ended_check(e);
    e->state = ENDED;
    return &e->told;
}

uint16_t record_next_event(void)
{
    head.events = head.events == 0xFFFF ? 1 : head.events + 1;
    head.check = head_check();
    return head.events;
}

uint16_t record_last_event(void) { return head.events; }

void record_alive(uint32_t now_low32, bool lit)
{
    alive = now_low32;
    if (lit)
        seen = now_low32;
}

void record_turned(ticks_t now) { turned = (uint32_t)now; }

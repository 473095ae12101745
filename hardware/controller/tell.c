#include "tell.h"
#include "board.h"
#include "link.h"
#include "record.h"
#include <avr/pgmspace.h>
#include <stddef.h>
#include <string.h>

static ticks_t buzz_end;

static void event(uint8_t kind, const void *body, uint8_t length) { link_event(kind, record_next_event(), body, length); }

void tell_lit(uint64_t exposure, ticks_t on, uint32_t ordered_us, bool by_pedal)
{
    lit_t body = {exposure, ticks_to_us(on), ordered_us, by_pedal};
    event(MSG_LIT, &body, sizeof body);
}

/* Dark is an exposure record without its first byte. */
void tell_dark(const exposure_record_t *given)
{
    _Static_assert(sizeof(dark_t) == sizeof *given - offsetof(exposure_record_t, exposure), "Dark");
    event(MSG_DARK, &given->exposure, sizeof(dark_t));
}

void tell_disarmed(uint64_t exposure, uint8_t why)
{
    disarmed_t body = {exposure, why};
    event(MSG_DISARMED, &body, sizeof body);
}

void tell_cue(uint64_t exposure, uint32_t at_us, uint8_t cue)
{
    cue_event_t body = {exposure, at_us, cue};
    sound(cue);
    event(MSG_CUE_EVENT, &body, sizeof body);
}

void tell_focus(uint64_t left_us, uint8_t why)
{
    focus_light_changed_t body = {left_us, why};
    event(MSG_FOCUS_LIGHT_CHANGED, &body, sizeof body);
}

void tell_press(uint8_t press, ticks_t at)
{
    pedal_t body = {press, ticks_to_us(at)};
    event(MSG_PEDAL, &body, sizeof body);
}

void tell_fault(const char *text) { link_event_flash(MSG_FAULT, record_next_event(), text, (uint8_t)strlen_P(text)); }

void sound(uint8_t cue)
{
    static const uint16_t ms[] PROGMEM = {20, 80, 150, 400};
    BUZZ_PORT |= _BV(BUZZ_BIT);
    buzz_end = clock_now() + US(1000) * pgm_read_word(&ms[cue]);
}

void sound_start(void) { BUZZ_DDR |= _BV(BUZZ_BIT); }

void sound_turn(ticks_t now)
{
    if (buzz_end && now >= buzz_end) {
        buzz_end = 0;
        BUZZ_PORT &= (uint8_t)~_BV(BUZZ_BIT);
    }
}

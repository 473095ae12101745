/* Frames on the serial line: COBS and CRC-32, as docs/protocol.md says. */
#pragma once
#include <stdbool.h>
#include <stdint.h>

typedef struct {
    uint8_t kind;
    uint8_t length; /* of the body */
    uint16_t number;
    uint32_t crc; /* of kind, number and body: with the number it names the frame */
    const uint8_t *body;
} frame_t;

void link_start(void);
bool link_receive(frame_t *frame); /* a whole frame, valid until the next call */
/* Into the ring if all of it fits; what does not is dropped. An answer is asked for again; a lost event shows in the numbers. */
void link_answer(uint8_t kind, uint16_t number, const void *body, uint8_t length);
void link_event(uint8_t kind, uint16_t number, const void *body, uint8_t length);
void link_event_flash(uint8_t kind, uint16_t number, const char *text, uint8_t length); /* a body in PROGMEM */

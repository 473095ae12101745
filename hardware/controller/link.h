/* Frames on the serial line: COBS and CRC-32, as docs/protocol.md says. */
#pragma once
#include <stdbool.h>
#include <stdint.h>

#define FRAME_MOST 250

typedef struct {
    uint8_t kind;
    uint16_t number;
    uint8_t length; /* of the body */
    const uint8_t *body;
} frame_t;

void link_start(void);
bool link_receive(frame_t *frame); /* a whole frame, valid until the next call */
void link_send(uint8_t kind, uint16_t number, const void *body, uint8_t length);
uint32_t link_crc(const uint8_t *data, uint16_t length);

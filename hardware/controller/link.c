#include "link.h"
#include "board.h"
#include <avr/interrupt.h>
#include <string.h>
#include <util/atomic.h>

#define RX_SIZE 128 /* powers of two */
#define TX_SIZE 256

static volatile uint8_t rx[RX_SIZE], rx_in, rx_out;
static volatile bool rx_lost;
static volatile uint8_t tx[TX_SIZE], tx_in, tx_out;
static uint8_t held[FRAME_MOST + 3];
static uint8_t held_count;
static bool held_spoilt;

void link_start(void)
{
    UCSR0A = _BV(U2X0);
    UBRR0 = (uint16_t)((F_CPU + BAUD_RATE * 4) / (BAUD_RATE * 8) - 1);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
}

ISR(USART_RX_vect)
{
    uint8_t byte = UDR0;
    uint8_t next = (uint8_t)((rx_in + 1) % RX_SIZE);
    if (next == rx_out) {
        rx_lost = true;
        return;
    }
    rx[rx_in] = byte;
    rx_in = next;
}

ISR(USART_UDRE_vect)
{
    if (tx_out == tx_in) {
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
        return;
    }
    UDR0 = tx[tx_out];
    tx_out++;
}

uint32_t link_crc(const uint8_t *data, uint16_t length)
{
    uint32_t crc = 0xFFFFFFFFUL;
    while (length--) {
        crc ^= *data++;
        for (uint8_t bit = 0; bit < 8; bit++)
            crc = crc & 1 ? (crc >> 1) ^ 0xEDB88320UL : crc >> 1;
    }
    return ~crc;
}

/* Undo COBS in place; the length of the plain bytes, or 0 if they are not COBS. */
static uint8_t unstuff(uint8_t *data, uint8_t length)
{
    uint8_t in = 0, out = 0;
    while (in < length) {
        uint8_t code = data[in++];
        if (code == 0 || (uint16_t)in + code - 1 > length)
            return 0;
        for (uint8_t n = 1; n < code; n++)
            data[out++] = data[in++];
        if (code < 255 && in < length)
            data[out++] = 0;
    }
    return out;
}

static bool take(frame_t *frame)
{
    uint8_t length = unstuff(held, held_count);
    if (length < 7 || length > FRAME_MOST)
        return false;
    uint32_t crc;
    memcpy(&crc, held + length - 4, 4);
    if (crc != link_crc(held, (uint16_t)(length - 4)))
        return false;
    frame->kind = held[0];
    memcpy(&frame->number, held + 1, 2);
    frame->body = held + 3;
    frame->length = (uint8_t)(length - 7);
    return true;
}

bool link_receive(frame_t *frame)
{
    for (;;) {
        uint8_t byte;
        ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
            if (rx_lost) {
                rx_lost = false;
                held_spoilt = true;
            }
        }
        if (rx_out == rx_in)
            return false;
        byte = rx[rx_out];
        rx_out = (uint8_t)((rx_out + 1) % RX_SIZE);
        if (byte) {
            if (held_count < sizeof held)
                held[held_count++] = byte;
            else
                held_spoilt = true;
            continue;
        }
        bool whole = held_count && !held_spoilt && take(frame);
        held_count = 0;
        held_spoilt = false;
        if (whole)
            return true;
    }
}

/* Into the ring if all of it fits; what does not is dropped, and the host asks again or reads the tally. */
void link_send(uint8_t kind, uint16_t number, const void *body, uint8_t length)
{
    static uint8_t plain[96];
    if (length > sizeof plain - 7)
        length = sizeof plain - 7;
    plain[0] = kind;
    memcpy(plain + 1, &number, 2);
    memcpy(plain + 3, body, length);
    uint32_t crc = link_crc(plain, (uint16_t)(length + 3));
    memcpy(plain + 3 + length, &crc, 4);
    uint8_t total = (uint8_t)(length + 7);
    uint8_t room = (uint8_t)(tx_out - tx_in - 1);
    if (room < total + 3)
        return;
    uint8_t in = tx_in;
    tx[in++] = 0;
    uint8_t code_at = in++, code = 1;
    for (uint8_t n = 0; n < total; n++) {
        if (plain[n]) {
            tx[in++] = plain[n];
            code++;
        } else {
            tx[code_at] = code;
            code_at = in++;
            code = 1;
        }
    }
    tx[code_at] = code;
    tx[in++] = 0;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        tx_in = in;
        UCSR0B |= _BV(UDRIE0);
    }
}

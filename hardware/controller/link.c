#include "link.h"
#include "crc.h"
#include "protocol.h"
#include <avr/interrupt.h>
#include <avr/pgmspace.h>
#include <string.h>
#include <util/atomic.h>

#define RX_SIZE 64 /* powers of two; 64 bytes are 5.5 ms of the line, and a turn of the main loop is below 1 ms */
#define TX_SIZE 256
#define HEAD 3
#define CRC 4
#define FOR_EVENTS 120 /* bytes of the ring that answers leave: however much is asked, what happened is told */
#define CRC_OF_WHOLE 0xDEBB20E3UL /* what the CRC comes to over a frame with its own CRC behind it */

static volatile uint8_t rx[RX_SIZE], rx_in, rx_out;
static volatile bool rx_lost;
static uint8_t tx[TX_SIZE];
static volatile uint8_t tx_in, tx_out;

/* What is coming in, unstuffed as it comes. */
static uint8_t held[MAX_FRAME], held_count;
static uint8_t run_code, run_left; /* of COBS: the code byte of this run, and what is left of it */
static bool spoilt;
static uint32_t held_crc;

/* What is going out. */
static uint8_t put_at, code_at;
static uint32_t put_crc;

void link_start(void)
{
    UCSR0A = _BV(U2X0);
    UBRR0 = (uint16_t)((F_CPU + BAUD_RATE * 4) / (BAUD_RATE * 8) - 1);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    held_crc = ~0UL;
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

/* ── in ────────────────────────────────────────────────────────────────── */

static void keep(uint8_t byte)
{
    if (held_count == sizeof held) {
        spoilt = true;
        return;
    }
    held[held_count++] = byte;
    held_crc = crc_step(held_crc, byte);
}

static void unstuff(uint8_t byte)
{
    if (run_left) {
        run_left--;
        keep(byte);
        return;
    }
    if (run_code && run_code < 0xFF)
        keep(0);
    run_code = byte;
    run_left = (uint8_t)(byte - 1);
}

/* At a zero: whether what came before it is a frame. */
static bool take(frame_t *frame)
{
    bool whole = !spoilt && !run_left && held_count >= HEAD + CRC && held_crc == CRC_OF_WHOLE;
    frame->kind = held[0];
    memcpy(&frame->number, held + 1, 2);
    frame->body = held + HEAD;
    frame->length = (uint8_t)(held_count - HEAD - CRC);
    if (whole)
        memcpy(&frame->crc, held + held_count - CRC, CRC);
    held_count = run_code = run_left = 0;
    held_crc = ~0UL;
    spoilt = false;
    return whole;
}

bool link_receive(frame_t *frame)
{
    while (rx_out != rx_in) {
        uint8_t byte = rx[rx_out];
        rx_out = (uint8_t)((rx_out + 1) % RX_SIZE);
        if (byte)
            unstuff(byte);
        else if (take(frame))
            return true;
        if (rx_lost) { /* somewhere behind this byte: what is being read is not whole, or the next is not */
            rx_lost = false;
            spoilt = true;
        }
    }
    return false;
}

/* ── out ───────────────────────────────────────────────────────────────── */

static void stuff(uint8_t byte)
{
    if (byte) {
        tx[put_at++] = byte;
        tx[code_at]++;
    } else {
        code_at = put_at;
        tx[put_at++] = 1;
    }
}

static void put(uint8_t byte)
{
    put_crc = crc_step(put_crc, byte);
    stuff(byte);
}

static bool begin(uint8_t kind, uint16_t number, uint8_t length, uint8_t spare)
{
    uint8_t room = (uint8_t)(tx_out - tx_in - 1);
    if (room < length + HEAD + CRC + 3 + spare) /* a zero at both ends and the first code */
        return false;
    put_at = tx_in;
    tx[put_at++] = 0;
    code_at = put_at;
    tx[put_at++] = 1;
    put_crc = ~0UL;
    put(kind);
    put((uint8_t)number);
    put((uint8_t)(number >> 8));
    return true;
}

static void end(void)
{
    uint32_t crc = ~put_crc;
    for (uint8_t n = 0; n < CRC; n++) {
        stuff((uint8_t)crc);
        crc >>= 8;
    }
    tx[put_at++] = 0;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        tx_in = put_at;
        UCSR0B |= _BV(UDRIE0);
    }
}

static void send(uint8_t kind, uint16_t number, const void *body, uint8_t length, uint8_t spare)
{
    if (!begin(kind, number, length, spare))
        return;
    for (const uint8_t *byte = body; length; length--)
        put(*byte++);
    end();
}

void link_event(uint8_t kind, uint16_t number, const void *body, uint8_t length) { send(kind, number, body, length, 0); }

void link_answer(uint8_t kind, uint16_t number, const void *body, uint8_t length)
{
    send(kind, number, body, length, FOR_EVENTS);
}

void link_event_flash(uint8_t kind, uint16_t number, const char *text, uint8_t length)
{
    if (!begin(kind, number, length, 0))
        return;
    for (; length; length--)
        put(pgm_read_byte(text++));
    end();
}

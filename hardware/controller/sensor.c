#include "sensor.h"
#include "board.h"
#include "lamp.h"
#include "record.h"
#include <avr/interrupt.h>
#include <util/atomic.h>

static volatile uint32_t counts __attribute__((section(".noinit"))), before;
static volatile uint16_t reading;
static volatile bool reached;
static uint32_t wanted, half, due; /* the last two in ticks */

/* 9,615 times a second. A dose ends on a whole half-cycle of the mains, the nearest one. */
ISR(ADC_vect)
{
    uint32_t now = clock_low32();
    bool lit = lamp_lit();
    reading = ADC;
    record_alive(now, lit);
    if (!lit)
        return;
    counts += reading;
    if (!wanted || now - (uint32_t)lamp_on_at() < due)
        return;
    uint32_t last = counts - before;
    before = counts;
    due += half;
    if (counts + last / 2 >= wanted)
        reached = lamp_off();
}

void sensor_start(void)
{
    ADMUX = _BV(REFS0) | SENSOR_CHANNEL;
    ADCSRB = 0;
    ADCSRA = _BV(ADEN) | _BV(ADSC) | _BV(ADATE) | _BV(ADIE) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0);
}

void sensor_count(uint32_t target, uint16_t half_us)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        counts = before = 0;
        reached = false;
        wanted = target;
        half = due = half_us * (uint32_t)TICKS_PER_US;
    }
}

uint32_t sensor_counts(void)
{
    uint32_t now;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { now = counts; }
    return now;
}

bool sensor_reached(void) { return reached; }

uint16_t sensor_reading(void)
{
    uint16_t now;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { now = reading; }
    return now;
}

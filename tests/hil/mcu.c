#include "mcu.h"

#include <string.h>

#include "simavr/avr_adc.h"
#include "simavr/avr_ioport.h"
#include "simavr/avr_uart.h"
#include "simavr/sim_elf.h"

#define PAINT 0xC5
#define DDRB_ADDRESS 0x24
#define LAMP_MASK 2

avr_t *mcu;
bool mcu_lamp, mcu_takes_bytes = true;
uint64_t mcu_lamp_on_cycle;
static uint16_t stack_from;
static bool foot_closed, was_reset;
static void (*chip_reset)(avr_t *);

static void lamp_moved(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)param;
    bool lit = value & 1;
    if (lit == mcu_lamp)
        return;
    mcu_lamp = lit;
    if (lit)
        mcu_lamp_on_cycle = mcu->cycle;
    on_lamp(lit);
}

static void byte_sent(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)param;
    on_byte((uint8_t)value);
}

static void flow(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)value;
    mcu_takes_bytes = param != NULL;
}

static void sampled(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)value, (void)param;
    avr_raise_irq(avr_io_getirq(mcu, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_ADC0), on_sensor());
}

/* The footswitch pulls harder than the chip's own pull-up. */
void mcu_foot(bool closed)
{
    foot_closed = closed;
    avr_ioport_external_t outside = {.name = 'D', .mask = 4, .value = closed ? 0 : 4};
    avr_ioctl(mcu, AVR_IOCTL_IOPORT_SET_EXTERNAL('D'), &outside);
    avr_raise_irq(avr_io_getirq(mcu, AVR_IOCTL_IOPORT_GETIRQ('D'), 2), !closed);
}

void mcu_byte(uint8_t byte) { avr_raise_irq(avr_io_getirq(mcu, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), byte); }

/* simavr reads driven pins back from their latch: take the drive away, then the line is what it is pulled to. */
void mcu_line(bool high)
{
    mcu->data[DDRB_ADDRESS] &= (uint8_t)~LAMP_MASK;
    avr_raise_irq(avr_io_getirq(mcu, AVR_IOCTL_IOPORT_GETIRQ('B'), 1), high);
}

void mcu_write(uint16_t address, uint8_t value)
{
    unsigned io = AVR_DATA_TO_IO(address);
    if (address > 31 && io < MAX_IOs && mcu->io[io].w.c)
        mcu->io[io].w.c(mcu, address, value, mcu->io[io].w.param);
    else
        mcu->data[address] = value;
}

unsigned mcu_stack_free(void)
{
    unsigned at = stack_from;
    while (at <= mcu->ramend && mcu->data[at] == PAINT)
        at++;
    return at - stack_from;
}

static void on_reset(avr_t *avr)
{
    chip_reset(avr);
    was_reset = true;
}

int mcu_run(void)
{
    int state = avr_run(mcu);
    if (was_reset) { /* simavr forgets what its pins are pulled to */
        was_reset = false;
        bool closed = foot_closed;
        mcu_foot(!closed);
        mcu_foot(closed);
    }
    return state;
}

bool mcu_load(const char *elf, uint16_t stack_low)
{
    elf_firmware_t firmware;
    memset(&firmware, 0, sizeof firmware);
    if (elf_read_firmware(elf, &firmware))
        return false;
    mcu = avr_make_mcu_by_name("atmega328p");
    avr_init(mcu);
    mcu->log = 0;
    avr_load_firmware(mcu, &firmware);
    mcu->frequency = HZ;
    mcu->vcc = mcu->avcc = mcu->aref = 5000;
    stack_from = stack_low;
    chip_reset = mcu->reset;
    mcu->reset = on_reset;
    memset(mcu->data + 0x100, PAINT, mcu->ramend - 0x100 + 1); /* memory at power-up is anything; and the stack is seen */

    uint32_t flags = 0;
    avr_ioctl(mcu, AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
    flags &= ~AVR_UART_FLAG_STDIO;
    flags &= ~AVR_UART_FLAG_POLL_SLEEP;
    avr_ioctl(mcu, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(avr_io_getirq(mcu, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), byte_sent, NULL);
    avr_irq_register_notify(avr_io_getirq(mcu, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUT_XON), flow, &mcu);
    avr_irq_register_notify(avr_io_getirq(mcu, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUT_XOFF), flow, NULL);
    avr_irq_register_notify(avr_io_getirq(mcu, AVR_IOCTL_IOPORT_GETIRQ('B'), 1), lamp_moved, NULL);
    avr_irq_register_notify(avr_io_getirq(mcu, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_OUT_TRIGGER), sampled, NULL);
    mcu_foot(false);
    return true;
}

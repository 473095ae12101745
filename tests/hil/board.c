/* The compiled firmware, run cycle by cycle in simavr: its UART on a pseudo-terminal, its pins on a witness's wire.
 *
 *   board keeper.elf wire.sock [speed] [light.txt]
 *
 * Prints the terminal's name. Lamp edges go to the wire as "L1 <ns>", from the cycle at which the pin moved; "P1" and
 * "P0" from the wire are the footswitch, told back as "pressed <ns>". light.txt: millivolts on the light sensor for each
 * millisecond since the lamp went on; after its end the last one, in the dark 0. "Q" from the
 * wire asks for the time, "R" resets the board, "S" shorts the lamp line to high, "U" pulls its serial line and plugs it in under another name.
 */
#include <errno.h>
#include <fcntl.h>
#include <pty.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "simavr/avr_adc.h"
#include "simavr/avr_ioport.h"
#include "simavr/avr_uart.h"
#include "simavr/sim_avr.h"
#include "simavr/sim_elf.h"

static avr_t *avr;
static int master, slave, wire = -1;
static int xon = 1, lamp;
static uint64_t lamp_on_cycle;
static float light[200000];
static int light_count;

static void tell(const char *text)
{
    if (wire >= 0 && write(wire, text, strlen(text)) < 0)
        exit(0);
}

static uint64_t ns(void) { return (uint64_t)(avr->cycle * 1000.0 / 16.0); }

static void on_lamp(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)param;
    if ((int)(value & 1) == lamp)
        return;
    char line[64];
    lamp = value & 1;
    if (lamp)
        lamp_on_cycle = avr->cycle;
    snprintf(line, sizeof line, "L%d %llu\n", lamp, (unsigned long long)ns());
    tell(line);
}

static void on_uart(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)param;
    uint8_t byte = (uint8_t)value;
    if (write(master, &byte, 1) < 0 && errno != EAGAIN && errno != EIO)
        exit(0);
}

static void on_xon(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)value;
    xon = (int)(intptr_t)param;
}

static void on_adc(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)value, (void)param;
    uint32_t mv = 0;
    if (lamp && light_count) {
        uint64_t ms = (avr->cycle - lamp_on_cycle) / 16000;
        mv = (uint32_t)light[ms < (uint64_t)light_count ? ms : (uint64_t)light_count - 1];
    }
    avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_ADC0), mv);
}

static uint64_t real_ns(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (uint64_t)t.tv_sec * 1000000000ull + (uint64_t)t.tv_nsec;
}

/* The footswitch pulls harder than the chip's own pull-up. */
static void pedal(int level)
{
    avr_ioport_external_t outside = {.name = 'D', .mask = 4, .value = level ? 4 : 0};
    avr_ioctl(avr, AVR_IOCTL_IOPORT_SET_EXTERNAL('D'), &outside);
    avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('D'), 2), (uint32_t)level);
}

/* A serial line, new each time it is plugged in; its name on stdout. */
static void plug(void)
{
    char name[128];
    struct termios raw;
    openpty(&master, &slave, name, NULL, NULL);
    tcgetattr(slave, &raw);
    cfmakeraw(&raw);
    tcsetattr(slave, TCSANOW, &raw);
    fcntl(master, F_SETFL, O_NONBLOCK);
    printf("%s\n", name);
    fflush(stdout);
}

static void read_wire(void)
{
    char data[256];
    ssize_t count = recv(wire, data, sizeof data, MSG_DONTWAIT);
    if (count == 0)
        exit(0);
    for (ssize_t n = 0; n + 1 < count; n++) {
        if (data[n] == 'P' && (data[n + 1] == '0' || data[n + 1] == '1')) {
            char line[64];
            snprintf(line, sizeof line, "%s %llu\n", data[n + 1] == '1' ? "pressed" : "released", (unsigned long long)ns());
            tell(line);
            pedal(data[n + 1] == '0');
        } else if (data[n] == 'Q' && data[n + 1] == '\n') {
            char line[64];
            snprintf(line, sizeof line, "now %llu\n", (unsigned long long)ns());
            tell(line);
        } else if (data[n] == 'S' && data[n + 1] == '\n') {
            /* simavr reads driven pins back from their latch: take the drive away, then pull the line up */
            avr->data[0x24] &= (uint8_t)~2;
            avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('B'), 1), 1);
        } else if (data[n] == 'U' && data[n + 1] == '\n') {
            close(master);
            close(slave);
            plug();
        } else if (data[n] == 'R' && data[n + 1] == '\n')
            avr_reset(avr);
    }
}

int main(int count, char **args)
{
    if (count < 3)
        return 2;
    double speed = count > 3 ? atof(args[3]) : 1.0;
    if (count > 4) {
        FILE *file = fopen(args[4], "r");
        while (file && light_count < 200000 && fscanf(file, "%f", &light[light_count]) == 1)
            light_count++;
    }
    elf_firmware_t firmware;
    memset(&firmware, 0, sizeof firmware);
    if (elf_read_firmware(args[1], &firmware))
        return 3;
    avr = avr_make_mcu_by_name("atmega328p");
    avr_init(avr);
    avr->frequency = 16000000;
    avr->log = 0;
    avr_load_firmware(avr, &firmware);
    avr->frequency = 16000000;
    avr->vcc = avr->avcc = avr->aref = 5000;

    wire = socket(AF_UNIX, SOCK_STREAM, 0);
    struct sockaddr_un to = {.sun_family = AF_UNIX};
    strncpy(to.sun_path, args[2], sizeof to.sun_path - 1);
    if (connect(wire, (struct sockaddr *)&to, sizeof to))
        return 4;

    uint32_t flags = 0;
    avr_ioctl(avr, AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
    flags &= ~AVR_UART_FLAG_STDIO;
    flags &= ~AVR_UART_FLAG_POLL_SLEEP;
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), on_uart, NULL);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUT_XON), on_xon, (void *)1);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUT_XOFF), on_xon, (void *)0);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('B'), 1), on_lamp, NULL);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_OUT_TRIGGER), on_adc, NULL);
    pedal(1);

    plug();

    /* Bytes come no faster than the line carries them: one in 87 microseconds at 115200. */
    uint64_t began = real_ns(), next_byte = 0, next_look = 0;
    for (;;) {
        int state = avr_run(avr);
        if (state == cpu_Done || state == cpu_Crashed)
            return 5;
        if (avr->cycle >= next_byte && xon) {
            uint8_t byte;
            if (read(master, &byte, 1) == 1) {
                avr_raise_irq(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), byte);
                next_byte = avr->cycle + 1389;
            } else
                next_byte = avr->cycle + 800;
        }
        if (avr->cycle >= next_look) {
            next_look = avr->cycle + 1600;
            read_wire();
            uint64_t should = began + (uint64_t)((double)ns() / speed), now = real_ns();
            if (should > now + 50000) {
                struct timespec pause = {0, (long)(should - now > 900000000 ? 900000000 : should - now)};
                nanosleep(&pause, NULL);
            }
        }
    }
}

/* The firmware, live: its serial line on a pseudo-terminal, its pins on a witness's wire.
 *
 *   board keeper.elf STACK_LOW wire.sock [speed] [light.txt]
 *
 * Prints the terminal's name. Lamp edges go to the wire as "L1 <ns>", from the cycle at which the pin moved; "P1" and
 * "P0" from the wire are the footswitch, told back as "pressed <ns>". light.txt: millivolts on the light sensor for each
 * millisecond since the lamp went on; after its end the last one, in the dark 0. "Q" from the wire asks for the time, "R"
 * resets the board, "S" shorts the lamp line to high, "U" pulls its serial line and plugs it in under another name, "M" makes
 * it mute: it hears, and is not heard; "H" ends that. At the end of its standard input it prints "stack <bytes never used>" and ends.
 */
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <sched.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "mcu.h"

static int master, slave, wire = -1;
static bool mute;
static float light[200000];
static int light_count;

static uint64_t ns(void) { return (uint64_t)(mcu->cycle * 1000.0 / 16.0); }

static void tell(const char *word)
{
    char line[64];
    int length = snprintf(line, sizeof line, "%s %llu\n", word, (unsigned long long)ns());
    if (wire >= 0 && write(wire, line, (size_t)length) < 0)
        exit(0);
}

void on_lamp(bool lit) { tell(lit ? "L1" : "L0"); }

void on_byte(uint8_t byte)
{
    if (!mute && write(master, &byte, 1) < 0 && errno != EAGAIN && errno != EIO)
        exit(0);
}

uint32_t on_sensor(void)
{
    if (!mcu_lamp || !light_count)
        return 0;
    uint64_t ms = (mcu->cycle - mcu_lamp_on_cycle) / (HZ / 1000);
    return (uint32_t)light[ms < (uint64_t)light_count ? ms : (uint64_t)light_count - 1];
}

static uint64_t real_ns(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (uint64_t)t.tv_sec * 1000000000ull + (uint64_t)t.tv_nsec;
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

static void obey(const char *word)
{
    switch (word[0]) {
    case 'P':
        tell(word[1] == '1' ? "pressed" : "released");
        mcu_foot(word[1] == '1');
        break;
    case 'Q': tell("now"); break;
    case 'R': avr_reset(mcu); break;
    case 'S': mcu_line(true); break;
    case 'M':
    case 'H': mute = word[0] == 'M'; break;
    case 'U':
        close(master);
        close(slave);
        plug();
        break;
    }
}

static void read_wire(void)
{
    static char held[256];
    static size_t count;
    ssize_t got = recv(wire, held + count, sizeof held - count, MSG_DONTWAIT);
    if (got == 0)
        exit(0);
    if (got < 0)
        return;
    count += (size_t)got;
    char *end;
    while ((end = memchr(held, '\n', count))) {
        *end = 0;
        obey(held);
        count -= (size_t)(end + 1 - held);
        memmove(held, end + 1, count);
    }
}

static void end_if_told(void)
{
    struct pollfd in = {.fd = STDIN_FILENO, .events = POLLIN};
    char byte;
    if (poll(&in, 1, 0) == 1 && read(STDIN_FILENO, &byte, 1) <= 0) {
        printf("stack %u\n", mcu_stack_free());
        exit(0);
    }
}

int main(int count, char **args)
{
    if (count < 4 || !mcu_load(args[1], (uint16_t)strtoul(args[2], NULL, 16)))
        return 3;
    double speed = count > 4 ? atof(args[4]) : 1.0;
    if (count > 5) {
        FILE *file = fopen(args[5], "r");
        while (file && light_count < 200000 && fscanf(file, "%f", &light[light_count]) == 1)
            light_count++;
    }
    /* A board does not wait for a busy machine: where that is permitted, this one does not either. */
    struct sched_param first = {.sched_priority = 30};
    sched_setscheduler(0, SCHED_FIFO, &first);
    wire = socket(AF_UNIX, SOCK_STREAM, 0);
    struct sockaddr_un to = {.sun_family = AF_UNIX};
    strncpy(to.sun_path, args[3], sizeof to.sun_path - 1);
    if (connect(wire, (struct sockaddr *)&to, sizeof to))
        return 4;
    plug();

    uint64_t began = real_ns(), next_byte = 0, next_look = 0;
    for (;;) {
        int state = mcu_run();
        if (state == cpu_Done || state == cpu_Crashed)
            return 5;
        if (mcu->cycle >= next_byte && mcu_takes_bytes) {
            uint8_t byte;
            bool came = read(master, &byte, 1) == 1;
            if (came)
                mcu_byte(byte);
            next_byte = mcu->cycle + (came ? BYTE_CYCLES : BYTE_CYCLES / 2);
        }
        if (mcu->cycle >= next_look) {
            next_look = mcu->cycle + HZ / 10000;
            read_wire();
            end_if_told();
            uint64_t should = began + (uint64_t)((double)ns() / speed), now = real_ns();
            if (should > now + 50000) {
                struct timespec pause = {0, (long)(should - now > 900000000 ? 900000000 : should - now)};
                nanosleep(&pause, NULL);
            }
        }
    }
}

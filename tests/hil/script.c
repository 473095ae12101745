/* The firmware on a script: everything that happens to it happens at a cycle that is told beforehand, so that a run can be
 * had again to the cycle, with one thing moved by one.
 *
 *   script keeper.elf STACK_LOW < lines
 *
 *   <cycle> rx <hex>            bytes on the serial line, one after another
 *   <cycle> foot <0|1>          the footswitch's contact; <cycle>+ : moved by the case's shift
 *   <cycle> light <mV>          the light sensor while the lamp is lit
 *   <cycle> hang <address>      the instruction there becomes a jump to itself, until
 *   <cycle> heal <address>
 *   <cycle> deaf                interrupts are off
 *   <cycle> ram <address> <byte>     other memory, or another register; flip: only the bits that are set
 *   <cycle> line <0|1>          something else drives the lamp's line
 *   <cycle> reset
 *   mark <address> <name>       tell when this instruction is about to be run; the longest time between two is told too
 *   cases <cycle> <count> <step>     from this cycle on, once for each shift 0, step, 2 step, ...
 *   until <cycle>
 *
 * Tells "<cycle> lamp <0|1>", "<cycle> tx <hex>", "<cycle> mark <name>", "case <shift>", and at the end of each case "stack
 * <bytes never used>", "masked <most cycles with interrupts off>", "gap <name> <cycles>".
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "mcu.h"

enum what { RX, FOOT, LIGHT, HANG, HEAL, DEAF, RAM, FLIP, LINE, RESET };

typedef struct {
    uint64_t at;
    int order; /* of the lines, where cycles are equal */
    bool moves;
    enum what what;
    unsigned a, b;
} step_t;

#define MAX_STEPS 200000
#define MAX_MARKS 8

static step_t steps[MAX_STEPS];
static int step_count, step_at;
static struct {
    uint32_t pc;
    char name[32];
    uint64_t last, gap;
    bool quiet;
} marks[MAX_MARKS];
static int mark_count;
static uint8_t pool[1 << 22], queue[1 << 22];
static size_t pool_count, queue_in, queue_out;
static uint64_t next_byte, until, cases_from, masked, masked_since;
static unsigned case_count, case_step, light_mv;
static bool was_masked, begun;
static uint8_t healthy[2];

static unsigned long long cycle(void) { return mcu->cycle; }

void on_lamp(bool lit) { printf("%llu lamp %d\n", cycle(), lit); }
void on_byte(uint8_t byte) { printf("%llu tx %02x\n", cycle(), byte); }
uint32_t on_sensor(void) { return mcu_lamp ? light_mv : 0; }

static void add(uint64_t at, bool moves, enum what what, unsigned a, unsigned b)
{
    if (step_count == MAX_STEPS)
        exit(6);
    steps[step_count] = (step_t){at, step_count, moves, what, a, b};
    step_count++;
}

/* Bytes to be sent, kept in a pool: how many there were. */
static unsigned pooled(const char *hex)
{
    unsigned byte, count = 0;
    for (; sscanf(hex, "%2x", &byte) == 1; hex += 2, count++) {
        if (pool_count == sizeof pool)
            exit(6);
        pool[pool_count++] = (uint8_t)byte;
    }
    return count;
}

static void read_line(char *line)
{
    unsigned long long at;
    char word[32], plus[2] = "", rest[8192] = "";
    unsigned a = 0, b = 0;
    if (sscanf(line, "mark %x %31s %1s", &a, word, plus) >= 2 && mark_count < MAX_MARKS) {
        marks[mark_count].pc = a;
        marks[mark_count].quiet = plus[0] == 'q';
        strcpy(marks[mark_count++].name, word);
    } else if (sscanf(line, "cases %llu %u %u", &at, &a, &b) == 3)
        cases_from = at, case_count = a, case_step = b;
    else if (sscanf(line, "until %llu", &at) == 1)
        until = at;
    else {
        bool moves = strchr(line, '+') != NULL;
        if (moves)
            *strchr(line, '+') = ' ';
        if (sscanf(line, "%llu %31s %8191[^\n]", &at, word, rest) < 2)
            exit(7);
        if (!strcmp(word, "rx")) {
            a = (unsigned)pool_count;
            b = pooled(rest);
            add(at, moves, RX, a, b);
        } else if (!strcmp(word, "foot"))
            add(at, moves, FOOT, (unsigned)atoi(rest), 0);
        else if (!strcmp(word, "light"))
            add(at, moves, LIGHT, (unsigned)atoi(rest), 0);
        else if (!strcmp(word, "line"))
            add(at, moves, LINE, (unsigned)atoi(rest), 0);
        else if (!strcmp(word, "reset"))
            add(at, moves, RESET, 0, 0);
        else if (!strcmp(word, "deaf"))
            add(at, moves, DEAF, 0, 0);
        else if ((!strcmp(word, "ram") || !strcmp(word, "flip")) && sscanf(rest, "%x %x", &a, &b) == 2)
            add(at, moves, word[0] == 'r' ? RAM : FLIP, a, b);
        else if ((!strcmp(word, "hang") || !strcmp(word, "heal")) && sscanf(rest, "%x", &a) == 1)
            add(at, moves, word[1] == 'a' ? HANG : HEAL, a, 0);
        else
            exit(8);
    }
}

static int sooner(const void *left, const void *right)
{
    const step_t *a = left, *b = right;
    return a->at != b->at ? (a->at < b->at ? -1 : 1) : a->order - b->order;
}

static void act(const step_t *step)
{
    switch (step->what) {
    case RX:
        for (unsigned n = 0; n < step->b; n++)
            queue[queue_in++ % sizeof queue] = pool[step->a + n];
        break;
    case FOOT: mcu_foot(step->a); break;
    case LIGHT: light_mv = step->a; break;
    case HANG:
        memcpy(healthy, mcu->flash + step->a, 2);
        memcpy(mcu->flash + step->a, "\xff\xcf", 2); /* rjmp .-2 */
        break;
    case HEAL: memcpy(mcu->flash + step->a, healthy, 2); break;
    case DEAF: mcu->sreg[S_I] = 0; break;
    case RAM: mcu_write((uint16_t)step->a, (uint8_t)step->b); break;
    case FLIP: mcu->data[step->a] ^= (uint8_t)step->b; break;
    case LINE: mcu_line(step->a); break;
    case RESET:
        avr_reset(mcu);
        begun = false;
        break;
    }
}

static void look(void)
{
    for (int n = 0; n < mark_count; n++)
        if (mcu->pc == marks[n].pc) {
            if (!marks[n].quiet)
                printf("%llu mark %s\n", cycle(), marks[n].name);
            if (marks[n].last && mcu->cycle - marks[n].last > marks[n].gap)
                marks[n].gap = mcu->cycle - marks[n].last;
            marks[n].last = mcu->cycle;
        }
    bool off = !mcu->sreg[S_I];
    if (!mcu->pc) /* a reset by the watchdog */
        begun = false;
    if (off && !was_masked)
        masked_since = mcu->cycle;
    if (!off && was_masked) {
        if (begun && mcu->cycle - masked_since > masked)
            masked = mcu->cycle - masked_since;
        begun = true; /* the start does not count */
    }
    was_masked = off;
}

static void run(uint64_t end)
{
    while (mcu->cycle < end) {
        while (step_at < step_count && steps[step_at].at <= mcu->cycle)
            act(&steps[step_at++]);
        if (queue_out < queue_in && mcu_takes_bytes && mcu->cycle >= next_byte) {
            mcu_byte(queue[queue_out++ % sizeof queue]);
            next_byte = mcu->cycle + BYTE_CYCLES;
        }
        int state = mcu_run();
        if (state == cpu_Done || state == cpu_Crashed) {
            printf("%llu crashed\n", cycle());
            fflush(stdout);
            exit(5);
        }
        look();
    }
}

static void tell_end(void)
{
    printf("stack %u\nmasked %llu\n", mcu_stack_free(), (unsigned long long)masked);
    for (int n = 0; n < mark_count; n++)
        printf("gap %s %llu\n", marks[n].name, (unsigned long long)marks[n].gap);
    fflush(stdout);
}

static void run_case(unsigned shift)
{
    for (int n = step_at; n < step_count; n++)
        if (steps[n].moves)
            steps[n].at += shift;
    qsort(steps + step_at, (size_t)(step_count - step_at), sizeof *steps, sooner);
    run(until);
    tell_end();
}

int main(int count, char **args)
{
    static char line[16384];
    if (count != 3 || !mcu_load(args[1], (uint16_t)strtoul(args[2], NULL, 16)))
        return 3;
    while (fgets(line, sizeof line, stdin))
        read_line(line);
    qsort(steps, (size_t)step_count, sizeof *steps, sooner);
    if (!case_count) {
        run_case(0);
        return 0;
    }
    run(cases_from);
    for (unsigned n = 0; n < case_count; n++) {
        printf("case %u\n", n * case_step);
        fflush(stdout);
        pid_t child = fork();
        if (!child) {
            run_case(n * case_step);
            _exit(0);
        }
        int status;
        if (child < 0 || waitpid(child, &status, 0) < 0 || status)
            return 9;
    }
    return 0;
}

/* The compiled firmware in simavr, cycle by cycle, with what is wired to it: lamp, footswitch, light sensor, serial line. */
#pragma once
#include <stdbool.h>
#include <stdint.h>

#include "simavr/sim_avr.h"

#define HZ 16000000
#define BYTE_CYCLES 1504 /* of the serial line, as slow as simavr reads it: 94 us, where 115200 baud are 87 */

extern avr_t *mcu;
extern bool mcu_lamp;              /* as its pin says */
extern uint64_t mcu_lamp_on_cycle; /* when it last went on */
extern bool mcu_takes_bytes;       /* its serial receiver has room */

/* Called by the simulator, to be defined by whoever runs it. */
void on_lamp(bool lit);
void on_byte(uint8_t byte);
uint32_t on_sensor(void); /* millivolts at the light sensor now */

/* Load the ELF; `stack_low` is where its static memory ends. False if that fails. */
bool mcu_load(const char *elf, uint16_t stack_low);
int mcu_run(void); /* one instruction; simavr's state */
void mcu_foot(bool closed);
void mcu_byte(uint8_t byte); /* a byte on its serial line */
void mcu_line(bool high);    /* something else drives the lamp's line */
void mcu_write(uint16_t address, uint8_t value); /* memory or a register, as if by an instruction */
unsigned mcu_stack_free(void); /* bytes between static memory and stack that were never written to */

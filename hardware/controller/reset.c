#include "reset.h"
#include "lamp.h"
#include <avr/io.h>
#include <avr/wdt.h>

static uint8_t cause __attribute__((section(".noinit")));

/* Before memory is set up: dark. After its own reset the watchdog is on, at 15 ms: it gets its period here. */
void reset_first(void) __attribute__((naked, used, section(".init3")));
void reset_first(void)
{
    lamp_start();
    cause = MCUSR;
    MCUSR = 0;
    wdt_enable(WDTO_60MS);
}

bool reset_by_watchdog(void) { return cause & _BV(WDRF); }

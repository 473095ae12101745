/* Lamphouse's keeper on a microcontroller. See docs/protocol.md and README.md beside this file. */
#include "keeper.h"
#include <avr/interrupt.h>
#include <avr/wdt.h>

int main(void)
{
    keeper_start();
    wdt_enable(WDTO_250MS); /* a main loop that hangs is a reset, and a reset is dark */
    sei();
    for (;;) {
        wdt_reset();
        keeper_turn();
    }
}

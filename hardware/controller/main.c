/* Lamphouse's keeper on a microcontroller. See docs/protocol.md and README.md beside this file. */
#include "clock.h"
#include "keeper.h"
#include <avr/interrupt.h>
#include <avr/wdt.h>

int main(void)
{
    keeper_start();
    sei();
    ticks_t before = 0;
    for (;;) {
        ticks_t now = clock_now();
        if (now != before) /* a clock that stands is a loop that hangs: no light would ever end */
            wdt_reset();
        before = now;
        keeper_turn(now);
    }
}

#include "keeper.h"
#include "board.h"
#include "commands.h"
#include "contact.h"
#include "link.h"
#include "record.h"
#include "rules.h"
#include "sensor.h"
#include "tell.h"

void keeper_turn(ticks_t now)
{
    frame_t frame;
    record_turned(now);
    rules_turn(now);
    sound_turn(now);
    if (link_receive(&frame))
        command(&frame);
}

void keeper_start(void)
{
    SAFE_DDR |= _BV(SAFE_BIT);
    sound_start();
    clock_start();
    link_start();
    record_start(sensor_counts());
    sensor_start();
    contact_start();
    rules_tell_last();
}

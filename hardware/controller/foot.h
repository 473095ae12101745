/* The footswitch: which edges are presses, which closures are holds. Pure rules, no pins and no interrupts: the same as
 * timer/keeper/local/footswitch.py; tests/keeper/footswitch_vectors.toml is run against both. */
#pragma once
#include "clock.h"
#include <stdbool.h>

void foot_start(bool down, ticks_t now); /* as found; one that is down is no press and no hold until it was let go */
bool foot_is_down(void);                 /* as of its last edge */
void foot_edge(bool down, ticks_t at);
void foot_blank(ticks_t at);                 /* an edge of our own line: what the cable says now is not the foot's */
bool foot_pressed(ticks_t now, ticks_t *at); /* a press is due by now: true once, and when it was due */
bool foot_held(ticks_t now);                 /* a hold is due by now: true once */
void foot_never_hold(void);                  /* the closure in progress shall not become a hold */

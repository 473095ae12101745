/* The host's frames: what each asks of the rules, and the answer. One that is sent again is answered again, and acts once. */
#pragma once
#include "link.h"

void command(const frame_t *frame);

/* The footswitch's contact: its edges, as they come, told to the rules in foot.c. */
#pragma once

void contact_start(void);
void contact_turn(void); /* once around the main loop */

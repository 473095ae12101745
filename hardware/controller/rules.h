/* The rules of light: when it begins, why it ends, what is refused. docs/protocol.md is the contract.
 *
 * Light begins in one place, light(), and only from the main loop: so nothing that the main loop does, such as going dark,
 * can be cut in two by a press. Interrupts note edges, count, and end light. */
#pragma once
#include "clock.h"
#include "order.h"
#include <stdbool.h>

uint8_t rules_state(void);
void rules_heard(void);         /* the host, just now */
void rules_tell_fault(void);    /* again, if there is one: whoever comes back must hear why nothing is lit */
void rules_tell_last(void);     /* after a reset: what it broke off, and what was armed */

uint8_t rules_refuse(uint64_t exposure, uint64_t on_us); /* why such an exposure is not taken now; 0 if it is */
order_t *rules_order(void);                              /* to be filled in then, and only then */
void rules_take(bool now);                               /* it is lit, or armed in place of what was armed before */

uint8_t rules_focus(uint64_t limit_us); /* so long, or until lamp and negative are as warm as they may be; 0: off. Why not, or 0 */
void rules_dark(uint8_t why);           /* all that shines off, nothing armed: always allowed, in every state */

void rules_turn(ticks_t now); /* once around the main loop */

/* When the ear is told: the cues of the order, and a tick each second between them. */
#pragma once
#include "clock.h"
#include "order.h"

void cues_begin(const order_t *order);
void cues_due(const order_t *order, uint32_t since_us); /* at most one a call; since_us: of light */

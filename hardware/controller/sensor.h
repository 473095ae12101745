/* The light sensor in the lamp house: what it has counted of a light, and a light that ends by its count. */
#pragma once
#include <stdbool.h>
#include <stdint.h>

void sensor_start(void);
void sensor_count(uint32_t target, uint16_t half_us); /* from nothing, for the next light; target 0: it ends by time */
uint32_t sensor_counts(void);                         /* of the last light; kept through a reset */
bool sensor_reached(void);                            /* the last light was ended by its count */
uint16_t sensor_reading(void);                        /* now, of 1023 */

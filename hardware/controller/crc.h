/* CRC-32 of IEEE 802.3, a byte at a time: begin with ~0, end with ~. */
#pragma once
#include <stdint.h>

uint32_t crc_step(uint32_t crc, uint8_t byte);

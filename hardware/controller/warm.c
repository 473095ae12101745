#include "warm.h"
#include "protocol.h"

/* The square root of v times 256, for v from 2^14 to 2^24. */
static uint32_t root256(uint32_t v)
{
    uint8_t halvings = 8;
    while (v < 1UL << 30) { /* all the digits that 32 bits can give */
        v <<= 2;
        halvings--;
    }
    uint32_t r = 0;
    for (uint32_t bit = 1UL << 30; bit; bit >>= 2)
        if (v >= r + bit) {
            v -= r + bit;
            r = (r >> 1) + bit;
        } else
            r >>= 1;
    return r << halvings;
}

/* exp(-x) of 2^16, x of 2^14 and below 8: 2 to the power -y, its whole part by shifts, the rest by a cubic (6e-5 off). */
static uint32_t exp_minus(uint32_t x)
{
    uint32_t y = (x * 23637UL) >> 14; /* log2(e) of 2^14 */
    uint32_t f = y & 0x3FFF;
    uint32_t p = 15131 - ((2591 * f) >> 14);
    p = 45307 - ((p * f) >> 14);
    p = 65532 - ((p * f) >> 14);
    return p >> (y >> 14);
}

uint32_t warm_cut(uint32_t less_us, uint32_t recovery_us, ticks_t rested)
{
    uint32_t ticks = rested >> 32 ? ~0UL : (uint32_t)rested; /* 36 minutes are for ever */
    if (ticks < US(MIN_REST_US))
        ticks = US(MIN_REST_US);
    if (ticks >> 4 >= recovery_us) /* x of 8 and more: nothing is left of it */
        return 0;
    /* Both in units of 128 us, and as coarse beyond that as x, of 2^14 in 32 bits, needs them. */
    uint32_t r = ticks >> 8, t = recovery_us >> 7;
    while (r >> 18) {
        r >>= 1;
        t >>= 1;
    }
    uint32_t x = (r << 14) / t;
    uint32_t x64 = (x << 6) + (((r << 14) % t) << 6) / t; /* 64 x, of 2^14: x alone is too coarse where it is small */
    uint32_t share = (exp_minus(x) << 15) / root256(16384 + x64);
    return ((less_us >> 8) * share + (((less_us & 0xFF) * share) >> 8)) >> 8;
}

"""A warm lamp comes up sooner (docs/protocol.md, "Warm lamps")."""

import math

MAX_LESS_US = 1_000_000
MAX_RECOVERY_US = 30_000_000
MIN_REST_US = 200_000


def cut_us(less_us: int, recovery_us: int, rested_us: int | None, last_on_us: int, last_cut_us: int) -> int:
    """By how many µs of lamp-on time a lamp that rested ``rested_us`` (None: not known, so cold) is given less.

    ``last_on_us`` and ``last_cut_us``: of the light before; no filament is warmer than its heating.
    """
    if not less_us or not recovery_us or rested_us is None:
        return 0
    x = max(rested_us, MIN_REST_US) / recovery_us
    return min(round(less_us * math.exp(-x) / math.sqrt(1 + 64 * x)), last_on_us + last_cut_us)

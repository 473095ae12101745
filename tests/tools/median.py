"""How long something takes."""

import statistics
import time
from collections.abc import Callable


def median_ms(work: Callable[[], object], times: int = 7) -> float:
    """The median of ``times`` turns of ``work``, in ms of the wall's clock."""
    took = []
    for _ in range(times):
        began = time.perf_counter()
        work()
        took.append((time.perf_counter() - began) * 1000)
    return statistics.median(took)

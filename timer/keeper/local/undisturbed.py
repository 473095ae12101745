"""Real-time scheduling, memory that stays in, no garbage collection: each where permitted."""

import contextlib
import gc
import os


def undisturbed(priority: int) -> None:
    """Give this process real-time priority and locked memory. Call it after the imports, which may be slow."""
    with contextlib.suppress(OSError):
        os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(priority))
    import ctypes

    libc = ctypes.CDLL(None, use_errno=True)
    mcl_current, mcl_future, pr_set_timerslack = 1, 2, 29
    libc.mlockall(mcl_current | mcl_future)
    libc.prctl(pr_set_timerslack, 1, 0, 0, 0)
    gc.collect()
    gc.freeze()
    gc.disable()

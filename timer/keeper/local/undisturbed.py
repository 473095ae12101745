"""Real-time scheduling, memory that stays in, no garbage collection: each where permitted."""

import contextlib
import gc
import os
import threading


def undisturbed(priority: int) -> None:
    """Give this process real-time priority and locked memory. Call it after the imports, which may be slow.

    A driver's own threads come next after the one that calls: a process that is killed is gone, and lets go of its lamp,
    only when the last of them has had its turn to end.
    """
    ours = threading.get_native_id()
    with contextlib.suppress(OSError):
        for task in map(int, os.listdir("/proc/self/task")):
            os.sched_setscheduler(task, os.SCHED_FIFO, os.sched_param(priority if task == ours else priority - 1))
    import ctypes  # start-up time: not every keeper may lock its memory

    libc = ctypes.CDLL(None, use_errno=True)
    mcl_current, mcl_future, pr_set_timerslack = 1, 2, 29
    libc.mlockall(mcl_current | mcl_future)
    libc.prctl(pr_set_timerslack, 1, 0, 0, 0)
    gc.collect()
    gc.freeze()
    gc.disable()

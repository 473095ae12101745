"""Real-time priority for all threads of a process: in one of its own, since it cannot be taken back."""

import json
import subprocess
import sys

CHILD = """
import json, os, threading, time
from timer.keeper.local.undisturbed import undisturbed
end = threading.Event()
other = threading.Thread(target=end.wait, daemon=True)
other.start()
undisturbed(50)
def standing(task):
    return [os.sched_getscheduler(task) == os.SCHED_FIFO, os.sched_getparam(task).sched_priority]
print(json.dumps([standing(threading.get_native_id()), standing(other.native_id)]))
end.set()
"""
MAY = "import os; os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(1))"


def test_a_drivers_own_threads_come_next_after_the_keeper() -> None:
    """A thread that had to wait for a turn among ordinary processes would hold up the death of the whole."""
    may = subprocess.run([sys.executable, "-c", MAY], capture_output=True).returncode == 0
    done = subprocess.run([sys.executable, "-c", CHILD], capture_output=True, text=True, check=True)
    assert json.loads(done.stdout) == ([[True, 50], [True, 49]] if may else [[False, 0], [False, 0]])

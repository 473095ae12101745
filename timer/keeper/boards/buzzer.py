"""An active buzzer's beeps, on a thread of their own: the keeper's loop never waits for a sound."""

import queue
import threading
import time
from collections.abc import Callable

BEEPS = ((0.03, 1), (0.08, 2), (0.15, 1), (0.4, 1))
"""For each cue (tick, warn, change, end): seconds of a beep, and how many. Common practice."""


class Buzzer:
    """``switch`` turns the buzzer on or off."""

    def __init__(self, switch: Callable[[bool], None]) -> None:
        self._switch = switch
        self._cues: queue.SimpleQueue[int | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._work, name="buzzer", daemon=True)
        self._thread.start()

    def sound(self, cue: int) -> None:
        """Beep as ``cue`` (messages.Cue) does, after those before it; comes back at once. From any thread."""
        self._cues.put(cue)

    def close(self) -> None:
        """Silent, and the thread ended."""
        self._cues.put(None)
        self._thread.join(1)

    def _work(self) -> None:
        while (cue := self._cues.get()) is not None:
            seconds, times = BEEPS[cue]
            for _ in range(times):
                self._switch(True)
                time.sleep(seconds)
                self._switch(False)
                time.sleep(seconds)

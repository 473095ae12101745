"""Every change of a run's state, a line each: what a bug report can attach. JSON lines, rotated, in the state folder.

A disk that stalls must not hold up a run: lines are written on a thread of their own. One that cannot be written is lost.
"""

import json
import logging
import queue
import time
from logging.handlers import QueueHandler, QueueListener, RotatingFileHandler
from pathlib import Path
from typing import Any

from timer.run import states

FILE = "transitions.log"
MAX_BYTES = 256 * 1024
KEPT = 3
"""Older files beside the newest."""


class _Silent(RotatingFileHandler):
    def handleError(self, record: logging.LogRecord) -> None:  # noqa: N802 (logging's own name)
        """A log that cannot be written does not fail the run."""


class TransitionLog:
    """One run's; ``close`` writes what is still held. All methods come back at once, but for ``close``."""

    def __init__(self, folder: Path) -> None:
        lines: queue.SimpleQueue[Any] = queue.SimpleQueue()
        self._file = _Silent(folder / FILE, maxBytes=MAX_BYTES, backupCount=KEPT, encoding="utf-8", delay=True)
        self._listener = QueueListener(lines, self._file)
        self._log = logging.Logger("lamphouse.transitions")
        self._log.addHandler(QueueHandler(lines))
        self._listener.start()

    def note(
        self, number: int, before: states.Run, event: states.Event, after: states.Run, effects: tuple[Any, ...]
    ) -> None:
        """Run ``number`` went from ``before`` to ``after`` by ``event``, which asked for ``effects``."""
        line = {
            "at": round(time.time(), 4),
            "run": number,
            "exposure": after.number,
            "step": after.step,
            "from": before.state.value,
            "event": repr(event),
            "to": after.state.value,
            "given_s": round(after.given, 6),
            "effects": [type(effect).__name__ for effect in effects],
        }
        self._log.info(json.dumps(line))

    def close(self) -> None:
        """Write what is held, and close the file; waits for the disk."""
        self._listener.stop()
        self._file.close()

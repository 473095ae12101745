"""Writes to the notebook on a thread of its own, in order, so that no commit ever holds up the lamp."""

import queue
import threading
from collections.abc import Callable

from timer.errors import LamphouseError, NotebookError

Job = tuple[Callable[[], None], Callable[[], None] | None]


class Writer:
    """``failed`` is called (on the writer's thread) with the first error of any kind; after it nothing more is written."""

    def __init__(self, failed: Callable[[LamphouseError], None]) -> None:
        self._failed = failed
        self._jobs: queue.SimpleQueue[Job | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._work, name="notebook", daemon=True)
        self._thread.start()

    def submit(self, write: Callable[[], None], then: Callable[[], None] | None = None) -> None:
        """Do ``write``, and when it is committed call ``then``."""
        self._jobs.put((write, then))

    def finish(self) -> None:
        """Wait until all that was submitted is written."""
        self._jobs.put(None)
        self._thread.join()

    def _work(self) -> None:
        broken = False
        while (job := self._jobs.get()) is not None:
            write, then = job
            if broken:
                continue
            try:
                write()
            except Exception as error:  # a writer that ends in silence would leave a run without a record
                broken = True
                self._failed(error if isinstance(error, LamphouseError) else NotebookError(f"the notebook fails: {error!r}"))
            else:
                if then:
                    then()

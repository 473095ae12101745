"""Writes to the notebook on a thread of its own, in order, so that no commit ever holds up the lamp."""

import queue
import threading
from collections.abc import Callable

from timer.errors import LamphouseError, NotebookError

Job = tuple[Callable[[], None], Callable[[], None] | None, bool]


class Writer:
    """``failed`` is called (on the writer's thread) with the first error of any kind.

    After it only what is ``final`` is still tried: what a light gave and how a run ended may yet be kept where another
    program only held the notebook for a while. ``error`` is that first one.
    """

    def __init__(self, failed: Callable[[LamphouseError], None]) -> None:
        self._failed = failed
        self.error: LamphouseError | None = None
        self._jobs: queue.SimpleQueue[Job | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._work, name="notebook", daemon=True)
        self._thread.start()

    def submit(self, write: Callable[[], None], then: Callable[[], None] | None = None, *, final: bool = False) -> None:
        """Do ``write``, and when it is committed, and all before it was, call ``then``."""
        self._jobs.put((write, then, final))

    def finish(self) -> None:
        """Wait until all that was submitted is written."""
        self._jobs.put(None)
        self._thread.join()

    def _work(self) -> None:
        while (job := self._jobs.get()) is not None:
            write, then, final = job
            if self.error and not final:
                continue
            try:
                write()
            except Exception as error:  # a writer that ends in silence would leave a run without a record
                self._fail(error)
            else:
                if then and not self.error:
                    then()

    def _fail(self, error: Exception) -> None:
        if self.error:
            return
        self.error = error if isinstance(error, LamphouseError) else NotebookError(f"the notebook fails: {error!r}")
        self._failed(self.error)

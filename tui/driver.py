"""The terminal as the screen drives it: dark before all else, dark now before all else, and no page of a shell's behind it.

Textual's own driver, with four things of ours: the room's light around the cells at the start and at the end; keys that
mean dark now act on the thread that reads them, whatever the screen is busy with; so does a terminal that is closed; and
one that is gone is written to in vain, not with an error.
"""

import asyncio
import os
import select
import sys
import threading
from contextlib import suppress
from typing import IO, TYPE_CHECKING, Any, cast

from textual import events
from textual.drivers.linux_driver import LinuxDriver
from textual.message import Message

from tui.terminal import SHOW_CURSOR, UNDER

if TYPE_CHECKING:
    from tui.context import Context

DARK_KEYS = frozenset({"space", "ctrl+c", "ctrl+q"})


class _Patient:
    """A terminal that may be gone: what cannot be written is dropped, without waiting."""

    def __init__(self, file: IO[str]) -> None:
        self._file = file

    def write(self, text: str) -> None:
        with suppress(OSError):
            self._file.write(text)

    def flush(self) -> None:
        with suppress(OSError):
            self._file.flush()

    def fileno(self) -> int:
        return self._file.fileno()


class RoomDriver(LinuxDriver):
    """Textual's driver for Linux, with the room's light and dark-now before everything that it does itself."""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        assert sys.__stderr__
        self._terminal = _Patient(sys.__stderr__)
        self._file = cast(Any, self._terminal)
        self._watching: threading.Thread | None = None
        self._stop_watching = -1

    @property
    def _context(self) -> "Context":
        return cast("Context", self._app)

    # ── what is written ──────────────────────────────────────────────────────

    def start_application_mode(self) -> None:
        dark = self._context.dark_codes()
        if dark:  # before the page of our own is there: it comes up in the terminal's own colour
            self._terminal.write(dark)
            self._terminal.flush()
        super().start_application_mode()  # type: ignore[no-untyped-call]
        if dark:
            self.write(dark)
        self._watch()

    def stop_application_mode(self) -> None:
        self._unwatch()
        super().stop_application_mode()

    def write(self, data: str) -> None:
        """As Textual says; but with paper out the page beneath is left in the room's light, and no cursor shows on it."""
        if data in (UNDER, SHOW_CURSOR) and (dark := self._context.dark_page()):
            data = UNDER + dark if data == UNDER else ""
        if data:
            super().write(data)

    # ── what comes ───────────────────────────────────────────────────────────

    def process_message(self, message: Message) -> None:
        """On the thread that reads the keys."""
        if isinstance(message, events.Key) and message.key in DARK_KEYS:
            self._context.dark_at_once()
        super().process_message(message)

    def _sigtstp_application(self, *arguments: Any) -> None:
        self._context.dark_at_once()
        super()._sigtstp_application(*arguments)

    def _watch(self) -> None:
        """Have a thread wait for the terminal's end: it is the printer's hand gone from the keys."""
        ours, self._stop_watching = os.pipe()
        self._watching = threading.Thread(target=self._wait_for_end, args=(ours,), name="terminal", daemon=True)
        self._watching.start()

    def _wait_for_end(self, stop: int) -> None:
        with suppress(OSError):
            os.sched_setscheduler(threading.get_native_id(), os.SCHED_FIFO, os.sched_param(40))
        waiting = select.poll()
        waiting.register(self.fileno, 0)  # hang-up and error are always told
        waiting.register(stop, select.POLLIN)
        ready = waiting.poll()
        os.close(stop)
        if any(fd == self.fileno for fd, _ in ready):
            self._context.dark_at_once()
            self.exit_event.set()  # its end of file would be read again and again
            asyncio.run_coroutine_threadsafe(self._gone(), self._loop)

    async def _gone(self) -> None:
        self._context.terminal_gone()

    def _unwatch(self) -> None:
        if self._watching:
            with suppress(OSError):
                os.close(self._stop_watching)
            self._watching.join(1)
            self._watching = None

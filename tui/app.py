"""The application: which screen is shown, in which room light, and the few keys that mean the same everywhere."""

from __future__ import annotations

import asyncio
import io
import os
import signal
import sys
import time
from collections.abc import Sequence
from contextlib import suppress
from fractions import Fraction
from pathlib import Path
from typing import ClassVar

from textual.app import App
from textual.filter import LineFilter
from textual.message import Message
from textual.widget import Widget

from timer.craft.processing import Call
from timer.errors import LamphouseError
from timer.files import write_over
from timer.keeper.host.client import Lost
from timer.keeper.wire import messages
from timer.run import clocks
from timer.run.desk import Between, Desk
from timer.run.jobs import Job, StripChoice
from timer.text import plain
from tui import watchdog
from tui.page import Page
from tui.room_light import (
    LEVELS,
    PlainFilter,
    Room,
    RoomFilter,
    Shine,
    blank_console,
    leaving_codes,
    room_for,
    terminal_codes,
)
from tui.sound import LEVELS as SOUND_LEVELS
from tui.sound import Sound

CLOCK_CUES = {"agitate": "tick", "soon": "warn", "drain": "change", "over": "end", "nag": "warn", "pour": "tick"}


class FromKeeper(Message):
    """Pedal, focus light or a lost keeper, while no run is on."""

    def __init__(self, event: Between) -> None:
        super().__init__()
        self.event = event


class LamphouseApp(App[int]):
    """Phases of the job, one screen each: prepare, expose, look back, notebook."""

    ENABLE_COMMAND_PALETTE = False
    AUTO_FOCUS = None
    CSS_PATH = "tui.tcss"
    BINDINGS: ClassVar = []
    shine_root = "/sys/class"

    def __init__(self, desk: Desk | None = None) -> None:
        super().__init__()
        self.desk = desk or Desk(lambda event: None)
        self.desk.listen(self._hear)
        self.room = Room.WHITE
        self.level = len(LEVELS) - 1
        self.paper_out = False
        self.trouble = ""
        self.run_out: int | None = None
        self.sound = Sound(self.bell, self.desk.settings.sound, self.desk.settings.speech)
        self.choice = StripChoice()
        self.chosen: Job | None = None
        self.focus_until = 0.0
        self.last_density: Fraction | None = None
        self.clocks: list[clocks.Clock] = []
        self.clock_at = 0
        self.shine = Shine(Path(self.shine_root))
        self._filter: RoomFilter | None = None
        self._plain = PlainFilter()
        self._term = os.environ.get("TERM", "")
        row = self.desk.lying_out()
        if row:
            # The last run's paper was never reported covered: the screen must not shine on it.
            self.paper_out, self.run_out = True, row.id
            self._set_room(room_for(row.paper))

    # ── room light ───────────────────────────────────────────────────────────

    def get_line_filters(self) -> Sequence[LineFilter]:
        return [*super().get_line_filters(), self._filter or self._plain]

    def paper(self, out: bool, kind: str = "", run: int | None = None) -> None:
        """The box is opened, or the printer says that all paper is covered. Nothing else changes the room light."""
        self.paper_out = out
        if out:
            self.run_out = run
            self._set_room(room_for(kind))
        else:
            if self.run_out is not None:
                try:
                    self.desk.covered(self.run_out)
                except LamphouseError as error:
                    self.trouble = str(error)
            self.run_out = None
            self._set_room(Room.WHITE)

    def _set_room(self, room: Room) -> None:
        self.room = room
        self._filter = None if room is Room.WHITE else RoomFilter(room, self.level)
        self.shine.set(room, self.level)
        self._write(terminal_codes(room, self.level, self._term))
        if self._term == "linux":
            blank_console(room is Room.NONE)
        if self.is_running:
            self._draw_anew()

    def _draw_anew(self) -> None:
        for screen in self.screen_stack:
            for widget in (screen, *screen.query(Widget)):
                widget._styles_cache.clear()
            screen.refresh(layout=True)
            if isinstance(screen, Page):
                screen.title_line()

    def _write(self, codes: str) -> None:
        if self._driver is not None and not self.is_headless:
            self._driver.write(codes)
            self._driver.flush()

    # ── life ─────────────────────────────────────────────────────────────────

    def on_mount(self) -> None:
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGINT):
            with suppress(RuntimeError, ValueError):  # not the main thread: a test
                loop.add_signal_handler(number, self._stopped_by, number)
        self._set_room(self.room)
        from tui.screens.prepare import Prepare

        self.push_screen(Prepare())
        self.set_interval(0.5, self._clocks_elsewhere)
        watchdog.notify("READY=1")
        if watchdog.period_s():
            self.set_interval(watchdog.period_s(), lambda: watchdog.notify("WATCHDOG=1"))
        self.run_worker(self.warm, thread=True, exit_on_error=False)

    def warm(self) -> None:
        """Have the keeper and its pedal ready before they are wanted."""
        try:
            self.desk.keeper()
        except LamphouseError as error:
            text = str(error)
            self.call_from_thread(self.report, text)

    def _stopped_by(self, number: int) -> None:
        self.desk.dark()
        self.exit(return_code=128 + number)

    def end(self) -> None:
        """After the screen is gone: lamp dark, lights as they were, the terminal not brighter than the paper bears."""
        self.sound.close()
        self.desk.close()
        if self.paper_out:
            sys.stderr.write(leaving_codes(self.room, self._term))
        else:
            self.shine.restore()
            sys.stderr.write(terminal_codes(Room.WHITE, 0, self._term))
        sys.stderr.flush()

    def _print_error_renderables(self) -> None:
        """A crash report goes to a file: printed, it would be blue and yellow, with paper out or not."""
        if not self._exit_renderables:
            return
        from timer.settings import folder

        path = folder("state") / "fault.log"
        report = io.StringIO()
        for renderable in self._exit_renderables:
            from rich.console import Console

            Console(file=report, no_color=True, width=120).print(renderable)
        self._exit_renderables.clear()
        with suppress(LamphouseError):
            write_over(path, plain(report.getvalue()).encode())
        if not self.paper_out:
            sys.stderr.write(f"Error: a fault in Lamphouse itself; the lamp is off. Please report it with {path}.\n")

    # ── what the keeper says between runs ────────────────────────────────────

    def _hear(self, event: Between) -> None:
        self.post_message(FromKeeper(event))

    def on_from_keeper(self, message: FromKeeper) -> None:
        page = self.page
        match message.event:
            case messages.FocusLightChanged(0, _):
                self.focus_until = 0.0
                self.sound.cue("end")
            case messages.FocusLightChanged(left_us, _) if left_us == 15_000_000 and self.focus_until:
                self.focus_until = time.monotonic() + 15
                self.sound.cue("warn")
                self.sound.say("focus light ends in fifteen seconds")
            case messages.Pedal(messages.Press.DOWN, _):
                page.press()
            case messages.Pedal(messages.Press.HOLD, _):
                self.focus_until = 0.0
                page.held()
            case Lost(text):
                self.focus_until = 0.0
                self.report(text)
                self.run_worker(self.warm, thread=True, exit_on_error=False)
        page.title_line()

    def report(self, text: str) -> None:
        """Trouble, in the title of every page and by ear, until the next thing that works."""
        self.trouble = text
        self.sound.cue("change")
        self.sound.say(text)
        self.page.title_line()

    @property
    def page(self) -> Page:
        page = self.screen
        assert isinstance(page, Page)
        return page

    # ── keys that mean the same everywhere ───────────────────────────────────

    def dark_now(self) -> None:
        self.desk.dark()
        self.focus_until = 0.0
        self.page.dark()

    def common_key(self, key: str) -> None:
        match key:
            case "question_mark":
                from tui.screens.help import Help

                if not isinstance(self.page, Help):
                    self.push_screen(Help())
            case "d":
                self.level = (self.level - 1) % len(LEVELS)
                self._set_room(self.room)
            case "v":
                at = (SOUND_LEVELS.index(self.sound.level) + 1) % len(SOUND_LEVELS)
                self.sound.level = SOUND_LEVELS[at]
                self.page.title_line()
            case "c":
                if self.paper_out and not self.running_job():
                    self.paper(False)
                    self.page.begin()
            case "q" | "escape":
                self.go_back()

    def hear_clocks(self) -> None:
        """Advance every process clock, and let all that has come due be heard."""
        now = time.monotonic()
        due: list[Call] = []
        for n, clock in enumerate(self.clocks):
            self.clocks[n], said = clocks.tick(clock, now)
            due += said
        for call in due:
            self.sound.cue(CLOCK_CUES[call.kind])
            if call.kind != "agitate":
                self.sound.say(call.say)

    def answer_clock(self, now: float) -> None:
        """The press that pours: for the clock chosen, or else for the one that has waited longest."""
        waiting = [n for n, c in enumerate(self.clocks) if not c.over and c.poured is None]
        if waiting:
            n = self.clock_at if self.clock_at in waiting else min(waiting, key=lambda n: self.clocks[n].since)
            self.clocks[n] = clocks.answer(self.clocks[n], now)
            self.clock_at = n

    def _clocks_elsewhere(self) -> None:
        """Clocks are heard on every page, not only on their own."""
        from tui.screens.process import Process

        if self.clocks and not isinstance(self.screen, Process):
            self.hear_clocks()

    def running_job(self) -> bool:
        """Whether a run is under way: then only its own screen says when the paper is covered."""
        from tui.screens.expose import Expose

        return any(isinstance(screen, Expose) and not screen.over for screen in self.screen_stack)

    def go_back(self) -> None:
        """One page back; from the first one, the end. With paper out that is refused: covering it comes first."""
        if len(self.screen_stack) > 2:
            self.pop_screen()
            self.page.title_line()
            self.page.begin()
        elif self.paper_out:
            self.report("paper is out: cover it, press c, then leave")
        else:
            self.exit(return_code=0)


def run() -> int:
    """Run the screen on this terminal; the exit code."""
    app = LamphouseApp()
    try:
        app.run(mouse=False)
    finally:
        app.end()
    return app.return_code or 0

"""The application: which screen is shown, in which room light, and the few keys that mean the same everywhere."""

from __future__ import annotations

import asyncio
import gc
import io
import os
import signal
import sys
import time
from collections.abc import Sequence
from contextlib import suppress
from typing import ClassVar

from textual.app import App
from textual.driver import Driver
from textual.filter import LineFilter
from textual.message import Message
from textual.widget import Widget

from timer.app.between import Between, FocusLightLeft, FocusLightOver, FootHeld, FootPressed, KeeperLost
from timer.app.darkroom import Darkroom
from timer.app.fault_log import keep_fault
from timer.app.jobs import Job
from timer.app.strip_choice import StripChoice
from timer.errors import KeeperError, LamphouseError, Refused
from timer.notebook.rows import RunRow
from tui import pages, terminal, watchdog
from tui.bath_clocks import BathClocks
from tui.driver import RoomDriver
from tui.focus_light import FocusLight
from tui.keys import Keys
from tui.page import HELP, Page
from tui.rooms import Room
from tui.said import About, Said
from tui.screen_light import ScreenLight
from tui.shine import Shine
from tui.sound import LEVELS as SOUND_LEVELS
from tui.sound import Sound

CLOCK_CUES = {"agitate": "tick", "soon": "warn", "drain": "change", "over": "end", "remind": "warn", "pour": "tick"}
LOOK_S = 0.5
"""Seconds between two looks of a screen without the lamp at what the other one does."""


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

    def __init__(self, darkroom: Darkroom | None = None, shine: Shine | None = None) -> None:
        super().__init__()
        self.darkroom = darkroom or Darkroom(lambda event: None)
        self.darkroom.listen(self._hear)
        settings = self.darkroom.settings
        self.said = Said()
        self.sound = Sound(
            self.bell if settings.bell else None, settings.sound, settings.speech, pin=bool(settings.pins.buzzer)
        )
        self.keys = Keys(settings.pedal_key, settings.hold_s)
        self.choice = StripChoice()
        self.chosen: Job | None = None
        self.to_chosen = False
        self.head = ""  # the colour head that was named last, for recipes that name none
        self.focus = FocusLight(self.darkroom)
        self.clocks = BathClocks()
        self.light = ScreenLight(shine or Shine())
        self._set_room()  # what was out when the last one ended is still out

    def get_driver_class(self) -> type[Driver]:
        return RoomDriver

    # ── room light ───────────────────────────────────────────────────────────

    @property
    def paper_out(self) -> bool:
        return bool(self.darkroom.out)

    @property
    def room(self) -> Room:
        return self.light.room

    def get_line_filters(self) -> Sequence[LineFilter]:
        return [*super().get_line_filters(), self.light.filter]

    def open_box(self, kind: str, run: int = 0) -> bool:
        """The room goes dark for paper of ``kind``; whether the box may be opened now. Only this makes it dark.

        ``run``: whose sheet comes out of it again.
        """
        try:
            self.darkroom.open_box(kind, run)
        except LamphouseError as error:
            self._paper_trouble(error)
            return False
        finally:
            self.focus.over()
            self.light.never_black_unasked()
            self._set_room()
        self.said.is_back("paper")
        return self.paper_out

    def covered(self) -> None:
        """The printer's word that all paper is covered. Only this makes it light again."""
        try:
            self.darkroom.covered()
        except LamphouseError as error:
            self._paper_trouble(error)
        else:
            self.said.is_back("paper")
        self._set_room()

    def _paper_trouble(self, error: LamphouseError) -> None:
        """A refusal goes with the next key; a keeper that fails, or paper that cannot be noted, stays."""
        about: About = "lamp" if isinstance(error, KeeperError) else "paper"
        self.report(str(error), about="" if isinstance(error, Refused) else about)

    def _set_room(self) -> None:
        """Set everything that shines as is safe for the paper that is out."""
        self._write(self.light.set(self.darkroom.out))
        if self.is_running:
            self._draw_anew()

    def dark_codes(self) -> str:
        return self.light.dark_codes()

    def dark_page(self) -> str:
        return self.light.dark_page()

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

    def standing(self, room: int) -> str:
        """How things stand, in words that fit ``room`` cells: light, sound, lamp and who has it, paper at the right.

        Without the width the sound is left out, never a word of the others.
        """
        kinds = " ".join(dict.fromkeys(paper.kind for paper in self.darkroom.out))
        out = f"PAPER OUT {kinds}".strip() if self.paper_out else "paper covered"
        rest = [*(["FOCUS LIGHT ON"] if self.focus.on else []), *([] if self.darkroom.is_ours else ["watching only"]), out]
        full = "   ".join([f"{self.room.value} light", f"sound {self.sound.level}", *rest])
        return full if len(full) <= room else "   ".join([f"{self.room.value} light", *rest])

    def cautions(self, kind: str) -> list[str]:
        return self.light.cautions(kind, heard=bool(self.sound.ways))

    # ── life ─────────────────────────────────────────────────────────────────

    def on_mount(self) -> None:
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGINT):
            with suppress(RuntimeError, ValueError):  # not the main thread: a test
                loop.add_signal_handler(number, self._stopped_by, number)
        self._set_room()
        self.show("prepare")
        self.set_interval(LOOK_S, self._look_around)
        watchdog.notify("READY=1")
        if watchdog.period_s():
            self.set_interval(watchdog.period_s(), self._feed_watchdog)
        self.call_after_refresh(self._seen)

    def _seen(self) -> None:
        """The first page stands: now what can wait."""
        if not gc.isenabled():
            gc.freeze()  # what is loaded stays: never gone over again, least of all between a press and its light
            gc.enable()
        self.run_worker(self.warm, thread=True, exit_on_error=False)

    def warm(self) -> None:
        """Have the keeper and its pedal ready before they are wanted, and know what can be heard."""
        self.sound.try_out()
        if not self.darkroom.is_ours:
            return
        try:
            self.darkroom.keeper()
        except LamphouseError as error:
            text = str(error)
            self.call_from_thread(self.report, text, "silent")

    def _feed_watchdog(self) -> None:
        """Tell systemd that the screen is alive while its keeper answers; one that hangs is ended, and the light with it."""
        if self.darkroom.answers():
            watchdog.notify("WATCHDOG=1")

    def _look_around(self) -> None:
        """Clocks are heard on every page, not only on their own; and a screen that only looks follows the other one."""
        if not self.screen_stack:
            return None  # it is ending: the last page has gone
        if self.darkroom.keeper_runs:
            self.said.is_back("lamp")
        if self.clocks.all and not self.page.hears_clocks:
            self.hear_clocks()
        self.page.clock_line()
        was_ours = self.darkroom.is_ours
        if self.darkroom.take_place() and was_ours:
            return None
        try:
            changed = self.darkroom.look()
        except LamphouseError as error:
            return self.report(str(error))
        if changed:
            self._set_room()
        if self.darkroom.is_ours:
            self.tell("the other screen has ended: this one has the lamp now", "ready")
            self.run_worker(self.warm, thread=True, exit_on_error=False)
            self.page.begin()
        return None

    def dark_at_once(self) -> None:
        """Dark now, from any thread."""
        self.darkroom.dark()

    def _stopped_by(self, number: int) -> None:
        self.dark_at_once()
        self.exit(return_code=128 + number)

    def terminal_gone(self) -> None:
        """Nobody sees this screen any more, and no key can reach it."""
        self.exit(return_code=128 + signal.SIGHUP)

    def end(self) -> None:
        """After the screen is gone: lamp dark, lights as they were, the terminal not brighter than is safe for the paper."""
        self.sound.close()
        dark = self.dark_codes()
        self.darkroom.close()
        if not dark:
            self.light.shine.restore()
        with suppress(OSError):
            sys.stderr.write(dark or terminal.as_before(os.environ))
            sys.stderr.flush()

    async def action_quit(self) -> None:
        self.leave_now()

    def action_help_quit(self) -> None:
        self.leave_now()

    def leave_now(self) -> None:
        """Ctrl-C and Ctrl-Q, after dark: as q does, whatever is shown."""
        self.page.leave()

    def _print_error_renderables(self) -> None:
        """A crash report goes to a file: printed, it would be blue and yellow, with paper out or not."""
        if not self._exit_renderables:
            return
        report = io.StringIO()
        for renderable in self._exit_renderables:
            from rich.console import Console  # only for a fault of our own

            Console(file=report, no_color=True, width=120).print(renderable)
        self._exit_renderables.clear()
        asks = keep_fault(report.getvalue())
        if not self.paper_out:
            sys.stderr.write(f"Error: a fault in Lamphouse itself; the lamp is off. {asks}\n")

    # ── what the keeper says between runs ────────────────────────────────────

    def _hear(self, event: Between) -> None:
        self.post_message(FromKeeper(event))

    def on_from_keeper(self, message: FromKeeper) -> None:
        page = self.page
        match message.event:
            case FocusLightOver():
                self.focus.over()
                self.sound.cue("end")
            case FocusLightLeft(15) if self.focus.on:
                self.focus.has(15)
                self.sound.cue("warn")
                self.sound.say("focus light ends in fifteen seconds")
            case FootPressed():
                self.keys.stepped(page, message.time)
            case FootHeld():
                page.held()
            case KeeperLost(text):
                self.focus.over()
                self.report(text, "silent")
                self.run_worker(self.warm, thread=True, exit_on_error=False)
        page.title_line()

    def report(self, text: str, cue: str = "refused", about: About = "") -> None:
        """Trouble, under the title of every page and by ear; until the next thing that works, or ``about`` is well."""
        self.said.trouble_with(text, "lamp" if cue == "silent" else about)
        self._heard_and_seen(text, cue)

    def tell(self, text: str, cue: str) -> None:
        """News that is no trouble, above the foot of every page and by ear, until the next thing that works."""
        self.said.tell(text)
        self._heard_and_seen(text, cue)

    def _heard_and_seen(self, text: str, cue: str) -> None:
        self.sound.cue(cue)
        self.sound.say(text)
        self.page.title_line()

    def works(self) -> None:
        """A key has done something: what was refused before it is not shown any more."""
        self.said.works()
        self.page.title_line()

    @property
    def page(self) -> Page:
        """The page in front."""
        page = self.screen
        assert isinstance(page, Page)
        return page

    # ── keys that mean the same everywhere ───────────────────────────────────

    def dark_now(self) -> None:
        self.dark_at_once()
        self.focus.over()
        self.page.dark()

    def common_key(self, key: str) -> None:
        match key:
            case "question_mark":
                if self.page.phase != HELP:
                    self.show("help")
            case "d" if self.room is Room.RED:
                self.light.brighter()
                self._set_room()
            case "v":
                at = (SOUND_LEVELS.index(self.sound.level) + 1) % len(SOUND_LEVELS)
                self.sound.level = SOUND_LEVELS[at]
                self.page.title_line()
            case "c":
                if self.paper_out and not self.running_job():
                    self.covered()
                    self.page.begin()
            case "q" | "escape":
                self.page.leave()

    def hear_clocks(self) -> None:
        """Advance every process clock, and let all that has come due be heard."""
        for call in self.clocks.tick(time.monotonic()):
            self.sound.cue(CLOCK_CUES[call.kind])
            if call.kind != "agitate":
                self.sound.say(call.say)

    def expose(self, job: Job, continues: RunRow | None = None, says: list[str] | None = None) -> None:
        """To the dark, for ``job``; with ``continues`` for what that sheet still lacks, and in words what it had."""
        try:
            self.darkroom.must_be_ours()
        except LamphouseError as error:
            return self.report(str(error))
        self.said.works()
        while len(self.screen_stack) > 2:
            self.pop_screen()
        self.show("expose", job, continues, says or [])
        return None

    def give_rest(self, row: RunRow, share: float | None = None) -> None:
        """To what ``row`` still lacks; ``share``: what to believe of a range."""
        try:
            job, says = self.darkroom.rest(row, share)
        except LamphouseError as error:
            return self.report(str(error))
        return self.expose(job, row, says)

    def running_job(self) -> bool:
        """Whether a run is under way: then only its own screen says when the paper is covered."""
        return any(isinstance(screen, Page) and screen.under_way for screen in self.screen_stack)

    def show(self, name: str, *given: object) -> None:
        """To the page ``name``, for what is given to it."""
        self.push_screen(pages.made(name, *given))

    def begin_anew(self) -> None:
        self.page.title_line()
        self.page.begin()

    def go_back(self) -> None:
        """One page back; from the first one, the end. With paper out that is refused: covering it comes first."""
        if len(self.screen_stack) > 2:
            self.pop_screen()
            self.begin_anew()
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

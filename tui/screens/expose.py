"""Expose: questions, the box is opened, then one press an action, till the printer says that the paper is covered."""

import threading
import time

from textual.app import ComposeResult
from textual.message import Message
from textual.timer import Timer

from timer.app.jobs import Job, questions
from timer.errors import LamphouseError
from timer.notebook.rows import RunRow
from timer.run import states
from timer.run.cues import Cued
from timer.run.session import Result
from tui.expose_words import Standing, box_rows, checklist, hands_now, screen_goes, words
from tui.page import TALL, Page
from tui.pages import of_test
from tui.rooms import Room
from tui.widgets.run_view import Checks, RunView

REFRESH_S = 0.2
CALM_S = 2.0
"""After the last light "covered" says nothing for so long: a held pedal may still mean "dark now", and no sheet is so
soon in its box."""
UNLIT = frozenset({states.State.NOTING, states.State.ARMED, states.State.PAUSED})
LOOK = ("cover", "look", "back")
"""Stages of a run whose sheet goes into its box, so that there can be light to see by, and out again."""


class Shown(Message):
    """From the session's thread: the run after an event, or a cue in it."""

    def __init__(self, run: states.Run, what: states.Event | Cued) -> None:
        super().__init__()
        self.run, self.what = run, what


class Over(Message):
    """From the session's thread: the run is over; ``result`` is None when it failed to begin, and ``says`` why."""

    def __init__(self, result: Result | None, says: str) -> None:
        super().__init__()
        self.result, self.says = result, says


class Expose(Page):
    """``continues`` is the run whose rest this is; its paper is out already."""

    phase = "EXPOSE"

    def __init__(self, job: Job, continues: RunRow | None, says: list[str]) -> None:
        super().__init__()
        self.job, self._continues, self._says = job, continues, says
        self.stage = "ask"  # ask, lights, box, run (with cover, look, back), over
        self._items: list[str] = []
        self._ticked = 0
        self._run = states.Run(job.plan)
        self._lit_at = self._dark_since = 0.0
        self._result: Result | None = None
        self._why = ""
        self._thread: threading.Thread | None = None

    @property
    def over(self) -> bool:
        """Whether the run is over: then the paper is to be covered."""
        return self.stage == "over"

    @property
    def _asked(self) -> list[str]:
        """What the printer has not yet said to be so."""
        return self._items[self._ticked :]

    def body(self) -> ComposeResult:
        yield Checks(id="checks")
        yield RunView(self.job)

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    def begin(self) -> None:
        if self._thread:
            self._draw()
            return
        self._clock: Timer = self.set_interval(REFRESH_S, self._count, pause=True)
        context = self.context
        self._items = self._to_ask() if context.darkroom.settings.ask else []
        if not self._asked:
            self.stage = "box" if context.paper_out else "lights"
        try:
            self.session = context.darkroom.session(self.job, self._show, self._continues)
        except LamphouseError as error:
            self.stage, self._why = "over", str(error)
            self.context.report(str(error))
            self._draw()
            return
        self._thread = threading.Thread(target=self._go, name="run", daemon=True)
        self._thread.start()
        self._tell()
        self.call_after_refresh(self._draw)

    def _to_ask(self) -> list[str]:
        """Before a sheet of an earlier run comes out again, the filters alone: all else has not been touched."""
        if not self._continues:
            return questions(self.job)
        first = next(step.filters for step in self.job.plan.steps if step.do == "expose")
        return [f"{first} in"] if first and not self.context.paper_out else []

    # ── the session's thread ─────────────────────────────────────────────────

    def _go(self) -> None:
        try:
            result = self.session.go()
        except Exception as error:  # whatever it was, the printer hears of it on the page
            self.post_message(Over(None, str(error)))
        else:
            self.post_message(Over(result, result.says))

    def _show(self, run: states.Run, what: states.Event | Cued) -> None:
        self.post_message(Shown(run, what))

    # ── what the run says ────────────────────────────────────────────────────

    def on_shown(self, message: Shown) -> None:
        run, what = message.run, message.what
        sound = self.context.sound
        if self.stage != "run":
            if isinstance(what, states.Press):
                self.context.keys.stepped(self, message.time)
            elif isinstance(what, states.DarkNow) and self.stage == "cover":
                self.held()
            elif isinstance(what, states.DarkNow):
                self.dark()
            return
        if isinstance(what, Cued):
            sound.cue(what.cue)
            if what.cue in ("warn", "change"):
                sound.say(what.say)
            return
        if _is_hold(what) and self._may_be_boxed:
            self.session.to_box()
        if isinstance(what, states.Dark) or (run.state is states.State.PAUSED and self._run.state is not run.state):
            self._dark_since = time.monotonic()
        self._run = run
        match what:
            case states.Noted() if run.state is states.State.ARMED:
                number = f"sheet {self.session.number}. " if run.number == 0 else ""
                sound.cue("ready")
                sound.say(f"{number}{run.hands}. ready")
            case states.Disarmed() if not _is_hold(what):
                sound.cue("silent")
                sound.say("not ready any more: the lamp has not heard from the screen. Press to be ready again")
            case states.Lit():
                self.context.said.over()  # it is answered: the press has counted
                self._lit_at = time.monotonic()
                self._clock.resume()
            case states.Dark(_, complete, _):
                self._clock.pause()
                if run.state is states.State.PAUSED and not complete:
                    sound.cue("interrupted")
                    sound.say(f"dark. {run.missing:.1f} seconds missing")
                elif run.state is not states.State.BOXED and run.state not in states.OVER:
                    sound.cue("end")
        if run.state is states.State.BOXED:
            self.stage, self._dark_since = "cover", time.monotonic()
            sound.cue("cover")
            self._tell()
        self._draw()

    def on_over(self, message: Over) -> None:
        self._clock.pause()
        self._dark_since = time.monotonic()
        self._result, self._why = message.result, message.says
        self.stage = "over"
        context = self.context
        failed = message.result is None or message.result.state is states.State.FAILED
        context.darkroom.after(lost=failed)
        if not failed and not context.paper_out:
            self._on()  # left before the box was opened: nothing to ask
            return
        if failed:
            context.report(message.says, "silent")
            self.app.run_worker(context.warm, thread=True, exit_on_error=False)
        else:
            context.sound.cue("finished" if self._finished else "interrupted")
        context.sound.say(f"{message.says}. Say when the paper is covered." if context.paper_out else message.says)
        self._draw()

    # ── what the printer does ────────────────────────────────────────────────

    @property
    def under_way(self) -> bool:
        return not self.over

    def pressed(self, key: str) -> bool:
        if key == "c" and self.over:
            self._covered()
        elif key == "c" and self.stage == "cover":
            self._to_look()
        elif key == "c" and self.stage == "run":
            self.session.to_box()  # nothing happens to a light that is on: there is no such row in the table
        elif key == "z" and self.over:
            self.context.show("baths")  # trays in the dark: the clock runs while the paper is still out
        elif key == "up" and self.stage in ("ask", "lights") and self._ticked:
            self._ticked, self.stage = self._ticked - 1, "ask"
            self._tell()
            self._draw()
        else:
            return False  # focus light, notebook and the other pages: not from here
        return True

    def press(self) -> bool:
        """Enter, or the pedal; but for the lamp's own footswitch in a run: there the keeper fires by itself, and says so."""
        waits = self.stage == "cover" or (self.over and self.context.paper_out)  # for the word that it is covered
        self._press()
        return not waits

    def _press(self) -> None:
        match self.stage:
            case "ask":
                self._ticked += 1
                if not self._asked:
                    self.stage = "lights"
            case "lights":
                if not self.context.open_box(self.job.plan.paper):
                    return
                self.session.open_box()
                self.stage = "box"
                self.context.sound.cue("box")
            case "box":
                self.context.sound.cue("easel")
                self.stage, self._dark_since = "run", time.monotonic()
                self.session.begin()
                self._draw()
                return  # what the hands do is said with "ready"
            case "run":
                self._press_in_run()
                return
            case "look":
                if not self.context.open_box(self.job.plan.paper, self.session.number):
                    return
                self.stage = "back"
                self.context.sound.cue("box")
            case "back":
                self.context.sound.cue("easel")
                self.stage, self._dark_since = "run", time.monotonic()
                self.session.in_easel()
                self._draw()
                return
            case "over" if not self.context.paper_out:
                self._on()
                return
        self._tell()
        self._draw()

    def _press_in_run(self) -> None:
        if self._run.state is states.State.PAUSED:
            self.session.press()
        elif self._run.state is states.State.ARMED and not self.sure:
            self.context.report("pressed again too soon to be sure: wait a moment, then press")
        elif self._run.state is states.State.ARMED:
            self.context.keys.spend()
            self.session.press(self._run.number)

    def dark(self) -> None:
        if self.stage == "run":
            self.session.dark_now()
        elif not self.over and self.stage not in LOOK:  # there it is dark, and nothing is armed
            self.leave()

    def held(self) -> None:
        """By foot alone "covered" is a held pedal; not one that was meant to darken the light that has just ended."""
        if self.stage == "cover":
            self._to_look()
        elif not self.over:
            to_box = self._may_be_boxed
            super().held()
            if to_box:
                self.session.to_box()
        elif self._calm:
            self._covered()

    @property
    def _may_be_boxed(self) -> bool:
        """Whether a held pedal asks for the box: it has been dark for a while, and what is held gave no light. One that
        gives light is no hold any more; so this was put down while nothing was ready, and has made it ready again."""
        return self.stage == "run" and self._run.state in UNLIT and self._calm

    @property
    def _calm(self) -> bool:
        return time.monotonic() - self._dark_since > CALM_S

    def leave(self) -> None:
        if not self.over:
            self.session.leave()
        elif not self.context.paper_out:
            self.context.go_back()

    @property
    def _finished(self) -> bool:
        return self._result is not None and self._result.state is states.State.FINISHED

    def _covered(self) -> None:
        if not self.over or not self.context.paper_out:
            return
        self.context.covered()
        self._on()

    def _to_look(self) -> None:
        """The printer's word that the sheet is in its box: the screen gives light to see by, and no lamp does."""
        if not self._calm:
            self.context.report("the sheet into its box first; then say that it is there")
            return
        self.context.works()
        self.context.covered()
        self.stage = "look"
        self._tell()
        self._draw()

    def _on(self) -> None:
        """To what comes next: a finished strip is looked back at, all else leads to the beginning."""
        context = self.context
        context.pop_screen()
        if self._finished and self.job.plan.patches:
            test, run = self._test()
            context.show(of_test(test, run), test, run)
        elif self._finished and self.job.recipe:
            context.show("correct", self.job, self.session.number)
        else:
            context.begin_anew()

    def _test(self) -> tuple[Job, int]:
        """The test that was made, and its sheet; of what an earlier run lacked, as the notebook has that one."""
        run = self.session.number
        if not self._continues:
            return self.job, run
        try:
            return self.context.darkroom.archive.test(run), run
        except LamphouseError as error:
            self.context.report(str(error))
            return self.job, run

    def on_unmount(self) -> None:
        if self._thread and self._thread.is_alive():
            self.session.leave("the screen was closed")
            self._thread.join(5)

    # ── what is shown and said ───────────────────────────────────────────────

    def _tell(self) -> None:
        self.context.sound.say(words(self._standing)[0])

    @property
    def _standing(self) -> Standing:
        ended = ""
        if self.stage == "over":
            ended = self._result.says if self._result else self._why or "ended"
            result = self._result
            if ended.endswith("can be given later"):
                ended += ", with r"
            elif result and result.state is states.State.STOPPED and any(row.lit for row in result.exposures):
                ended += "; what is missing can be given later, with r"
        return Standing(
            self.stage,
            self._run,
            self._given(),
            self.job.plan.paper,
            self.context.paper_out,
            self._asked,
            self._ticked,
            self.context.cautions(self.job.plan.paper) if self.stage == "lights" else (),
            self._says if self._continues else None,
            ended,
        )

    def _given(self) -> float:
        since = time.monotonic() - self._lit_at if self._run.state is states.State.LIT else 0.0
        return self._run.given + min(since, self._run.missing)

    def _count(self) -> None:
        """While it is lit. In the dark room nothing is drawn: the ear has it."""
        if self._run.at and self.context.room is not Room.NONE:
            self._progress(hands_now(self._run, self._given()))

    def _progress(self, says: str) -> None:
        """What moves while it is lit; not when it has ended since this was asked for."""
        if self.stage == "run" and self._run.at and self.is_attached:
            self.query_one(RunView).show_light(self._run, self._given(), says, tall=self.size.height >= TALL)

    def _draw(self) -> None:
        if not self.is_attached:
            return
        checks, view = self.query_one(Checks), self.query_one(RunView)
        checks.display = self.stage in ("ask", "lights", "box")
        view.display = not checks.display
        says, action = words(self._standing)
        if checks.display:
            checks.show(self._title(), self._rows(), says if self.stage == "lights" else "")
        elif self.stage == "run" and self._run.at:
            view.show_exposure(self._run)
            self.call_after_refresh(self._progress, says)
        elif self.stage in LOOK and self._run.at:
            view.show_look(self._run, self.stage, says)
        else:
            view.show_over(says, finished=self._finished)
        self.next_action(action)
        self.title_line()

    def _title(self) -> str:
        plan = self.job.plan
        what = "print" if self.job.recipe else plan.kind
        return plan.title if what in plan.title else f"{plan.title}, {what}"

    def _rows(self) -> list[str]:
        """The checklist: what the printer says is so, and then box and sheet."""
        earlier = self._says if self._continues else None
        acts = [f"press: the {screen_goes(self.job.plan.paper)}", *box_rows(earlier)]
        at = self._ticked + (self.stage == "box")
        return checklist([*self._items, *acts], at, together=len(acts) - 1, width=self.size.width)


def _is_hold(what: states.Event | Cued) -> bool:
    """Whether it is a pedal that was held: while an exposure was ready, the keeper says that it is not any more."""
    match what:
        case states.DarkNow(by_pedal=True) | states.Disarmed("pedal"):
            return True
    return False

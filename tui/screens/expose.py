"""Expose: questions, the box is opened, then one press an action, till the printer says that the paper is covered."""

import threading
import time

from textual.app import ComposeResult
from textual.message import Message
from textual.timer import Timer
from textual.widgets import Static

from timer.app.jobs import Job, questions
from timer.errors import LamphouseError
from timer.notebook.paper_out import SAFELIGHT_KINDS
from timer.notebook.rows import RunRow
from timer.run import states
from timer.run.cues import Cued
from timer.run.session import Result
from tui.page import Page
from tui.rooms import Room
from tui.widgets.bar import ExposureBar
from tui.widgets.digits import BigSeconds

REFRESH_S = 0.2
CALM_S = 2.0
"""After the end of a run a held pedal says nothing for so long: it may still mean "dark now"."""


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
        self.stage = "ask"  # ask, lights, box, run, over
        self._run = states.Run(job.plan)
        self._lit_at = self._over_at = 0.0
        self._result: Result | None = None
        self._thread: threading.Thread | None = None

    @property
    def over(self) -> bool:
        """Whether the run is over: then the paper is to be covered."""
        return self.stage == "over"

    def body(self) -> ComposeResult:
        yield Static(id="area", markup=False)
        yield BigSeconds(id="digits", markup=False)
        yield ExposureBar(id="bar", markup=False)
        yield Static(id="hands", markup=False)
        yield Static(id="then", markup=False)

    def begin(self) -> None:
        if self._thread:
            self._draw()
            return
        self._clock: Timer = self.set_interval(REFRESH_S, self._count, pause=True)
        context = self.context
        self._asked = questions(self.job) if context.darkroom.settings.ask and not self._continues else []
        if not self._asked:
            self.stage = "box" if context.paper_out else "lights"
        try:
            self.session = context.darkroom.session(self.job, self._show, self._continues)
        except LamphouseError as error:
            self.stage = "over"
            self.context.report(str(error))
            self._draw()
            return
        self._thread = threading.Thread(target=self._go, name="run", daemon=True)
        self._thread.start()
        self._tell()
        self.call_after_refresh(self._draw)

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
            elif isinstance(what, states.DarkNow):
                self.dark()
            return
        if isinstance(what, Cued):
            sound.cue(what.cue)
            if what.cue in ("warn", "change"):
                sound.say(what.say)
            return
        self._run = run
        match what:
            case states.Noted() if run.state is states.State.ARMED:
                number = f"sheet {self.session.number}. " if run.number == 0 else ""
                sound.cue("ready")
                sound.say(f"{number}{run.hands}. ready")
            case states.Disarmed():
                sound.cue("silent")
                sound.say("not ready any more: the lamp has not heard from the screen. Press to be ready again")
            case states.Lit():
                self._lit_at = time.monotonic()
                self._clock.resume()
            case states.Dark(_, complete, _):
                self._clock.pause()
                if run.state is states.State.PAUSED and not complete:
                    sound.cue("interrupted")
                    sound.say(f"dark. {run.missing:.1f} seconds missing")
                elif run.state not in states.OVER:
                    sound.cue("end")
        self._draw()

    def on_over(self, message: Over) -> None:
        self._clock.pause()
        self._over_at = time.monotonic()
        self._result = message.result
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
        elif key == "z" and self.over:
            self.context.show("baths")  # trays in the dark: the clock runs while the paper is still out
        else:
            return key in ("f", "n", "r", "l", "z")  # not from here
        return True

    def press(self) -> None:
        """Enter, or the pedal; but for the lamp's own footswitch in a run: there the keeper fires by itself, and says so."""
        match self.stage:
            case "ask":
                self._asked.pop(0)
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
                self.stage = "run"
                self.session.begin()
                self._draw()
                return  # what the hands do is said with "ready"
            case "run":
                self._press_in_run()
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
        elif not self.over:
            self.leave()

    def held(self) -> None:
        """By foot alone "covered" is a held pedal; not one that was meant to darken the light that has just ended."""
        if not self.over:
            super().held()
        elif time.monotonic() - self._over_at > CALM_S:
            self._covered()

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

    def _on(self) -> None:
        """To what comes next: a finished strip is looked back at, all else leads to the beginning."""
        context = self.context
        context.pop_screen()
        if self._finished and self.job.plan.patches:
            context.show("look back", self.job)
        elif self._finished and self.job.recipe:
            context.show("correct", self.job)
        else:
            context.begin_anew()

    def on_unmount(self) -> None:
        if self._thread and self._thread.is_alive():
            self.session.leave("the screen was closed")
            self._thread.join(5)

    # ── what is shown and said ───────────────────────────────────────────────

    def _tell(self) -> None:
        self.context.sound.say(self._words()[0])

    def _words(self) -> tuple[str, str]:
        """What is so, and what the next press does."""
        run = self._run
        match self.stage:
            case "ask":
                return self._asked[0], "Enter: yes   q: back"
            case "lights":
                kind = self.job.plan.paper
                room = "RED" if kind in SAFELIGHT_KINDS else "DARK, by ear"
                lines = ["lights out; the box stays shut until the screen is dark", *self.context.cautions(kind)]
                return "\n".join(lines), f"Enter: the screen goes {room}   q: back"
            case "box":
                return self._box_words(), "Enter: it is in   q: leave"
            case "over":
                says = self._result.says if self._result else self.context.trouble or "ended"
                if self.context.paper_out:
                    return says, "Paper covered, or in the lidded drum?  c or pedal held: yes"
                return says, "Enter: go on"
        match run.state:
            case states.State.ARMED:
                return run.hands, "Enter or pedal: LIGHT   Space: dark"
            case states.State.LIT:
                return self._hands_now(), "Space or pedal held: DARK NOW"
            case states.State.PAUSED:
                return f"dark, {run.missing:.2f} s missing", "Enter or pedal: ready again   q: leave, finish later"
            case states.State.NOTING:
                return run.hands, "ready in a moment   Space: dark"
            case _:
                return "wait", "Space or pedal held: dark"

    def _box_words(self) -> str:
        if not self._continues:
            return "open the box: one sheet into the easel, box shut"
        return "; ".join(["the sheet into the easel, just as it lay", *self._says])

    def _given(self) -> float:
        since = time.monotonic() - self._lit_at if self._run.state is states.State.LIT else 0.0
        return self._run.given + min(since, self._run.missing)

    def _hands_now(self) -> str:
        step, given = self._run.at, self._given()
        if not step:
            return ""
        past = [mark.say for mark in step.marks if mark.cue == "change" and mark.at <= given]
        return f"{step.area}: {past[-1]}" if past else step.say

    def _hands_next(self) -> str:
        run, step = self._run, self._run.at
        if not step or self.stage != "run":
            return ""
        given = self._given()
        ahead = [mark for mark in step.marks if mark.cue == "change" and mark.at > given]
        if ahead:
            return f"NEXT  {ahead[0].say}   {given:.1f} of {step.seconds:.1f} s"
        later = [each.say for each in run.plan.steps[run.step + 1 :] if each.do == "wait"]
        return f"NEXT  {later[0]}" if later else "NEXT  nothing more"

    def _rest(self) -> float:
        """Seconds of light to the next change of hands: a change within the exposure, or its end."""
        step, given = self._run.at, self._given()
        if not step:
            return 0.0
        ahead = [mark.at for mark in step.marks if mark.cue == "change" and mark.at > given]
        return (ahead[0] if ahead else step.seconds) - given

    def _count(self) -> None:
        """While it is lit. In the dark room nothing is drawn: the ear has it."""
        step = self._run.at
        if not step or self.context.room is Room.NONE:
            return
        given = self._given()
        self.query_one(BigSeconds).show(self._rest())
        self.query_one(ExposureBar).show(step, given)
        self.query_one("#hands", Static).update(f"NOW   {self._hands_now()}")
        self.query_one("#then", Static).update(self._hands_next())

    def _draw(self) -> None:
        says, action = self._words()
        run, step = self._run, self._run.at
        in_run = self.stage == "run" and step is not None
        exposures = [n for n, each in enumerate(self.job.plan.steps) if each.do == "expose"]
        lit = {states.State.LIT: "LIGHT ON", states.State.ARMED: "ready", states.State.PAUSED: "PAUSED"}.get(
            run.state, "dark"
        )
        top = (
            f"{exposures.index(run.step) + 1}/{len(exposures)}  {step.area}   {lit}"
            if in_run and step
            else self.job.plan.title
        )
        self.query_one("#area", Static).update(top)
        if in_run and step:
            self.query_one(BigSeconds).show(self._rest())
            self.query_one(ExposureBar).show(step, self._given())
        else:
            self.query_one(BigSeconds).blank()
            self.query_one(ExposureBar).blank()
        self.query_one("#area", Static).update(top)
        lit_now = in_run and run.state is states.State.LIT
        self.query_one("#hands", Static).update(f"NOW   {says}" if lit_now else says)
        self.query_one("#then", Static).update(self._hands_next())
        self.next_action(action)
        self.title_line()

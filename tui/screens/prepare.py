"""Prepare: choose a strip or a print, see its plan and its sheet, then get ready for the dark."""

import time
from dataclasses import replace
from fractions import Fraction

from textual.timer import Timer
from textual.widgets import Static

from timer.craft.stops import factor, format_stops
from timer.errors import LamphouseError
from timer.plan import Plan
from timer.run.desk import Job
from tui.page import PlanPage
from tui.widgets.sheet import Sheet

STEPS = (Fraction(1, 12), Fraction(1, 6), Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(1))
WAYS = ("cover", "uncover", "window")
PAPERS = ("silver", "ra4", "pan")
NUDGE = Fraction(1, 12)


def plan_rows(plan: Plan) -> list[str]:
    """One row an exposure, with its seconds; changes within it below."""
    rows = []
    for step in plan.steps:
        if step.do == "expose":
            rows.append(f"{step.seconds:7.2f} s  {step.area}" + (f"  {step.filters}" if step.filters else ""))
            rows += [f"   {mark.at:6.2f}    {mark.say}" for mark in step.marks if mark.cue == "change"]
    return [*rows, "", f"{plan.total_light_s:7.2f} s  in all"]


class Prepare(PlanPage):
    phase = "PREPARE"

    def begin(self) -> None:
        house = self.house
        found = house.desk.recipes()
        self.jobs, self.bad = found.jobs, found.broken
        if getattr(self, "at", 0) and house.chosen:  # it may have a new base, or a file of its own now
            known = [job.path for job in self.jobs]
            self.at = known.index(house.chosen.path) + 1 if house.chosen.path in known else 0
        else:
            self.at = 0
        try:
            self.broken = house.desk.unfinished()
        except LamphouseError as error:
            self.broken = None
            house.report(str(error))
        if not hasattr(self, "clock"):
            self.clock: Timer = self.set_interval(1.0, self._focus_line, pause=True)
        self._draw()
        if house.paper_out:
            house.sound.say("A sheet was left out. Press enter for the rest, or c when it is covered.")

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    @property
    def pages(self) -> int:
        """A strip, the prints, and what cannot be read, if there is any."""
        return 1 + len(self.jobs) + bool(self.bad)

    @property
    def is_print(self) -> bool:
        return 0 < self.at <= len(self.jobs)

    @property
    def job(self) -> Job:
        return self.house.choice.job(self.house.desk.settings) if self.at == 0 else self.jobs[self.at - 1]

    def _draw(self) -> None:
        if not hasattr(self, "jobs"):
            return None
        if self.at > len(self.jobs):
            return self._draw_bad()
        job, choice = self.job, self.house.choice
        if self.at == 0:
            what = (
                f"strip on {choice.paper}: from {choice.seconds:.1f} s, {choice.patches} patches, "
                f"{format_stops(choice.step)} stop, {choice.way}"
            )
        else:
            what = f"print: {job.plan.title}" + (f"  ({job.plan.paper})" if job.plan.paper else "")
        self.query_one("#choice", Static).update(f"< {self.at + 1}/{self.pages} >  {what}")
        self.query_one("#plan", Static).update("\n".join([*plan_rows(job.plan), "", *job.plan.notes, *self._notes(job)]))
        self.query_one("#sheet", Sheet).show(job.plan)
        return self._next()

    def _draw_bad(self) -> None:
        """The recipes that cannot be used, each with its sentence."""
        count = f"{len(self.bad)} recipe{'s' if len(self.bad) > 1 else ''} not usable"
        self.query_one("#choice", Static).update(f"< {self.at + 1}/{self.pages} >  {count}")
        self.query_one("#plan", Static).update("\n\n".join(each.says for each in self.bad))
        self.query_one("#sheet", Sheet).update("")
        self._next()

    def _notes(self, job: Job) -> list[str]:
        lamp = "as calibrated" if self.house.desk.is_calibrated else "not calibrated"
        return [*self.house.desk.vessel_note(job), *self.house.desk.short_light(job.plan), f"lamp response: {lamp}"]

    def _next(self) -> None:
        house = self.house
        if house.focus_until:
            return self._focus_line()
        if house.paper_out and self.broken:
            return self.next_action(f"PAPER IS OUT. Enter: the rest of run {self.broken.id}\nc: it is covered")
        if house.paper_out:
            return self.next_action("PAPER IS OUT.\nc: it is covered")
        rest = f"   r: rest of run {self.broken.id}" if self.broken else ""
        if self.at > len(self.jobs):
            return self.next_action(f"mend the file, or choose another\nup down: choose{rest}")
        more = (
            "left right: time   s: step   p: patches   w: way   k: paper"
            if self.at == 0
            else "m: another size   b: correct   t: test sheets   ?: keys"
        )
        return self.next_action(f"Enter: get ready   up down: choose{rest}\n{more}")

    def _focus_line(self) -> None:
        left = self.house.focus_until - time.monotonic()
        if self.house.focus_until and left > 0:
            self.clock.resume()
            self.next_action(f"FOCUS LIGHT ON, {int(left) // 60}:{int(left) % 60:02} left\nf or Space: off")
        else:
            self.house.focus_until = 0.0
            self.clock.pause()
            self._next()

    def pressed(self, key: str) -> bool:
        match key:
            case "up" | "down":
                self.at = (self.at + (1 if key == "down" else -1)) % self.pages
                self.house.chosen = self.jobs[self.at - 1] if self.is_print else self.house.chosen
            case "enter":
                self._go()
                return True
            case "r" if self.broken:
                self._rest()
                return True
            case "f":
                self._focus()
                return True
            case "m" if self.is_print:
                from tui.screens.change import Move

                self.app.push_screen(Move(self.job))
                return True
            case "b" if self.is_print:
                from tui.screens.change import Correct

                self.app.push_screen(Correct(self.job))
                return True
            case "t" if self.is_print:
                from tui.screens.test_sheet import TestSheet

                self.app.push_screen(TestSheet(self.job))
                return True
            case "i" if self.at <= len(self.jobs):
                if self.house.paper_out:
                    self.house.report("no picture while paper is out")
                else:
                    from tui.screens.picture import Picture

                    self.app.push_screen(Picture(self.job))
                return True
            case "z":
                from tui.screens.process import Process

                self.app.push_screen(Process())
                return True
            case "n":
                from tui.screens.notebook import NotebookPage

                self.app.push_screen(NotebookPage())
                return True
            case "l":
                from tui.screens.lights import Lights

                self.app.push_screen(Lights())
                return True
            case _:
                if self.at or not self._strip_key(key):
                    return False
        self._draw()
        return True

    def _strip_key(self, key: str) -> bool:
        choice = self.house.choice
        match key:
            case "left" | "right":
                seconds = choice.seconds * factor(NUDGE if key == "right" else -NUDGE)
                choice = replace(choice, seconds=min(100.0, max(0.2, seconds)))
            case "s":
                choice = replace(choice, step=STEPS[(STEPS.index(choice.step) + 1) % len(STEPS)])
            case "p":
                choice = replace(choice, patches=choice.patches % 9 + 1 if choice.patches < 9 else 2)
            case "w":
                choice = replace(choice, way=WAYS[(WAYS.index(choice.way) + 1) % len(WAYS)])  # type: ignore[arg-type]
            case "k":
                choice = choice.on_paper(PAPERS[(PAPERS.index(choice.paper) + 1) % len(PAPERS)])
            case _:
                return False
        self.house.choice = choice
        return True

    def _go(self) -> None:
        if self.house.focus_until:
            self.house.dark_now()
        if self.house.paper_out:
            if self.broken:
                self._rest()
            return None
        if self.at > len(self.jobs):
            return self.house.report("this recipe cannot be used; choose another")
        return self._expose(self.job)

    def _rest(self) -> None:
        assert self.broken
        try:
            job, says = self.house.desk.rest(self.broken)
        except LamphouseError as error:
            return self.house.report(str(error))
        return self._expose(job, says)

    def _expose(self, job: Job, says: list[str] | None = None) -> None:
        from tui.screens.expose import Expose

        self.house.trouble = ""
        try:
            self.app.push_screen(Expose(job, self.broken if says else None, says or []))
        except LamphouseError as error:
            self.house.report(str(error))

    def _focus(self) -> None:
        house = self.house
        if house.paper_out:
            return house.report("no focus light while paper is out")
        try:
            if house.focus_until:
                house.desk.focus(0)
                house.focus_until = 0.0
            else:
                seconds = house.desk.settings.focus_minutes * 60
                house.desk.focus(seconds)
                house.focus_until = time.monotonic() + seconds
        except LamphouseError as error:
            house.report(str(error))
        return self._focus_line()

    def dark(self) -> None:
        self._next()

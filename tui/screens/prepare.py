"""Prepare: choose a strip or a print, see its plan and its sheet, then get ready for the dark."""

import time
from dataclasses import replace
from fractions import Fraction

from textual.timer import Timer
from textual.widgets import Static

from timer.app.jobs import Job
from timer.craft.stops import factor, format_stops
from timer.documents.recipe import PAPERS as KINDS
from timer.errors import LamphouseError
from timer.plans.recipe_rows import empty
from tui.page import PlanPage
from tui.plan_rows import plan_rows
from tui.widgets.sheet import Sheet

STEPS = (Fraction(1, 12), Fraction(1, 6), Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(1))
WAYS = ("cover", "uncover", "window")
PAPERS = tuple(KINDS)
NUDGE = Fraction(1, 12)


class Prepare(PlanPage):
    """The first page: a strip, a print of the list, or the files that cannot be read."""

    phase = "PREPARE"
    at = 0

    def begin(self) -> None:
        context = self.context
        found = context.darkroom.book.all()
        self.jobs, self.bad = found.jobs, found.broken
        jump, context.to_chosen = context.to_chosen, False
        if context.chosen and (jump or self.at):  # it may have a new base, or a file of its own now
            known = [job.path for job in self.jobs]
            self.at = known.index(context.chosen.path) + 1 if context.chosen.path in known else 0
        else:
            self.at = 0
        target = context.choice.made_for
        if target:  # as its recipe is now
            now = [job for job in self.jobs if (job.path, job.plan.title) == (target.path, target.plan.title)]
            context.choice = replace(context.choice, made_for=now[0] if now else None)
        try:
            self.unfinished, self.lying = context.darkroom.archive.unfinished(), context.darkroom.lying_out()
        except LamphouseError as error:
            self.unfinished, self.lying = [], None
            context.report(str(error))
        if not hasattr(self, "clock"):
            self.clock: Timer = self.set_interval(1.0, self._focus_line, pause=True)
        self._draw()
        if context.paper_out:
            rest = "Press enter to give what is missing, or c" if self.lying else "Press c"
            context.sound.say(f"A sheet was left out. {rest} when it is covered.")

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    @property
    def pages(self) -> int:
        """A strip, the prints, and what cannot be read, if there is any."""
        return 1 + len(self.jobs) + bool(self.bad)

    @property
    def is_print(self) -> bool:
        """Whether a print is chosen, and not the strip or a file that cannot be read."""
        return 0 < self.at <= len(self.jobs)

    @property
    def job(self) -> Job:
        """What is chosen. Not for the row of files that cannot be read."""
        return self.context.choice.job(self.context.darkroom.settings) if self.at == 0 else self.jobs[self.at - 1]

    def _draw(self) -> None:
        if not hasattr(self, "jobs"):
            return None
        if self.at > len(self.jobs):
            return self._draw_bad()
        job, choice = self.job, self.context.choice
        if self.at == 0:
            what = (
                f"strip on {KINDS[choice.paper]}: from {choice.seconds:.1f} s, {choice.patches} patches, "
                f"{format_stops(choice.step)} stop, {choice.way}\n"
                f"made for: {choice.made_for.plan.title if choice.made_for else 'no print'}"
            )
        else:
            what = f"print: {job.plan.title}" + (f"  ({KINDS[job.plan.paper]})" if job.plan.paper else "")
        self.query_one("#choice", Static).update(f"< {self.at + 1}/{self.pages} >  {what}")
        notes = [note for note in job.plan.notes if not note.startswith("made for")]
        self.query_one("#plan", Static).update("\n".join([*plan_rows(job.plan), "", *notes, *self._notes(job)]))
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
        darkroom = self.context.darkroom
        written = [f"{darkroom.book.written_last.says}   u: take it back"] if darkroom.book.written_last else []
        lamp = [f"lamp response: {'as calibrated' if darkroom.is_calibrated else 'not calibrated'}"]
        return [
            *darkroom.vessel_note(job),
            *darkroom.short_light(job.plan),
            *lamp,
            *self.context.cautions(job.plan.paper),
            *written,
        ]

    def _next(self) -> None:
        context = self.context
        if context.focus_until:
            return self._focus_line()
        if context.paper_out:
            since = context.darkroom.out[0].clock
            rest = f" Enter: finish sheet {self.lying.id}" if self.lying else ""
            return self.next_action(f"PAPER IS OUT{f' since {since}' if since else ''}.{rest}\nc: it is covered")
        rest = f"   r: {len(self.unfinished)} unfinished" if self.unfinished else ""
        if self.at > len(self.jobs):
            return self.next_action(f"correct the file, or choose another recipe\nup down: choose{rest}")
        more = (
            "left right: time  s: step  p: patches  w: way  k: paper  o: made for  e: recipe"
            if self.at == 0
            else "s: strip for it   m: another size   b: correct   e: edit   t: tests   /: find"
        )
        return self.next_action(f"Enter: get ready   up down: choose{rest}\n{more}")

    def _focus_line(self) -> None:
        left = self.context.focus_until - time.monotonic()
        if self.context.focus_until and left > 0:
            self.clock.resume()
            self.next_action(f"FOCUS LIGHT ON, {int(left) // 60}:{int(left) % 60:02} left\nf or Space: off")
        else:
            self.context.focus_until = 0.0
            self.clock.pause()
            self._next()

    def pressed(self, key: str) -> bool:
        match key:
            case "up" | "down":
                self.at = (self.at + (1 if key == "down" else -1)) % self.pages
                self.context.chosen = self.jobs[self.at - 1] if self.is_print else self.context.chosen
            case "enter":
                self._go()
                return True
            case "r" if self.unfinished:
                self.context.show("unfinished")
                return True
            case "u":
                self._undo()
                return True
            case "s" if self.is_print:
                self._strip_for(self.job)
            case "f":
                self._focus()
                return True
            case "m" if self.is_print:
                self.context.show("change", self.job)
                return True
            case "b" if self.is_print:
                self.context.show("correct", self.job)
                return True
            case "t" if self.is_print:
                self.context.show("test sheet", self.job)
                return True
            case "slash" | "/":
                self.context.show("negatives")
                return True
            case "e" if self.at <= len(self.jobs):
                self._edit()
                return True
            case "i" if self.at <= len(self.jobs):
                if self.context.paper_out:
                    self.context.report("no picture while paper is out")
                else:
                    self.context.show("picture", self.job)
                return True
            case "z":
                self.context.show("baths")
                return True
            case "n":
                self.context.show("notebook")
                return True
            case "l":
                self.context.show("lights")
                return True
            case _:
                if self.at or not self._strip_key(key):
                    return False
        self._draw()
        return True

    def _strip_key(self, key: str) -> bool:
        choice = self.context.choice
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
                paper = PAPERS[(PAPERS.index(choice.paper) + 1) % len(PAPERS)]
                choice = replace(choice.on_paper(paper), made_for=None)
            case "o":
                prints = [None, *(job for job in self.jobs if job.recipe and job.recipe.paper.kind == choice.paper)]
                at = prints.index(choice.made_for) if choice.made_for in prints else 0
                choice = replace(choice, made_for=prints[(at + 1) % len(prints)])
            case _:
                return False
        self.context.choice = choice
        return True

    def _strip_for(self, job: Job) -> None:
        """The strip that finds the time of ``job``: on its paper, around its base."""
        assert job.recipe
        choice = self.context.choice
        first = job.recipe.base_s / factor(choice.step * Fraction(choice.patches - 1, 2))
        self.context.choice = replace(choice, seconds=min(100.0, max(0.2, first)), paper=job.recipe.paper.kind, made_for=job)
        self.at = 0

    def _edit(self) -> None:
        """The recipe that is shown, or from the strip an empty one on its paper."""
        context = self.context
        if context.paper_out:
            return context.report("paper is out: cover it first")
        if self.is_print and self.job.recipe:
            return context.show("edit", self.job, self.job.recipe)
        return context.show("edit", None, empty(context.choice.paper))

    def _undo(self) -> None:
        try:
            said = self.context.darkroom.book.undo()
        except LamphouseError as error:
            return self.context.report(str(error))
        self.begin()
        return self.context.report(said, "easel")

    def _go(self) -> None:
        context = self.context
        if context.paper_out:
            if self.lying:
                context.give_rest(self.lying)
            return None
        if self.at > len(self.jobs):
            return context.report("this recipe cannot be used; choose another")
        if context.focus_until and not self._end_focus():
            return None
        return context.expose(self.job)

    def _end_focus(self) -> bool:
        """Whether the focus light is certainly off."""
        try:
            self.context.darkroom.focus(0)
        except LamphouseError as error:
            self.context.report(str(error))
            return False
        self.context.focus_until = 0.0
        return True

    def _focus(self) -> None:
        context = self.context
        if context.focus_until:
            self._end_focus()
            return self._focus_line()
        try:
            seconds = context.darkroom.settings.focus_minutes * 60
            context.darkroom.focus(seconds)
            context.focus_until = time.monotonic() + seconds
        except LamphouseError as error:
            context.report(str(error))
        return self._focus_line()

    def dark(self) -> None:
        self._next()

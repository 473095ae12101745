"""Prepare: choose a strip or a print, see its plan and its sheet, then get ready for the dark.

What is imported within a function is for the start-up time: this is the first page, and few prints need a template.
"""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.timer import Timer
from textual.widgets import Static

from timer.app.cautions import vessel_note
from timer.app.jobs import Job
from timer.craft.stops import at_a_glance, format_stops, minutes
from timer.documents.recipe import PAPERS as KINDS
from timer.documents.recipe_light import filters_text
from timer.errors import LamphouseError
from timer.plans import outlines
from timer.plans.recipe_rows import empty
from tui.entry_line import letter_of
from tui.page import TALL
from tui.plan_rows import job_rows, total
from tui.print_list import LIST_WIDE, list_rows, title_of
from tui.typing_page import TypingPage
from tui.widgets.job_sheet import JobSheet
from tui.widgets.lines import lines_of, whole
from tui.widgets.sheet import least_width
from tui.widgets.timeline import Timeline

PAPERS = tuple(KINDS)
NUDGE = Fraction(1, 12)
SHEET_WIDE = 24
"""Cells that the sheet must have for its table to stand beside it, and not below."""
EDGES = 3
"""Cells between list, sheet and table."""
BELOW = 24
"""Rows that all else needs where the table stands below a strip's drawing."""
ABOVE, LEAST_SHEET = 4, 5
"""Rows of the choice and of the line of exposures; and of the smallest drawing."""
PAGES = {"slash": "negatives", "/": "negatives", "z": "baths", "n": "notebook", "l": "lights"}
"""What a key opens, whatever is chosen."""
PRINT_PAGES = {"m": "change", "b": "correct", "t": "test sheet"}
"""What it opens of the print that is chosen."""


class Prepare(TypingPage):
    """The first page: a strip, a print of the list, or the files that cannot be read."""

    phase = "PREPARE"
    at = 0
    jobs: tuple[Job, ...] = ()
    before: Path | None = None
    """The print that was chosen before one was written of it."""
    says = ""
    """What was done by the last key, in words."""

    def body(self) -> ComposeResult:
        with Horizontal(id="desk"):
            yield Static(id="list", markup=False)
            with Vertical(id="work"):
                yield Static(id="choice", markup=False)
                with Vertical(id="columns"):
                    yield JobSheet(self.context.report, id="sheet", markup=False)
                    yield Static(id="plan", markup=False)
                yield Static(id="advice", markup=False)
                yield Timeline(id="timeline", markup=False)

    def begin(self) -> None:
        context = self.context
        before = self.jobs[self.at - 1].path if self.is_print else None
        found = context.darkroom.recipes()
        self.jobs, self.bad = found.jobs, found.broken
        jump, context.to_chosen = context.to_chosen, False
        if context.chosen and (jump or self.at):  # it may have a new base, or a file of its own now
            known = [job.path for job in self.jobs]
            if jump and before != context.chosen.path:
                self.before = before
            there = [path for path in (context.chosen.path, self.before) if path in known]  # it may be gone again
            self.at = known.index(there[0]) + 1 if there else 0
            context.chosen = self.jobs[self.at - 1] if self.at else context.chosen
        else:
            self.at = 0
        target = context.choice.made_for
        if target:  # as its recipe is now
            now = [job for job in self.jobs if (job.path, job.plan.title) == (target.path, target.plan.title)]
            context.choice = replace(context.choice, made_for=now[0] if now else None)
        try:
            self.unfinished, self.lying = context.darkroom.archive.unfinished(), context.darkroom.lying_out()
            self.to_read = len(context.darkroom.archive.tests_to_read())
        except LamphouseError as error:
            self.unfinished, self.lying, self.to_read = [], None, 0
            context.report(str(error))
        if not hasattr(self, "clock"):
            self.clock: Timer = self.set_interval(1.0, self._focus_line, pause=True)
        self._draw()  # the words at once; what needs the size comes with it
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
        if not self.is_attached or not self.jobs:
            return None
        the_list = self.query_one("#list", Static)
        rows = list_rows(self.jobs, len(self.bad), self.unfinished, self.to_read, self.at, the_list.size.height)
        the_list.update("\n".join(rows))
        if self.at > len(self.jobs):
            return self._draw_bad()
        job = self.job
        place = "" if self.roomy else f"< {self.at + 1}/{self.pages} >  "
        self.query_one("#choice", Static).update(f"{place}{self._about(job)}")
        table = job_rows(job) if self.roomy else [total(job.plan)]
        beside = self._is_beside(job, table)
        if (
            not beside and job.plan.patches and self.size.height < len(table) + BELOW
        ):  # each patch has its time in the drawing
            table = [total(job.plan)]
        self.query_one("#columns").styles.layout = "horizontal" if self.roomy and beside else "vertical"
        self.query_one("#plan", Static).update("\n".join(table))
        wide = self.size.width - LIST_WIDE - EDGES if self.roomy else self.size.width
        notes = self._notes(job)
        if self.roomy:  # the table is whole, whatever there is to be said
            notes = whole(notes, wide, max(2, self.query_one("#work").size.height - ABOVE - len(table)))
        self.query_one("#advice", Static).update("\n".join(notes))
        left = self.query_one("#work").size.height - ABOVE - len(table) - sum(lines_of(note, wide) for note in notes)
        self.query_one(JobSheet).set_class(not beside and left < LEAST_SHEET, "-none")  # the table goes before a drawing
        self.query_one("#timeline", Timeline).show(job.plan)
        self.call_after_refresh(self._draw_sheet, job)
        return self._next()

    def _is_beside(self, job: Job, table: list[str]) -> bool:
        """Whether the table has room beside the sheet; a strip's patches need some for their times."""
        left = self.size.width - LIST_WIDE - max(map(len, table))
        return left >= (least_width(job.plan) + EDGES if job.plan.patches else SHEET_WIDE)

    @property
    def roomy(self) -> bool:
        """Whether there is room for more than the choice, its total and the next key."""
        return self.size.width >= 72 and self.size.height >= TALL

    def _about(self, job: Job) -> str:
        if self.at == 0:
            choice = self.context.choice
            target = title_of(choice.made_for, self.jobs) if choice.made_for else "no print"
            return (
                f"strip on {KINDS[choice.paper]}: from {at_a_glance(choice.seconds)} s, {choice.patches} patches\n"
                f"{format_stops(choice.step)} stop, {choice.way}   made for: {target}"
            )
        assert job.recipe
        place = job.recipe.enlargement
        paper = ", ".join(part for part in (KINDS[job.plan.paper], filters_text(job.recipe.filters)) if part)
        more = [place.sheet, paper, f"f/{place.aperture:g}" if place.aperture else ""]
        return f"print: {title_of(job, self.jobs)}\n{'   '.join(part for part in more if part)}"

    def _draw_sheet(self, job: Job) -> None:
        if self.is_attached and self.at <= len(self.jobs) and self.roomy:
            self.query_one(JobSheet).show_job(job, white=not self.context.paper_out)

    def _draw_bad(self) -> None:
        """The recipes that cannot be used, each with its sentence."""
        count = f"{len(self.bad)} recipe{'s' if len(self.bad) > 1 else ''} not usable"
        self.query_one("#choice", Static).update(f"< {self.at + 1}/{self.pages} >  {count}")
        self.query_one("#plan", Static).update("\n\n".join(each.says for each in self.bad))
        self.query_one(JobSheet).blank_job()
        self.query_one("#advice", Static).update("")
        self.query_one("#timeline", Timeline).blank()
        self._next()

    def _notes(self, job: Job) -> list[str]:
        darkroom = self.context.darkroom
        written = [f"{darkroom.written_last.says}   u: take it back"] if darkroom.written_last else []
        lamp = [f"lamp response: {'as calibrated' if darkroom.is_calibrated else 'not calibrated'}"]
        return [  # what may have to go for want of room is last
            *([self.says] if self.says else []),
            *written,
            *darkroom.too_long(job.plan),
            *(note for note in job.plan.notes if not note.startswith("made for")),
            *vessel_note(job),
            *darkroom.short_light(job.plan),
            *self.context.cautions(job.plan.paper),
            *lamp,
        ]

    @property
    def unwritten(self) -> bool:
        """As of every page: the times of a bath's clock, which end with the program."""
        return self.context.clocks.run

    def _next(self) -> None:
        context = self.context
        if self.leaving:
            return self.next_action("A bath clock runs: q again leaves it\nany other key: go on")
        if self.entry:
            return self.next_action(self.entry_foot())
        if context.focus.on:
            return self._focus_line()
        if context.paper_out:
            since = context.darkroom.out[0].clock
            rest = f" Enter: finish sheet {self.lying.id}" if self.lying else ""
            return self.next_action(f"PAPER IS OUT{f' since {since}' if since else ''}.{rest}\nc: it is covered")
        rest = f"   r: {len(self.unfinished)} unfinished" if self.unfinished else ""
        rest += f"   a: {self.to_read} to read" if self.to_read else ""
        if self.at > len(self.jobs):
            return self.next_action(f"correct the file, or choose another recipe\nup down: choose{rest}")
        more = (
            "digits, <- ->: time  s: step  p: patches  w: way  k: paper  o: for  e: recipe"
            if self.at == 0
            else "s: strip  m: size  b: correct  e: edit  o: areas  t: tests  p: template  /: find"
        )
        if not self.roomy:  # the next key, and where the others stand
            return self.next_action(f"Enter: get ready   up down: choose\n?: keys{rest}")
        return self.next_action(f"Enter: get ready   up down: choose{rest}\n{more}")

    def _focus_line(self) -> None:
        focus = self.context.focus
        if self.leaving:
            self._next()
        elif (left := focus.left) > 0:
            self.clock.resume()
            self.next_action(f"FOCUS LIGHT ON, {minutes(int(left))} left\nf or Space: off")
        else:
            focus.over()
            self.clock.pause()
            self._next()

    def pressed(self, key: str) -> bool:
        if self.entry:
            return super().pressed(key)
        self.says = ""
        if self._opens(key):
            return True
        match key:
            case "up" | "down":
                self.at = (self.at + (1 if key == "down" else -1)) % self.pages
                self.context.chosen = self.jobs[self.at - 1] if self.is_print else self.context.chosen
            case "escape":
                self.leaving = False  # leaves a page; the program is ended by q alone
            case "s" if self.is_print:
                self._strip_for(self.job)
            case "o" if self.is_print:
                self._outlines()
            case "p" if self.is_print:
                self._template()
            case _:
                if self.at or not self._strip_key(key):
                    return False
        self._draw()
        return True

    def _opens(self, key: str) -> bool:
        """Whether ``key`` led to another page, or to what draws this one itself."""
        show, usable = self.context.show, self.at <= len(self.jobs)
        match key:
            case _ if key in PAGES:
                show(PAGES[key])
            case _ if key in PRINT_PAGES and self.is_print:
                show(PRINT_PAGES[key], self.job)
            case "enter":
                self._go()
            case "r" if self.unfinished:
                show("unfinished")
            case "a" if self.to_read:
                show("to read")
            case "u":
                self._undo()
            case "f":
                self._focus()
            case "e" if usable:
                self._edit()
            case "i" if usable:
                self._picture()
            case _:
                return False
        return True

    def _strip_key(self, key: str) -> bool:
        choice = self.context.choice
        match key:
            case "left" | "right":
                choice = choice.nudged(NUDGE if key == "right" else -NUDGE)
            case "s":
                choice = choice.next_step()
            case "p":
                choice = choice.next_count()
            case "w":
                choice = choice.next_way()
            case "k":
                paper = PAPERS[(PAPERS.index(choice.paper) + 1) % len(PAPERS)]
                choice = replace(choice.on_paper(paper), made_for=None)
            case "o":
                prints = [None, *(job for job in self.jobs if job.recipe and job.recipe.paper.kind == choice.paper)]
                at = prints.index(choice.made_for) if choice.made_for in prints else 0
                choice = replace(choice, made_for=prints[(at + 1) % len(prints)])
            case _ if (letter_of(key) or "-") in "0123456789." and not self.context.paper_out:
                self.ask("seconds of the lightest patch, like 2.5", self._timed, letter_of(key))
            case _:
                return False
        self.context.choice = choice
        return True

    def _timed(self, text: str) -> None:
        """The strip from the seconds that were typed."""
        try:
            seconds = float(text)
        except ValueError:
            raise ValueError(f"{text!r} is no time in seconds, like 2.5") from None
        self.context.choice = self.context.choice.begun_at(seconds)

    def _template(self) -> None:
        """The print's true-size template as a PDF, and where it was written."""
        if self.context.paper_out:
            return self.context.report("paper is out: cover it first")
        from timer.app.template_pdf import write

        try:
            path, pages = write(self.job)
        except LamphouseError as error:
            return self.context.report(str(error))
        self.says = f"template: {path}, {pages} pages to join; print it at 100 %, and measure its ruler"
        return None

    def _strip_for(self, job: Job) -> None:
        """The strip that finds the time of ``job``: on its paper, around its base."""
        assert job.recipe
        self.context.choice = self.context.choice.on_its_paper(job, job.recipe)
        self.at = 0

    def _edit(self) -> None:
        """The recipe that is shown, or from the strip an empty one on its paper."""
        context = self.context
        if context.paper_out:
            return context.report("paper is out: cover it first")
        if self.is_print and self.job.recipe:
            return context.show("edit", self.job, self.job.recipe)
        return context.show("edit", None, empty(context.choice.paper))

    def _picture(self) -> None:
        """The sheet as the bench makes it."""
        if self.context.paper_out:
            return self.context.report("no picture while paper is out")
        return self.context.show("picture", self.job)

    def _outlines(self) -> None:
        """Where the areas of the print lie."""
        context, recipe = self.context, self.job.recipe
        if context.paper_out:
            return context.report("paper is out: cover it first")
        if not recipe or not outlines.areas(recipe):
            return context.report("this print has no dodge or burn to be drawn; e makes one")
        return context.show("outlines", self.job)

    def _undo(self) -> None:
        try:
            said = self.context.darkroom.book.undo()
        except LamphouseError as error:
            return self.context.report(str(error))
        self.begin()
        return self.context.tell(said, "easel")

    def _go(self) -> None:
        context = self.context
        if context.paper_out:
            if self.lying:
                context.give_rest(self.lying)
            return None
        if self.at > len(self.jobs):
            return context.report("this recipe cannot be used; choose another")
        if context.focus.on and not self._end_focus():
            return None
        return context.expose(self.job)

    def _end_focus(self) -> bool:
        """Whether the focus light is certainly off."""
        try:
            self.context.focus.end()
        except LamphouseError as error:
            self.context.report(str(error))
            return False
        return True

    def _focus(self) -> None:
        if self.context.focus.on:
            self._end_focus()
            return self._focus_line()
        try:
            self.context.focus.begin()
        except LamphouseError as error:
            self.context.report(str(error))
        return self._focus_line()

    def dark(self) -> None:
        self._next()

"""Test sheets for a print: several packs on one sheet, all of one density; the set that finds the dry-down; or a strip of a
second grade over the first exposure."""

from dataclasses import replace
from fractions import Fraction

from textual.widgets import Static

from timer.app.jobs import Job
from timer.app.picks import Pick, picks_of
from timer.app.strip_choice import StripChoice
from timer.craft.stops import digits, format_stops, listed
from timer.documents.recipe import Filters
from timer.documents.recipe_light import filters_text, setting_of
from timer.errors import LamphouseError, Refused
from timer.plans.first_sheet import first_sheet_plan
from timer.plans.model import Plan
from timer.plans.recipe_edits import read_filters
from timer.plans.split_grade import Split, second_strip, split_of
from timer.plans.test_sheets import dry_down_plan, ladder_plan, ring_plan
from tui import head_choice
from tui.page import PlanPage
from tui.typing_page import TypingPage
from tui.widgets.sheet import Sheet

LADDER = (-10.0, -5.0, 5.0, 10.0)
FIRST = "first sheet, to be measured"
SECOND = "strip of a second grade"
NUDGE = Fraction(1, 12)


class TestSheet(TypingPage, PlanPage):
    """The kinds of test that the paper of ``job``, a print, can have.

    ``split``: what a strip of a second grade lies over, where that has just been found; else as the recipe has it.
    ``read``: the sheet that it was found on, which has been read once this one is made; 0 for none.
    """

    phase = "TEST SHEET"
    __test__ = False  # for pytest: it is no test

    def __init__(self, job: Job, split: Split | None = None, read: int = 0) -> None:
        super().__init__()
        self.read = read
        assert job.recipe
        self.job, self.recipe = job, job.recipe
        colour = job.recipe.paper.kind == "ra4"
        self.kinds = ("ring-around", "ladder of magenta", "ladder of yellow", FIRST) if colour else ("dry-down set", SECOND)
        self.head: str = job.recipe.filters.head
        self.at = 1 if split else 0
        known = split_of(job.recipe)
        if known and known.filters is not None and not split:
            split = Split(job.recipe.filters, job.recipe.base_s, known.filters)
        self.split = split
        middle = known.seconds if known and known.seconds else (split.first_s if split else job.recipe.base_s) / 2
        self.strip = StripChoice(paper=job.recipe.paper.kind).around(middle)
        self.says = ""

    def begin(self) -> None:
        self.head = self.head or self.context.head or self.context.darkroom.settings.head.kind
        self.call_after_refresh(self._draw)

    @property
    def kind(self) -> str:
        """The one that is chosen, in words."""
        return self.kinds[self.at]

    def plan(self) -> Plan:
        """Of the chosen kind; LamphouseError while the head, or the second grade, is not known."""
        base, pack, top = self.recipe.base_s, setting_of(self.recipe.filters), self.context.darkroom.settings.head.top
        match self.kind:
            case "ring-around":
                return ring_plan(pack, 10, base, self.head, top)
            case "ladder of magenta":
                return ladder_plan(pack, "M", LADDER, base, self.head, top)
            case "ladder of yellow":
                return ladder_plan(pack, "Y", LADDER, base, self.head, top)
            case kind if kind == FIRST:
                return first_sheet_plan(pack, base, self.head, top)
            case "dry-down set":
                return dry_down_plan(base)
            case _:
                return self._second()

    def _second(self) -> Plan:
        if not self.split:
            raise Refused("Which is the second grade? g: say it; the first exposure is the print's base")
        split, strip = self.split, self.strip
        try:
            return second_strip(
                split.first, split.first_s, split.second, strip.seconds, strip.step, strip.patches, strip.way,
                paper=self.recipe.paper.kind,
            )  # fmt: skip
        except ValueError as error:
            raise Refused(str(error)) from None

    # ── how it looks ─────────────────────────────────────────────────────────

    def _draw(self) -> None:
        self.query_one("#choice", Static).update(f"< {self.at + 1}/{len(self.kinds)} >  {self.kind}{self._how()}")
        keys = head_choice.KEY if self._asks_head else ""
        keys = "left right: time  s: step  p: patches  w: way  g: grade  " if self.kind == SECOND else keys
        choose = f"{keys}q: back"
        try:
            plan = self.plan()
        except LamphouseError as error:
            which = self._asks_head and not self.head
            self.query_one("#plan", Static).update(self.says or (head_choice.WHICH if which else str(error)))
            self.query_one("#sheet", Sheet).update("")
            self._foot("h: say which head it is" if which else self._what_is_wrong(), "q: back" if which else choose)
            return
        rows = [f"{listed(p.seconds):>7} s  {p.filters or p.patch}" for p in plan.patches]
        says = [self.says] if self.says else []
        self.query_one("#plan", Static).update("\n".join([*says, *rows, "", *plan.notes]))
        self.query_one("#sheet", Sheet).show(plan)
        self._foot("Enter: get ready", choose)

    def _what_is_wrong(self) -> str:
        return "g: say the second grade" if self.kind == SECOND and not self.split else "it cannot be made so: see above"

    def _how(self) -> str:
        if self.recipe.paper.kind == "ra4":
            return f"   head: {head_choice.name_of(self.head)}" if self._asks_head else f"   head: {self.head}"
        if self.kind != SECOND or not self.split:
            return ""
        strip = self.strip
        how = f"from {digits(strip.seconds)} s, {strip.patches} patches, {format_stops(strip.step)} stop, {strip.way}"
        return f"\n{how}\n{self.split}"

    def _foot(self, act: str, choose: str) -> None:
        if self.entry:
            self.next_action(self.entry_foot())
        else:
            self.next_action(f"{act}   up down: choose\n{choose}")

    # ── keys ─────────────────────────────────────────────────────────────────

    @property
    def _asks_head(self) -> bool:
        return self.recipe.paper.kind == "ra4" and head_choice.is_asked(self.head)

    def _act(self, key: str) -> bool:
        self.says = ""
        match key:
            case "up" | "down":
                self.at = (self.at + (1 if key == "down" else -1)) % len(self.kinds)
            case "h" if self._asks_head:
                self.head = self.context.head = head_choice.other(self.head)
            case "enter":
                self._go()
            case "g" if self.kind == SECOND:
                if self.context.paper_out:
                    self.context.report("paper is out: cover it first")
                else:
                    self.ask("second grade, like 5", self._second_typed)
            case _ if self.kind == SECOND:
                return self._strip_key(key)
            case _:
                return False
        return True

    def _strip_key(self, key: str) -> bool:
        strip = self.strip
        match key:
            case "left" | "right":
                self.strip = strip.nudged(NUDGE if key == "right" else -NUDGE)
            case "s":
                self.strip = strip.next_step().around(strip.middle)
            case "p":
                self.strip = strip.next_count().around(strip.middle)
            case "w":
                self.strip = strip.next_way()
            case _:
                return False
        return True

    def _second_typed(self, text: str) -> None:
        if not text:
            return
        second = read_filters(text, Filters())
        if not filters_text(second):
            raise ValueError(f"{text!r} is no grade; write it like 5")
        first = self.split.first if self.split else self.recipe.filters
        self.split = Split(first, self.split.first_s if self.split else self.recipe.base_s, second)

    def _go(self) -> None:
        context = self.context
        if context.paper_out:
            return context.report("paper is out: cover it first")
        try:
            plan = self.plan()
            if self.read and self.kind == SECOND:
                context.darkroom.archive.mark_read(self.read)
        except LamphouseError as error:
            return context.report(str(error))
        return context.expose(Job(plan, made_for=self.job, picks=self._picks(plan)))

    def _picks(self, plan: Plan) -> tuple[Pick, ...]:
        """What each patch says of the print, when it was the right one."""
        picks = picks_of(plan, head=self.head)
        return tuple(replace(pick, split=self.split) for pick in picks) if self.kind == SECOND else picks

"""A recipe made, or changed, row by row: its seconds and the line of its exposures follow at once."""

from __future__ import annotations

from collections.abc import Callable

from textual.app import ComposeResult
from textual.widgets import Static

from timer.app.jobs import Job
from timer.app.writing import loses_comments
from timer.documents.recipe import Recipe
from timer.errors import LamphouseError
from timer.plans import recipe_edits, recipe_rows
from timer.plans.print import print_plan
from timer.plans.recipe_edits import MEASURED_LIKE
from timer.plans.recipe_rows import Field, Row
from tui.entry_line import LONGEST, letter_of
from tui.page import NOT_WRITTEN
from tui.typing_page import TypingPage
from tui.widgets.lines import cut, fitted
from tui.widgets.timeline import Timeline

AREAS = ("dodge", "burn")
WIDE = 60
"""From this width on a row has its tool, motion and filters, and the foot all its keys."""
NAME_WIDE = 17
"""Cells of an area's name."""
WORDS: dict[str, tuple[Field, str]] = {"n": ("name", "name"), "t": ("tool", "tool"), "m": ("motion", "motion")}
NUMBERS = frozenset("0123456789.+-½⅓⅔¼¾")
ROW_KEYS = {
    "title": "n: type it",
    "paper": "left right: kind   n: type its name",
    "sheet": "n: type the negative's size, the sheet, the aperture, what was measured",
    "filters": "type a grade or pack   left right: grade",
    "base": "type seconds or stops   left right: 1/12",
    "dodge": "<- ->, or type it   n name  t tool  m motion  o overlap  < > order  x remove",
    "burn": "<- ->, or type it   n name  t tool  m motion  g grade  < > order  x remove",
    "edges": "type stops   left right: 1/12   n: which edges   t: tool   x: none",
    "flash": "type seconds   left right: 1/12   n: before or after   t: source   x: none",
    "dry-down": "type per cent   left right: 1 %   x: none",
    "picture": "n: type the file of a photo or scan of the print   x: none",
    "notes": "n: type them   x: none",
}
EXAMPLES = {
    "title": "the negative, like stair_well",
    "paper": "name of the paper",
    "sheet": f"like 24x36mm_18x24cm_f/8 {MEASURED_LIKE}",
    "filters": "like 2_1/2, or 60M_45Y",
    "base": "seconds like 12.5, or stops like +1/3",
    "edges": "stops like 1/4",
    "flash": "seconds like 1.2",
    "dry-down": "per cent, like 8",
    "picture": "a file beside the recipes, like stair.jpg",
    "notes": "what to know when it is printed again",
}
NAMES = {"edges": "which edges, like top_left, or all", "flash": "before or after"}
TOOLS = {"flash": "what lights it, like negative_out"}
FREE = ("picture", "notes")
"""Rows of words, typed on from what stands there."""
LONG = ("sheet", *FREE)
LONGEST_TEXT, LONGEST_SHEET = 500, 120


class EditRecipe(TypingPage):
    """``job``: the recipe that is changed, None for a new one; ``recipe``: what it begins with."""

    phase = "RECIPE"

    def __init__(self, job: Job | None, recipe: Recipe) -> None:
        super().__init__()
        self.job = job
        self.recipe = self.opened = recipe_rows.opened(recipe)
        self.before: list[Recipe] = []
        self.at = 0 if not recipe.title else 4
        self.says = self.example = ""
        if not recipe.title:
            self._type_field("name")

    def body(self) -> ComposeResult:
        yield Static(id="choice", markup=False)
        yield Static(id="list", markup=False)
        yield Static(id="then", markup=False)
        yield Timeline(id="timeline", markup=False)

    def begin(self) -> None:
        self.call_after_refresh(self._draw)

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    @property
    def row(self) -> Row:
        """The row that is marked."""
        rows = recipe_rows.rows(self.recipe)
        self.at = max(0, min(self.at, len(rows) - 1))
        return rows[self.at]

    @property
    def unwritten(self) -> bool:
        """As of every page: what is changed."""
        return self.changed

    @property
    def changed(self) -> bool:
        """Whether there is anything to save."""
        return self.recipe != self.opened

    # ── how it looks ─────────────────────────────────────────────────────────

    def _draw(self) -> None:
        if not self.is_attached:
            return
        rows, fault = recipe_rows.rows(self.recipe), recipe_rows.fault(self.recipe)
        line = self.query_one(Timeline)
        if fault:
            self.query_one("#choice", Static).update(self.says or fault)
            line.blank()
        else:
            plan = print_plan(recipe_rows.checked(self.recipe))
            count = sum(step.do == "expose" for step in plan.steps)
            plural = "s" if count > 1 else ""
            total = f"{count} exposure{plural}, {plan.total_light_s:.1f} s of light"
            total = next(iter(self.context.darkroom.too_long(plan)), total)
            self.query_one("#choice", Static).update(self.says or total)
            line.show(plan)
        height = max(3, self.size.height - (9 if self.size.width >= WIDE else 10))
        first = max(0, min(self.at - height // 2, len(rows) - height))
        shown = list(enumerate(rows))[first : first + height]
        self.query_one("#list", Static).update("\n".join(self._line(n, row) for n, row in shown))
        self._foot()

    def _line(self, n: int, row: Row) -> str:
        mark = ">" if n == self.at else " "
        if self.size.width < WIDE:
            return f"{mark} {row.word:7} {fitted(row.name, 11)} {row.amount:>6} {row.seconds:>9.9}".rstrip()
        name = fitted(row.name, NAME_WIDE) if row.kind in AREAS else f"{row.name:{NAME_WIDE}}"
        text = f"{mark} {row.word:9}{name} {row.amount:>7} {row.seconds:>11}   {row.how}".rstrip()
        return cut(text, self.size.width)

    def _foot(self) -> None:
        context, row = self.context, self.row
        self.query_one("#then", Static).update(self.example if self.entry else "")
        if self.entry:
            space = "   an underscore writes a space" if self.size.width >= WIDE else ""
            return self.next_action(self.entry_foot(space))
        if context.paper_out:
            return self.next_action("PAPER IS OUT: to be read only, nothing is changed\nup down: choose   q: back")
        if self.leaving:
            return self.next_action(NOT_WRITTEN)
        self.query_one("#then", Static).update(ROW_KEYS[row.kind])
        within = recipe_edits.exposure_of(self.recipe, row)
        there = "" if within is None else f" in {self.recipe.burn[within].area[:16]}"
        second = "pack" if self.recipe.paper.kind == "ra4" else "grade"
        adds = f"h: dodge{there}   b: burn   s: second {second}   u: undo   q: leave"
        if self.size.width < WIDE:
            return self.next_action(
                f"{self._enter().split('   ')[0].split(' (')[0]}\nh dodge b burn s {second} u undo q leave"
            )
        return self.next_action(f"{self._enter()}\n{adds}")

    def _enter(self) -> str:
        if not self.changed:
            return "Enter: back, nothing changed   w: as a new recipe" if self.job else "Enter: back"
        if self.job is None or self.job.path is None:
            return "Enter: write it as a new recipe"
        lost = " (its # comments go)" if loses_comments(self.job) else ""
        return f"Enter: write it into {self.job.path.name}{lost}   w: as a new one"

    # ── keys ─────────────────────────────────────────────────────────────────

    def pressed(self, key: str) -> bool:
        return self._read_only(key) if self.context.paper_out else super().pressed(key)

    def _read_only(self, key: str) -> bool:
        """With paper out: rows can be looked at, nothing is typed or written."""
        self._end_entry()
        if key in ("up", "down"):
            self.at += 1 if key == "down" else -1
        elif key == "enter":
            self.context.report("paper is out: cover it first")
        elif key in ("c", "d", "v", "q", "escape", "question_mark"):
            return False
        self._draw()
        return True

    def _act(self, key: str) -> bool:
        if key in ("q", "escape"):
            return False  # to leave
        row, self.says, self.example = self.row, "", ""
        match key:
            case "up" | "down":
                self.at = (self.at + (1 if key == "down" else -1)) % len(recipe_rows.rows(self.recipe))
            case "left" | "right":
                self._change(lambda: recipe_edits.nudged(self.recipe, row, 1 if key == "right" else -1))
                self._stay_with(row)
            case "enter":
                self._write()
            case "h" | "b":
                kind = "dodge" if key == "h" else "burn"
                self._ask_area(kind)
            case "s":
                self._type("second grade or pack, like 5", lambda text: recipe_edits.second_added(self.recipe, text))
            case "x":
                self._change(lambda: recipe_edits.removed(self.recipe, row))
            case "u":
                self._undo()
            case "w" if self.job:
                self.job, self.says = None, "this becomes a recipe of its own"
                self.opened = recipe_rows.empty(self.recipe.paper.kind)
            case "o" if row.kind == "dodge":
                self._change(lambda: recipe_edits.overlapped(self.recipe, row))
            case "less_than_sign" | "greater_than_sign" if row.kind in AREAS:
                self._move(row, 1 if key == "greater_than_sign" else -1)
            case "g" if row.kind in ("burn", "filters"):
                self._type_field("filters")
            case "n" | "t" | "m" if row.kind in AREAS or key == "n" or (key == "t" and row.kind in ("edges", "flash")):
                self._type_field(WORDS[key][0])
            case _:
                return self._begin_number(key)
        return True

    def _begin_number(self, key: str) -> bool:
        """Digits and signs replace the amount of the row that has one."""
        letter = letter_of(key)
        if letter not in NUMBERS or not letter or self.row.kind in ("title", *FREE):
            return False
        self._type_field("amount")
        assert self.entry
        self.entry = self.entry.came(key)
        return True

    # ── typing ───────────────────────────────────────────────────────────────

    def _type(self, what: str, take: Callable[[str], Recipe], text: str = "", most: int = LONGEST) -> None:
        self.ask(what, lambda text: self._taken(take, text), text, most)

    def _ask_area(self, kind: str) -> None:
        """An area more: a dodge in the exposure that the cursor is in."""
        within = recipe_edits.exposure_of(self.recipe, self.row)
        where = f" in {self.recipe.burn[within].area}" if within is not None and kind == "dodge" else ""
        what = f"{kind}{where}, like {'wall' if kind == 'dodge' else 'sky'}"
        self._type(what, lambda text: self._added(kind, text, within))

    def _type_field(self, field: Field) -> None:
        row = self.row
        what = {"tool": "tool", "motion": "motion", "filters": "grade or pack, like 5 or 60M_45Y"}.get(field)
        if what is None and row.kind in AREAS:
            what = "name" if field == "name" else "stops like +1/3, or seconds like 12.5"
        what = what if row.kind in AREAS else {"name": NAMES, "tool": TOOLS}.get(field, {}).get(row.kind) or what
        now = {"picture": self.recipe.picture, "notes": self.recipe.notes}.get(row.kind, "")
        example = what or EXAMPLES[row.kind]
        self.example = example if row.kind in LONG else ""  # it has a row of its own, and what is typed the whole other one
        most = LONGEST_TEXT if row.kind in FREE else LONGEST_SHEET if row.kind == "sheet" else LONGEST
        label = row.kind if self.example else f"{row.kind}, {example}"
        self.ask(label, lambda text: self._row_typed(row, field, text), now, most)

    def _row_typed(self, row: Row, field: Field, text: str) -> None:
        self._taken(lambda text: recipe_edits.typed(self.recipe, row, field, text), text)
        self._stay_with(row)  # which may be a burn now, or a dodge, and in another place

    def _taken(self, take: Callable[[str], Recipe], text: str) -> None:
        titled = self.row.kind == "title" and not self.recipe.title
        self._put(take(text))
        if titled and self.recipe.title:
            self.at = [row.kind for row in recipe_rows.rows(self.recipe)].index("base")

    # ── changes ──────────────────────────────────────────────────────────────

    def _change(self, make: Callable[[], Recipe]) -> None:
        """What ``make`` makes; a sentence why it cannot be."""
        try:
            self._put(make())
        except (ValueError, LamphouseError) as error:
            self.says = str(error)

    def _put(self, made: Recipe) -> None:
        if made != self.recipe:
            self.before.append(self.recipe)
            self.recipe = made

    def _added(self, kind: str, text: str, within: int | None) -> Recipe:
        """The recipe with that area more, which the cursor goes to."""
        made = recipe_edits.added(self.recipe, "dodge" if kind == "dodge" else "burn", text, within)
        rows, before = recipe_rows.rows(made), {_place(row) for row in recipe_rows.rows(self.recipe)}
        self.at = next((n for n, row in enumerate(rows) if row.kind in AREAS and _place(row) not in before), self.at)
        return made

    def _stay_with(self, row: Row) -> None:
        """The cursor stays with an area, also with one that has become a burn, or a dodge."""
        if row.kind in AREAS:
            places = {_place(r): n for n, r in enumerate(recipe_rows.rows(self.recipe))}
            turned = places.get(("burn" if row.kind == "dodge" else "dodge", row.name, row.within), self.at)
            self.at = places.get(_place(row), turned)

    def _move(self, row: Row, by: int) -> None:
        made, to = recipe_edits.moved(self.recipe, row, by)
        if made != self.recipe:
            self._change(lambda: made)
            there = [(r.kind, r.at, r.within) for r in recipe_rows.rows(made)]
            self.at = there.index((row.kind, to, row.within))

    def _undo(self) -> None:
        if self.before:
            row, self.recipe = self.row, self.before.pop()
            self._stay_with(row)
            self.says = "taken back"
        else:
            self.says = "nothing more to take back"

    def _write(self) -> None:
        context = self.context
        if not self.changed and (self.job or not self.recipe.title):
            return context.go_back()
        try:
            context.chosen = context.darkroom.book.write_edited(self.job, self.recipe)
        except LamphouseError as error:
            return context.report(str(error))
        context.to_chosen = True
        return context.go_back()


def _place(row: Row) -> tuple[str, str, int | None]:
    """What a row is known by, wherever it stands."""
    return row.kind, row.name, row.within

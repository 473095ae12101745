"""A print changed: to another size or aperture, or by what was seen on it (Correct), as a recipe of its own."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil, floor

from textual.app import ComposeResult
from textual.widgets import Static

from timer.app.jobs import Job
from timer.craft import filters as colour_filters
from timer.craft.heads import THREE_LIGHTS
from timer.craft.read_strip import next_change, next_step
from timer.craft.stops import format_stops
from timer.documents.calibrations import box_named, head_exponent
from timer.documents.recipe import GRADES
from timer.errors import LamphouseError, Refused
from timer.plans.correct_area import amount_of, areas_of, correct, last_changes
from timer.plans.recipe_change import RecipeChange, described
from tui.sheet_sizes import SIZE_LIKE, sizes_with, typed_size
from tui.typing_page import TypingPage

APERTURES = (2.8, 4.0, 5.6, 8.0, 11.0, 16.0, 22.0)
CASTS = ("no cast", *colour_filters.CASTS)
NUDGE = Fraction(1, 12)
SPEEDS = (50.0, 64.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 320.0, 400.0, 500.0, 640.0)


class ChangePage(TypingPage):
    """Rows of a name and a value: up and down choose the row, left and right change it, Enter writes it."""

    word = "new"

    def __init__(self, job: Job) -> None:
        super().__init__()
        assert job.recipe
        self.job, self.recipe = job, job.recipe
        self.at = 0
        self.good = False

    def body(self) -> ComposeResult:
        yield Static(id="list", markup=False)

    def begin(self) -> None:
        self._draw()

    def rows(self) -> list[tuple[str, str]]:
        """What can be chosen: (name, value) each."""
        raise NotImplementedError

    def nudge(self, row: str, by: int) -> None:
        """Change ``row`` by one to the left (-1) or to the right (1)."""
        raise NotImplementedError

    def target(self) -> RecipeChange | None:
        """The change that is asked for; None while there is none."""
        raise NotImplementedError

    def outcome(self) -> list[str]:
        """The result of what is asked for, in words; empty while nothing is. LamphouseError when it cannot be made."""
        target = self.target()
        if not target:
            return []
        moved = self.context.darkroom.book.derived(self.job, target)
        return [*moved.says, *(f"- {line}" for line in moved.advice)]

    def written(self) -> Job | None:
        """Write the new recipe; None when nothing was asked for."""
        target = self.target()
        return self.context.darkroom.book.write_derived(self.job, target, self.word) if target else None

    def more(self) -> list[str]:
        """Lines below what comes of it."""
        return []

    def other_ways(self) -> str:
        """Keys of this page's own, for its foot."""
        return ""

    def _draw(self) -> None:
        rows = self.rows()
        self.at = min(self.at, len(rows) - 1)
        lines = [f"{self.recipe.title}: {described(self.recipe)}", ""]
        lines += [f"{'>' if n == self.at else ' '} {name:10} {value}" for n, (name, value) in enumerate(rows)]
        self.good = False
        try:
            outcome = self.outcome()
            if outcome:
                lines += ["", *outcome]
                self.good = True
        except LamphouseError as error:
            lines += ["", str(error)]
        self.query_one("#list", Static).update("\n".join([*lines, *self.more()]))
        if self.entry:
            return self.next_action(self.entry_foot())
        enter = "Enter: write it as a recipe of its own" if self.good else "Enter: back, nothing changed"
        return self.next_action(f"{enter}\nup down: choose   left right: change   {self.other_ways()}q: back")

    def pressed(self, key: str) -> bool:
        if self.entry:
            return super().pressed(key)
        rows = self.rows()
        match key:
            case "up" | "down":
                self.at = (self.at + (1 if key == "down" else -1)) % len(rows)
            case "left" | "right":
                self.nudge(rows[self.at][0], 1 if key == "right" else -1)
            case "enter":
                self._write()
                return True
            case _:
                return False
        self._draw()
        return True

    def _write(self) -> None:
        try:
            made = self.written() if self.good else None
            if made:
                self.context.chosen = made
        except LamphouseError as error:
            return self.context.report(str(error))
        return self.context.go_back()


class ChangeRecipe(ChangePage):
    """The same print on another sheet, at another aperture or grade, on other paper or another head."""

    phase = "ANOTHER SIZE"

    def __init__(self, job: Job) -> None:
        super().__init__(job)
        place = self.recipe.enlargement
        self.sheets = sizes_with(place.sheet)
        self.sheet = place.sheet or "8x10in"
        self.aperture = place.aperture
        self.grade = self.recipe.filters.grade
        self.speed = self.recipe.paper.speed
        self.box = self.head = ""

    def rows(self) -> list[tuple[str, str]]:
        kept, _ = self.context.darkroom.corrections()
        rows = [("sheet", self.sheet), ("aperture", f"f/{self.aperture:g}" if self.aperture else "not known")]
        if self.grade:
            rows.append(("grade", self.grade))
        if self.speed:
            rows.append(("paper", f"P{self.speed:g}"))
        if kept.boxes:
            rows.append(("box", self.box or "the same box"))
        if kept.heads:
            rows.append(("head", self.head or "by the formula"))
        return rows

    def pressed(self, key: str) -> bool:
        if key == "n" and not self.entry and not self.context.paper_out:
            self.ask(SIZE_LIKE, self._sheet_typed)
            self._draw()
            return True
        return super().pressed(key)

    def other_ways(self) -> str:
        return "n: type the sheet   "

    def _sheet_typed(self, text: str) -> None:
        self.sheet = typed_size(text) if text else self.sheet

    def more(self) -> list[str]:
        _, says = self.context.darkroom.corrections()
        return ["", says] if says else []

    def nudge(self, row: str, by: int) -> None:
        kept, _ = self.context.darkroom.corrections()
        match row:
            case "sheet":
                self.sheet = _next(self.sheets, self.sheet, by)
            case "aperture" if self.aperture:
                near = min(range(len(APERTURES)), key=lambda n: abs(APERTURES[n] - (self.aperture or 8)))
                self.aperture = APERTURES[max(0, min(len(APERTURES) - 1, near + by))]
            case "grade":
                self.grade = _next(GRADES, self.grade, by)
            case "paper" if self.speed:
                near = min(range(len(SPEEDS)), key=lambda n: abs(SPEEDS[n] - (self.speed or 100)))
                self.speed = SPEEDS[max(0, min(len(SPEEDS) - 1, near + by))]
            case "box":
                self.box = _next(("", *sorted(kept.boxes)), self.box, by)
            case "head":
                self.head = _next(("", *sorted(kept.heads)), self.head, by)

    def target(self) -> RecipeChange | None:
        recipe, (kept, _) = self.recipe, self.context.darkroom.corrections()
        place = recipe.enlargement
        target = RecipeChange(
            sheet=self.sheet if self.sheet != place.sheet else "",
            aperture=self.aperture if self.aperture != place.aperture else None,
            grade=self.grade if self.grade != recipe.filters.grade else "",
            speed=self.speed if self.speed != recipe.paper.speed else None,
            box=box_named(kept, self.box) if self.box else None,
        )
        if target == RecipeChange():
            return None
        return replace(target, exponent=head_exponent(kept, self.head), exponent_of=self.head) if self.head else target

    @property
    def word(self) -> str:  # type: ignore[override]
        return self.sheet


def _next(names: Sequence[str], now: str, by: int) -> str:
    return names[(names.index(now) + by) % len(names)] if now in names else names[0]


class Correct(ChangePage):
    """Density first, of the whole print and of each area, then the cast; from how the dry print looks."""

    phase = "LOOK BACK"
    word = "corrected"

    def __init__(self, job: Job, run: int = 0) -> None:
        super().__init__(job)
        self.run = run
        self.stops = Fraction(0)
        self.areas: dict[str, Fraction] = {}
        self.cast = CASTS[0]
        self.amount = "slight"
        self.head: str = self.recipe.filters.head
        self.colour = self.recipe.paper.kind == "ra4"

    def begin(self) -> None:
        if self.context.to_chosen:  # it was solved, and is written
            return self.context.go_back()
        self.head = self.head or self.context.head or self.context.darkroom.settings.head.kind
        return super().begin()

    def other_ways(self) -> str:
        return "s: solve   " if self.colour and self.run else ""

    def pressed(self, key: str) -> bool:
        if key == "s" and self.colour and self.run:
            self.context.show("solve", self.job, self.run)
            return True
        return super().pressed(key)

    def rows(self) -> list[tuple[str, str]]:
        size = format_stops(abs(self.stops))
        density = f"{size} stop {'darker' if self.stops > 0 else 'lighter'}" if self.stops else "as it is"
        rows = [("make it", density)]
        if self.colour:
            rows.append(("it is too", self.cast))
            if self.cast != CASTS[0]:
                rows.append(("how much", f"{self.amount}, {colour_filters.AMOUNTS[self.amount]:g} CC"))
                if self.head not in THREE_LIGHTS:
                    rows.append(
                        (
                            "head",
                            {"dichroic": "dichroic (dials)", "cp": "CP filters (drawer)"}.get(self.head, "which? choose"),
                        )
                    )
        return [*rows, *((area, self._of_area(area)) for area in areas_of(self.recipe))]

    def nudge(self, row: str, by: int) -> None:
        match row:
            case "make it":
                self.stops = self._nudged("print", self.stops, by)
            case area if area in areas_of(self.recipe):
                self.areas[area] = self._nudged(area, self.areas.get(area, Fraction(0)), by)
            case "it is too":
                self.cast = CASTS[(CASTS.index(self.cast) + by) % len(CASTS)]
            case "how much":
                names = list(colour_filters.AMOUNTS)
                self.amount = names[max(0, min(len(names) - 1, names.index(self.amount) + by))]
            case _:
                self.head = self.context.head = "cp" if self.head == "dichroic" else "dichroic"

    def _nudged(self, area: str, now: Fraction, by: int) -> Fraction:
        """The next twelfth up or down; the first press against the last change proposes half of that."""
        last = last_changes(self.recipe).get(area)
        new = (floor(now / NUDGE) + 1) * NUDGE if by > 0 else (ceil(now / NUDGE) - 1) * NUDGE
        return max(Fraction(-3), min(Fraction(3), next_step(new, last) if last and not now else new))

    def _of_area(self, area: str) -> str:
        stops = self.areas.get(area, Fraction(0))
        change = f"{format_stops(stops, signed=True)}   " if stops else ""
        return f"{change}({amount_of(self.recipe, area)})"

    @property
    def asked(self) -> list[tuple[str, Fraction]]:
        """What is asked of single areas, with the whole print before them; nothing while no area is to change."""
        areas = [(area, stops) for area, stops in self.areas.items() if stops]
        return [*([("print", self.stops)] if self.stops else []), *areas] if areas else []

    def outcome(self) -> list[str]:
        if self.cast != CASTS[0] and not self.head:
            raise Refused("which head is it? the row below the cast says CP filters or dichroic; they differ a lot")
        if not self.asked:
            return super().outcome()
        if self.cast != CASTS[0]:
            raise Refused("density first: write the areas, look at the next print, then take out its cast")
        return [str(change) for change in correct(self.recipe, self.asked, exact=True).corrections]

    def written(self) -> Job | None:
        return self.context.darkroom.book.write_corrected(self.job, self.asked) if self.asked else super().written()

    def target(self) -> RecipeChange | None:
        target = RecipeChange(stops=self.stops, head=self.head)
        if self.cast != CASTS[0]:
            target = replace(target, correct=self._asked(), top=self.context.darkroom.settings.head.top)
        return target if self.stops or target.correct else None

    def _asked(self) -> colour_filters.Pack:
        return colour_filters.correction(self.cast, colour_filters.AMOUNTS[self.amount])

    def more(self) -> list[str]:
        made = self.recipe.derived
        lines = []
        before = last_changes(self.recipe)
        for area, stops in (("print", self.stops), *self.areas.items()):
            last = before.get(area)
            if last and stops == -last / 2:
                lines.append(
                    f"- {area}: half of the last change, {format_stops(last, signed=True)}, since the direction turns"
                )
        if self.stops and not self.asked and "print" not in before:
            step = format_stops(next_step(self.stops, None), signed=True)
            lines.append(f"- first try {step} stop: past it, so that the right value lies between")
        if self.cast != CASTS[0] and made and made.change:
            back = next_change(self._asked(), colour_filters.Pack(*made.change))
            lines += [f"- now try {back}: half of the last change, since the colour has turned"] if back else []
        return ["", *lines] if lines else []

"""A print corrected by how it looks, dry: density first, of the whole print and of each area, then the cast."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import ceil, floor

from timer.app.jobs import Job
from timer.craft import filters as colour_filters
from timer.craft.read_strip import next_change, next_step
from timer.craft.stops import format_stops
from timer.errors import Refused
from timer.plans.correct_area import amount_of, areas_of, correct, last_changes
from timer.plans.recipe_change import RecipeChange
from tui import head_choice
from tui.change_page import ChangePage

CASTS = ("no cast", *colour_filters.CASTS)
NUDGE = Fraction(1, 12)


@dataclass(frozen=True)
class Seen:
    """What the dry print should have: ``stops`` more light as a whole, and each of ``areas`` by itself; and its cast."""

    stops: Fraction = Fraction(0)
    areas: dict[str, Fraction] = field(default_factory=dict)
    cast: str = CASTS[0]
    amount: str = "slight"

    @property
    def has_cast(self) -> bool:
        """Whether it has one."""
        return self.cast != CASTS[0]


class Correct(ChangePage[Seen]):
    """``run``: the sheet that was looked at, 0 for none."""

    phase = "LOOK BACK"
    word = "corrected"

    def __init__(self, job: Job, run: int = 0) -> None:
        super().__init__(job, Seen())
        self.run = run
        self.head: str = self.recipe.filters.head
        self.colour = self.recipe.paper.kind == "ra4"

    def begin(self) -> None:
        if self.context.to_chosen:  # it was solved, and is written
            return self.context.go_back()
        self.head = self.head or self.context.head or self.context.darkroom.settings.head.kind
        return super().begin()

    @property
    def _asks_head(self) -> bool:
        return self.now.has_cast and head_choice.is_asked(self.head)

    def other_ways(self) -> str:
        return (head_choice.KEY if self._asks_head else "") + ("s: solve   " if self.colour and self.run else "")

    def _act(self, key: str) -> bool:
        if key == "s" and self.colour and self.run:
            self.context.show("solve", self.job, self.run)
        elif key == "h" and self._asks_head:
            self._turn_head()
        else:
            return super()._act(key)
        return True

    def _turn_head(self) -> None:
        self.head = self.context.head = head_choice.other(self.head)

    def rows(self) -> list[tuple[str, str]]:
        now = self.now
        size = format_stops(abs(now.stops))
        density = f"{size} stop {'darker' if now.stops > 0 else 'lighter'}" if now.stops else "as it is"
        rows = [("make it", density)]
        if self.colour:
            rows.append(("it is too", now.cast))
            if now.has_cast:
                rows.append(("how much", f"{now.amount}, {colour_filters.AMOUNTS[now.amount]:g} CC"))
            if self._asks_head:
                rows.append(("head", head_choice.name_of(self.head)))
        return [*rows, *((area, self._of_area(area)) for area in areas_of(self.recipe))]

    def nudged(self, row: str, by: int) -> Seen:
        now = self.now
        match row:
            case "make it":
                return replace(now, stops=self._step("print", now.stops, by))
            case area if area in areas_of(self.recipe):
                stops = self._step(area, now.areas.get(area, Fraction(0)), by)
                return replace(now, areas={**now.areas, area: stops})
            case "it is too":
                return replace(now, cast=CASTS[(CASTS.index(now.cast) + by) % len(CASTS)])
            case "how much":
                names = list(colour_filters.AMOUNTS)
                return replace(now, amount=names[max(0, min(len(names) - 1, names.index(now.amount) + by))])
        self._turn_head()
        return now

    def _step(self, area: str, now: Fraction, by: int) -> Fraction:
        """The next twelfth up or down; the first press against the last change proposes half of that."""
        last = last_changes(self.recipe).get(area)
        new = (floor(now / NUDGE) + 1) * NUDGE if by > 0 else (ceil(now / NUDGE) - 1) * NUDGE
        return max(Fraction(-3), min(Fraction(3), next_step(new, last) if last and not now else new))

    def _of_area(self, area: str) -> str:
        stops = self.now.areas.get(area, Fraction(0))
        change = f"{format_stops(stops, signed=True)}   " if stops else ""
        return f"{change}({amount_of(self.recipe, area)})"

    @property
    def asked(self) -> list[tuple[str, Fraction]]:
        """What is asked of single areas, with the whole print before them; nothing while no area is to change."""
        areas = [(area, stops) for area, stops in self.now.areas.items() if stops]
        return [*([("print", self.now.stops)] if self.now.stops else []), *areas] if areas else []

    @property
    def unwritten(self) -> bool:
        """As of every page; the cast's amount says nothing while there is none, and an area set back is as it was."""
        return bool(self.now.stops or self.asked or self.now.has_cast)

    def outcome(self) -> list[str]:
        if self.now.has_cast and not self.head:
            raise Refused(head_choice.WHICH)
        if not self.asked:
            return super().outcome()
        if self.now.has_cast:
            raise Refused("density first: write the areas, look at the next print, then take out its cast")
        return [str(change) for change in correct(self.recipe, self.asked, exact=True).corrections]

    def written(self) -> Job | None:
        return self.context.darkroom.book.write_corrected(self.job, self.asked) if self.asked else super().written()

    def target(self) -> RecipeChange | None:
        target = RecipeChange(stops=self.now.stops, head=self.head)
        if self.now.has_cast:
            target = replace(target, correct=self._correction(), top=self.context.darkroom.settings.head.top)
        return target if self.now.stops or target.correct else None

    def _correction(self) -> colour_filters.Pack:
        return colour_filters.correction(self.now.cast, colour_filters.AMOUNTS[self.now.amount])

    def more(self) -> list[str]:
        now, made, before = self.now, self.recipe.derived, last_changes(self.recipe)
        lines = []
        for area, stops in (("print", now.stops), *now.areas.items()):
            last = before.get(area)
            if last and stops == -last / 2:
                lines.append(
                    f"- {area}: half of the last change, {format_stops(last, signed=True)}, since the direction turns"
                )
        if now.stops and not self.asked and "print" not in before:
            step = format_stops(next_step(now.stops, None), signed=True)
            lines.append(f"- first try {step} stop: past it, so that the right value lies between")
        if now.has_cast and made and made.change:
            back = next_change(self._correction(), colour_filters.Pack(*made.change))
            lines += [f"- now try {back}: half of the last change, since the colour has turned"] if back else []
        return ["", *lines] if lines else []

"""A print taken to another size, aperture, grade, paper or head, as a recipe of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from timer.app.jobs import Job
from timer.documents.calibrations import box_named, head_exponent
from timer.documents.recipe import GRADES
from timer.errors import Refused
from timer.plans.magnification import magnification_of
from timer.plans.recipe_change import RecipeChange
from tui.change_page import ChangePage
from tui.sheet_sizes import SIZE_LIKE, sizes_with, typed_size

APERTURES = (2.8, 4.0, 5.6, 8.0, 11.0, 16.0, 22.0)
SPEEDS = (50.0, 64.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 320.0, 400.0, 500.0, 640.0)

UNKNOWN = "How large is it now? e on the first page, row sheet: type the negative's size and the sheet, like 24x36mm_18x24cm"


@dataclass(frozen=True)
class Place:
    """Where the print is taken; "" for a ``box`` or ``head`` is the one there was, None is not known."""

    sheet: str
    aperture: float | None
    grade: str
    speed: float | None
    box: str = ""
    head: str = ""


class ChangeRecipe(ChangePage[Place]):
    """The same print on another sheet, at another aperture or grade, on other paper or another head."""

    phase = "ANOTHER SIZE"

    def __init__(self, job: Job) -> None:
        assert job.recipe
        recipe, stands = job.recipe, job.recipe.enlargement
        super().__init__(job, Place(stands.sheet or "8x10in", stands.aperture, recipe.filters.grade, recipe.paper.speed))
        self.sheets = sizes_with(stands.sheet)

    def rows(self) -> list[tuple[str, str]]:
        now, (kept, _) = self.now, self.context.darkroom.corrections()
        rows = [("sheet", now.sheet), ("aperture", f"f/{now.aperture:g}" if now.aperture else "not known")]
        if now.grade:
            rows.append(("grade", now.grade))
        if now.speed:
            rows.append(("paper", f"P{now.speed:g}"))
        if kept.boxes:
            rows.append(("box", now.box or "the same box"))
        if kept.heads:
            rows.append(("head", now.head or "by the formula"))
        return rows

    def _act(self, key: str) -> bool:
        if key == "n" and not self.context.paper_out:
            self.ask(SIZE_LIKE, self._sheet_typed)
            return True
        return super()._act(key)

    def other_ways(self) -> str:
        return "n: type the sheet   "

    def _sheet_typed(self, text: str) -> None:
        if text:
            self.change(replace(self.now, sheet=typed_size(text)))

    def outcome(self) -> list[str]:
        stands = self.recipe.enlargement
        if self.now.sheet != self.opened.sheet and not (magnification_of(stands) or stands.lens_to_paper_mm):
            raise Refused(UNKNOWN)
        return super().outcome()

    def more(self) -> list[str]:
        _, says = self.context.darkroom.corrections()
        return ["", says] if says else []

    def nudged(self, row: str, by: int) -> Place:
        now, (kept, _) = self.now, self.context.darkroom.corrections()
        match row:
            case "sheet":
                return replace(now, sheet=_next(self.sheets, now.sheet, by))
            case "aperture" if now.aperture:
                return replace(now, aperture=_near(APERTURES, now.aperture, by))
            case "grade":
                return replace(now, grade=_next(GRADES, now.grade, by))
            case "paper" if now.speed:
                return replace(now, speed=_near(SPEEDS, now.speed, by))
            case "box":
                return replace(now, box=_next(("", *sorted(kept.boxes)), now.box, by))
            case "head":
                return replace(now, head=_next(("", *sorted(kept.heads)), now.head, by))
        return now

    def target(self) -> RecipeChange | None:
        now, recipe, (kept, _) = self.now, self.recipe, self.context.darkroom.corrections()
        place = recipe.enlargement
        target = RecipeChange(
            sheet=now.sheet if now.sheet != place.sheet else "",
            aperture=now.aperture if now.aperture != place.aperture else None,
            grade=now.grade if now.grade != recipe.filters.grade else "",
            speed=now.speed if now.speed != recipe.paper.speed else None,
            box=box_named(kept, now.box) if now.box else None,
        )
        if target == RecipeChange():
            return None
        return replace(target, exponent=head_exponent(kept, now.head), exponent_of=now.head) if now.head else target

    @property
    def word(self) -> str:  # type: ignore[override]
        return self.now.sheet


def _next(names: Sequence[str], now: str, by: int) -> str:
    return names[(names.index(now) + by) % len(names)] if now in names else names[0]


def _near(values: Sequence[float], now: float, by: int) -> float:
    """The next of ``values`` from the one that is nearest to ``now``; at an end that end."""
    at = min(range(len(values)), key=lambda n: abs(values[n] - now))
    return values[max(0, min(len(values) - 1, at + by))]

"""A change that is asked of a recipe, and its result."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from timer.craft import filters as colour_filters
from timer.craft import heads
from timer.craft.stops import digits, stops_between, told_apart
from timer.documents.calibrations import Box
from timer.documents.recipe import Recipe
from timer.documents.recipe_light import filters_text

SAME = 1e-6
"""A factor that is not further from 1 than this is none."""


@dataclass(frozen=True)
class RecipeChange:
    """What is to change; None and empty: stays.

    ``pack`` is a setting to go to, ``correct`` a change of pack in CC (a cast taken out); both are for the recipe's head.
    ``top`` is where that head ends; 0: not known.
    """

    sheet: str = ""
    frame: str = ""
    fill: bool | None = None
    border_mm: float | None = None
    detail_print_mm: float | None = None
    distances_mm: tuple[float, float] | None = None
    aperture: float | None = None
    lens_mm: float | None = None
    paper: str = ""
    speed: float | None = None
    grade: str = ""
    grade_time: float | None = None  # of that grade over the recipe's, as measured; else the usual factor
    pack: heads.Setting | None = None
    correct: colour_filters.Pack | None = None
    head: str = ""
    top: float = 0.0
    box: Box | None = None
    exponent: float = 1.0
    exponent_of: str = ""
    column_mm: float | None = None
    stops: Fraction = Fraction(0)  # a correction of density, as seen on the print


@dataclass(frozen=True)
class DerivedRecipe:
    """The derived recipe, the factors, and what to say of each; ``advice`` is for the printer to take or leave."""

    recipe: Recipe
    size: float
    aperture: float
    paper: float
    filters: float
    density: float
    magnification: tuple[float | None, float | None]
    lens_to_paper_mm: float | None
    negative_to_paper_mm: float | None
    says: tuple[str, ...]
    advice: tuple[str, ...]
    strip: str

    @property
    def factor(self) -> float:
        """New base time over the old one."""
        return self.size * self.aperture * self.paper * self.filters * self.density

    @property
    def stops(self) -> float:
        """The same in stops; above zero is more light."""
        return stops_between(1.0, self.factor)


def derived_json(moved: DerivedRecipe) -> dict[str, Any]:
    """What scripts read: factors, the new base in s, distances in mm, and the sentences."""
    return {
        "factors": {"size": moved.size, "aperture": moved.aperture, "paper": moved.paper, "filters": moved.filters},
        "factor": moved.factor,
        "stops": moved.stops,
        "base_s": moved.recipe.base_s,
        "magnification": list(moved.magnification),
        "lens_to_paper_mm": moved.lens_to_paper_mm,
        "negative_to_paper_mm": moved.negative_to_paper_mm,
        "says": list(moved.says),
        "advice": list(moved.advice),
        "strip": moved.strip,
    }


def times(factor: float) -> str:
    """A factor in words, like ``x 1.122``; near 1 with as many digits as tell it from 1."""
    if abs(factor - 1) < SAME:
        return "x 1"
    near = f"{factor:.3f}" if factor >= 0.1 else f"{factor:.3g}"
    return f"x {near if float(near) != 1 else told_apart(factor, 1)}"


def described(recipe: Recipe) -> str:
    """One line on how a recipe stands: sheet, aperture, filters, base."""
    place = recipe.enlargement
    parts = [place.sheet, f"f/{place.aperture:g}" if place.aperture else "", filters_text(recipe.filters)]
    return ", ".join([*(p for p in parts if p), f"{digits(recipe.base_s)} s"])

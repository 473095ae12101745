"""What a strip is made for, kept with it as the recipe of the print it leads to."""

from dataclasses import dataclass

import msgspec

from timer.documents.recipe import Enlargement, Filters, Paper, Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.errors import LamphouseError
from timer.plans.other_paper import named_paper, through_grade


@dataclass(frozen=True)
class About:
    """What is said of a strip beside its filters; None: not said."""

    negative: str | None = None
    size: str | None = None
    aperture: float | None = None
    paper_name: str | None = None


def usual_paper(filters: Filters | None) -> str:
    """The kind of paper that is meant where none is said: a colour pack, or lights, are for colour paper."""
    return "ra4" if filters and not filters.grade else "bw"


def strip_target(
    recipe: Recipe | None, about: About, seconds: float, paper: str | None, filters: Filters | None
) -> Recipe | None:
    """The recipe that a strip around ``seconds`` is made for: ``recipe`` with what is said of this strip, or a new one;
    None when nothing is said. ValueError where it cannot be a recipe's, or for another kind of paper than ``recipe`` has.
    """
    if recipe is None and about == About() and not filters:
        return None
    begun = recipe or Recipe(
        recipe=1,
        title=(about.negative or "Untitled")[:60],
        base_s=seconds,
        paper=Paper(paper or usual_paper(filters)),  # type: ignore[arg-type]  # judged below, as it is read again
    )
    if paper and paper != begun.paper.kind:
        raise ValueError(f"a strip on {paper} paper is no test for {begun.title!r}, on {begun.paper.kind}")
    begun = through_grade(begun, filters or begun.filters)
    made = msgspec.structs.replace(
        begun,
        negative=about.negative or begun.negative,
        paper=named_paper(begun.paper, about.paper_name or ""),
        enlargement=_placed(begun.enlargement, about),
    )
    try:
        return parse_recipe(recipe_toml(made), "the strip's print")
    except LamphouseError as error:
        raise ValueError(str(error)) from None


def _placed(place: Enlargement, about: About) -> Enlargement:
    if about.size and about.size != place.sheet:  # what was measured belongs to the other size
        place = msgspec.structs.replace(place, sheet=about.size, detail_print_mm=None, lens_to_paper_mm=None)
    return msgspec.structs.replace(place, aperture=about.aperture or place.aperture)

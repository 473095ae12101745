"""A job: what is to be made, a print from a recipe or a test, and what to ask before."""

import hashlib
from dataclasses import dataclass
from pathlib import Path

from timer.app.picks import Pick, file_name
from timer.craft.stops import format_stops
from timer.documents.files import read_text
from timer.documents.recipe import Recipe
from timer.documents.recipe_file import parse_recipe
from timer.documents.recipe_light import passes
from timer.errors import LamphouseError
from timer.plans.magnification import blades_of
from timer.plans.model import Plan
from timer.plans.print import print_plan


@dataclass(frozen=True)
class Job:
    """What is to be made: a plan, and the recipe it came from (None for a test).

    A test is ``made_for`` a print, chosen before any light; ``picks`` has what each of its patches says of it.
    ``origin``: what its recipe is called where no file has it.
    """

    plan: Plan
    text: str = ""
    path: Path | None = None
    recipe: Recipe | None = None
    made_for: "Job | None" = None
    picks: tuple[Pick, ...] = ()
    origin: str = "the example"

    @property
    def name(self) -> str:
        """The name of the file that it has, or would have."""
        return self.path.name if self.path else f"{file_name(self.plan.title)}.toml"

    @property
    def print_recipe(self) -> Recipe:
        """Its recipe. LamphouseError for a test, which has none."""
        if not self.recipe:
            raise LamphouseError("only a print has a recipe to change")
        return self.recipe

    @property
    def source(self) -> str:
        """What a recipe that is made of this one says it came from."""
        return self.path.name if self.path else self.origin

    @property
    def sha256(self) -> str:
        """The mark of its recipe's text."""
        return hashlib.sha256(self.text.encode()).hexdigest()


def load_job(path: Path) -> Job:
    """The print of the recipe at ``path``."""
    text = read_text(path)
    recipe = parse_recipe(text, str(path))
    return Job(print_plan(recipe), text, path, recipe)


def example() -> Job:
    """The print of the recipe that ships."""
    from importlib.resources import files  # for the start-up time: of the example alone

    text = (files("timer") / "documents" / "example.toml").read_text(encoding="utf-8")
    recipe = parse_recipe(text, "the example")
    return Job(print_plan(recipe), text, None, recipe)


def questions(job: Job) -> list[str]:
    """What must be so before a sheet can be spoilt, each in a few words: lens, filters, easel; of a test as the print
    that it is made for needs it."""
    recipe = job.recipe or (job.made_for.recipe if job.made_for else None)
    first = "" if job.recipe else job.plan.steps[0].filters
    if not recipe:
        return ["lens stopped down", f"{first} in" if first else "filters set for this print", "easel blades set"]
    place, filters = recipe.enlargement, first or passes(recipe.filters)[0].filters
    easel = " ".join(part for part in ("easel", place.sheet) if part)
    return [
        f"lens stopped down to f/{place.aperture:g}" if place.aperture else "lens stopped down",
        f"{filters} in" if filters else "filters set for this print",
        f"{easel}, {_blades(recipe)}",
    ]


def _blades(recipe: Recipe) -> str:
    """What they are set to: along the long sides, then along the short ones."""
    white = [f"{side:.0f}" for side in blades_of(recipe.enlargement) or (0.0, 0.0)]
    if white == ["0", "0"]:
        return "blades set"
    return f"blades {white[0]} mm" if white[0] == white[1] else f"blades {' and '.join(white)} mm"


def amount_of(job: Job, area: str) -> str:
    """What ``area`` is given beside the base, in stops; nothing where it is the base, or in seconds of its own."""
    recipe = job.recipe
    if recipe and recipe.edges and area.endswith(" edge"):
        return format_stops(recipe.edges.stops, signed=True)
    stops = [burn.stops for burn in recipe.burn if burn.area == area and burn.stops is not None] if recipe else []
    return format_stops(stops[0], signed=True) if stops else ""

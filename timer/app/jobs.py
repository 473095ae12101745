"""What can be made: a print from a recipe, a strip as it was chosen; where recipes are found, and what to ask before.

What is imported within a function is for the start-up time: the first page is shown without it.
"""

import re
import time
from dataclasses import dataclass, replace
from fractions import Fraction
from importlib.resources import files
from pathlib import Path

from timer.app import baths as clocks
from timer.app.baths import Clock
from timer.app.lamp import response
from timer.app.picks import Pick, file_name, picks_of
from timer.craft.processing import Bath, calls
from timer.craft.stops import factor, format_stops, minutes
from timer.craft.strip import Way
from timer.documents.bath_process import Process, baths, process_named, processes
from timer.documents.files import read_text, reason, toml_files
from timer.documents.own_picture import picture_path
from timer.documents.recipe import Recipe
from timer.documents.recipe_file import parse_recipe
from timer.documents.recipe_light import Pass, dry_note, passes
from timer.documents.settings import Settings, folder, layers
from timer.errors import LamphouseError
from timer.plans.magnification import blades_of
from timer.plans.model import Plan
from timer.plans.print import print_plan
from timer.plans.strip import strip_plan
from timer.plans.strip_colour import usual_way, with_colour_note
from timer.text import one_line


@dataclass(frozen=True)
class Job:
    """What is to be made: a plan, and the recipe it came from (None for a test).

    A test is ``made_for`` a print, chosen before any light; ``picks`` has what each of its patches says of it.
    """

    plan: Plan
    text: str = ""
    path: Path | None = None
    recipe: Recipe | None = None
    made_for: "Job | None" = None
    picks: tuple[Pick, ...] = ()

    @property
    def name(self) -> str:
        """The name of the file that it has, or would have."""
        return self.path.name if self.path else f"{file_name(self.plan.title)}.toml"


STEPS = (Fraction(1, 12), Fraction(1, 6), Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(1))
WAYS: tuple[Way, ...] = ("cover", "uncover", "window")
MOST_PATCHES = 9


LEAST_S, MOST_S = 0.2, 100.0
"""First patches of a strip that the screen offers."""


def _strip_seconds(seconds: float) -> float:
    return min(MOST_S, max(LEAST_S, seconds))


@dataclass(frozen=True)
class StripChoice:
    """A strip as chosen on the screen."""

    seconds: float = 8.0
    step: Fraction = Fraction(1, 3)
    patches: int = 5
    way: Way = "cover"
    paper: str = "bw"
    made_for: Job | None = None

    def job(self, settings: Settings | None = None) -> Job:
        """``settings`` have the lamp's response, by which a colour strip says what its bursts do to colour."""
        recipe = self.made_for.recipe if self.made_for else None
        # Three lights in turn are three exposures of every patch; of any other head the filters are in already.
        parts = passes(recipe.filters) if recipe and recipe.filters.head == "tricolour" else (Pass(""),)
        plan = strip_plan(self.seconds, self.step, self.patches, self.way, paper=self.paper, parts=parts)
        if settings:
            plan = with_colour_note(plan, response(settings, plan), layers(settings))
        if self.made_for:
            dry = dry_note(recipe) if recipe else ()
            plan = replace(plan, notes=(*plan.notes, *dry, f"made for: {self.made_for.plan.title}"))
        return Job(plan, made_for=self.made_for, picks=picks_of(plan))

    def nudged(self, by: Fraction) -> "StripChoice":
        """The whole strip ``by`` stops longer."""
        return replace(self, seconds=_strip_seconds(self.seconds * factor(by)))

    def begun_at(self, seconds: float) -> "StripChoice":
        """The whole strip from ``seconds`` on its lightest patch. ValueError for a time that is not offered."""
        if not LEAST_S <= seconds <= MOST_S:
            raise ValueError(f"the lightest patch has {LEAST_S:g} to {MOST_S:g} s of light, not {seconds:g} s")
        return replace(self, seconds=seconds)

    def around(self, middle: float) -> "StripChoice":
        """``middle`` full-light seconds on its middle patch, as near as a strip may go."""
        return replace(self, seconds=_strip_seconds(middle / factor(self._to_middle)))

    @property
    def middle(self) -> float:
        """Full-light seconds of its middle patch; of an even count, half-way between the two."""
        return self.seconds * factor(self._to_middle)

    @property
    def _to_middle(self) -> Fraction:
        return self.step * Fraction(self.patches - 1, 2)

    def next_step(self) -> "StripChoice":
        """With the next size of step, round by the smallest."""
        return replace(self, step=STEPS[(STEPS.index(self.step) + 1) % len(STEPS)])

    def next_count(self) -> "StripChoice":
        """With a patch more, round by two."""
        return replace(self, patches=self.patches + 1 if self.patches < MOST_PATCHES else 2)

    def next_way(self) -> "StripChoice":
        """Made the next way."""
        return replace(self, way=WAYS[(WAYS.index(self.way) + 1) % len(WAYS)])

    def on_paper(self, paper: str) -> "StripChoice":
        """The same strip on another paper, made the way that paper is best served."""
        return replace(self, paper=paper, way=usual_way(paper))

    def on_its_paper(self, job: Job, recipe: Recipe) -> "StripChoice":
        """The strip that finds the time of ``job``, the print of ``recipe``: around its base; the way changes only with
        the paper."""
        choice = self if self.paper == recipe.paper.kind else self.on_paper(recipe.paper.kind)
        return replace(choice.around(recipe.base_s), made_for=job)


@dataclass(frozen=True)
class Broken:
    """A recipe's file that cannot be used, and the sentence that says why."""

    path: Path
    says: str


@dataclass(frozen=True)
class Recipes:
    """The prints of all good recipe files, and the bad files with their reasons."""

    jobs: tuple[Job, ...]
    broken: tuple[Broken, ...]


def find_recipes() -> Recipes:
    """Every recipe in this folder and in the recipes folder, newest first; our example when none of them is good.

    Of what cannot be used, only what is meant as a recipe: this folder may be any, with a program's own .toml files in it.
    """
    jobs: list[Job] = []
    broken: list[Broken] = []
    for path in toml_files(Path(), recipes_folder()):
        found = job_or_fault(path)
        if isinstance(found, Job):
            jobs.append(found)
        elif meant_as_recipe(path):
            broken.append(found)
    newest = sorted(jobs, key=_changed, reverse=True)
    return Recipes(tuple(newest or [_example()]), tuple(broken))


def _changed(job: Job) -> int:
    try:
        return job.path.stat().st_mtime_ns if job.path else 0
    except OSError:
        return 0  # gone since it was read


def meant_as_recipe(path: Path, text: str | None = None) -> bool:
    """Whether a file that is no recipe is meant as one: it lies among the recipes, or has the line that every recipe has
    (``recipe = 1``), whatever is wrong with the rest. ``text``: of it, where that is read already."""
    if path.parent == recipes_folder().absolute():
        return True
    if text is None:
        try:
            text = read_text(path)
        except LamphouseError:
            return False
    return bool(_RECIPE_LINE.search(text))


_RECIPE_LINE = re.compile(r"""^[ \t]*["']?recipe["']?[ \t]*=""", re.MULTILINE)
_known: dict[Path, tuple[tuple[int, int, int], Job | Broken]] = {}
"""Recipes as they were read last, by the state that their files had."""
SETTLED_S = 2.0
"""Seconds: a file changed more recently may change again within one tick of its clock."""


def job_or_fault(path: Path) -> Job | Broken:
    """The print of the recipe at ``path``, or what is wrong with it; not read again while the file is as it was."""
    try:
        state = path.stat()
    except OSError as error:
        return Broken(path, f"{path}: cannot be read: {reason(error)}")
    stamp = (state.st_mtime_ns, state.st_size, state.st_ino)
    known = _known.get(path)
    if not known or known[0] != stamp or time.time() - state.st_mtime < SETTLED_S:
        known = _known[path] = (stamp, _job_or_fault(path))
    return known[1]


def _job_or_fault(path: Path) -> Job | Broken:
    try:
        return load_job(path)
    except LamphouseError as error:
        return Broken(path, str(error))
    except Exception as error:  # a fault of ours with this one must not hide the others
        return Broken(path, one_line(f"{path}: cannot be planned: {error!r}"))


def load_job(path: Path) -> Job:
    """The print of the recipe at ``path``."""
    text = read_text(path)
    recipe = parse_recipe(text, str(path))
    return Job(print_plan(recipe), text, path, recipe)


def picture_rows(job: Job, width: int, height: int) -> list[list[tuple[tuple[int, ...], tuple[int, ...]]]]:
    """The sheet of ``job`` on the bench, in half blocks that fit ``width`` by ``height``: (upper, lower) colours.

    Of the printer's own picture where the recipe names one; LamphouseError where that is missing, or is none.
    """
    from timer.app.own_paper import own_paper  # as the bench: not for the first page
    from timer.bench import negative, sheet

    across = min(width, round(height * 2 * 1.25))
    own, size = (picture_path(job.recipe, job.path) if job.recipe else None), (across * 4, round(across * 4 / 1.25))
    film = negative.load(own, *size, positive=True) if own else negative.own_scene(*size)
    mine, _ = own_paper(job.plan, job.recipe)
    return sheet.half_blocks(sheet.render(job.plan, job.recipe, film, own=mine), across)


def picture_paper(job: Job) -> str:
    """What to say of the paper in that picture: the printer's own, by its kept curve, or nothing. LamphouseError where the
    curves cannot be read."""
    from timer.app.own_paper import own_paper

    return own_paper(job.plan, job.recipe)[1]


def process_names() -> tuple[list[str], list[str]]:
    """The processes there are, templates and the printer's own; and of files that cannot be used, a sentence each."""
    found = processes(folder("data") / "processes")
    return list(found.good), list(found.broken.values())


def process_times(name: str, celsius: float | None = None) -> str:
    """What ``celsius`` does to the times of process ``name``, in words; nothing where none is given.

    LamphouseError where there is no such process, or the temperature is outside of its table.
    """
    process = process_named(name, folder("data") / "processes")
    made = _baths_at(name, process, celsius)
    if celsius is None:
        return ""
    timed = [bath for bath, entry in zip(made, process.bath, strict=True) if entry.table]
    if not timed:
        return "this process has one time for each bath, and none for other temperatures: they stay as they are"
    return f"at {celsius:g} °C, by its table: {', '.join(f'{bath.name} {minutes(round(bath.seconds))}' for bath in timed)}"


def process_clock(name: str, now: float, *, hands_free: bool, celsius: float | None = None) -> Clock:
    """A clock for process ``name``, waiting for its first pour; ``celsius`` as ``process_times``."""
    process = process_named(name, folder("data") / "processes")
    made = tuple(_baths_at(name, process, celsius))
    return clocks.start(process.title, process.vessel, process.drain, made, now, hands_free=hands_free)


def _baths_at(name: str, process: Process, celsius: float | None) -> list[Bath]:
    """Its baths, at ``celsius`` where it has times for temperatures."""
    tables = [entry.name for entry in process.bath if entry.table]
    try:
        made = baths(process, {} if celsius is None else dict.fromkeys(tables, celsius))
        for bath in made:
            calls(bath, process.drain, process.vessel)  # a time that is shorter than its drain
    except ValueError as error:
        raise LamphouseError(f"{name}: {error}") from None
    return made


def recipes_folder() -> Path:
    """Where the printer's recipes are kept; it need not be there yet."""
    return folder("data") / "recipes"


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


def _example() -> Job:
    text = (files("timer") / "documents" / "example.toml").read_text(encoding="utf-8")
    recipe = parse_recipe(text, "the example")
    return Job(print_plan(recipe), text, None, recipe)

"""A print's recipe written: changed in one line, or made beside another as one of its own; and taken back again."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import msgspec

from timer.app import picks
from timer.app.jobs import Job, load_job
from timer.app.own_paper import with_own_grade
from timer.app.picks import Pick, base_written, dry_down_written, stem_titled, through_pack, titled
from timer.app.recipes import recipes_folder
from timer.craft.read_by_area import Way
from timer.craft.stops import digits, listed
from timer.documents.files import MAX_BYTES, edit, free_name, is_there, read_bytes, read_text, remove, write_new, write_over
from timer.documents.recipe import PAPERS, Paper, Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.documents.recipe_light import filters_text
from timer.documents.toml_io import LEXEME
from timer.errors import LamphouseError, Refused, reason
from timer.plans.correct_area import Corrected, correct
from timer.plans.derive import derive
from timer.plans.from_areas import printed
from timer.plans.print import print_plan
from timer.plans.recipe_change import DerivedRecipe, RecipeChange
from timer.plans.recipe_rows import checked
from timer.plans.split_grade import split_recipe


@dataclass(frozen=True)
class Written:
    """A recipe that was written, to be undone while the file is still so. ``before`` None: there was no file.

    ``test``: the sheet that it was read from, which waits to be read again when it is undone; 0 for none.
    ``look``: the look at it that was kept as a reading, and goes then.
    """

    path: Path
    before: bytes | None
    after: bytes
    says: str
    test: int = 0
    look: str = ""


def derived(job: Job, target: RecipeChange) -> DerivedRecipe:
    """The recipe that ``target`` would make of it. LamphouseError when something needed is not known."""
    recipe = job.print_recipe
    return derive(recipe, with_own_grade(recipe, target), file=job.source, sha256=job.sha256)


def at_size(job: Job, target: RecipeChange) -> tuple[Job, tuple[str, ...]]:
    """What ``target`` makes of ``job``, and each step of the arithmetic in words; nothing is written. As ``derived``."""
    moved = derived(job, target)
    made = Job(print_plan(moved.recipe), recipe_toml(moved.recipe), None, moved.recipe)
    return made, (*moved.says, *(f"- {line}" for line in moved.advice))


def write_at(path: Path, recipe: Recipe, *, over: bool = False) -> None:
    """Write ``recipe`` as the file that a command names; ``over`` what is there. LamphouseError, and no file, otherwise."""
    (write_over if over else write_new)(path, recipe_toml(recipe).encode())


def write_derived(job: Job, target: RecipeChange, word: str) -> tuple[Job, Written]:
    """Write what ``target`` makes of ``job``'s recipe as a recipe of its own, named and titled with ``word``."""
    return _write_own(job, derived(job, target).recipe, word)


def take(test: Job, pick: Pick) -> tuple[Job, Written]:
    """Write ``pick``, read from ``test``, into the print that it was made for, or as a print of its own.

    A strip's time and a dry-down set's percentage change the recipe in that one line; a strip over a first exposure
    changes both times of a split-grade print; the pack of a ring or ladder makes a recipe beside it. LamphouseError, and
    nothing written, where papers disagree.
    """
    job, recipe = _made_for(test)
    if pick.split:
        split = pick.split
        made, written = write_edited(job, split_recipe(recipe, split.first, split.first_s, split.second, pick.seconds))
        both = [(split.first_s, split.first), (pick.seconds, split.second)]
        says = ", then ".join(f"{digits(seconds)} s {filters_text(filters) or 'no filter'}" for seconds, filters in both)
        return made, replace(written, says=f"{written.path.name}: {says} ({made.plan.title})")
    if pick.pack:
        return _write_own(job, through_pack(recipe, pick, job.name, job.sha256), pick.pack)
    percent = pick.dry_down
    if percent is not None:
        what = f"dry-down {recipe.dry_down_percent:g} to {percent:g} %"
        return _rewrite(job, what, lambda text: dry_down_written(text, percent))
    if not job.text:
        return _write_new(msgspec.structs.replace(recipe, base_s=round(pick.seconds, 3)))
    what = f"base {_base(job)} to {listed(pick.seconds)} s"
    return _rewrite(job, what, lambda text: base_written(text, pick.seconds))


def take_way(test: Job, way: Way) -> tuple[Job, Written]:
    """Write the ``way`` to print what was read from ``test``, area by area, as a recipe beside the one it was made for; of
    a new print (``made_for_new``), as its first.

    LamphouseError, and nothing written, where it was made for none, or where papers disagree.
    """
    job, recipe = _made_for(test)
    made = printed(way, recipe, test.picks[0].split if test.picks else None, test.plan.title)
    return _write_own(job, made, "read") if job.text else _write_new(made)


def write_solved(job: Job | None, recipe: Recipe) -> tuple[Job, Written]:
    """Write the ``recipe`` that readings led to: beside the print ``job`` that they are of, or as a new one."""
    return _write_own(job, recipe, "solved") if job and job.text else _write_new(recipe)


def made_for_new(test: Job, negative: str) -> Job:
    """``test`` as made for a new print of ``negative``, that has nothing written yet. LamphouseError for no fit name."""
    first = test.picks[0]
    kind = test.plan.paper or "bw"
    recipe = Recipe(recipe=1, title=negative, negative=negative, base_s=round(first.seconds, 3), paper=Paper(kind))  # type: ignore[arg-type]
    if first.split:
        recipe = split_recipe(recipe, first.split.first, first.split.first_s, first.split.second, first.seconds)
    checked(recipe)
    return replace(test, made_for=Job(print_plan(recipe), "", None, recipe))


def corrected(job: Job, asked: list[tuple[str, Fraction]], *, exact: bool) -> Corrected:
    """``job``'s recipe with each area of ``asked`` so many stops darker; nothing is written. As ``correct_area.correct``."""
    return correct(job.print_recipe, asked, file=job.source, sha256=job.sha256, exact=exact)


def write_corrected(job: Job, asked: list[tuple[str, Fraction]]) -> tuple[Job, Written]:
    """Write ``job``'s recipe with each area of ``asked`` exactly so many stops darker, as a recipe of its own."""
    return _write_own(job, corrected(job, asked, exact=True).recipe, "corrected")


def undo(written: Written) -> str:
    """Take ``written`` back; in words what is so now. LamphouseError, and nothing done, when it was changed since."""
    if read_bytes(written.path, MAX_BYTES) != written.after:
        raise LamphouseError(f"{written.path}: was changed since; nothing is taken back")
    if written.before is None:
        remove(written.path)
        return f"{written.path.name} is gone again"
    edit(written.path, written.before)
    return f"{written.path.name} is as it was"


def _made_for(test: Job) -> tuple[Job, Recipe]:
    """The print that ``test`` was made for, and its recipe. LamphouseError where there is none, or papers disagree."""
    job = test.made_for
    if not job or not job.recipe:
        raise LamphouseError("this test was made for no print, so there is no recipe to write it into")
    if job.recipe.paper.kind != test.plan.paper:
        here, there = PAPERS.get(test.plan.paper, "other"), PAPERS[job.recipe.paper.kind]
        raise Refused(f"a test on {here} paper says nothing of {job.plan.title!r}, on {there}")
    return job, job.recipe


def _write_own(job: Job, recipe: Recipe, word: str) -> tuple[Job, Written]:
    stem = stem_titled(Path(job.name).stem, word)
    path, number = free_name(job.path.parent if job.path else recipes_folder(), stem, ".toml")
    data = recipe_toml(msgspec.structs.replace(recipe, title=titled(recipe.title, word, number))).encode()
    make_folder(path.parent)
    write_new(path, data)
    made = load_job(path)
    return made, Written(path, None, data, f"{path.name} is written: {made.plan.title}, base {_base(made)}")


def _rewrite(job: Job, what: str, change: Callable[[str], str]) -> tuple[Job, Written]:
    """The recipe's own file with one line changed; the example, or a print of the notebook, becomes a file first."""
    path = job.path or free_name(recipes_folder(), Path(job.name).stem, ".toml")[0]
    text = read_text(path) if job.path else job.text
    try:
        changed = change(text)
    except ValueError as error:
        raise LamphouseError(f"{path}: {error}; write it there yourself: {what}") from None
    parse_recipe(changed, str(path))
    before = read_bytes(path, MAX_BYTES) if job.path else None
    if job.path:
        edit(path, changed.encode())
    else:
        make_folder(path.parent)
        write_new(path, changed.encode())
    return load_job(path), Written(path, before, changed.encode(), f"{path.name}: {what} ({job.plan.title})")


def write_edited(job: Job | None, recipe: Recipe) -> tuple[Job, Written]:
    """Write ``recipe`` into the file of ``job``, or as a new one under its name; LamphouseError, and nothing written, when
    it cannot be made, or when its file is not any more what ``job`` was read from.
    """
    checked(recipe)
    if job is None or job.path is None:
        return _write_new(recipe)
    path, data = job.path, recipe_toml(recipe).encode()
    before = read_bytes(path, MAX_BYTES)
    if read_text(path) != job.text:
        raise Refused(f"{path.name} was changed since it was opened here; leave, and open it again")
    edit(path, data)
    made = load_job(path)
    return made, Written(path, before, data, f"{path.name} is changed: {made.plan.title}, base {_base(made)}")


def beside(job: Job) -> str:
    """Where a recipe that is made of ``job``'s is written, in words."""
    return f"beside {job.name}" if _has_file(job) else f"as a recipe of its own ({job.plan.title})"


def into(job: Job) -> str:
    """The file that a change of ``job`` goes into, and its title, in words."""
    return f"{job.name} ({job.plan.title})" if _has_file(job) else f"a new file, {job.name} ({job.plan.title})"


def loses_comments(job: Job | None) -> bool:
    """Whether the file of ``job`` has comments, which are not kept when all of it is written anew."""
    return bool(job and job.path and any(found[0].startswith("#") for found in LEXEME.finditer(job.text)))


def _write_new(recipe: Recipe) -> tuple[Job, Written]:
    """A file of its own named after the negative; the second of a negative is titled so, and shares its name."""
    negative = recipe.negative or recipe.title
    path, number = free_name(recipes_folder(), picks.file_name(negative), ".toml")
    title = recipe.title if number == 1 else f"{recipe.title[: picks.LONGEST_TITLE - 5].rstrip()}, {number}"
    data = recipe_toml(msgspec.structs.replace(recipe, title=title, negative=negative)).encode()
    make_folder(path.parent)
    write_new(path, data)
    made = load_job(path)
    return made, Written(path, None, data, f"{path.name} is written: {made.plan.title}, base {_base(made)}")


def _has_file(job: Job) -> bool:
    return job.path is not None and is_there(job.path)


def _base(job: Job) -> str:
    return f"{job.recipe.base_s:g} s" if job.recipe else ""


def make_folder(place: Path) -> None:
    """``place``, and what it lies in, where it is not there yet. LamphouseError when it cannot be."""
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LamphouseError(f"{place}: cannot be made: {reason(error)}") from None

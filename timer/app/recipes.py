"""The printer's recipes: where they are kept, which of the files there can be used, and what is wrong with the others."""

import re
import time
from dataclasses import dataclass
from pathlib import Path

from timer.app.jobs import Job, example, load_job
from timer.documents.files import read_text, toml_files
from timer.documents.folders import folder
from timer.errors import LamphouseError, reason
from timer.text import one_line


def recipes_folder() -> Path:
    """Where the printer's recipes are kept; it need not be there yet."""
    return folder("data") / "recipes"


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
    return Recipes(tuple(newest or [example()]), tuple(broken))


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

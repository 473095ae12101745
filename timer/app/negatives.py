"""Every negative that has recipes, newest first: found by words, its versions folded together, the broken ones among them.

Only the few on the screen are read as recipes; of the others, the lines that name them.
"""

import re
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from timer.app.recipes import SETTLED_S, Broken, job_or_fault, meant_as_recipe, recipes_folder
from timer.craft.stops import digits
from timer.documents.files import MAX_BYTES, read_text, toml_files
from timer.documents.recipe_light import filters_text
from timer.errors import LamphouseError
from timer.notebook.sheets import Printed

_NAMES = re.compile(r'^(title|negative)[ \t]*=[ \t]*"([^"\\\n]*)"', re.MULTILINE)
_TABLE = re.compile(r"^[ \t]*\[", re.MULTILINE)
Stamp = tuple[int, int, int]


@dataclass(frozen=True)
class Version:
    """A recipe's file, by the lines that name it; ``changed`` in seconds since 1970, of the file or of its last print;
    ``printed``: that print."""

    path: Path
    title: str
    negative: str
    changed: float
    printed: Printed | None = None


@dataclass(frozen=True)
class Negative:
    """A negative, with the versions of its recipe, the newest first."""

    name: str
    versions: tuple[Version, ...]

    @property
    def printed(self) -> Printed | None:
        """Its last print, from whichever version, and the best rating that a print of any has."""
        prints = [version.printed for version in self.versions if version.printed]
        ratings = [each.rating for each in prints if each.rating]
        return Printed(max(prints, key=_when).begun, max(ratings, default=None)) if prints else None


@dataclass(frozen=True)
class Entry:
    """What the list says of a version: all in words; ``fault`` alone when it cannot be used."""

    title: str
    size: str = ""
    filters: str = ""
    base: str = ""
    printed: str = ""
    rating: int | None = None
    fault: str = ""


@dataclass(frozen=True)
class _Read:
    title: str
    negative: str
    words: str
    meant: bool = True


class Shelf:
    """The files as they were read last: of each one only what has been changed is read again."""

    def __init__(self) -> None:
        self._read: dict[Path, tuple[Stamp, _Read]] = {}

    def negatives(self, words: str = "", printed: Mapping[str, Printed] | None = None) -> list[Negative]:
        """Those whose recipe has all ``words`` anywhere, newest first; what was ``printed`` counts as new again."""
        wanted = words.lower().split()
        groups: dict[str, list[Version]] = {}
        for path in toml_files(Path(), recipes_folder()):
            found = self._look(path)
            if not found or not all(word in found[1].words for word in wanted):
                continue
            stamp, read = found
            if not read.meant:
                continue
            last = printed.get(read.title) if printed else None
            version = Version(path, read.title, read.negative, max(stamp[0] / 1e9, _when(last)), last)
            groups.setdefault(read.negative.casefold() or read.title.casefold(), []).append(version)
        folded = [_folded(versions) for versions in groups.values()]
        return sorted(folded, key=lambda negative: (-negative.versions[0].changed, negative.name))

    def _look(self, path: Path) -> tuple[Stamp, _Read] | None:
        """What names the recipe at ``path``; None when it has gone meanwhile."""
        try:
            state = path.stat()
        except OSError:
            return None
        stamp = (state.st_mtime_ns, state.st_size, state.st_ino)
        known = self._read.get(path)
        if known and known[0] == stamp and time.time() - state.st_mtime > SETTLED_S:
            return known
        self._read[path] = (stamp, _named(path, state.st_size))
        return self._read[path]


def entry(version: Version, printed: Mapping[str, Printed]) -> Entry:
    """``version`` as the list shows it; read as a recipe, with what is wrong with it when it is none."""
    job = job_or_fault(version.path)
    if isinstance(job, Broken):
        return Entry(version.title, fault=job.says.removeprefix(f"{version.path}: "))
    assert job.recipe
    recipe, last = job.recipe, printed.get(job.recipe.title)
    place = recipe.enlargement
    return Entry(
        recipe.title,
        place.sheet,
        filters_text(recipe.filters) or "no filter",
        f"{digits(recipe.base_s)} s" + (f" at f/{place.aperture:g}" if place.aperture else ""),
        last.begun[:10] if last else "",
        last.rating if last else None,
    )


def _folded(versions: Sequence[Version]) -> Negative:
    newest = sorted(versions, key=lambda version: (-version.changed, version.title))
    return Negative(newest[0].negative or newest[0].title, tuple(newest))


def _named(path: Path, size: int) -> _Read:
    """By the lines before the first table; a file that cannot be read, or has no such line, by its own name."""
    try:
        text = read_text(path) if size <= MAX_BYTES else ""
    except LamphouseError:
        text = ""
    table = _TABLE.search(text)
    names: dict[str, str] = {}
    for key, value in _NAMES.findall(text[: table.start()] if table else text):
        names.setdefault(key, value)
    title = names.get("title") or path.name
    return _Read(title, names.get("negative", ""), f"{path.stem}\n{text}".lower(), meant_as_recipe(path, text))


def _when(printed: Printed | None) -> float:
    try:
        return datetime.fromisoformat(printed.begun).timestamp() if printed else 0.0
    except (ValueError, OverflowError, OSError):
        return 0.0

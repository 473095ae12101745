"""The desk: all that a screen needs of the rooms below it. Owns the keeper while the screen is open.

A lost keeper is started anew at the next need of it; what it was lost from is told by the session, or by ``hear``.
"""

import hashlib
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from fractions import Fraction
from importlib.resources import files
from pathlib import Path

from timer.corrections import Corrections, load_corrections
from timer.craft.strip import Way
from timer.errors import KeeperError, LamphouseError
from timer.files import edit, is_there, read_text, reason, toml_files, write_new
from timer.keeper.host.client import Heard, Keeper, Lost
from timer.keeper.host.open import open_keeper
from timer.keeper.wire import messages
from timer.move import Moved, Target, move
from timer.notebook import sheets
from timer.notebook.columns import moment
from timer.notebook.store import ExposureRow, Notebook, RunRow
from timer.plan import Plan, print_plan, short_light, strip_plan
from timer.process import baths, process_named, processes
from timer.recipe import Recipe, parse_recipe, passes, recipe_toml
from timer.run import clocks
from timer.run.clocks import Clock
from timer.run.resume import record_lookup, rest, same_lamp
from timer.run.session import Session, Show
from timer.settings import Settings, calibrated, folder, keeper_config, layers, load_settings, notebook_file, response
from timer.strip_colour import usual_way, with_colour_note
from timer.text import one_line
from timer.toml_edit import with_number
from timer.vessels import load_vessels, too_large

FRESH = timedelta(hours=12)
"""A sheet that nobody has reported covered for longer than this is not lying out any more."""


@dataclass(frozen=True)
class Job:
    """What is to be made: a plan, and the recipe it came from (None for a strip)."""

    plan: Plan
    text: str = ""
    path: Path | None = None
    recipe: Recipe | None = None


@dataclass(frozen=True)
class StripChoice:
    """A strip as chosen on the screen."""

    seconds: float = 8.0
    step: Fraction = Fraction(1, 3)
    patches: int = 5
    way: Way = "cover"
    paper: str = "silver"

    def job(self, settings: Settings | None = None) -> Job:
        """``settings`` have the lamp's response, by which a colour strip says what its bursts do to colour."""
        plan = strip_plan(self.seconds, self.step, self.patches, self.way, paper=self.paper)
        return Job(with_colour_note(plan, response(settings, plan), layers(settings)) if settings else plan)

    def on_paper(self, paper: str) -> "StripChoice":
        """The same strip on another paper, made the way that paper is best served."""
        return replace(self, paper=paper, way=usual_way(paper))


@dataclass(frozen=True)
class Broken:
    """A recipe's file that cannot be used, and the sentence that says why."""

    path: Path
    says: str


@dataclass(frozen=True)
class Recipes:
    """All the files there are: the prints of the good ones, and the bad ones, none of which hides another."""

    jobs: tuple[Job, ...]
    broken: tuple[Broken, ...]


Between = messages.FocusLightChanged | messages.Pedal | Lost
"""What a keeper says while no run is on."""
Hear = Callable[[Between], None]


class Desk:
    """``hear`` is told of focus light, pedal and a lost keeper while no session runs; on another thread."""

    def __init__(self, hear: Hear, settings: Settings | None = None) -> None:
        self.settings = settings or load_settings()
        self._hear = hear
        self._keeper: Keeper | None = None
        self._starting = threading.Lock()
        self._closed = False
        self.notebook = Notebook(notebook_file())

    def listen(self, hear: Hear) -> None:
        """Tell ``hear`` from now on."""
        self._hear = hear

    # ── the keeper ───────────────────────────────────────────────────────────

    def keeper(self) -> Keeper:
        """The running keeper; started if there is none. KeeperError when it cannot be."""
        with self._starting:
            if self._closed:
                raise KeeperError("Lamphouse is ending; the lamp is off")
            if self._keeper is None:
                self._keeper = open_keeper(keeper_config(self.settings), self._heard)
            return self._keeper

    def _heard(self, event: Heard) -> None:
        if isinstance(event, messages.Fault):
            event = Lost(event.text)  # it gives no light any more: as good as gone, and started anew
        if isinstance(event, Lost) and self._keeper:
            self._forget_keeper()
        if isinstance(event, Between):
            self._hear(event)

    def _forget_keeper(self) -> None:
        keeper, self._keeper = self._keeper, None
        if keeper:
            with suppress(LamphouseError):
                keeper.close()

    def focus(self, seconds: float) -> None:
        """Focus light for ``seconds``, the safelight off meanwhile if so set; 0 ends it."""
        keeper = self.keeper()
        if self.settings.safelight_off_for_focus:
            keeper.safelight(seconds == 0)
        keeper.focus_light(seconds)

    def dark(self) -> None:
        """Dark now, without waiting."""
        if self._keeper:
            self._keeper.halt_at_once()

    @property
    def is_calibrated(self) -> bool:
        return calibrated(self.settings)

    def vessel_note(self, job: Job) -> list[str]:
        """A warning when the sheet of ``job`` fits into no drum or tray of the printer's."""
        sheet = job.recipe.enlargement.sheet if job.recipe else ""
        try:
            warning = too_large(sheet, load_vessels())
        except LamphouseError as error:
            warning = str(error)
        return [warning] if warning else []

    def corrections(self) -> tuple[Corrections, str]:
        """What the printer has measured, heads and boxes; or none, and the sentence that says why they cannot be read."""
        try:
            return load_corrections(folder("config") / "corrections.toml"), ""
        except LamphouseError as error:
            return Corrections(), str(error)

    # ── runs ─────────────────────────────────────────────────────────────────

    def session(self, job: Job, show: Show, continues: RunRow | None = None) -> Session:
        """A session for ``job``, held until its ``begin``. The pedal is heard from the start."""
        lamp = continues.response if continues else response(self.settings, job.plan)
        return Session(
            job.plan,
            self.notebook,
            keeper_config(self.settings),
            lamp,
            show,
            recipe=job.text,
            continues=continues.id if continues else None,
            keeper=self.keeper(),
            held=True,
        )

    def after(self, lost: bool) -> None:
        """A session is over; forget a keeper that was lost in it."""
        if lost:
            self._forget_keeper()

    def short_light(self, plan: Plan) -> tuple[str, ...]:
        """A warning of exposures that are over before the lamp is fully up."""
        return short_light(plan, response(self.settings, plan))

    def lying_out(self) -> RunRow | None:
        """The newest run, if its paper had light or was about to and nobody has said that it is covered.

        Where the notebook is damaged, and does not say when that was or whether it had light, dark is safe.
        """
        rows = self.notebook.runs(1)
        if not rows or rows[0].covered or not rows[0].paper:
            return None
        try:
            if not rows[0].damage and not self.notebook.exposures(rows[0].id):
                return None
        except LamphouseError:
            pass
        begun = moment(rows[0].begun)
        return rows[0] if begun is None or datetime.now().astimezone() - begun < FRESH else None

    def unfinished(self) -> RunRow | None:
        """The newest interrupted run that had light."""
        return next(iter(self.notebook.unfinished(1)), None)

    def rest(self, row: RunRow) -> tuple[Job, list[str]]:
        """What ``row`` lacks, as a job, and in words what its steps had. LamphouseError as ``resume.rest``."""
        config = keeper_config(self.settings)
        same_lamp(row, config)
        with record_lookup(self.notebook, row, config, self._keeper) as look_up:
            plan, had = rest(self.notebook, row, look_up)
        return Job(plan, row.recipe), [f"{row.plan.steps[h.step].area} had {h.text()} s" for h in had]

    def runs(self, most: int = 100, words: str = "") -> list[RunRow]:
        """The newest runs, or the newest of those whose sheet has all ``words``."""
        if not words.strip():
            return self.notebook.runs(most)
        return self.notebook.runs_of(row.run for row in sheets.search(self.notebook, words, most))

    def exposures(self, run: int) -> list[ExposureRow]:
        return self.notebook.exposures(run)

    def rate(self, run: int, rating: int) -> None:
        sheets.write_on(self.notebook, run, {"rating": rating})

    def differences(self, one: int, other: int) -> list[tuple[str, str, str]]:
        """What changed between two sheets: (what, before, after)."""
        return sheets.compare(self.notebook, one, other)

    def written(self, run: int) -> list[str]:
        """What is written of a sheet, a line each."""
        row = sheets.sheet(self.notebook, run)
        stars = "*" * row.rating if row.rating else "not rated"
        return [stars, *(f"{key}: {getattr(row, key)}" for key in sheets.FIELDS if getattr(row, key))]

    def again(self, row: RunRow) -> Job:
        """The job that makes a sheet of the notebook anew. LamphouseError when its row is damaged."""
        if row.damage:
            raise LamphouseError(f"run {row.id} is damaged: {row.damage}")
        if not row.recipe:
            return Job(row.plan)
        recipe = parse_recipe(row.recipe, f"the recipe of run {row.id}")
        return Job(print_plan(recipe), row.recipe, None, recipe)

    def covered(self, run: int) -> None:
        self.notebook.cover(run)

    def close(self) -> None:
        """Lamp dark, keeper ended, also one that is just being started; none is started after this."""
        with self._starting:
            self._closed = True
            self._forget_keeper()
        self.notebook.close()

    # ── recipes ──────────────────────────────────────────────────────────────

    def recipes(self) -> Recipes:
        """Every recipe in this folder and in the recipes folder; our example when none of them is good."""
        jobs: list[Job] = []
        broken: list[Broken] = []
        for path in toml_files(Path(), recipes_folder()):
            try:
                jobs.append(load_job(path))
            except LamphouseError as error:
                broken.append(Broken(path, str(error)))
            except Exception as error:  # a fault of ours with this one must not hide the others
                broken.append(Broken(path, one_line(f"{path}: cannot be planned: {error!r}")))
        return Recipes(tuple(jobs or [_example()]), tuple(broken))

    def derive(self, job: Job, target: Target, word: str) -> Job:
        """Write what ``target`` makes of ``job``'s recipe as a recipe of its own, named with ``word``; that one."""
        moved = self.moved(job, target)
        stem = job.path.stem if job.path else "hut-by-the-water"
        place = job.path.parent if job.path else recipes_folder()
        names = (place / f"{stem}-{word}{f'-{n}' if n > 1 else ''}.toml" for n in range(1, 1000))
        path = next((name for name in names if not is_there(name)), None)
        if path is None:
            raise LamphouseError(f"{place}: has a thousand recipes {stem}-{word}; move some elsewhere")
        _make_folder(path.parent)
        write_new(path, recipe_toml(moved.recipe).encode())
        return load_job(path)

    def moved(self, job: Job, target: Target) -> Moved:
        """What ``target`` would make of it; LamphouseError when something needed is not known."""
        if not job.recipe:
            raise LamphouseError("only a print has a recipe to change")
        name = job.path.name if job.path else "the example"
        return move(job.recipe, target, file=name, sha256=hashlib.sha256(job.text.encode()).hexdigest())

    def take_base(self, job: Job, seconds: float) -> Job:
        """Write ``seconds`` as the base of ``job``'s recipe, all else as it was; the example is copied first."""
        path = job.path or recipes_folder() / "hut-by-the-water.toml"
        text = read_text(path) if job.path else job.text
        time = f"{seconds:.2f}" if seconds >= 1 else f"{seconds:.3g}"
        try:
            changed = with_number(text, "base_s", time)
        except ValueError as error:
            raise LamphouseError(f"{path}: {error}; write base_s = {time} there yourself") from None
        parse_recipe(changed, str(path))
        if job.path:
            edit(path, changed.encode())
        else:
            _make_folder(path.parent)
            write_new(path, changed.encode())
        return load_job(path)


def _make_folder(place: Path) -> None:
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LamphouseError(f"{place}: cannot be made: {reason(error)}") from None


def load_job(path: Path) -> Job:
    """The print of the recipe at ``path``."""
    text = read_text(path)
    recipe = parse_recipe(text, str(path))
    return Job(print_plan(recipe), text, path, recipe)


def picture_rows(job: Job, width: int, height: int) -> list[list[tuple[tuple[int, ...], tuple[int, ...]]]]:
    """The sheet of ``job`` on the bench, in half blocks that fit ``width`` by ``height``: (upper, lower) colours."""
    from timer.bench import negative, sheet

    across = min(width, round(height * 2 * 1.25))
    film = negative.own_scene(across * 4, round(across * 4 / 1.25))
    return sheet.half_blocks(sheet.render(job.plan, job.recipe, film), across)


def process_names() -> tuple[list[str], list[str]]:
    """The processes there are, templates and the printer's own; and of files that cannot be used, a sentence each."""
    found = processes(folder("data") / "processes")
    return list(found.good), list(found.broken.values())


def process_clock(name: str, now: float, *, hands_free: bool) -> Clock:
    """A clock for process ``name``, waiting for its first pour."""
    process = process_named(name, folder("data") / "processes")
    made = tuple(baths(process, {}))
    return clocks.start(process.title, process.vessel, process.drain, made, now, hands_free=hands_free)


def recipes_folder() -> Path:
    return folder("data") / "recipes"


def questions(job: Job) -> list[str]:
    """What to ask, once and shortly, before a sheet can be spoilt."""
    recipe = job.recipe
    lens = f"lens stopped down to f/{recipe.enlargement.aperture:g}?" if recipe and recipe.enlargement.aperture else ""
    filters = passes(recipe.filters)[0].filters if recipe else ""
    return [
        lens or "lens stopped down?",
        f"{filters} in?" if filters else "filters as they should be?",
        "easel blades set?",
    ]


def _example() -> Job:
    text = (files("timer") / "example.toml").read_text(encoding="utf-8")
    recipe = parse_recipe(text, "the example")
    return Job(print_plan(recipe), text, None, recipe)

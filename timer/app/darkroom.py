"""The darkroom: all that a screen needs of the rooms below it. Owns the keeper while the screen is open.

A lost keeper is started anew at the next need of it; what it was lost from is told by the session, or by ``hear``.
"""

import threading
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction

from timer.app import writing
from timer.app.jobs import Job, Recipes, find_recipes
from timer.app.lamp import keeper_config, response
from timer.app.negatives import Entry, Negative, Shelf, Version, entry
from timer.app.picks import Pick
from timer.app.reading import for_its_file, job_of_test, kept_for
from timer.app.writing import Written
from timer.craft.read_by_area import Way
from timer.documents.calibrations import Corrections, load_corrections
from timer.documents.recipe import Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.documents.settings import Settings, calibrated, folder, load_settings, notebook_file
from timer.documents.vessels import load_vessels, too_large
from timer.errors import KeeperError, LamphouseError, Refused
from timer.keeper.claim import Claim, holder_of
from timer.keeper.host.client import Heard, Keeper, Lost
from timer.keeper.host.darken import make_dark
from timer.keeper.host.open import open_keeper
from timer.keeper.wire import messages
from timer.notebook import paper_out, sheets, to_read
from timer.notebook.paper_out import PaperOut
from timer.notebook.rows import ExposureRow, RunRow
from timer.notebook.store import Notebook
from timer.notebook.to_read import TestSheet
from timer.plans.limits import short_light
from timer.plans.model import Plan
from timer.plans.print import print_plan
from timer.plans.recipe_change import DerivedRecipe, RecipeChange
from timer.run.resume import record_lookup, rest, same_lamp
from timer.run.session import Session, Show

LATELY_S = 2.0
"""A keeper answers five times a second; silent for so long it hangs."""
AGAIN_S = 0.5
"""One key told twice to end what has the lamp must not end what has been started since."""
Between = messages.FocusLightChanged | messages.Pedal | Lost
"""What a keeper says while no run is on."""
Hear = Callable[[Between], None]


class Darkroom:
    """``hear`` is told of focus light, pedal and a lost keeper while no session runs; on another thread.

    One desk a lamp: while another program has it, this one can look, and switch dark. ``out`` is the paper that is out,
    as the notebook has it: no focus light then, no other box, and the safelight only where it is safe for that paper.
    """

    def __init__(self, hear: Hear, settings: Settings | None = None) -> None:
        self.settings = settings or load_settings()
        self._hear = hear
        self._keeper: Keeper | None = None
        self._starting = threading.Lock()
        self._focus = False
        self._darkened_at = -AGAIN_S
        self._closed = False
        self.notebook = Notebook(notebook_file())
        self.written_last: Written | None = None
        self._shelf = Shelf()
        self._place: Claim | None = None
        self.other = 0
        self.take_place()
        self.out: tuple[PaperOut, ...] = ()
        self.look()

    def listen(self, hear: Hear) -> None:
        """Tell ``hear`` from now on."""
        self._hear = hear

    # ── one screen a lamp ────────────────────────────────────────────────────

    def take_place(self) -> bool:
        """Whether this desk is the one that uses the lamp; ``other`` is the process that is, if it is not."""
        if self._place:
            for _ in range(8):
                self._place.answer()
            return True
        key = keeper_config(self.settings).screen_key
        try:
            self._place, self.other = Claim(key), 0
        except OSError:
            holder = holder_of(key)
            self.other = holder.process if holder else 0
        return self._place is not None

    @property
    def is_ours(self) -> bool:
        return self._place is not None

    def must_be_ours(self) -> None:
        """Refused while another screen has the lamp."""
        if not self._place:
            raise Refused(f"another screen (process {self.other}) has this lamp: this one watches; Space is dark now")

    # ── paper ────────────────────────────────────────────────────────────────

    def look(self) -> bool:
        """See what paper is out; whether that has changed."""
        before, self.out = self.out, paper_out.all_out(self.notebook)
        return self.out != before

    def open_box(self, kind: str, run: int = 0) -> None:
        """A box of ``kind`` is about to be opened: focus light off, safelight if safe, and written in the notebook.

        ``run``: the sheet that comes out of it again, if that is no new one. All is done and committed when this returns.
        LamphouseError: the box stays shut.
        """
        self.must_be_ours()
        keeper = self.keeper()
        keeper.halt()
        self._focus = False
        keeper.safelight(kind in paper_out.SAFELIGHT_KINDS)
        try:
            paper_out.open_box(self.notebook, kind, run or None)
        finally:
            self.look()
            self._set_safelight()

    def covered(self) -> None:
        """The printer's word that all paper is covered. It holds here even where it cannot be written."""
        self.must_be_ours()
        try:
            paper_out.cover(self.notebook)
        finally:
            self.out = ()
            self._set_safelight()

    def lying_out(self) -> RunRow | None:
        """The unfinished sheet that is out, if one is."""
        runs = {paper.run for paper in self.out}
        return next((row for row in self.unfinished() if row.id in runs), None)

    def _set_safelight(self) -> None:
        """On, but for a focus light that it would veil, and for paper that it would fog."""
        veiled = self._focus and self.settings.safelight_off_for_focus
        with suppress(LamphouseError):
            if self._keeper:
                self._keeper.safelight(not veiled and paper_out.bears_red(self.out))

    # ── the keeper ───────────────────────────────────────────────────────────

    def keeper(self) -> Keeper:
        """The running keeper; started if there is none. KeeperError when it cannot be."""
        self.must_be_ours()
        with self._starting:
            if self._closed:
                raise KeeperError("Lamphouse is ending; the lamp is off")
            if self._keeper is None:
                self._keeper = open_keeper(keeper_config(self.settings), self._heard)
                self._focus = False
                self._set_safelight()
            return self._keeper

    def _heard(self, event: Heard) -> None:
        if isinstance(event, messages.Fault):
            event = Lost(event.text)  # it gives no light any more: as good as gone, and started anew
        if isinstance(event, Lost):
            if not self._keeper:
                return  # it did not even start: whoever started it is told so
            self._forget_keeper()
        if isinstance(event, messages.FocusLightChanged) and event.left_us == 0:
            self._focus = False
            # This is the link's own thread: it cannot wait for an answer to what it asks.
            threading.Thread(target=self._set_safelight, name="safelight", daemon=True).start()
        if isinstance(event, Between):
            self._hear(event)

    def _forget_keeper(self) -> None:
        keeper, self._keeper, self._focus = self._keeper, None, False
        if keeper:
            with suppress(LamphouseError):
                keeper.close()

    def focus(self, seconds: float) -> None:
        """Focus light for ``seconds``, the safelight off meanwhile if so set; 0 ends it. Refused while paper is out."""
        keeper = self.keeper()
        if seconds:
            self.look()  # another program may have opened a box since
            if self.out:
                raise Refused("no focus light while paper is out")
            self._focus = True
            self._set_safelight()
        try:
            keeper.focus_light(seconds)
        except LamphouseError:
            self._focus = False
            self._set_safelight()
            raise

    def dark(self) -> None:
        """Dark now, without waiting. Of a lamp that another program has, by ending what has it."""
        if self._keeper:
            self._keeper.halt_at_once()
        elif not self._place and time.monotonic() - self._darkened_at > AGAIN_S:
            self._darkened_at = time.monotonic()
            threading.Thread(target=self._dark_elsewhere, name="dark", daemon=True).start()

    def _dark_elsewhere(self) -> None:
        try:
            make_dark(keeper_config(self.settings))
        except LamphouseError as error:
            self._hear(Lost(str(error)))

    def answers(self) -> bool:
        """Whether the keeper has been heard within ``LATELY_S``; a desk that has none needs none to be dark."""
        keeper = self._keeper
        return keeper is None or time.monotonic_ns() - keeper.heard_ns < LATELY_S * 1e9

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
            made_for=kept_for(job),
            keeper=self.keeper(),
            held=True,
            looks=True,
        )

    def after(self, lost: bool) -> None:
        """A session is over; forget a keeper that was lost in it."""
        if lost:
            self._forget_keeper()

    def short_light(self, plan: Plan) -> tuple[str, ...]:
        """A warning of exposures that are over before the lamp is fully up."""
        return short_light(plan, response(self.settings, plan))

    def unfinished(self) -> list[RunRow]:
        """Every interrupted sheet that had light, or may have had it, and was not finished or given up; newest first."""
        return self.notebook.unfinished()

    def give_up(self, row: RunRow) -> None:
        """The printer's word: what ``row`` lacks is not wanted any more."""
        self.must_be_ours()
        self.notebook.end_run(row.id, "forgotten", "given up by you")

    def rest(self, row: RunRow, share: float | None = None) -> tuple[Job, list[str]]:
        """What ``row`` lacks, as a job, and in words what its steps had. LamphouseError as ``resume.rest``.

        ``share``: where the light given is only known to lie in a range, which point of it to believe.
        """
        config = keeper_config(self.settings)
        same_lamp(row, config)
        with record_lookup(self.notebook, row, config, self._keeper) as look_up:
            plan, had = rest(self.notebook, row, look_up, share=share)
        recipe = parse_recipe(row.recipe, f"the recipe of run {row.id}") if row.recipe else None
        return Job(plan, row.recipe, None, recipe), [f"{row.plan.steps[h.step].area} had {h.text()} s" for h in had]

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

    def at_size(self, job: Job, sheet: str) -> tuple[Job, tuple[str, ...]]:
        """``job`` on another size of sheet, and each step of the arithmetic in words. LamphouseError when it cannot be."""
        moved = writing.derived(job, RecipeChange(sheet=sheet))
        made = Job(print_plan(moved.recipe), recipe_toml(moved.recipe), None, moved.recipe)
        return made, (*moved.says, *(f"- {line}" for line in moved.advice))

    def notes(self, run: int) -> str:
        return sheets.sheet(self.notebook, run).notes

    def write_notes(self, run: int, notes: str) -> None:
        sheets.write_on(self.notebook, run, {"notes": notes})

    def mark_final(self, run: int) -> bool:
        """Mark the print as the final one of its negative, or take the mark away; whether it has it now."""
        notes = sheets.final_turned(self.notes(run))
        self.write_notes(run, notes)
        return sheets.is_final(notes)

    def close(self) -> None:
        """Lamp dark, keeper ended, also one that is just being started; none is started after this."""
        with self._starting:
            self._closed = True
            self._forget_keeper()
        if self._place:
            self._place.close()
        self.notebook.close()

    # ── recipes ──────────────────────────────────────────────────────────────

    def recipes(self) -> Recipes:
        return find_recipes()

    def negatives(self, words: str = "") -> list[Negative]:
        """As ``Shelf.negatives``."""
        return self._shelf.negatives(words, sheets.printed(self.notebook))

    def entries(self, versions: Sequence[Version]) -> list[Entry]:
        """What the list says of each."""
        printed = sheets.printed(self.notebook)
        return [entry(version, printed) for version in versions]

    def derived(self, job: Job, target: RecipeChange) -> DerivedRecipe:
        return writing.derived(job, target)

    def write_derived(self, job: Job, target: RecipeChange, word: str) -> Job:
        """As ``writing.derive``; ``undo`` takes it back."""
        made, self.written_last = writing.write_derived(job, target, word)
        return made

    def take(self, test: Job, pick: Pick, run: int = 0) -> Job:
        """As ``writing.take``; ``undo`` takes it back. ``run``: the sheet that was read so, if it is in the notebook."""
        made, written = writing.take(test, pick)
        self._read_from(run, written)
        return made

    def take_way(self, test: Job, way: Way, run: int = 0) -> Job:
        """As ``writing.take_way`` and ``take``."""
        made, written = writing.take_way(test, way)
        self._read_from(run, written)
        return made

    def _read_from(self, run: int, written: Written) -> None:
        self.written_last = replace(written, test=run)
        if run:
            to_read.mark(self.notebook, run, unread=False)

    def tests_to_read(self) -> list[TestSheet]:
        """As ``to_read.waiting``."""
        return to_read.waiting(self.notebook)

    def test(self, run: int) -> Job:
        """The test of sheet ``run``, made for its print as that is now. LamphouseError as ``job_of_test``."""
        return for_its_file(job_of_test(self.notebook, run))

    def mark_read(self, run: int) -> None:
        """The printer's word: the test of sheet ``run`` says nothing more."""
        to_read.mark(self.notebook, run, unread=False)

    def write_corrected(self, job: Job, asked: list[tuple[str, Fraction]]) -> Job:
        """As ``writing.write_corrected``; ``undo`` takes it back."""
        made, self.written_last = writing.write_corrected(job, asked)
        return made

    def write_edited(self, job: Job | None, recipe: Recipe) -> Job:
        """As ``writing.write_edited``; ``undo`` takes it back."""
        made, self.written_last = writing.write_edited(job, recipe)
        return made

    def undo(self) -> str:
        """Take back what was written last; in words what is so now."""
        if not self.written_last:
            raise LamphouseError("nothing was written that could be taken back")
        said, last, self.written_last = writing.undo(self.written_last), self.written_last, None
        if last.test:
            to_read.mark(self.notebook, last.test, unread=True)
        return said

"""The darkroom: all that a screen needs of the rooms below it. Owns the keeper while the screen is open.

A lost keeper is started anew when it is next needed; the session, or ``hear``, is told of the loss.
What is imported within a method is for the start-up time: the first page is shown without it.
"""

import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from timer.app.archive import Archive
from timer.app.between import Between, FocusLightOver, KeeperLost, between
from timer.app.jobs import Job
from timer.app.lamp import keeper_config, response
from timer.app.recipes import Recipes, find_recipes
from timer.documents.calibrations import Corrections
from timer.documents.calibrations_file import load_corrections
from timer.documents.folders import folder, notebook_file
from timer.documents.recipe_file import parse_recipe
from timer.documents.settings import Settings, calibrated
from timer.documents.settings_file import load_settings
from timer.errors import KeeperError, LamphouseError, Refused
from timer.keeper import off_mark
from timer.keeper.claim import Claim, holder_of
from timer.keeper.host.client import Heard, Keeper
from timer.keeper.host.darken import make_dark
from timer.keeper.host.open import open_keeper
from timer.notebook import in_use, paper_out
from timer.notebook.rows import SAFELIGHT_KINDS, PaperOut, RunRow, bears_red
from timer.notebook.store import Notebook
from timer.plans.limits import short_light, too_long
from timer.plans.model import Plan

if TYPE_CHECKING:
    from timer.app.recipe_book import RecipeBook
    from timer.app.writing import Written
    from timer.run.hearing import Show
    from timer.run.session import Session

LATELY_S = 2.0
"""A keeper answers five times a second; one that is silent for this long hangs."""
AGAIN_S = 0.5
"""Seconds in which a second press of the same key does not end what has been started since the first."""
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
        self._in_use = in_use.take_place(self.notebook.path)
        self.archive = Archive(self.notebook)
        self._place: Claim | None = None
        self.other = 0
        self.take_place()
        self.out: tuple[PaperOut, ...] = ()
        self.look()

    def listen(self, hear: Hear) -> None:
        """Call ``hear`` with events from now on."""
        self._hear = hear

    # ── recipes ──────────────────────────────────────────────────────────────

    def recipes(self) -> Recipes:
        """Every recipe that is found, and those that cannot be used."""
        return find_recipes()

    @cached_property
    def book(self) -> "RecipeBook":
        """What makes recipes of others, and writes them."""
        from timer.app.recipe_book import RecipeBook

        return RecipeBook(self.notebook)

    @property
    def written_last(self) -> "Written | None":
        """What the book has written last, to be taken back; nothing as long as it was not opened."""
        return self.book.written_last if "book" in vars(self) else None

    # ── one screen a lamp ────────────────────────────────────────────────────

    def take_place(self) -> bool:
        """Whether this desk is the one that uses the lamp; ``other`` is the process that is, if it is not."""
        for claim in (self._place, self._in_use):
            if claim:
                claim.answer()
        if self._place:
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
        """Whether this screen has the lamp; one that has not only watches."""
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
        keeper.safelight(kind in SAFELIGHT_KINDS)
        try:
            paper_out.open_box(self.notebook, kind, run or None)
        finally:
            self.look()
            self._set_safelight()

    def covered(self) -> None:
        """The printer says that all paper is covered. It holds here even where it cannot be written."""
        self.must_be_ours()
        try:
            paper_out.cover(self.notebook)
        finally:
            self.out = ()
            self._set_safelight()

    def lying_out(self) -> RunRow | None:
        """The unfinished sheet that is out, if one is."""
        runs = {paper.run for paper in self.out}
        return next((row for row in self.archive.unfinished() if row.id in runs), None)

    def _set_safelight(self) -> None:
        """On, but for a focus light that it would veil, and for paper that it would fog."""
        veiled = self._focus and self.settings.safelight_off_for_focus
        with suppress(LamphouseError):
            if self._keeper:
                self._keeper.safelight(not veiled and bears_red(self.out))

    # ── the keeper ───────────────────────────────────────────────────────────

    def keeper(self) -> Keeper:
        """The running keeper; started if there is none. KeeperError when it cannot be."""
        self.must_be_ours()
        with self._starting:
            if self._closed:
                raise KeeperError("Lamphouse is ending; the lamp is off")
            if self._keeper is None:
                # Wanted now, and not when the screen began: what was told to be off before may be lit again by a press.
                config = replace(keeper_config(self.settings), asked_ns=off_mark.now_ns())
                self._keeper = open_keeper(config, self._heard)
                self._focus = False
                self._set_safelight()
            return self._keeper

    def _heard(self, event: Heard) -> None:
        said = between(event)
        if isinstance(said, KeeperLost):
            if not self._keeper:
                return  # it did not even start: whoever started it is told so
            self._forget_keeper()
        if isinstance(said, FocusLightOver):
            self._focus = False
            # This is the link's own thread: it cannot wait for an answer to what it asks.
            threading.Thread(target=self._set_safelight, name="safelight", daemon=True).start()
        if said is not None:
            self._hear(said)

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
            self._hear(KeeperLost(str(error)))

    def answers(self) -> bool:
        """Whether the keeper has been heard within ``LATELY_S``; a desk that has none needs none to be dark."""
        keeper = self._keeper
        return keeper is None or time.monotonic_ns() - keeper.heard_ns < LATELY_S * 1e9

    @property
    def keeper_runs(self) -> bool:
        """Whether there is a keeper, and it has been heard lately."""
        return self._keeper is not None and self.answers()

    @property
    def is_calibrated(self) -> bool:
        """Whether the lamp's response was measured; else it is taken as instant."""
        return calibrated(self.settings)

    def corrections(self) -> tuple[Corrections, str]:
        """What the printer has measured, heads and boxes; or none, and the sentence that says why they cannot be read."""
        try:
            return load_corrections(folder("config") / "corrections.toml"), ""
        except LamphouseError as error:
            return Corrections(), str(error)

    # ── runs ─────────────────────────────────────────────────────────────────

    def session(self, job: Job, show: "Show", continues: RunRow | None = None) -> "Session":
        """A session for ``job``, held until its ``begin``. The pedal is heard from the start."""
        from timer.app.reading import kept_for
        from timer.run.session import Session

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
            head=self.settings.head.name,
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

    def too_long(self, plan: Plan) -> tuple[str, ...]:
        """What to say of an exposure that is longer than the lamp may stay on at once."""
        says = too_long(plan, self.settings.ceiling_s, response(self.settings, plan))
        return (says,) if says else ()

    def give_up(self, row: RunRow) -> None:
        """The printer gives ``row`` up: it is not offered again."""
        self.must_be_ours()
        self.archive.give_up(row)

    def rest(self, row: RunRow, share: float | None = None) -> tuple[Job, list[str]]:
        """What ``row`` lacks, as a job, and in words what its steps had. LamphouseError as ``runs.rest_of``.

        ``share``: where the light given is only known to lie in a range, which point of it to believe.
        """
        from timer.app.runs import rest_of

        plan, had = rest_of(self.notebook, row, keeper_config(self.settings), self._keeper, share)
        recipe = parse_recipe(row.recipe, f"the recipe of run {row.id}") if row.recipe else None
        return Job(plan, row.recipe, None, recipe), [f"{row.plan.steps[h.step].area} had {h.text()} s" for h in had]

    def close(self) -> None:
        """Lamp dark, keeper ended, also one that is just being started; none is started after this."""
        with self._starting:
            self._closed = True
            self._forget_keeper()
        for claim in (self._place, self._in_use):
            if claim:
                claim.close()
        self.notebook.close()

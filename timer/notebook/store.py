"""What is kept of each run: what was planned, what the lamp was about to do, and what it did."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from timer.craft.enlargement import parse_sheet
from timer.documents.recipe_file import parse_recipe
from timer.errors import LamphouseError, NotebookError
from timer.notebook.database import READ_S
from timer.notebook.file import NotebookFile, sentences
from timer.notebook.rows import EXPOSURE_COLUMNS, RUN_COLUMNS, ExposureRow, RunRow, exposure_row, run_row
from timer.notebook.sums import seal, sum_of
from timer.plans.model import Plan
from timer.plans.stored import encode_plan, plan_hash

UNIT_MM2 = 203.2 * 254.0
"""A sheet of 8x10 inches."""


class Notebook(NotebookFile):
    """An open notebook. Every method commits before it returns, or raises NotebookError and changes nothing."""

    # ── writing ──────────────────────────────────────────────────────────────

    def begin_run(
        self,
        plan: Plan,
        *,
        recipe: str = "",
        lamp: str = "",
        lamp_at: str = "",
        response: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0),
        continues: int | None = None,
        made_for: str = "",
        head: str = "",
    ) -> int:
        """Store a run and its plan before any light; returns its number. A run it continues is marked so; NotebookError when
        that is no unfinished sheet any more.

        ``head`` is the printer's name of the enlarger's head. ``made_for`` is the recipe that a test is for. A test is
        unread from now on; what continues one is that test.

        Paper that is out and no other run's is this one's from now on.
        ``lamp_at`` is where the lamp's memory is: a file, or a controller's port. ``response``: the lamp's delay, rise, and
        what a warm one is spared and over what time that fades, in seconds.
        """
        with self.commit():
            done = self._db.execute(
                "INSERT INTO run (begun, state, kind, title, plan, plan_hash, recipe, lamp, lamp_at, delay_s, rise_s,"
                " less_s, recovery_s, continues, paper) VALUES (?, 'running', ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    _now(), plan.kind, plan.title, encode_plan(plan).decode(), plan_hash(plan), recipe, lamp, lamp_at,
                    *response, continues, plan.paper,
                ),
            )  # fmt: skip
            if continues is not None:
                self._continue(continues)
            run = int(done.lastrowid or 0)
            self._db.execute(  # the sheet that lies out, if one does, is this run's
                "UPDATE paper_out SET run = ? WHERE covered IS NULL AND (run IS NULL OR run = ?)", (run, continues)
            )
            seal(self._db, run)
            if continues is not None:
                made_for = made_for or self._test_over(continues)
            about = about_recipe(recipe or made_for)
            self._db.execute(
                "INSERT INTO sheet (run, begun, kind, title, negative, paper, area, words, unread, made_for, head)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    run, _now(), plan.kind, plan.title, about.negative, about.paper, about.area,
                    words_of(plan.title, about.negative, about.paper, head), bool(plan.patches), made_for, head,
                ),
            )  # fmt: skip
            return run

    def _continue(self, run: int) -> None:
        """Within a commit: another run gives what ``run`` lacks, and no third one may."""
        unfinished = "state IN ('running', 'stopped', 'failed')"
        if not self.write(f"UPDATE run SET state = 'continued' WHERE id = ? AND {unfinished}", (run,)):
            raise NotebookError(f"run {run} is no unfinished sheet any more: another program has finished or given it up")

    def _test_over(self, run: int) -> str:
        """Within a commit: ``run`` waits to be read no more, another has its place; returns what it was made for."""
        row = self._db.execute("SELECT made_for FROM sheet WHERE run = ?", (run,)).fetchone()
        self._db.execute("UPDATE sheet SET unread = 0 WHERE run = ?", (run,))
        return str(row[0]) if row else ""

    def intend(self, row: ExposureRow) -> None:
        """The exposure ``row`` is about to be armed."""
        with self.commit():
            self._db.execute(
                "INSERT INTO exposure (run, number, step, label, asked_s, ordered_us, noted, boot, name, noted_ns)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    row.run, row.number, row.step, row.label, row.asked_s, row.ordered_us, _now(), row.boot,
                    row.name, row.noted_ns,
                ),
            )  # fmt: skip
            seal(self._db, row.run)

    def progress(self, run: int, number: int, seen_us: int) -> None:
        """The lamp is lit and has given at least ``seen_us``: what is certain if the power goes."""
        with self.commit():
            self._db.execute(
                "UPDATE exposure SET lit = 1, seen_us = max(seen_us, ?) WHERE run = ? AND number = ?",
                (seen_us, run, number),
            )
            seal(self._db, run)

    def fact(
        self,
        run: int,
        number: int,
        low_us: int,
        high_us: int | None,
        why: str,
        dose_s: float | None = None,
        cut_us: int = 0,
    ) -> None:
        """What an exposure gave: lamp-on time from ``low_us`` to ``high_us`` (equal when it is known, None when open).

        ``dose_s``: full-light seconds as a light sensor counted them, where there is one. That it may have been lit is not
        that it was: what is found later may yet show that it never was.
        """
        with self.commit():
            self._db.execute(
                "UPDATE exposure SET lit = lit OR ? > 0, low_us = ?, high_us = ?, why = ?, dose_s = ?, cut_us = ?"
                " WHERE run = ? AND number = ?",
                (low_us, low_us, high_us, why, dose_s, cut_us, run, number),
            )
            seal(self._db, run)

    def end_run(self, run: int, state: str, says: str) -> None:
        """Write how ``run`` ended (the value of a states.State), and in words.

        Not of one that another has continued meanwhile, nor that it broke off if it was given up: its program may have been
        stopped for long, and what it lacked must not be offered twice.
        """
        with self.commit():
            self._db.execute(
                "UPDATE run SET state = ?, says = ?, ended = ? WHERE id = ?"
                " AND state != 'continued' AND (state != 'forgotten' OR ? = 'finished')",
                (state, says, _now(), run, state),
            )

    # ── reading ──────────────────────────────────────────────────────────────

    def run(self, run: int) -> RunRow:
        """Run number ``run``; NotebookError when there is none."""
        rows = self._runs("WHERE id = ?", (run,))
        if not rows:
            raise NotebookError(f"there is no run {run} in {self.path}; `lamphouse notebook list` shows those there are")
        if rows[0].damage:
            raise NotebookError(f"run {run} is damaged: {rows[0].damage}; the rest of the notebook can be used")
        return rows[0]

    def runs(self, most: int = 50) -> list[RunRow]:
        """The newest runs first."""
        return self._runs("ORDER BY id DESC LIMIT ?", (most,))

    def runs_of(self, numbers: Iterable[int]) -> list[RunRow]:
        """The runs of these numbers, in this order, those there are."""
        return [row for number in numbers for row in self._runs("WHERE id = ?", (number,))]

    def unfinished(self, most: int = 100) -> list[RunRow]:
        """Interrupted runs that had light, or may have had it, and were not resumed or given up since; newest first."""
        rows = self._runs(
            "WHERE state IN ('running', 'stopped', 'failed') AND (continues IS NOT NULL OR EXISTS (SELECT 1 FROM exposure"
            " WHERE run = id AND (lit OR why IS NULL OR high_us IS NULL OR high_us > 0))) ORDER BY id DESC LIMIT ?",
            (most,),
        )
        return [row for row in rows if not row.damage]

    def exposures(self, run: int) -> list[ExposureRow]:
        """The exposures of ``run``; NotebookError when one of them has what cannot be, or its run has."""
        rows = self.read(f"SELECT {EXPOSURE_COLUMNS} FROM exposure WHERE run = ? ORDER BY number", (run,))
        made = [exposure_row(row) for row in rows]
        steps = self.run(run).plan.steps if made else ()
        for row in made:
            if not (row.step < len(steps) and steps[row.step].do == "expose"):
                raise NotebookError(f"run {run} is damaged: its plan has no exposure at step {row.step}")
        return made

    def exposures_since(self, row: ExposureRow) -> int:
        """How many exposures of this boot were noted after ``row``, of whatever run."""
        sql = "SELECT count(*) n FROM exposure WHERE boot = ? AND noted_ns > ?"
        return int(self.read(sql, (row.boot, row.noted_ns))[0]["n"])

    def _runs(self, where: str, values: tuple[int, ...]) -> list[RunRow]:
        return [run_row(row) for row in self.read(f"SELECT {RUN_COLUMNS} FROM run {where}", values)]

    def agrees(self, run: int) -> bool:
        """Whether the facts of ``run`` are those that were written."""
        with sentences(self.path):
            self._clock.allow(READ_S)
            kept = self._db.execute("SELECT sums FROM run WHERE id = ?", (run,)).fetchone()
            return kept is not None and kept[0] == sum_of(self._db, run)


@dataclass(frozen=True)
class About:
    """What a recipe says of its sheet: words, and its area in sheets of 8x10 inches."""

    negative: str = ""
    paper: str = ""
    area: float = 1.0


def about_recipe(text: str) -> About:
    """Of the recipe stored with a run; nothing of a strip."""
    try:
        recipe = parse_recipe(text) if text else None
    except LamphouseError:
        recipe = None
    if recipe is None:
        return About()
    area = parse_sheet(recipe.enlargement.sheet).area / UNIT_MM2 if recipe.enlargement.sheet else 1.0
    return About(recipe.negative, recipe.paper.name, round(area, 4))


def words_of(*texts: str) -> str:
    """What a sheet is found by: all its words, in small letters."""
    return " ".join(text.lower() for text in texts if text)


def _now() -> str:
    return datetime.now().astimezone().isoformat(timespec="milliseconds")

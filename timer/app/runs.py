"""A run as a command asks for it: on the lamp that the settings have, with the paper that lies out in view.

The screen holds its keeper and its paper itself (``darkroom``); what both need of an interrupted sheet is here. What is
imported within a function is for the start-up time: most runs resume nothing.
"""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from timer.app.lamp import keeper_config, response
from timer.app.notebooks import begun
from timer.craft.lamp_response import LampResponse
from timer.documents.recipe import Recipe
from timer.documents.recipe_file import recipe_toml
from timer.documents.settings_file import load_settings
from timer.errors import LamphouseError, Refused
from timer.keeper.config import Config
from timer.keeper.host.client import Keeper
from timer.notebook import paper_out
from timer.notebook.rows import RunRow
from timer.notebook.store import Notebook
from timer.plans.model import Plan
from timer.run.hearing import Show
from timer.run.resume import LightGiven, record_lookup, rest, same_lamp
from timer.run.session import HANDS_S, Session


@dataclass(frozen=True)
class Wanted:
    """What a command wants carried out. ``recipe``: what ``plan`` prints, as TOML; ``made_for``: what it tests.

    ``auto``: seconds of dark before each light that the clock starts; None where a press does. ``speed``: time-lapse.
    ``lamp`` and ``notebook``: others than the printer's own. ``continues``: the run that it gives the rest of.
    ``lamp_response``: how the lamp is timed; None for as the settings have it.
    """

    plan: Plan
    recipe: str = ""
    made_for: Recipe | None = None
    auto: float | None = None
    speed: float = 1.0
    lamp: str | None = None
    notebook: Path | None = None
    continues: int | None = None
    lamp_response: LampResponse | None = None


@contextmanager
def begin(wanted: Wanted, show: Show) -> Iterator[tuple[Session, bool]]:
    """A session to be run within, and whether paper lay out before it. Its own paper is written as out until its end.

    Refused, before any light, beside another sheet that lies out, or for a time-lapse of a real lamp.
    """
    settings = load_settings()
    config = keeper_config(settings, lamp=wanted.lamp, speed=wanted.speed)
    if wanted.speed != 1 and config.lamp != "simulated":
        raise Refused("--speed is a time-lapse of the simulated lamp; a real one takes its time")
    with begun(wanted.notebook) as notebook:
        _refuse_beside_another_sheet(notebook, wanted.continues)
        plan = wanted.plan
        session = Session(
            plan,
            notebook,
            config,
            wanted.lamp_response or response(settings, plan),
            show,
            auto=None if wanted.auto is None else wanted.auto / wanted.speed,
            recipe=wanted.recipe,
            made_for=recipe_toml(wanted.made_for) if wanted.made_for else "",
            head=settings.head.name,
            continues=wanted.continues,
            hands_s=HANDS_S / wanted.speed if wanted.auto is None else 0.0,
        )
        lies_out = paper_out.all_out(notebook)
        opened = paper_out.open_box(notebook, plan.paper) if plan.paper and not lies_out else 0
        try:
            yield session, bool(lies_out)
        finally:
            # At the console the lights are on: what was done with this sheet was done with that in view. One that lay
            # out before waits for the printer's word.
            with suppress(LamphouseError):
                if opened:
                    paper_out.cover(notebook, opened)


def _refuse_beside_another_sheet(notebook: Notebook, continues: int | None) -> None:
    """Light is for the sheet that lies out, if one does, and for no other."""
    other = next((paper for paper in paper_out.all_out(notebook) if paper.run != continues or continues is None), None)
    if other:
        rest = f"`lamphouse resume {other.run}` gives it what it lacks; or " if other.run else ""
        raise Refused(f"{other} is out: {rest}cover it and say `lamphouse paper covered`")


def rest_of(
    notebook: Notebook, row: RunRow, config: Config, keeper: Keeper | None = None, share: float | None = None
) -> tuple[Plan, list[LightGiven]]:
    """The plan of what ``row`` lacks, and what its steps had. LamphouseError as ``resume.rest``, Refused for another lamp's.

    ``share``: where the light given is only known to lie in a range, which point of it to believe.
    """
    same_lamp(row, config)
    with record_lookup(notebook, row, config, keeper) as look_up:
        return rest(notebook, row, look_up, share=share)


def interrupted(notebook: Notebook, run: int | None) -> RunRow:
    """Run number ``run``, or the last one that was interrupted. LamphouseError where nothing is left to be given."""
    row = notebook.run(run) if run is not None else next(iter(notebook.unfinished(1)), None)
    if row is None:
        raise LamphouseError("nothing was interrupted: there is no unfinished sheet in the notebook")
    if row.state in ("finished", "continued", "forgotten"):
        raise LamphouseError(f"run {row.id} is {row.stands}: there is nothing of it to resume")
    return row


def resumed(
    run: int | None, *, share: float | None, lamp: str | None, notebook_path: Path | None
) -> tuple[RunRow, Plan, list[LightGiven]]:
    """An interrupted run, the plan of its rest, what its steps had. LamphouseError as ``interrupted`` and ``rest_of``."""
    from timer.app.lamp_now import user_of

    with begun(notebook_path) as notebook:
        row = interrupted(notebook, run)
        config = keeper_config(load_settings(), lamp=lamp or row.lamp or None)
        same_lamp(row, config)
        if other := user_of(config):
            raise LamphouseError(f"another Lamphouse (process {other}) has the lamp; end it, then resume what it left")
        plan, had = rest_of(notebook, row, config, share=share)
    return row, plan, had


def given_up(run: int | None, notebook_path: Path | None) -> RunRow:
    """Give the interrupted run up; which it was. LamphouseError as ``interrupted``."""
    from timer.app.archive import Archive

    with begun(notebook_path) as notebook:
        row = interrupted(notebook, run)
        Archive(notebook).give_up(row)
    return row

"""What ``lamphouse first-sheet`` plans: from what it is told, from the notebook's right prints, and from what is known."""

from dataclasses import replace
from pathlib import Path

from timer.app.jobs import load_job
from timer.app.notebooks import existing
from timer.craft import heads
from timer.craft.lights import Lights, amounts
from timer.documents.files import is_there
from timer.documents.folders import notebook_file
from timer.documents.recipe import Filters, Recipe
from timer.documents.recipe_light import setting_of, with_setting
from timer.documents.settings import Head
from timer.errors import Refused
from timer.measure.advise import learned_from
from timer.measure.learned import paper_known
from timer.measure.start import start, start_line
from timer.plans.first_sheet import first_sheet_plan
from timer.plans.model import Plan
from timer.plans.strip_target import About, strip_target


def first_sheet_of(
    head: Head,
    pack: str | None,
    seconds: float | None,
    patches: int,
    like: str | None,
    target: Path | None,
    about: About,
    notebook_path: Path | None,
) -> tuple[Plan, Recipe | None]:
    """The plan, and the recipe it is made for, if something is said of one. ``patches``: 0, as many as are needed.

    Refused when something is missing, ValueError for what is said ``about`` the print and cannot be."""
    recipe = load_job(target).recipe if target else None
    head = Head(recipe.filters.head, head.top, head.per_stop) if recipe and recipe.filters.head else head
    if not head.kind:
        raise Refused(heads.WHICH)
    path, notes = notebook_path or notebook_file(), list[str]()
    setting, seconds, says = _begin(head, pack, seconds, like, recipe, path)
    notes += [says] if says else []
    if not patches:
        patches, says = _patches(head, about.paper_name or (recipe.paper.name if recipe else ""), path)
        notes += [says] if says else []
    plan = first_sheet_plan(setting, seconds, head.kind, head.top, patches)
    plan = replace(plan, notes=(*notes, *plan.notes))
    if recipe is None and about == About():
        return plan, None
    filters = with_setting(Filters(head=head.kind, per_stop=head.per_stop * (head.kind == "additive")), setting)
    return plan, strip_target(recipe, about, seconds, "ra4", filters)


def _begin(
    head: Head, pack: str | None, seconds: float | None, like: str | None, recipe: Recipe | None, path: Path
) -> tuple[heads.Setting, float, str]:
    """Setting and time to begin from, and where they are from if they were not said."""
    if pack is None and recipe:
        return setting_of(recipe.filters), seconds or recipe.base_s, ""
    if pack is None:
        with existing(path, instead='say where to begin: --pack "60M 50Y" --seconds 10') as notebook:
            found = start(notebook, head, like or "")
        return found.setting, seconds or found.seconds, start_line(found)
    try:
        setting = heads.parse_setting(pack, head.kind or "dichroic", head.per_stop)
    except ValueError as error:
        raise Refused(str(error)) from None
    if seconds is None and head.kind == "tricolour" and isinstance(setting, Lights):
        seconds = max(amounts(setting))
    if seconds is None:
        raise Refused("say the time that goes with the pack as it is: --seconds 10")
    return setting, seconds, ""


def _patches(head: Head, paper: str, path: Path) -> tuple[int, str]:
    """How many patches teach what is not known yet, and why if it is one."""
    if not is_there(path):
        return 5, ""
    with existing(path) as notebook:
        learned = paper_known(notebook, head, paper)
    return (1, f"one patch: {learned_from(learned)}; --patches 5 makes five all the same") if learned else (5, "")

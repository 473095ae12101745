"""What is said of a plan before any light, by the printer's own settings and vessels: what refuses it, and what only warns.

What is imported within a function is for the start-up time: no command that gives light needs it.
"""

from dataclasses import replace
from pathlib import Path

from timer.app.jobs import Job, load_job
from timer.app.lamp import response
from timer.documents.own_picture import picture_path
from timer.documents.settings import Settings, layers
from timer.documents.settings_file import load_settings
from timer.documents.vessels import load_vessels, too_large
from timer.errors import LamphouseError
from timer.plans.limits import check_limits, short_light
from timer.plans.model import Plan
from timer.plans.strip_colour import with_colour_note


def within_limits(plan: Plan) -> Plan:
    """``plan``, warned of lights too short for the lamp to come up. Refused where it is lit for too long at once."""
    settings = load_settings()
    lamp = response(settings, plan)
    check_limits(plan, settings.ceiling_s, lamp)
    return replace(plan, notes=(*plan.notes, *short_light(plan, lamp)))


def said_of_colour(plan: Plan, settings: Settings | None = None) -> Plan:
    """``plan`` with a note of what its bursts do to the layers of colour paper, by the lamp's responses in ``settings``
    (None: the printer's own)."""
    settings = settings or load_settings()
    return with_colour_note(plan, response(settings, plan), layers(settings))


def vessel_note(job: Job) -> list[str]:
    """A warning when the sheet of ``job`` fits into no drum or tray of the printer's, or when these cannot be read."""
    sheet = job.recipe.enlargement.sheet if job.recipe else ""
    try:
        warning = too_large(sheet, load_vessels())
    except LamphouseError as error:
        warning = str(error)
    return [warning] if warning else []


def checked(path: Path) -> tuple[Job, list[str]]:
    """The print of the recipe at ``path``, and warnings. LamphouseError where it cannot be made on this lamp."""
    job = load_job(path)
    settings = load_settings()
    check_limits(job.plan, settings.ceiling_s, response(settings, job.plan))
    return job, [*vessel_note(job), *_picture_note(job)]


def _picture_note(job: Job) -> list[str]:
    """Why its own picture cannot be shown; a print can be made without it."""
    try:
        path = picture_path(job.recipe, job.path) if job.recipe else None
        if path:
            from timer.bench.picture import photo

            photo(path, 16, 1.0)
    except LamphouseError as error:
        return [str(error)]
    return []

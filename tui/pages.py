"""The pages by name: nothing but this list knows where they are, so that no page imports another.

Each is imported when it is first shown: the Pi is slow, and the first page should be there soon.
"""

from importlib import import_module

from timer.app.jobs import Job
from timer.plans.first_sheet import is_first_sheet
from tui.page import Page

PLACES = {
    "prepare": "tui.screens.prepare:Prepare",
    "expose": "tui.screens.expose:Expose",
    "solve": "tui.screens.solve:Solve",
    "scan": "tui.screens.scan:ScanPage",
    "look back": "tui.screens.look_back:LookBack",
    "change": "tui.screens.change_recipe:ChangeRecipe",
    "negatives": "tui.screens.negatives:Negatives",
    "edit": "tui.screens.edit_recipe:EditRecipe",
    "outlines": "tui.screens.outlines:Outlines",
    "correct": "tui.screens.correct:Correct",
    "test sheet": "tui.screens.test_sheet:TestSheet",
    "to read": "tui.screens.to_read:ToRead",
    "unfinished": "tui.screens.unfinished:Unfinished",
    "picture": "tui.screens.picture:Picture",
    "baths": "tui.screens.baths:Baths",
    "notebook": "tui.screens.notebook:NotebookPage",
    "reprint": "tui.screens.reprint:Reprint",
    "lights": "tui.screens.lights:Lights",
    "help": "tui.screens.help:Help",
}


def of_test(job: Job, run: int) -> str:
    """The page on which the test ``job``, sheet ``run``, is read: a first sheet is measured, not picked from."""
    return "solve" if run and is_first_sheet(job.plan) else "look back"


def made(name: str, *given: object) -> Page:
    """The page ``name``, for what is ``given`` to it (a job, a run)."""
    module, _, kind = PLACES[name].partition(":")
    page = getattr(import_module(module), kind)(*given)
    assert isinstance(page, Page)
    return page

"""The sheet of a strip or a print: in white light in its true tones, or over the printer's own picture of it."""

import time
from collections.abc import Callable
from functools import partial
from typing import Any

from textual.geometry import Size

from timer.app.jobs import Job
from timer.app.sheet_view import own_pixels, patch_tones, shape_of
from timer.errors import LamphouseError
from tui.widgets.canvas import Pixels
from tui.widgets.sheet import Sheet, Tones

TONES_AFTER_S = 0.25


class JobSheet(Sheet):
    """Tones and pictures are found on another thread, and come a little later; ``report`` is told what fails."""

    def __init__(self, report: Callable[[str], None], **how: Any) -> None:
        super().__init__(**how)
        self._report = report
        self._job: Job | None = None
        self._white = False
        self._found: dict[tuple[Job, Size], tuple[Tones, Pixels | None]] = {}

    def show_job(self, job: Job, *, white: bool) -> None:
        """``job`` in lines at once; in ``white`` light then in its tones."""
        self._job, self._white = job, white
        tones, pixels = self._found.get((job, self.size), ((), None)) if white else ((), None)
        self.show(job.plan, job.recipe, tones, shape_of(job), pixels)
        wanted = job.plan.patches or (job.recipe and job.recipe.picture)
        if white and wanted and (job, self.size) not in self._found:
            self.run_worker(partial(self._find, job), thread=True, exclusive=True, group="tones", exit_on_error=False)

    def blank_job(self) -> None:
        """Nothing is chosen that has a sheet."""
        self._job = None
        self.blank()

    def _find(self, job: Job) -> None:
        time.sleep(TONES_AFTER_S)  # while a key is held no sheet is drawn in vain
        if not self.is_attached or job != self._job:
            return
        tones: Tones = ()
        pixels, fault, size = None, "", self.size
        try:
            tones = patch_tones(job.plan) if job.plan.patches else ()
            pixels = own_pixels(job, self.fit)
        except LamphouseError as error:
            fault = str(error)
        self.app.call_from_thread(self._came, job, size, tones, pixels, fault)

    def _came(self, job: Job, size: Size, tones: Tones, pixels: Pixels | None, fault: str) -> None:
        self._found = {(job, size): (tones, pixels)}
        if self.is_attached and job == self._job and self._white:
            self.show(job.plan, job.recipe, tones, shape_of(job), pixels)
            if fault:
                self._report(fault)

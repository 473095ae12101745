"""Where the areas of a print lie: their outlines set with the arrow keys, over the printer's own picture if there is one."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static

from timer.app.jobs import Job
from timer.app.sheet_view import own_pixels, shape_of
from timer.app.writing import loses_comments
from timer.documents.recipe import Outline, Recipe
from timer.errors import LamphouseError
from timer.plans import outlines
from tui.page import NOT_WRITTEN, Page
from tui.widgets import canvas
from tui.widgets.canvas import Pixels

ARROWS = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}


class Outlines(Page):
    """One area after another: its outline moved, sized, changed in form, and written into the recipe."""

    phase = "AREAS"

    def __init__(self, job: Job) -> None:
        super().__init__()
        assert job.recipe
        self.job = job
        self.recipe = self.opened = job.recipe
        self.areas = outlines.areas(job.recipe)
        self.before: list[Recipe] = []
        self.at = 0
        self.point: int | None = None
        self.sizing = False
        self.shape = 0.0
        self.pixels: Pixels | None = None

    def body(self) -> ComposeResult:
        yield Static(id="choice", markup=False)
        with Vertical(id="columns"):
            yield Static(id="map", markup=False)

    def begin(self) -> None:
        self.call_after_refresh(self._draw)

    def on_resize(self) -> None:
        self.pixels = None
        self.call_after_refresh(self._draw)

    @property
    def area(self) -> str:
        """The one at hand."""
        return self.areas[self.at]

    @property
    def outline(self) -> Outline | None:
        """Where it lies now; None while it has no place."""
        return outlines.outlines(self.recipe).get(self.area)

    @property
    def unwritten(self) -> bool:
        """As of every page: what is changed."""
        return self.changed

    @property
    def changed(self) -> bool:
        """Whether there is something to write."""
        return self.recipe != self.opened

    # ── how it looks ─────────────────────────────────────────────────────────

    def _draw(self) -> None:
        if not self.is_attached:
            return
        place = self.query_one("#map", Static)
        width, height = place.size.width or 40, place.size.height or 8
        if not self.shape:
            self.shape = shape_of(self.job)
        if self.pixels is None and not self.context.paper_out:
            self._look(width, height)
        there = outlines.outlines(self.recipe)
        words = {area: f"▶{area}" if area == self.area else area for area in there}
        pixels = None if self.context.paper_out else self.pixels or None
        place.update(canvas.framed(there, words, self.shape, width, height, pixels, self._corner))
        self.query_one("#choice", Static).update(self._says())
        self._foot()

    def _look(self, width: int, height: int) -> None:
        try:
            self.pixels = own_pixels(self.job, lambda shape: canvas.size(shape, width, height)) or ()
        except LamphouseError as error:
            self.pixels = ()
            self.context.report(str(error))

    @property
    def _corner(self) -> tuple[float, float] | None:
        """The point of a polygon that the arrows move, if it is one alone."""
        outline = self.outline
        if outline and outline.polygon and self.point is not None:
            return outline.polygon[self.point % len(outline.polygon)]
        return None

    def _says(self) -> str:
        outline = self.outline
        form = outlines.form_of(outline) if outline else "no place yet"
        what = f", point {self.point + 1}" if self.point is not None else ", size" if self.sizing else ""
        amounts = " ".join(amount for area, amount in outlines.labels(self.recipe) if area == self.area)
        return f"{self.at + 1}/{len(self.areas)}  {self.area} {amounts}   {form}{what}"

    def _foot(self) -> None:
        if self.context.paper_out:
            return self.next_action("PAPER IS OUT: to be read only\na: next area   q: back")
        if self.leaving:
            return self.next_action(NOT_WRITTEN)
        enter = self._enter() if self.changed else "Enter: back"
        if not self.outline:
            return self.next_action(f"{enter}   a: next area   u: undo\nk: give it a place   q: leave")
        more = "p point  i more  x less" if self.outline.polygon else "x none"
        return self.next_action(f"{enter}   a: next area   u: undo\narrows move it  s size  k form  {more}")

    def _enter(self) -> str:
        if self.size.width < 72:
            return "Enter: write"
        lost = " (its # comments go)" if loses_comments(self.job) else ""
        return f"Enter: write it {f'into {self.job.path.name}{lost}' if self.job.path else 'as a recipe of its own'}"

    # ── keys ─────────────────────────────────────────────────────────────────

    def pressed(self, key: str) -> bool:
        if key == "a":
            self.at, self.point, self.sizing = (self.at + 1) % len(self.areas), None, False
        elif self.context.paper_out:
            if key != "enter":
                return False
            self.context.report("paper is out: cover it first")
        elif key == "enter":
            return self._write()
        elif key == "u":
            self.recipe = self.before.pop() if self.before else self.recipe
            self.point = None
        elif key == "k":
            self._put(self._next_form())
            self.point, self.sizing = None, False
        elif not self.outline or not self._shape_key(key, self.outline):
            return False
        self._draw()
        return True

    def _shape_key(self, key: str, outline: Outline) -> bool:
        if key in ARROWS:
            self._put(self._arrow(outline, *ARROWS[key]))
        elif key == "s":
            self.sizing, self.point = not self.sizing, None
        elif key == "p" and outline.polygon:
            last = len(outline.polygon) - 1
            self.point = 0 if self.point is None else self.point + 1 if self.point < last else None
            self.sizing = False
        elif key == "i" and outline.polygon:
            made, self.point = outlines.with_point(outline, self.point or 0)
            self._put(made)
        elif key == "x" and outline.polygon and self.point is not None:
            made, self.point = outlines.without_point(outline, self.point)
            self._put(made)
        elif key == "x":
            self._put(None)
        else:
            return False
        return True

    def _arrow(self, outline: Outline, dx: int, dy: int) -> Outline:
        """Right and up make it larger: wider and higher."""
        if self.sizing:
            return outlines.sized(outline, dx, -dy)
        return outlines.moved(outline, dx, dy, self.point)

    def _next_form(self) -> Outline:
        outline = self.outline
        if not outline:
            return outlines.begun(outlines.FORMS[0])
        form = outlines.FORMS[(outlines.FORMS.index(outlines.form_of(outline)) + 1) % len(outlines.FORMS)]
        return outlines.begun(form, *outlines.middle(outline))

    def _put(self, outline: Outline | None) -> None:
        made = outlines.with_outline(self.recipe, self.area, outline)
        if made != self.recipe:
            self.before.append(self.recipe)
            self.recipe = made

    def _write(self) -> bool:
        context = self.context
        if self.changed:
            try:
                context.chosen = context.darkroom.book.write_edited(self.job, self.recipe)
            except LamphouseError as error:
                context.report(str(error))
                return True
            context.to_chosen = True
        context.go_back()
        return True

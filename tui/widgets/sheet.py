"""The sheet, drawn: a test's patches in their tones, or a print with its areas where they lie, in its true proportion."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from itertools import zip_longest

from rich.style import Style
from rich.text import Text
from textual.widgets import Static

from timer.craft.stops import format_stops, listed
from timer.documents.recipe import Recipe
from timer.plans import outlines
from timer.plans.first_sheet import is_first_sheet
from timer.plans.model import Plan
from tui.widgets import canvas
from tui.widgets.canvas import Pixels, framed

Tones = Sequence[tuple[int, int, int]]
CELL_FOR_TIME = 4
SAME_STOPS = 1e-3
"""Less than this is one light."""


def strip_rows(plan: Plan, width: int, height: int = 99) -> list[str]:
    """Patches side by side, each shaded by its light, numbered and timed; where there is no ``height`` for all of it without
    its stops, its second row of shade, its frame, its packs."""
    cell = _cell(plan, width)
    shade = [sign * cell for sign in shades(plan)]
    stops, packs = _stops(plan, cell), _packs(plan, cell)
    tone = [shade, shade]
    for parts in (
        _framed(plan, cell, tone, [*stops, *packs]),
        _framed(plan, cell, tone, packs),
        _framed(plan, cell, [shade], packs),
        _rows(plan, cell, [shade], packs),
        _rows(plan, cell, [shade], []),
    ):
        if len(parts) <= height:
            break
    return ["".join(row) for row in parts]


def shades(plan: Plan) -> list[str]:
    """The shade of each patch by its stops, equal light an equal one. The screen is black: a full block is light paper.

    A test of packs has one density, and its patches differ in colour: all have the middle shade.
    """
    signs, middle = "█▓▒░ ", "▒"
    stops = [math.log2(patch.seconds) for patch in plan.patches]
    low, span = min(stops), max(stops) - min(stops)
    if span < SAME_STOPS or (plan.tests_filters and not is_first_sheet(plan)):
        return [middle] * len(stops)
    return [signs[round(round(4 * (each - low) / span, 6))] for each in stops]


def least_width(plan: Plan) -> int:
    """Cells in which each of its patches can carry its time to two digits and more."""
    return (CELL_FOR_TIME + 1) * len(plan.patches) + 1


def strip_in_tones(plan: Plan, tones: Tones, width: int, height: int) -> Text:
    """The same with each patch in its own tone, ``tones``; as high as there is room, to seven rows of it."""
    cell = _cell(plan, width)
    more = [*_stops(plan, cell), *_packs(plan, cell)]
    rows = max(2, min(7, height - 5 - len(more)))
    parts = _framed(plan, cell, [[" " * cell] * len(tones)] * rows, more)
    out = Text(no_wrap=True)
    for n, row in enumerate(parts):
        for part, at in zip(row, [-1, *(k // 2 for k in range(len(row) - 1))], strict=True):
            toned = 2 <= n < 2 + rows and at >= 0 and len(part) == cell
            out.append(part, Style(bgcolor=canvas.hex_of(tones[at])) if toned else None)
        out.append("\n" if n + 1 < len(parts) else "")
    return out


def _cell(plan: Plan, width: int) -> int:
    return max(3, min(9, (width - 1) // len(plan.patches) - 1))


def _framed(plan: Plan, cell: int, tone: Sequence[Sequence[str]], more: Sequence[Sequence[str]]) -> list[list[str]]:
    """Rows of parts: borders and what is between them."""
    line = ["─" * cell for _ in plan.patches]
    return [_row("┌┬┐", line), *_rows(plan, cell, tone, more), _row("└┴┘", line)]


def _rows(plan: Plan, cell: int, tone: Sequence[Sequence[str]], more: Sequence[Sequence[str]]) -> list[list[str]]:
    """Number, ``tone``, seconds, and what ``more`` there is."""
    numbers = [str(p.patch).center(cell) for p in plan.patches]
    times = [_time(p.seconds, cell).center(cell) for p in plan.patches]
    return [_row("│││", row) for row in (numbers, *tone, times, *more)]


def _stops(plan: Plan, cell: int) -> list[list[str]]:
    """A row of stops from the first; none where all are alike, or have no room."""
    stops = [format_stops(Fraction(p.stops).limit_denominator(24), signed=True) for p in plan.patches]
    if all(text == "0" for text in stops) or max(map(len, stops)) > cell:
        return []
    return [[text.center(cell) for text in stops]]


def _packs(plan: Plan, cell: int) -> list[list[str]]:
    """The packs of a test of packs, a filter a row; none where they have no room."""
    words = [patch.filters.split() for patch in plan.patches]
    if not plan.tests_filters or max(len(word) for row in words for word in row) > cell:
        return []
    return [[word.center(cell) for word in row] for row in zip_longest(*words, fillvalue="")]


def _row(signs: str, parts: Sequence[str]) -> list[str]:
    out = [signs[0]]
    for part in parts:
        out += [part, signs[1]]
    return [*out[:-1], signs[2]]


def _time(seconds: float, width: int) -> str:
    """To as many decimals as have room."""
    fitting = (text for text in (*_finer(seconds), f"{seconds:.1f}") if len(text) <= width)
    return next(fitting, f"{seconds:.0f}"[:width])


def _finer(seconds: float) -> tuple[str, ...]:
    return (listed(seconds), f"{seconds:.2f}") if seconds < 1 else ()


def print_map(recipe: Recipe, shape: float, width: int, height: int, pixels: Pixels | None = None) -> Text:
    """The sheet of ``recipe`` with its areas in their places and what each is given; a frame alone where none has a place.

    ``shape``: its width over its height; ``pixels``: the printer's own picture of it, as many as ``canvas.size`` says.
    """
    there = outlines.outlines(recipe)
    named: dict[str, list[str]] = {}
    for area, amount in outlines.labels(recipe):
        if area in there:
            named.setdefault(area, []).append(amount)
    words = {area: f"{area} {' '.join(amounts)}" for area, amounts in named.items()}
    return framed(there, words, shape, width, height, pixels)


class Sheet(Static):
    """``show`` draws it for the size it has, and it is drawn again for another."""

    _shown: tuple[Plan | None, Recipe | None, Tones, float, Pixels | None] = (None, None, (), 1.0, None)

    def show(
        self,
        plan: Plan,
        recipe: Recipe | None = None,
        tones: Tones = (),
        shape: float = outlines.USUAL,
        pixels: Pixels | None = None,
    ) -> None:
        """Draw the sheet of ``plan``: a test in ``tones``, a print of ``recipe`` over ``pixels``, as ``print_map``."""
        self._shown = (plan, recipe, tones, shape, pixels)
        self._draw()

    def blank(self) -> None:
        """Nothing is shown."""
        self._shown = (None, None, (), 1.0, None)
        self.update("")

    def on_resize(self) -> None:
        self._draw()

    def fit(self, shape: float) -> tuple[int, int]:
        """Pixels across and down that a sheet of ``shape`` has here."""
        return canvas.size(shape, max(12, self.size.width or 38), self.size.height or 12)

    def _draw(self) -> None:
        plan, recipe, tones, shape, pixels = self._shown
        width, height = max(12, self.size.width or 38), self.size.height or 12
        if plan and plan.patches and len(tones) == len(plan.patches):
            self.update(strip_in_tones(plan, tones, width, height))
        elif plan and plan.patches:
            self.update("\n".join(strip_rows(plan, width, height)))
        elif recipe:
            fits = pixels and (len(pixels[0]), len(pixels)) == self.fit(shape)
            self.update(print_map(recipe, shape, width, height, pixels if fits else None))

"""The kinds of values that options and arguments take: each says in help and errors what would be right."""

import os
import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import click

from timer.craft.stops import parse_stops
from timer.text import unfit


def as_stops(ctx: click.Context, param: click.Parameter, value: str) -> Fraction:
    """Callback of an option that takes an amount in stops."""
    try:
        return parse_stops(value)
    except ValueError as error:
        raise click.BadParameter(str(error), ctx, param) from None


LARGEST = 2**63 - 1
"""The largest number that the notebook can hold."""


class Finite(click.FloatRange):
    """A number in a range, named by its ``unit`` in help and errors; inf and nan are in none."""

    def __init__(self, unit: str, least: float, most: float, *, above: bool = False) -> None:
        """``above``: more than ``least``, not just that."""
        super().__init__(least, most, min_open=above)
        self.name = unit

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        try:
            number = float(value)
        except ValueError:
            self.fail(_no_number(value, "a number", self._describe_range()), param, ctx)
        assert self.min is not None and self.max is not None
        if not self.min <= number <= self.max or (self.min_open and number == self.min):
            self.fail(f"{value} is out of range; right would be {self._describe_range()}", param, ctx)
        return number

    def _describe_range(self) -> str:
        return f"{'over ' if self.min_open else ''}{self.min:.10g} to {self.max:.10g}"


class Whole(click.IntRange):
    """A whole number in a range, named by its ``unit`` in help and errors."""

    def __init__(self, unit: str, least: int, most: int) -> None:
        super().__init__(least, most)
        self.name = unit

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        try:
            number = int(value)
        except ValueError:
            self.fail(_no_number(value, "a whole number", self._describe_range() or "1 or more"), param, ctx)
        assert self.min is not None and self.max is not None
        if not self.min <= number <= self.max:
            self.fail(f"{value} is out of range; right would be {self._describe_range() or '1 or more'}", param, ctx)
        return number

    def _describe_range(self) -> str:
        return "" if self.max == LARGEST else f"{self.min} to {self.max}"


def _no_number(value: Any, what: str, span: str) -> str:
    """Why ``value`` cannot be read, and what could."""
    point = re.fullmatch(r"\s*([-+]?\d+),(\d+)\s*", str(value))
    hint = f"; its decimals stand after a point: {point[1]}.{point[2]}" if point else ""
    return f"{value!r} is not {what}; right would be {span}{hint}"


class File(click.Path):
    """The name of a file, there or to be written; a folder is none."""

    def __init__(self) -> None:
        super().__init__(path_type=Path)
        self.name = "file"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if not str(value):
            self.fail("it is empty; give the name of a file", param, ctx)
        path = super().convert(value, param, ctx)
        if os.path.isdir(path):
            self.fail(f"{value}: a folder, not a file", param, ctx)
        return path


FILE = File()


class Line(click.types.StringParamType):
    """Words that will be shown: no control characters, ``most`` letters; ``lines``: it may have several; ``some``: one
    letter at least."""

    name = "text"

    def __init__(self, most: int = 400, *, lines: bool = False, some: bool = False) -> None:
        self._most, self._lines, self._some = most, lines, some

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        found = unfit(value, lines=self._lines)
        if found:
            self.fail(f"it has {found}; write it in plain text", param, ctx)
        if self._some and not value.strip():
            self.fail("it is empty; give it a name", param, ctx)
        if len(value) > self._most:
            self.fail(f"it is {len(value)} letters long; {self._most} at most", param, ctx)
        return str(value)


RUN = Whole("run", 1, LARGEST)
"""The number of a run, which is its sheet's."""
NAME = Line(60, some=True)
"""What something is called."""
APERTURE = Finite("f-number", 1, 128)
SECONDS = Finite("seconds", 0, 3600, above=True)

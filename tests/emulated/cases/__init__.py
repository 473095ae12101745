"""What must hold, case by case. A case is a function from a rig to rows; where and when it runs stands beside it."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from tests.emulated.guest_link import GuestError
from tests.emulated.models import Kind
from tests.emulated.rig import Rig
from tests.emulated.table import Row

Suite = Literal["smoke", "table", "full"]
SUITES: tuple[Suite, ...] = ("smoke", "table", "full")
"""Each has all of the one before it, or a quicker form of it."""


@dataclass(frozen=True)
class Boot:
    """A machine to start: release, first process, kernel parameters, and whether Lamphouse is installed in it.

    ``name`` is added to the board's in the table. ``outlives``: what this kernel makes of the board's outputs whose owner
    dies, where that is not as the model says.
    """

    name: str = ""
    release: str = "bookworm"
    init: str = "/init"
    append: str = ""
    bare: bool = False
    outlives: bool | None = None


PLAIN = Boot()
Run = Callable[[Rig], Iterator[Row]]


@dataclass(frozen=True)
class Case:
    """``suites``: those in which it runs."""

    name: str
    run: Run
    suites: tuple[Suite, ...]
    boards: tuple[Kind, ...] = ("virt", "raspi3b")
    boot: Boot = PLAIN


def attempt(rig: Rig, what: str, rows: Iterable[Row]) -> Iterator[Row]:
    """The rows, or one that says why they did not come: one thing that fails does not keep the next from being tried."""
    try:
        yield from rows
    except GuestError as error:
        yield rig.row(what, False, f"could not be tried: {error}")

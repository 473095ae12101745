"""What must hold, case by case. A case is a function from a rig to rows; where and when it runs stands beside it."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from tests.emulated.guest_link import GuestError
from tests.emulated.models import Kind
from tests.emulated.rig import Rig
from tests.emulated.says import say
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


def attempt(rig: Rig, what: str, rows: Callable[..., Iterable[Row]], *arguments: object, **options: object) -> Iterator[Row]:
    """The rows of ``rows(rig, ...)``, or one that says why they did not come: what fails does not keep the next from being tried.

    The emulator's processors share those of this machine, which may hold them up for longer than a bar is: what fails is
    tried once more, and both figures are said.
    """
    first = list(_tried(rig, what, rows, *arguments, **options))
    if all(row.verdict != "FAILS" for row in first):
        yield from first
        return
    before = {row.what: row.figure for row in first if row.verdict == "FAILS"}
    say(f"{rig.name}: tried once more: {'; '.join(f'{name}: {figure}' for name, figure in before.items())}")
    for row in _tried(rig, what, rows, *arguments, **options):
        failed = before.get(row.what)
        yield replace(row, figure=f"{row.figure} (at first {failed})") if failed else row


def _tried(rig: Rig, what: str, rows: Callable[..., Iterable[Row]], *arguments: object, **options: object) -> Iterator[Row]:
    try:
        yield from rows(rig, *arguments, **options)
    except GuestError as error:
        yield rig.row(what, False, f"could not be tried: {error}")

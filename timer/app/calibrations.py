"""What the printer has measured and keeps, heads, boxes of paper and papers' curves, and what sheets have taught of them.

What is imported within a function is for the start-up time: what sheets teach is numpy's, and few commands ask for it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from timer.app.notebooks import existing
from timer.craft.enlargement import exponent_from, size_factor
from timer.craft.filters import parse_pack
from timer.craft.heads import HEADS
from timer.documents.calibrations import Box, BoxMeasured, Corrections, HeadMeasured, box_named, head_exponent
from timer.documents.calibrations_file import corrections_file, load_corrections, save_corrections
from timer.documents.files import is_there
from timer.documents.folders import notebook_file
from timer.documents.paper_curves import KeptCurve, curve_named, none_kept
from timer.documents.paper_curves_file import curves_file, forget_curves, load_curves
from timer.documents.settings_file import load_settings
from timer.errors import Refused
from timer.notebook.sheets import last_begun

if TYPE_CHECKING:
    from timer.craft.learn import Learned
    from timer.measure.learned import Which


@dataclass(frozen=True, eq=False)
class Taught:
    """What sheets have taught of the head and paper ``which``; ``reversal``: on paper that gets lighter with light."""

    which: "Which"
    learned: "Learned"
    reversal: bool

    @property
    def says(self) -> str:
        """Of how many sheets, and how sure."""
        from timer.measure.advise import learned_from

        return learned_from(self.learned)

    def data(self) -> dict[str, Any]:
        """Its numbers for JSON."""
        from timer.measure.advise import learned_json

        return learned_json(self.learned)


@dataclass(frozen=True, eq=False)
class Kept:
    """All of it: ``measured`` heads and boxes, ``curves``, and what was ``taught``."""

    measured: Corrections
    curves: tuple[KeptCurve, ...]
    taught: tuple[Taught, ...]


def all_kept(notebook_path: Path | None) -> Kept:
    """What is kept, and what the notebook's sheets teach beside it. LamphouseError where a file cannot be read."""
    measured = load_corrections(corrections_file())
    return Kept(measured, load_curves(curves_file()), _taught(notebook_path, measured.forgotten))


def keep_head(name: str, from_m: float, to_m: float, ratio: float) -> HeadMeasured:
    """Keep the exponent of head ``name`` by the time ``ratio`` of two prints of one density at two magnifications.

    Refused for the name of a kind of head, and for prints from which none can be told.
    """
    if name in HEADS:
        raise Refused(f"{', '.join(HEADS)} are kinds of heads; give yours a name of its own")
    try:
        exponent = exponent_from(from_m, to_m, ratio)
    except ValueError as error:
        raise Refused(str(error)) from None
    note = f"x {ratio:g} from magnification {from_m:g} to {to_m:g}; the formula says x {size_factor(from_m, to_m):.3f}"
    made = HeadMeasured(exponent, note)
    kept = load_corrections(corrections_file())
    _save(kept, heads=kept.heads | {name: made})
    return made


def keep_box(name: str, time: float, pack: str) -> None:
    """Keep the ``time`` of new box ``name`` over that of the old one, and its change of ``pack``. Refused for none."""
    try:
        parse_pack(pack)
    except ValueError as error:
        raise Refused(str(error)) from None
    if not 0.1 < time < 10:
        raise Refused(f"a time ratio of {time:g} between two boxes cannot be; 1.08 is 8 % more")
    kept = load_corrections(corrections_file())
    _save(kept, boxes=kept.boxes | {name: BoxMeasured(time, pack)})


def box_kept(name: str) -> Box:
    """The box that was measured as ``name``. LamphouseError when none was."""
    return box_named(load_corrections(corrections_file()), name)


def exponent_kept(head: str) -> float:
    """The measured exponent of ``head``. LamphouseError when it was never measured."""
    return head_exponent(load_corrections(corrections_file()), head)


def forget(name: str, notebook_path: Path | None) -> str:
    """Forget a measured head, box or curve, or what sheets have taught until now; what that was, in words.

    Refused where nothing is kept of ``name``.
    """
    kept = load_corrections(corrections_file())
    own = next((each for each in load_curves(curves_file()) if each.name == name), None)
    if own:
        forget_curves(curves_file(), own.paper, own.grade)
        return f"curve of {name} is forgotten."
    if name in kept.heads:
        _save(kept, heads=_without(kept.heads, name))
        return f"head {name} is forgotten."
    if name in kept.boxes:
        _save(kept, boxes=_without(kept.boxes, name))
        return f"box {name} is forgotten."
    if name in {each.which.name for each in _taught(notebook_path, kept.forgotten)}:
        _save(kept, forgotten=kept.forgotten | {name: _until(notebook_path)})
        said = "what was learned until now is forgotten; the sheets stay in the notebook, and --undo takes this back."
        return f"{name}: {said}"
    raise _nothing_kept(name)


def remember(name: str) -> None:
    """What sheets have taught of head and paper ``name`` counts again. Refused where it is not forgotten."""
    kept = load_corrections(corrections_file())
    if name not in kept.forgotten:
        raise _nothing_kept(name)
    _save(kept, forgotten=_without(kept.forgotten, name))


def curves_of(paper: str, grade: str | None = None) -> list[KeptCurve]:
    """The kept curves of ``paper``, of one ``grade`` or of all. Refused where there is none."""
    kept = load_curves(curves_file())
    found = [each for each in kept if each.is_of(paper, grade)]
    if not found:
        raise Refused(none_kept(kept, paper, grade))
    return found


def curve_of(paper: str, grade: str) -> KeptCurve:
    """The kept curve of ``paper`` and ``grade``; empty: no filter in. Refused where there is none."""
    kept = load_curves(curves_file())
    found = curve_named(kept, paper, grade)
    if not found:
        raise Refused(none_kept(kept, paper, grade))
    return found


def forget_curves_of(paper: str, grade: str | None = None) -> list[KeptCurve]:
    """Forget the curves of ``paper``, of one ``grade`` or of all; which they were. LamphouseError where there is none."""
    return forget_curves(curves_file(), paper, grade)


def _save(kept: Corrections, **changes: Any) -> None:
    save_corrections(corrections_file(), msgspec.structs.replace(kept, **changes))


def _without(kept: dict[str, Any], name: str) -> dict[str, Any]:
    return {key: value for key, value in kept.items() if key != name}


def _nothing_kept(name: str) -> Refused:
    return Refused(f"nothing is kept of {name!r}; `lamphouse calibrations list` shows the names")


def _until(path: Path | None) -> str:
    """A time that no sheet of the notebook was begun after, whatever the clock says: the last of them, or now."""
    with existing(path) as notebook:
        return last_begun(notebook) or datetime.now().astimezone().isoformat()


def _taught(path: Path | None, forgotten: Mapping[str, str]) -> tuple[Taught, ...]:
    """What the notebook's sheets teach, nothing where there is no notebook."""
    path = path or notebook_file()
    if not is_there(path):
        return ()
    from timer.measure.learned import KINDS, every, old_sheets

    mine = load_settings().head
    with existing(path) as notebook:
        found = [each for kind in KINDS for each in every(old_sheets(notebook, mine, kind, forgotten))]
    return tuple(Taught(which, learned, sign < 0) for which, learned, sign in found)

"""Sheets of one negative that were printed at several apertures: their seconds, as at the last one's."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from timer.craft.enlargement import aperture_factor
from timer.measure.sheet import Sheet


def at_one_aperture(sheets: Sequence[Sheet], marked: Mapping[int, float | None]) -> tuple[list[Sheet], list[str]]:
    """``sheets`` with the seconds that the last one's aperture would have needed, and what is to be said of it.

    ``marked``: f-number of each sheet's aperture by its run, None where none is written. Those are taken as unchanged.
    """
    here = marked[sheets[-1].run]
    out, notes = list[Sheet](), list[str]()
    for each in sheets:
        there = marked[each.run]
        if here and there and here != there:
            factor = aperture_factor(there, here)
            each = replace(each, lights=tuple(replace(g, seconds=g.seconds * factor) for g in each.lights))
            notes.append(
                f"sheet {each.run} was made at f/{there:g}: its seconds count as {factor:.3g} times as many at f/{here:g}"
            )
        elif (here is None) != (there is None):
            written, other = (each.run, sheets[-1].run) if there else (sheets[-1].run, each.run)
            notes.append(
                f"sheet {written} has its aperture written and sheet {other} has not: they are taken as made at the same one"
            )
        out.append(each)
    return out, notes

"""Grade and base time for a negative by a paper's kept curves: of a range of densities, or of two places on a test print."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from timer.app.notebooks import existing
from timer.bench.paper import RANGE_OF_GRADE
from timer.craft.bw_curve import iso_points
from timer.craft.bw_grade import log_time, needed_r, negative_range, range_between, shadow_of
from timer.craft.paper import grade_factor, grade_of_range
from timer.documents.paper_curves import KeptCurve, comparable
from timer.errors import Refused
from timer.measure.bw_sheet import density_of, light_of_print
from timer.notebook.readings import readings


@dataclass(frozen=True)
class TestPrint:
    """Two places read on a print of so many seconds through a grade: their densities."""

    __test__ = False  # for pytest: it is none of its own

    light: float
    dark: float
    seconds: float
    grade: str


def test_print(run: int, light: str, dark: str, notebook_path: Path | None) -> TestPrint:
    """The test print of sheet ``run``, read at its samples ``light`` and ``dark``. Refused where there are none such, or
    they had different light."""
    with existing(notebook_path) as notebook:
        row, exposures = notebook.run(run), notebook.exposures(run)
        by_name = {each.sample.lower(): each for each in readings(notebook, run)}
    for name in (light, dark):
        if name.lower() not in by_name:
            known = ", ".join(each.sample for each in by_name.values()) or "none"
            raise Refused(f"sheet {run} has no sample {name!r}; it has: {known}")
    given = [light_of_print(row, exposures, name) for name in (light, dark)]
    if given[0] != given[1]:
        raise Refused(f"{light!r} and {dark!r} are of patches with different light; both places must be of one patch")
    read = [density_of(by_name[name.lower()]) for name in (light, dark)]
    return TestPrint(read[0], read[1], *given[0])


def grades(
    mine: Sequence[KeptCurve],
    density_range: float | None,
    test: TestPrint | None,
    highlight: float | None,
    shadow: float | None,
) -> dict[str, Any]:
    """The grade of the paper of the curves ``mine`` that holds a negative's range, and what each of its grades does.

    ``density_range`` of the negative, between a light and a dark place, else as the ``test`` print has it: then the seconds
    of the next print are known too. ``highlight``, ``shadow``: densities they are to have; None: 0.04 above base, and 90 %
    of the greatest. Refused where ``test`` is of a grade that has no curve, or its places are off it.
    """
    made_on = _curve_of(test, mine) if test else None
    if test and made_on:
        with _named(made_on):
            density_range = negative_range(made_on.curve, test.light, test.dark)
    assert density_range is not None
    rows = []
    for each in mine:
        with _named(each):
            row, light = _does(each, density_range, highlight, shadow)
            if test and made_on:
                row |= _time(test, made_on, each, light)
            rows.append(row)
    best = min(rows, key=lambda row: abs(row["holds"] - density_range))
    return {
        "paper": mine[0].paper,
        "range": round(density_range, 3),
        "grades": sorted(rows, key=lambda row: -row["r"]),
        "best": best["grade"],
        "r_needed": best["r_needed"],
        "seconds": best["seconds"],
        **by_table(best["r_needed"]),
    }


def _curve_of(test: TestPrint, mine: Sequence[KeptCurve]) -> KeptCurve:
    """The one that the test print is made on. Refused where there is none."""
    made_on = next((each for each in mine if each.grade == test.grade), None)
    if not made_on:
        known = ", ".join(each.grade or "no filter" for each in mine)
        raise Refused(
            f"the test print is of grade {test.grade or '(no filter)'}, of which {mine[0].paper} has no curve; there are: "
            f"{known}"
        )
    return made_on


def _does(
    kept: KeptCurve, density_range: float, highlight: float | None, shadow: float | None
) -> tuple[dict[str, Any], float]:
    """What a grade does with the negative's range, and the density of its light place. ValueError off its curve."""
    curve, iso = kept.curve, iso_points(kept.curve)
    light = highlight if highlight is not None else curve.density_at(iso.highlight)
    dark = shadow if shadow is not None else curve.density_at(iso.shadow)
    row = {
        "grade": kept.grade,
        "r": round(iso.r, 1),
        "holds": round(range_between(curve, light, dark), 3),
        "highlight": round(light, 3),
        "shadow": round(shadow_of(curve, density_range, light), 3),
        "shadow_wanted": round(dark, 3),
        "r_needed": round(needed_r(curve, iso, density_range, light, dark), 1),
        "seconds": None,
        "by_usual_factor": False,
    }
    return row, light


def _time(test: TestPrint, made_on: KeptCurve, each: KeptCurve, light: float) -> dict[str, Any]:
    """Seconds on the curve of ``each``; by the usual factor between filters where the curves share no unit."""
    if made_on == each or comparable(made_on, each):
        step = log_time(made_on.curve, test.light, each.curve, light)
        return {"seconds": float(f"{test.seconds * 10**step:.6g}")}
    if not (made_on.grade and each.grade):
        return {}
    factor = grade_factor(made_on.grade, each.grade)
    step = log_time(made_on.curve, test.light, each.curve, light, new_over_old=factor)
    return {"seconds": float(f"{test.seconds * 10**step:.6g}"), "by_usual_factor": True}


@contextmanager
def _named(kept: KeptCurve) -> Iterator[None]:
    """What the arithmetic refuses within, in one sentence that says of which curve."""
    try:
        yield
    except ValueError as error:
        raise Refused(f"{kept.name}: {error}") from None


def by_table(r: float) -> dict[str, Any]:
    """For a range ``r`` of the light (ISO R) the contrast filter whose usual R is nearest, and the grade of graded paper;
    None off the table."""
    try:
        graded: int | None = grade_of_range(r)
    except ValueError:
        graded = None
    filters = min(RANGE_OF_GRADE, key=lambda grade: abs(RANGE_OF_GRADE[grade] - r))
    near = min(RANGE_OF_GRADE.values()) - 10 <= r <= max(RANGE_OF_GRADE.values()) + 20
    return {"usual_filter": filters if near else None, "graded_paper": graded}

"""Black-and-white sheets from the notebook's own rows: exposures, grades, names of samples, what is refused."""

import math
from dataclasses import replace
from fractions import Fraction

import pytest

from timer.bench import paper
from timer.documents.reading import Reading
from timer.documents.recipe import Burn, Dodge, Enlargement, Filters, Flash, Paper, Recipe
from timer.documents.recipe_light import Pass
from timer.errors import Refused
from timer.measure.bw_sheet import bw_sheet, curve_of, density_of, error_of, light_of_print
from timer.notebook.rows import ExposureRow, RunRow
from timer.plans.model import Plan
from timer.plans.print import print_plan
from timer.plans.strip import strip_plan

STRIP = strip_plan(0.5, Fraction(1, 2), 14, "cover", paper="bw", parts=(Pass("grade 2"),))
RECIPE = Recipe(
    recipe=1,
    title="Tablet",
    base_s=10.0,
    paper=Paper("bw", "Pearl"),
    negative="tablet",
    filters=Filters(grade="2"),
    enlargement=Enlargement(sheet="18x24cm", aperture=8.0),
)
PRINT = print_plan(RECIPE)
STEPS = [0.05 + 0.15 * n for n in range(21)]
PRINTED = {str(n): d for n, d in enumerate(STEPS, 1)}


def sheet_of(plan: Plan, state: str = "finished") -> tuple[RunRow, list[ExposureRow]]:
    """As the notebook has it after an instant lamp gave all that was asked for."""
    row = RunRow(5, "", "", state, "", plan.kind, plan.title, plan, "", "", 0.0, 0.0, None, plan.paper)
    lit = [(n, step) for n, step in enumerate(plan.steps) if step.do == "expose"]
    exposures = [
        ExposureRow(5, number, n, step.area, step.seconds, 0, b"", True, 0, us := round(step.seconds * 1e6), us, "complete")
        for number, (n, step) in enumerate(lit)
    ]
    return row, exposures


def read(name: str, density: float, kind: str = "") -> Reading:
    return Reading(name, None, None, None, density, kind)  # type: ignore[arg-type]


VC = paper.filter_light("2")


def drawn(seconds: float, lux: float = 1.0) -> float:
    return float(paper.vc_density(VC[0] * seconds * lux, VC[1] * seconds * lux))


def strip_readings(lux: float = 1.0) -> list[Reading]:
    return [read(str(patch.patch), drawn(patch.seconds, lux)) for patch in STRIP.patches]


def test_a_strip() -> None:
    found = bw_sheet(*sheet_of(STRIP), [*strip_readings(), read("aim", 0.7), read("3 by eye", 0.2, "eye")], RECIPE)
    assert (found.run, found.paper, found.grade) == (5, "Pearl", "2") and found.set_up == "tablet, 18x24cm, f/8"
    assert [point.sample for point in found.points] == [str(n) for n in range(1, 15)]
    for point, patch in zip(found.points, STRIP.patches, strict=True):
        assert point.seconds == pytest.approx(patch.seconds, rel=1e-4)
        assert point.log_exposure == pytest.approx(math.log10(patch.seconds), abs=1e-4)
    assert found.base is found.black is None


@pytest.mark.parametrize("way", ["cover", "uncover", "window"])
def test_every_way_of_making_it(way: str) -> None:
    plan = strip_plan(2.0, Fraction(1, 3), 5, way, paper="bw")  # type: ignore[arg-type]
    found = bw_sheet(*sheet_of(plan), [read(str(n), n / 3) for n in range(1, 6)])
    assert [point.seconds for point in found.points] == pytest.approx([2 * 2 ** (n / 3) for n in range(5)], rel=1e-4)
    assert (found.grade, found.paper, found.set_up) == ("", "", "")


def test_lux_and_names() -> None:
    named = [read("patch 3", 0.5), read("P01", 0.2), read("a2", 0.3), read("Base", 0.05), read("BLACK", 2.1)]
    found = bw_sheet(*sheet_of(STRIP), named, lux=2.0)
    assert [(point.sample, point.density) for point in found.points] == [("1", 0.2), ("2", 0.3), ("3", 0.5)]
    assert found.points[0].log_exposure == pytest.approx(math.log10(2.0 * 0.5), abs=1e-4)
    assert (found.base, found.black) == (0.05, 2.1)


def test_a_tablet_printed_on_one_sheet() -> None:
    readings = [read(name, drawn(10 * 10**-d)) for name, d in PRINTED.items()]
    found = bw_sheet(*sheet_of(PRINT), readings, RECIPE, printed=PRINTED)
    assert [point.sample for point in found.points] == [str(n) for n in range(21, 0, -1)]
    assert [point.log_exposure for point in found.points] == pytest.approx([1 - d for d in STEPS[::-1]], abs=1e-4)
    assert [point.seconds for point in found.points] == pytest.approx([10] * 21)
    with_lux = bw_sheet(*sheet_of(PRINT), readings, RECIPE, printed=PRINTED, lux=100.0)
    assert with_lux.points[0].log_exposure == pytest.approx(3 - STEPS[-1], abs=1e-4)
    by_name = bw_sheet(*sheet_of(PRINT), [read("Step B", 1.0)], printed={"step b": 0.3})
    assert by_name.points[0].log_exposure == pytest.approx(0.7, abs=1e-4)
    assert bw_sheet(*sheet_of(PRINT), [read("step 02", 1.0)], printed=PRINTED).points[0].sample == "2"


def test_the_density_and_its_error() -> None:
    assert density_of(Reading("1", 0.5, 0.6, 0.7, 0.9)) == 0.9
    assert density_of(Reading("1", 0.5, 0.6, 0.7, None)) == pytest.approx(0.6)
    assert density_of(Reading("1", None, 0.6, 0.8, None)) == pytest.approx(0.7)
    with pytest.raises(Refused, match="sample 1 has no density"):
        density_of(Reading("1", None, None, None, None))
    assert [error_of(read("1", 1, kind)) for kind in ("", "scan", "colorimeter")] == [0.01, 0.03, 0.01]
    assert error_of(Reading("1", 1, 1, 1, None, "scan", 0.3)) == 0.3


def refused(says: str, row: RunRow, exposures: list[ExposureRow], readings: list[Reading], **more: object) -> None:
    with pytest.raises(Refused, match=says):
        bw_sheet(row, exposures, readings, **more)  # type: ignore[arg-type]


def test_what_is_refused() -> None:
    some = [read("1", 0.5)]
    refused("colour paper", *sheet_of(replace(STRIP, paper="ra4")), some)
    refused("was interrupted", *sheet_of(STRIP, "stopped"), some)
    refused("has no readings", *sheet_of(STRIP), [])
    refused("has no readings", *sheet_of(STRIP), [read("aim", 0.7), read("base", 0.05), read("2 by eye", 1, "eye")])
    refused(r"no patch '15'; its patches are 1 to 14, and there are 'base'", *sheet_of(STRIP), [read("15", 1)])
    refused("no patch 'grey card'", *sheet_of(STRIP), [read("grey card", 1)])
    refused("is no strip", *sheet_of(PRINT), some)
    refused("no step '22'; its steps are 1 to 21", *sheet_of(PRINT), [read("22", 1)], printed=PRINTED)
    refused("is a strip; a step tablet is printed on one sheet", *sheet_of(STRIP), some, printed=PRINTED)
    split = strip_plan(1.0, Fraction(1), 3, "window", paper="bw", parts=(Pass("grade 00"), Pass("grade 5")))
    refused("grade 00 and grade 5; a curve is of one grade", *sheet_of(split), some)
    pack = strip_plan(1.0, Fraction(1), 3, "window", paper="", parts=(Pass("60M 50Y"),))
    refused("60M 50Y, which is no contrast grade", *sheet_of(pack), some)


def test_a_tablet_is_printed_plainly() -> None:
    import msgspec

    for change in (
        {"dodge": (Dodge("sky", Fraction(1, 2)),)},
        {"burn": (Burn("sky", Fraction(1, 2)),)},
        {"flash": Flash(0.5)},
    ):
        plan = print_plan(msgspec.structs.replace(RECIPE, **change))
        refused("dodged, burnt or flashed", *sheet_of(plan), [read("1", 1)], printed=PRINTED)


def test_the_light_of_a_test_print() -> None:
    assert light_of_print(*sheet_of(PRINT), "sky") == (pytest.approx(10), "2")
    seconds, grade = light_of_print(*sheet_of(STRIP), "3 sky")
    assert (seconds, grade) == (pytest.approx(1.0, rel=1e-4), "2")
    with pytest.raises(Refused, match="which patch is 'sky'"):
        light_of_print(*sheet_of(STRIP), "sky")
    with pytest.raises(Refused, match="which patch is '15 sky'"):
        light_of_print(*sheet_of(STRIP), "15 sky")


# ── the curve ────────────────────────────────────────────────────────────────


def test_r_and_p_of_the_virtual_paper_from_a_strip_and_from_a_tablet() -> None:
    from timer.craft.bw_curve import iso_points

    strip = bw_sheet(*sheet_of(STRIP), strip_readings(1.0), lux=1.0)
    found = iso_points(curve_of([strip]))
    assert found.r == pytest.approx(paper.RANGE_OF_GRADE["2"], abs=3)
    assert found.p == pytest.approx(paper.SPEED_OF_FILTERS, rel=0.02)
    bright = 10.0  # lux
    steps = [read(name, drawn(10 * 10**-d, bright)) for name, d in PRINTED.items()]
    tablet = bw_sheet(*sheet_of(PRINT), steps, printed=PRINTED, lux=bright)
    again = iso_points(curve_of([tablet]))
    assert again.r == pytest.approx(found.r, abs=2) and again.p == pytest.approx(found.p, rel=0.02)
    both = iso_points(curve_of([strip, tablet]))
    assert both.r == pytest.approx(found.r, abs=2)


def test_short_of_an_end_says_what_would_reach_it() -> None:
    strip = bw_sheet(*sheet_of(STRIP), [one for one in strip_readings() if one.visual and one.visual > 0.2])
    with pytest.raises(
        Refused,
        match=r"sheet 5: the readings do not reach the paper's white \(0\.\d\d at patch \d+\): make one more: `lamphouse "
        r"strip --from [\d.]+ --step 1/2 --patches \d+ --grade '2'`, and name its number here with 5; or read an edge that "
        r"had no light as sample 'base'",
    ):
        curve_of([strip])
    short = replace(strip, points=tuple(point for point in strip.points if 0.3 < point.density < 1.8))
    with pytest.raises(Refused, match="paper's white .* paper's black .* as sample 'black'"):
        curve_of([short])
    steps = [read(name, drawn(10 * 10**-d, 0.5)) for name, d in PRINTED.items()]
    tablet = bw_sheet(*sheet_of(PRINT), steps, printed=PRINTED)
    with pytest.raises(Refused, match=r"black \(\d\.\d\d at step 1\): print the tablet once more at \d+ s, and name its"):
        curve_of([tablet])
    with pytest.raises(Refused) as error:  # black was read by itself, and yet the shadow is not among the steps
        curve_of([replace(tablet, black=2.1)])
    assert "sample" not in str(error.value)


def test_white_and_black_from_samples_and_as_said() -> None:
    inside = [one for one in strip_readings() if one.visual and 0.065 < one.visual < 2.08]
    with pytest.raises(Refused, match="do not reach"):
        curve_of([bw_sheet(*sheet_of(STRIP), inside)])
    ends = [read("base", 0.06), read("black", 2.10)]
    sampled = curve_of([bw_sheet(*sheet_of(STRIP), [*inside, *ends])])
    assert (sampled.base, sampled.darkest) == (0.06, 2.10)
    said = curve_of([bw_sheet(*sheet_of(STRIP), [*inside, *ends])], base=0.05, black=2.12)
    assert (said.base, said.darkest) == (0.05, 2.12)
    two = [bw_sheet(*sheet_of(STRIP), [*inside, read("base", base), read("black", 2.1)]) for base in (0.05, 0.07)]
    assert curve_of(two).base == pytest.approx(0.06)


def test_no_curve_at_all() -> None:
    with pytest.raises(Refused, match="sheet 5: a curve needs 5 different exposures"):
        curve_of([bw_sheet(*sheet_of(STRIP), [read("1", 0.1), read("2", 0.9)])])
    backwards = [read(str(patch.patch), 2.1 - drawn(patch.seconds)) for patch in STRIP.patches]
    with pytest.raises(Refused, match="sheet 5: more light gave less density"):
        curve_of([bw_sheet(*sheet_of(STRIP), backwards)])

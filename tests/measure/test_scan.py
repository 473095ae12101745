"""A test sheet read from its scan, beside the densities that were laid on the scanner's bed."""

import random
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.tools.scans import Bed, White, save, scanned
from timer.craft.filters import Pack
from timer.documents.recipe_file import parse_recipe
from timer.errors import Refused
from timer.measure.find import Box
from timer.measure.picture import Picture, load
from timer.measure.scan import Scan, read_scan
from timer.plans.first_sheet import first_sheet_plan
from timer.plans.print import print_plan
from timer.plans.strip import strip_plan

PLAN = first_sheet_plan(Pack(0, 60, 50), 10.0, "dichroic")
PATCHES = np.asarray([[0.93, 0.85, 0.80], [0.62, 0.55, 0.52], [1.28, 1.17, 1.10], [0.92, 0.62, 0.79], [0.93, 0.84, 0.58]])
AIM = np.asarray([0.76, 0.74, 0.72])
TABLET = [0.06, 0.21, 0.36, 0.51, 0.66, 0.81, 0.96, 1.11, 1.26, 1.41, 1.56]


def bed(*, askew: float = 3.0, upright: bool = False, turned: bool = False, gap: float = 0.0, aim: bool = True) -> Bed:
    made = Bed(700, 500)
    patches = PATCHES[::-1] if turned else PATCHES
    if upright:
        made.sheet(patches, 200, 250, 380, 90, askew=askew, upright=True, gap=gap)
    else:
        made.sheet(patches, 330, 150, 460, 90, askew=askew, gap=gap)
    if aim:
        made.lay(500, 380, 120, 100, White, -2)
        made.lay(500, 380, 90, 70, AIM, -2)
    return made


def tablet(made: Bed, x: float, y: float, *, askew: float = 0.0) -> Bed:
    made.sheet(np.repeat(np.asarray(TABLET)[:, None], 3, axis=1), x, y, 440, 50, border=6, askew=askew, white=(0.06,) * 3)
    return made


def read(path: Path, made: Bed, seed: int = 1, boxes: dict[str, Box] | None = None, **options: object) -> Scan:
    how = {key: options.pop(key) for key in ("noise", "flare", "cross", "gamma", "light", "stretch") if key in options}
    bits = options.pop("bits", 8)
    file = save(path, scanned(made, random.Random(seed), **how), bits)  # type: ignore[arg-type]
    return read_scan(load(file), PLAN, boxes or {}, **options)  # type: ignore[arg-type]


def less_aim(found: Scan) -> np.ndarray:
    by_name = {patch.sample: np.asarray(patch.density) for patch in found.patches}
    return np.asarray([by_name[str(n)] - by_name["aim"] for n in range(1, len(by_name))])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=12)
@given(
    askew=st.floats(-6, 6),
    upright=st.booleans(),
    turned=st.booleans(),
    gap=st.sampled_from([0, 5, 16]),
    seed=st.integers(0, 99),
)
def test_patches_are_found_however_the_sheet_lies(
    tmp_path: Path, askew: float, upright: bool, turned: bool, gap: float, seed: int
) -> None:
    found = read(tmp_path / "s.png", bed(askew=askew, upright=upright, turned=turned, gap=gap), seed)
    assert found.turned == turned and found.follows > 0.9
    assert any("other way round" in note for note in found.notes) == turned
    assert np.abs(less_aim(found) - (PATCHES - AIM)).max() < 0.13  # 0.5 off the aim, its curve and colours not ours
    assert np.abs(less_aim(found) - (PATCHES - AIM))[0].max() < 0.05


@pytest.mark.parametrize(("name", "bits"), [("s.jpg", 8), ("s.tif", 8), ("s.tif", 16), ("s.png", 16)])
def test_every_form_reads_alike(tmp_path: Path, name: str, bits: int) -> None:
    found = read(tmp_path / name, bed(), bits=bits)
    assert np.abs(less_aim(found) - (PATCHES - AIM)).max() < 0.13


def test_a_linear_scan(tmp_path: Path) -> None:
    found = read(tmp_path / "s.tif", bed(), bits=16, gamma=1.0, curve="linear", noise=0.001)
    assert np.abs(less_aim(found) - (PATCHES - AIM)).max() < 0.1


def test_white_paper_is_where_densities_begin(tmp_path: Path) -> None:
    made = Bed(700, 500, lid=0.11)
    made.sheet(PATCHES, 330, 150, 460, 90)
    made.lay(500, 380, 90, 70, AIM)
    found = read(tmp_path / "s.png", made, flare=0.0, cross=0.0, light=0.9)
    assert found.patches[-1].density == pytest.approx(AIM, abs=0.03)


@pytest.mark.parametrize("askew", [-4.0, 0.0, 4.0])
def test_a_step_tablet_makes_readings_absolute(tmp_path: Path, askew: float) -> None:
    """Whatever the curve, the exposure and the flare: within 0.03 of what was laid there, but for the colours' crosstalk."""
    made = tablet(bed(aim=False), 330, 380, askew=askew)
    found = read(tmp_path / "s.png", made, tablet=TABLET, gamma=1.6, light=0.85, flare=0.01, cross=0.0)
    assert len(found.tablet) == len(TABLET) and len(found.patches) == 5
    assert np.abs(np.asarray([patch.density for patch in found.patches]) - PATCHES).max() < 0.03
    assert any("of the tablet's contrast" in note for note in found.notes)
    turned = read(tmp_path / "t.png", made, tablet=TABLET[::-1], gamma=1.6, cross=0.0)
    assert np.abs(np.asarray([patch.density for patch in turned.patches]) - PATCHES).max() < 0.03


def test_boxes_by_hand(tmp_path: Path) -> None:
    made = bed(askew=0)
    by_hand = {"aim": Box(480, 360, 40, 40), "3": Box(310, 130, 40, 40)}
    found = read(tmp_path / "s.png", made, boxes=by_hand)
    assert {patch.sample: patch.box for patch in found.patches}["3"] == by_hand["3"]
    with pytest.raises(Refused, match="not on the picture"):
        read(tmp_path / "t.png", made, boxes={"aim": Box(5000, 5000, 40, 40)})
    every = {str(n): Box(85 + 92 * n - 72, 130, 40, 40) for n in range(1, 6)} | {"aim": by_hand["aim"]}
    assert np.abs(less_aim(read(tmp_path / "u.png", made, boxes=every)) - (PATCHES - AIM)).max() < 0.13
    mixed = every | {"1": every["3"], "3": every["2"], "2": every["1"]}
    assert any("in its order" in note for note in read(tmp_path / "v.png", made, boxes=mixed).notes)


def test_what_cannot_be_read_is_said(tmp_path: Path) -> None:
    with pytest.raises(Refused, match="nothing to compare with"):
        read(tmp_path / "a.png", bed(aim=False))
    with pytest.raises(Refused, match="no row of 5 patches"):
        read(tmp_path / "b.png", Bed(700, 500))
    with pytest.raises(Refused, match="no step tablet of 11 steps"):
        read(tmp_path / "c.png", bed(), tablet=TABLET)
    other = Bed(700, 500)  # a sheet whose patches only get darker
    other.sheet(np.repeat(np.linspace(0.4, 1.4, 5)[:, None], 3, axis=1), 330, 150, 460, 90)
    with pytest.raises(Refused, match="is it this sheet"):
        read(tmp_path / "d.png", other)
    picture = bed()
    for n in range(6):  # a print beside it, not a grey place of one
        picture.lay(470 + 12 * n, 380, 12, 70, [0.3 + 0.25 * n] * 3)
    with pytest.raises(Refused, match="mark the grey place"):
        read(tmp_path / "e.png", picture)
    grey = load(save(tmp_path / "f.png", scanned(bed(), random.Random(1))))
    with pytest.raises(Refused, match="grey scan tells no colour"):
        read_scan(Picture(grey.values, grey.samples, 1, 8, True), PLAN, {})


def test_a_print_has_its_place_marked(tmp_path: Path) -> None:
    plan = print_plan(parse_recipe('recipe = 1\ntitle = "Quay"\nbase_s = 12\n[paper]\nkind = "ra4"\n'))
    picture = load(save(tmp_path / "s.png", scanned(bed(askew=0), random.Random(1))))
    with pytest.raises(Refused, match="mark it, like --box grey="):
        read_scan(picture, plan, {})
    found = read_scan(picture, plan, {"grey": Box(310, 130, 40, 40), "aim": Box(480, 360, 40, 40)})
    assert [patch.sample for patch in found.patches] == ["grey", "aim"]
    assert found.patches[0].density[0] - found.patches[1].density[0] == pytest.approx(1.28 - 0.76, abs=0.1)


def notes(found: Scan) -> str:
    return " / ".join(found.notes)


def test_what_is_odd_of_a_patch_is_noticed(tmp_path: Path) -> None:
    assert notes(read(tmp_path / "a.png", bed(askew=0))) == ""
    wet = bed(askew=0)
    wet.density[105:195, 270:330] -= 0.25  # half of the third patch
    found = read(tmp_path / "b.png", wet)
    assert "patch 3 is uneven" in notes(found) and notes(found).count("uneven") == 1
    third = next(reading for reading in found.readings() if reading.sample == "3")
    assert third.error is not None and third.error > 0.06
    assert {reading.error for reading in found.readings() if reading.sample != "3"} == {None}
    dusty = bed(askew=0)
    chance = np.random.default_rng(1)
    for _ in range(160):
        y, x = int(chance.integers(110, 190)), int(chance.integers(100, 186))
        dusty.density[y : y + 2, x : x + 2] = 0.3
    clean, found = read(tmp_path / "a.png", bed(askew=0)), read(tmp_path / "c.png", dusty)
    assert "patch 1 has specks" in notes(found)
    assert found.patches[0].density == pytest.approx(clean.patches[0].density, abs=0.02)


def test_a_scanner_that_does_as_it_likes_is_noticed(tmp_path: Path) -> None:
    assert "paper white is at the end of the scale" in notes(read(tmp_path / "a.png", bed(), light=1.4))
    dark = read(tmp_path / "b.png", bed(), stretch=True, light=0.15)
    assert "patch 3 is at the end of the scale in red" in notes(dark)
    assert next(each for each in dark.readings() if each.sample == "3").error == pytest.approx(0.3, abs=0.01)
    both = bed()
    both.lay(600, 60, 40, 40, [2.5] * 3)  # something black
    assert "every colour reaches both ends" in notes(read(tmp_path / "c.png", both, stretch=True, light=1.4))
    made = scanned(bed(), random.Random(1), noise=0.02)
    save(tmp_path / "d.png", np.clip(np.rint(made * 255) * 1.3 / 255 - 0.1, 0, 1))
    assert "levels are missing" in notes(read_scan(load(tmp_path / "d.png"), PLAN, {}))


def test_a_black_and_white_strip(tmp_path: Path) -> None:
    plan = strip_plan(4.0, Fraction(1, 3), 7, "cover")
    made = Bed(700, 500)
    made.sheet(np.repeat(np.linspace(0.25, 1.9, 7)[:, None], 3, axis=1), 330, 150, 480, 90, askew=-2)
    tablet(made, 330, 380)
    found = read_scan(load(save(tmp_path / "s.png", scanned(made, random.Random(1), noise=0.002))), plan, {}, tablet=TABLET)
    read_at = [patch.density[1] for patch in found.patches]
    assert read_at[:5] == pytest.approx(np.linspace(0.25, 1.9, 7)[:5], abs=0.04)


def test_one_patch_is_marked_by_hand(tmp_path: Path) -> None:
    """Nothing tells it from what lies beside it: where it is not marked that is said, and marked it has nothing to follow."""
    picture = load(save(tmp_path / "one.tif", scanned(bed(), random.Random(1))))
    plan = first_sheet_plan(Pack(0, 60, 50), 10.0, "dichroic", patches=1)
    with pytest.raises(Refused, match="one patch alone is not found .*: mark it, like --box 1="):
        read_scan(picture, plan, {})
    aim = Box(470, 355, 60, 50)
    found = read_scan(picture, plan, {"1": Box(150, 140, 20, 20), "aim": aim, "aim dark": Box(500, 360, 30, 30)})
    assert [patch.sample for patch in found.patches] == ["1", "aim dark", "aim"]
    assert found.follows == 1 and not any("loosely" in note for note in found.notes)

"""A test sheet on a scan, beside cases that a renderer of our own found wrongly read."""

import random
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from tests.measure.test_scan import AIM, PATCHES, TABLET, bed, read, tablet
from tests.tools.scans import Bed, White, save, scanned
from timer.documents.recipe_light import Pass
from timer.errors import Refused
from timer.measure.picture import load
from timer.measure.scan import Scan, read_scan
from timer.plans.strip import strip_plan

WEDGE = [0.05 + 0.15 * n for n in range(13)]


def steps(made: Bed, x: float, y: float, densities: list[float], width: float = 520) -> None:
    made.sheet(np.repeat(np.asarray(densities)[:, None], 3, axis=1), x, y, width, 50, border=6, white=(0.05,) * 3)


def greys(*densities: float) -> np.ndarray:
    return np.repeat(np.asarray(densities)[:, None], 3, axis=1)


def by_name(found: Scan) -> dict[str, np.ndarray]:
    return {patch.sample: np.asarray(patch.density) for patch in found.patches}


@pytest.mark.parametrize("gap", [0, 12])
@pytest.mark.parametrize("turned", [False, True])
def test_a_patch_as_light_as_the_paper_is_where_the_others_lead_to(tmp_path: Path, gap: float, turned: bool) -> None:
    """Between gaps each patch is a piece, and that one is none; two others had been cut into seven."""
    plan = strip_plan(5.0, Fraction(1, 3), 7, "window", paper="ra4", parts=(Pass("60M 50Y"),))
    patches = greys(0.15, 0.25, 0.42, 0.66, 0.94, 1.22, 1.48)
    made = Bed(760, 500)
    made.sheet(patches[::-1] if turned else patches, 380, 150, 600, 90, askew=2, gap=gap)
    made.lay(500, 380, 120, 100, White, -2)
    made.lay(500, 380, 90, 70, AIM, -2)
    found = read_scan(load(save(tmp_path / "a.png", scanned(made, random.Random(1), noise=0.002))), plan, {})
    assert found.turned == turned and found.follows > 0.95
    named = by_name(found)
    off = np.asarray([named[str(n + 1)] - named["aim"] for n in range(7)]) - (patches - AIM)
    assert np.abs(off[:6]).max() < 0.1


def test_all_patches_that_are_pieces_are_taken_before_the_paper_beside_them(tmp_path: Path) -> None:
    plan = strip_plan(8.0, Fraction(1, 3), 3, "window", paper="ra4", parts=(Pass("60M 50Y"),))
    patches = greys(0.36, 0.66, 0.98)
    made = Bed(700, 500)
    made.sheet(patches, 330, 150, 460, 90, askew=2, gap=12)
    made.lay(500, 380, 90, 70, AIM, -2)
    named = by_name(read_scan(load(save(tmp_path / "a.png", scanned(made, random.Random(1), noise=0.002))), plan, {}))
    assert all(np.abs(named[str(n + 1)] - named["aim"] - (patches[n] - AIM)).max() < 0.05 for n in range(3))


def test_a_sheet_whose_patches_follow_nothing_is_not_cut_the_other_way(tmp_path: Path) -> None:
    """Cut along its length, every patch of a sheet has all colours in it; what they differ by is chance, and follows well."""
    made = Bed(700, 500)
    made.sheet(PATCHES[[3, 1, 0, 4, 2]], 330, 150, 460, 90, askew=2)
    made.lay(500, 380, 90, 70, AIM, -2)
    with pytest.raises(Refused, match="no row of 5 patches that follows"):
        read(tmp_path / "a.png", made)


def test_another_tablet_than_is_said_is_none(tmp_path: Path) -> None:
    """Steps of 0.15 are cut where they step, into 21 too; these are of other lengths then."""
    made = bed(aim=False)
    steps(made, 340, 400, WEDGE)
    assert read(tmp_path / "a.png", made, tablet=WEDGE).tablet
    with pytest.raises(Refused, match="no step tablet of 21 steps"):
        read(tmp_path / "a.png", made, tablet=[0.05 + 0.1 * n for n in range(21)])


def test_darker_than_the_tablet_is_said_and_goes_on_as_its_last_steps_do(tmp_path: Path) -> None:
    """It had been read as the darkest step itself, and R came out too small."""
    plan = strip_plan(2.0, Fraction(1, 2), 6, "cover", paper="bw")
    patches = greys(0.40, 0.62, 0.88, 1.12, 1.40, 1.72)
    made = Bed(700, 500)
    made.sheet(patches, 330, 150, 460, 90)
    made = tablet(made, 340, 400)
    file = save(tmp_path / "a.png", scanned(made, random.Random(1), noise=0.001, flare=0.0, cross=0.0), 16)
    found = read_scan(load(file), plan, {}, tablet=TABLET)  # to 1.56
    assert any("patch 6: darker than the tablet's darkest step, 1.56" in note for note in found.notes)
    assert np.abs(np.asarray([by_name(found)[str(n + 1)] for n in range(6)]) - patches).max() < 0.03


@pytest.mark.parametrize(("curve", "says"), [("srgb", False), ("linear", True), ("1.0", True)])
def test_a_contrast_that_no_colour_paper_has_is_said(tmp_path: Path, curve: str, says: bool) -> None:
    """Values of sRGB's curve taken for light itself: less than half of the contrast."""
    notes = read(tmp_path / "a.png", bed(), curve=curve).notes
    assert any("a stop of light makes 0." in note for note in notes) == says


def test_light_itself_taken_for_srgb_is_said(tmp_path: Path) -> None:
    """On a paper of 0.84 for a stop: about twice that."""
    made = Bed(700, 500)
    made.sheet(PATCHES + np.asarray([0.0, -0.09, 0.09, 0.0, 0.0])[:, None], 330, 150, 460, 90, askew=2)
    made.lay(500, 380, 90, 70, AIM, -2)
    assert not any("a stop of light" in note for note in read(tmp_path / "a.png", made).notes)
    notes = read(tmp_path / "b.png", made, gamma=1.0).notes
    assert any("a stop of light makes 1." in note for note in notes)

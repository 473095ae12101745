"""A black-and-white paper's curve by hand at the command line: strip, print, scan, curve, grade, dry-down, preview, resize.

The paper is the virtual darkroom's, whose R and P are exact by ISO 6846's definitions (tests/bench/test_paper.py); the
scanner is tests/tools/scans.py's.
"""

import json
import random
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from tests.conftest import Run
from tests.tools.scans import Bed, save, scanned
from timer.bench import paper, sheet
from timer.craft.stops import digits
from timer.documents.recipe import Filters
from timer.documents.recipe_file import recipe_toml
from timer.documents.recipe_light import Pass, passes
from timer.notebook.rows import new_row
from timer.notebook.store import Notebook
from timer.plans.strip import strip_plan
from timer.plans.strip_target import About, strip_target

QUICK = ("--advance", "auto", "--pause", "0", "--speed", "20")
PEARL = About("step tablet", "18x24cm", 8.0, "Pearl")
WEDGE = [0.06 + 0.15 * n for n in range(15)]
WEDGE_TEXT = " ".join(f"{d:.2f}" for d in WEDGE)
WHITE = (0.06, 0.06, 0.06)
LIGHT = 0.5
"""What the negative lets through."""


def drawn(home: Path, run: int) -> list[float]:
    """The densities of each patch of the strip ``run`` as the virtual darkroom prints it, under an even negative."""
    with Notebook(home / "notebook.db", read_only=True) as notebook:
        plan = notebook.run(run).plan
    count = len(plan.patches)
    picture = sheet.render(plan, None, np.full((8, 40 * count, 3), LIGHT)) / 255
    light = np.where(picture <= 0.04045, picture / 12.92, ((picture + 0.055) / 1.055) ** 2.4)
    return [float(0.05 - np.log10(light[4, 20 + 40 * n, 0])) for n in range(count)]


def scan(path: Path, patches: list[float], *, wedge: bool = True, turned: bool = False, noise: float = 0.002) -> Path:
    bed = Bed(1100, 640)
    three = np.repeat(np.asarray(patches[::-1] if turned else patches)[:, None], 3, axis=1)
    bed.sheet(three, 540, 180, 900, 110, askew=1.5, white=WHITE)
    if wedge:
        bed.sheet(np.repeat(np.asarray(WEDGE)[:, None], 3, axis=1), 500, 450, 750, 70, border=6, white=WHITE)
    return save(path, scanned(bed, random.Random(3), noise=noise), 16)


def cgats(path: Path, readings: dict[str, float]) -> Path:
    rows = "\n".join(f"{name} {density:.3f}" for name, density in readings.items())
    path.write_text(f"CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID D_VIS\nEND_DATA_FORMAT\nBEGIN_DATA\n{rows}\nEND_DATA\n")
    return path


def strip(home: Path, grade: str = "2", first: float = 0.5, about: About = PEARL) -> None:
    """A strip of 14 patches as the notebook has it after a run whose every edge was on time."""
    filters = Filters(grade=grade) if grade else None
    plan = strip_plan(first, Fraction(1, 2), 14, "cover", paper="bw", parts=passes(filters) if filters else (Pass(""),))
    made_for = strip_target(None, about, first, "bw", filters)
    with Notebook(home / "notebook.db") as notebook:
        run = notebook.begin_run(plan, lamp="simulated", made_for=recipe_toml(made_for) if made_for else "")
        lit = [(n, step) for n, step in enumerate(plan.steps) if step.do == "expose"]
        for number, (at, step) in enumerate(lit):
            us = round(step.seconds * 1e6)
            notebook.intend(new_row(run, number, at, step.area, step.seconds, us))
            notebook.fact(run, number, us, us, "complete")
        notebook.end_run(run, "finished", "finished")


def read_in(lamphouse: Run, home: Path, tmp_path: Path, run: int, more: dict[str, float] | None = None) -> None:
    by_number = {str(n): d for n, d in enumerate(drawn(home, run), 1)}
    lamphouse("notebook", "readings", str(run), str(cgats(tmp_path / f"{run}.txt", by_number | (more or {}))))


def test_from_a_strip_to_a_scan_to_the_curve(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    lamphouse("strip", "--from", "0.5", "--step", "1/2", "--patches", "14", "--grade", "2", "--paper-name", "Pearl", *QUICK)
    file = scan(tmp_path / "strip.tif", made := drawn(home, 1))
    looked = lamphouse("scan", "1", str(file), "--tablet", WEDGE_TEXT)
    assert "Nothing is kept yet" in looked.stdout and "loosely" not in looked.stdout
    found = json.loads(lamphouse("scan", "1", str(file), "--tablet", WEDGE_TEXT, "--take", "--json").stdout)
    assert [one["density"][1] for one in found["samples"]] == pytest.approx(made, abs=0.02)
    picture = tmp_path / "curve.png"
    lux = str(sheet.LUX * LIGHT)
    said = json.loads(lamphouse("paper-curve", "1", "--lux", lux, "-o", str(picture), "--json").stdout)
    # within 5 of R and a tenth of a stop of P: readings in half stops off a scan, of a curve that is none of ours
    assert said["r_unrounded"] == pytest.approx(paper.RANGE_OF_GRADE["2"], abs=5)
    assert said["p_unrounded"] == pytest.approx(paper.SPEED_OF_FILTERS, rel=0.07) and said["p"] == 200
    assert (said["r"], said["exposures"], said["paper"], said["grade"]) == (110, "lux seconds", "Pearl", "2")
    assert picture.read_bytes().startswith(b"\x89PNG") and not said["kept"]
    text = lamphouse("paper-curve", "1").stdout
    assert "ISO R110" in text and "a speed P needs the light in lux" in text and "Nothing is kept" in text
    assert len([line for line in text.splitlines() if line.startswith("    1 ")]) == 14


def test_a_sheet_the_other_way_round_and_without_a_tablet(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    strip(home)
    made = drawn(home, 1)
    turned = scan(tmp_path / "t.tif", made, turned=True)
    found = json.loads(lamphouse("scan", "1", str(turned), "--tablet", WEDGE_TEXT, "--json").stdout)
    assert found["turned"] and [one["density"][1] for one in found["samples"]] == pytest.approx(made, abs=0.02)
    alone = json.loads(lamphouse("scan", "1", str(scan(tmp_path / "a.tif", made, wedge=False)), "--json").stdout)
    assert any("without a step tablet beside it" in note for note in alone["notes"])
    assert [one["sample"] for one in alone["samples"]] == [str(n) for n in range(1, 15)]


def test_a_printed_tablet(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    recipe = tmp_path / "tablet.toml"
    recipe.write_text(
        'recipe = 1\ntitle = "Tablet"\nbase_s = 10.0\n[paper]\nkind = "bw"\nname = "Pearl"\n[filters]\ngrade = "2"\n'
    )
    lamphouse("print", str(recipe), *QUICK)
    steps = [0.05 + 0.15 * n for n in range(21)]
    text = " ".join(f"{d:.2f}" for d in steps)
    blue, green = paper.filter_light("2")
    made = [float(paper.vc_density(100 * 10**-d * blue, 100 * 10**-d * green)) for d in steps]  # 10 lux, 10 s
    file = scan(tmp_path / "tablet.tif", made)
    took = lamphouse("scan", "1", str(file), "--tablet", WEDGE_TEXT, "--printed", text, "--take").stdout
    assert "21 readings taken into sheet 1: `lamphouse paper-curve 1 --printed ...`" in took
    assert "a step tablet printed on one sheet" in lamphouse("paper-curve", "1", check=1).stderr
    said = json.loads(lamphouse("paper-curve", "1", "--printed", text, "--lux", "10", "--json").stdout)
    assert said["r_unrounded"] == pytest.approx(110, abs=5) and said["p"] == 200
    known = cgats(tmp_path / "known.txt", {str(n): d for n, d in enumerate(steps, 1)})
    again = json.loads(lamphouse("paper-curve", "1", "--printed", str(known), "--lux", "10", "--json").stdout)
    assert again["r_unrounded"] == said["r_unrounded"]


def test_two_grades_kept_and_used(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    for run, (grade, first) in enumerate((("2", 0.5), ("4", 1.0)), 1):
        strip(home, grade, first)
        read_in(lamphouse, home, tmp_path, run)
        lamphouse("paper-curve", str(run), "--keep")
    # 4 to 5 a stop slower (Polymax filter set, NAVEDTRA 14209), as the virtual paper has it
    said = json.loads(lamphouse("paper-curve", "2", "--json").stdout)
    assert said["p_ratios"] == [{"to": "Pearl, grade 2", "ratio": pytest.approx(0.5, abs=0.015)}] and said["p"] is None
    assert "against Pearl, grade 2: P x 0.5" in (again := lamphouse("paper-curve", "2", "--keep")).stdout
    assert "in the place of that of sheet 2" in again.stdout
    listed = json.loads(lamphouse("calibrations", "list", "--json").stdout)["curves"]
    assert [(one["paper"], one["grade"], one["set_up"]) for one in listed] == [
        ("Pearl", "2", "step tablet, 18x24cm, f/8"),
        ("Pearl", "4", "step tablet, 18x24cm, f/8"),
    ]

    # which grade: a negative of 0.60 between ISO's points is grade 4's, R60
    hard = json.loads(lamphouse("grade", "pearl", "--range", "0.60", "--json").stdout)
    assert hard["best"] == "4" and hard["r_needed"] == pytest.approx(60) and hard["usual_filter"] == "4"
    # a place on a test print, 11 s through grade 2, that printed as 0.22: what it takes to print as 0.12, by the paper itself
    blue, green = paper.filter_light("2")
    logs = np.linspace(-1, 2, 3001)
    curve = paper.vc_density(blue * 10**logs, green * 10**logs)
    at = {d: float(np.interp(d, curve, logs)) for d in (0.12, 0.22, 1.30)}
    test = (
        "--light",
        "0.22",
        "--dark",
        "1.30",
        "--seconds",
        "11",
        "--through",
        "2",
        "--highlight",
        "0.12",
        "--shadow",
        "1.8",
    )
    told = json.loads(lamphouse("grade", "Pearl", *test, "--json").stdout)
    assert told["range"] == pytest.approx(at[1.30] - at[0.22], abs=0.02)
    two = next(row for row in told["grades"] if row["grade"] == "2")
    assert two["seconds"] == pytest.approx(11 * 10 ** (at[0.12] - at[0.22]), rel=0.03) and not two["by_usual_factor"]
    assert "(time by" not in lamphouse("grade", "Pearl", *test).stdout
    brief = [word if word != "11" else "0.0011" for word in test]  # a ten-thousandth: in its digits, and not 0.00
    small = json.loads(lamphouse("grade", "Pearl", *brief, "--json").stdout)
    first = next(row for row in small["grades"] if row["grade"] == "2")["seconds"]
    assert first == pytest.approx(two["seconds"] / 10_000, rel=1e-4)
    assert f"   {digits(first)}" in lamphouse("grade", "Pearl", *brief).stdout

    # dry-down: the paper dries as if it had had 0.15 stop more
    wet = (0.2, 0.6, 1.1)
    dry = [float(np.interp(np.interp(d, curve, logs) + 0.15 * np.log10(2), logs, curve)) for d in wet]
    rows = ("--wet", " ".join(map(str, wet)), "--dry", " ".join(f"{d:.4f}" for d in dry), "--paper", "Pearl", "--grade", "2")
    down = json.loads(lamphouse("drydown", *rows, "--json").stdout)
    assert down["stops"] == pytest.approx(0.15, abs=0.015) and down["percent"] == pytest.approx(9.9, abs=1)
    assert "dry_down_percent = " in lamphouse("drydown", *rows).stdout

    # resize: the factor between grades as measured
    recipe = tmp_path / "stair.toml"
    recipe.write_text(
        'recipe = 1\ntitle = "Stair"\nbase_s = 12.0\n[paper]\nkind = "bw"\nname = "Pearl"\n[filters]\ngrade = "2"\n'
    )
    moved = json.loads(lamphouse("resize", str(recipe), "--grade", "4", "--json").stdout)
    assert moved["factors"]["filters"] == pytest.approx(2.0, rel=0.03) and moved["factors"]["filters"] != 2
    assert any("as you measured it" in line for line in moved["says"])
    other = json.loads(lamphouse("resize", str(recipe), "--grade", "3", "--json").stdout)
    assert other["factors"]["filters"] == 1 and not any("as you measured" in line for line in other["says"])
    renamed = json.loads(lamphouse("resize", str(recipe), "--grade", "4", "--paper", "Matt", "--json").stdout)
    assert renamed["factors"]["filters"] == 2

    # preview: your own paper, said
    own = lamphouse("preview", str(recipe), "--size", "200x160", "-o", str(tmp_path / "own.png"))
    assert "paper: your own curve of Pearl, grade 2, R110" in own.stderr
    (tmp_path / "split.toml").write_text(
        recipe.read_text() + '[[burn]]\narea = "sky"\nseconds = 3\nfilters = { grade = "5" }\n'
    )
    split = lamphouse("preview", str(tmp_path / "split.toml"), "--size", "200x160", "-o", str(tmp_path / "split.png"))
    assert "is not used: this print's light comes through several filters" in split.stderr

    # and forgotten
    assert "2.09" in lamphouse("calibrations", "curve", "pearl", "--grade", "4").stdout
    assert "curve of Pearl, grade 4 is forgotten" in lamphouse("calibrations", "forget", "Pearl, grade 4").stdout
    assert lamphouse("calibrations", "curve", "Pearl", "--forget").stdout.count("forgotten") == 1
    assert "no curve of paper 'Pearl' is kept" in lamphouse("calibrations", "curve", "Pearl", check=1).stderr
    bare = lamphouse("preview", str(recipe), "--size", "200x160", "-o", str(tmp_path / "bare.png"))
    assert bare.stderr == ""
    from PIL import Image

    pictures = [np.asarray(Image.open(tmp_path / name), dtype=float) for name in ("own.png", "bare.png")]
    assert np.abs(pictures[0] - pictures[1]).max() < 12  # the virtual paper, by its curve and by its own grains


def test_places_of_a_test_print_in_the_notebook(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    strip(home)
    read_in(lamphouse, home, tmp_path, 1)
    lamphouse("paper-curve", "1", "--keep")
    lamphouse("strip", "--from", "8", "--patches", "3", "--grade", "2", *QUICK)
    cgats_rows = tmp_path / "named.txt"
    cgats_rows.write_text(
        'CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID D_VIS\nEND_DATA_FORMAT\nBEGIN_DATA\n"2 sky" 0.2\n"2 coat" 1.4\n"3 coat" 1.5\n'
        "END_DATA\n"
    )
    lamphouse("notebook", "readings", "2", str(cgats_rows))
    told = json.loads(lamphouse("grade", "Pearl", "--run", "2", "--light", "2 sky", "--dark", "2 coat", "--json").stdout)
    typed = ("--light", "0.2", "--dark", "1.4", "--seconds", str(8 * 2 ** (1 / 3)), "--through", "2")
    assert told["seconds"] == pytest.approx(
        json.loads(lamphouse("grade", "Pearl", *typed, "--json").stdout)["seconds"], rel=1e-3
    )

    def says(*words: str) -> str:
        return lamphouse("grade", "Pearl", "--run", "2", *words, check=1).stderr

    assert "different light; both places must be of one patch" in says("--light", "2 sky", "--dark", "3 coat")
    assert "has no sample 'roof'; it has: " in says("--light", "2 sky", "--dark", "roof")


def test_one_sentence(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    def says(*words: str, code: int = 1) -> str:
        error = lamphouse(*words, check=code).stderr.strip()
        assert code == 2 or "\n" not in error
        return error

    assert "there is no notebook at" in says("paper-curve", "1")
    strip(home)
    assert "there is no run 7" in says("paper-curve", "7")
    assert "sheet 1 has no readings" in says("paper-curve", "1")
    read_in(lamphouse, home, tmp_path, 1)
    (tmp_path / "there.png").write_text("mine")
    assert "exists already" in says("paper-curve", "1", "-o", str(tmp_path / "there.png"))
    assert (tmp_path / "there.png").read_text() == "mine"
    assert "ends in .png" in says("paper-curve", "1", "-o", str(tmp_path / "c.jpg"), code=2)
    assert "a tablet is 3 to 60 densities" in says("paper-curve", "1", "--printed", "0.1 0.2", code=2)
    assert "no such file" in says("paper-curve", "1", "--printed", "none.txt")
    assert "is a strip; a step tablet" in says("paper-curve", "1", "--printed", "0.1 0.2 0.3")
    assert "2 different grades, 2 and 3" in says("paper-curve", "1", "--grade", "3")
    assert "base of 0.50 is darker" in says("paper-curve", "1", "--base", "0.5")
    strip(home, "", about=About())
    read_in(lamphouse, home, tmp_path, 2)
    assert "a curve is kept by its paper: say its name" in says("paper-curve", "2", "--keep")
    lamphouse("paper-curve", "2", "--keep", "--paper", "Matt", "--grade", "3")
    lamphouse("first-sheet", "--pack", "60M 50Y", "--seconds", "10", "--head", "dichroic", *QUICK)
    assert "colour paper" in says("paper-curve", "3")

    assert "no curve of paper 'Pearl' is kept; kept are: Matt, grade 3" in says("grade", "Pearl", "--range", "1")
    assert "say the negative's --range" in says("grade", "Matt", code=2)
    assert "name of its PAPER" in says("grade", "--light", "0.2", "--dark", "1.2", code=2)
    test = ("--light", "0.2", "--dark", "1.2")
    assert "say the --seconds" in says("grade", "Matt", *test, code=2)
    assert "grade (no filter), of which Matt has no curve" in says("grade", "Matt", *test, "--seconds", "9")
    assert "'sky' is not a density" in says("grade", "Matt", "--light", "sky", "--dark", "1", "--seconds", "9")
    assert "must be darker" in says("grade", "Matt", "--light", "1", "--dark", "1", "--seconds", "9", "--through", "3")
    assert "off this paper's curve" in says("grade", "Matt", "--range", "1", "--highlight", "0.01")
    assert "of graded paper grade 2" in lamphouse("grade", "--range", "1.05").stdout
    assert json.loads(lamphouse("grade", "--range", "3.9", "--json").stdout)["usual_filter"] is None
    assert "by the usual table no contrast filter, of graded paper none" in lamphouse("grade", "--range", "3.9").stdout

    assert "with --range leave them away" in says("grade", "Matt", "--range", "1", "--seconds", "9", code=2)
    assert "need the name of a PAPER" in says("grade", "--range", "1", "--shadow", "1.8", code=2)
    assert "--set-up is for seconds" in says("paper-curve", "1", "--lux", "10", "--set-up", "8x10", code=2)
    assert "say the time" in says("drydown", code=2)
    assert "--wet, --dry and --paper" in says("drydown", "--wet", "1", "--dry", "1", code=2)
    assert "no curve of paper 'Pearl', grade 2" in says(
        "drydown", "--wet", "1", "--dry", "1", "--paper", "Pearl", "--grade", "2"
    )
    matt = ("--paper", "Matt", "--grade", "3")
    assert "as many densities" in says("drydown", "--wet", "1", "--dry", "1 2", *matt)
    assert "no row of densities" in says("drydown", "--wet", "x", "--dry", "1", *matt)
    assert "off this paper's curve" in says("drydown", "--wet", "1", "--dry", "3", *matt)
    assert "dries no darker" in lamphouse("drydown", "--wet", "1", "--dry", "0.95", *matt).stdout
    (home / "paper-curves.toml").write_text("x = 1")
    for words in (("grade", "Matt", "--range", "1"), ("calibrations", "list"), ("paper-curve", "1")):
        assert "paper-curves.toml: x: unknown key" in says(*words)

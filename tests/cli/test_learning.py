"""What sheets teach, at the command line: from the first negative to the next one, the control patch, a second grey."""

import json
import random
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.cli.test_solve import AIM, FIRST, QUICK, cgats, plain_print
from tests.conftest import Run
from tests.measure.test_learned import a_print, first_sheet, made
from tests.tools.dark_paper import Darkroom
from timer.documents.calibrations_file import load_corrections
from timer.documents.reading import Reading
from timer.documents.recipe_file import load_recipe
from timer.measure.crossover import second_grey, second_grey_line
from timer.notebook.readings import take_readings
from timer.notebook.store import Notebook
from timer.plans.print import print_plan

HEAD = ("--head", "dichroic")


@pytest.fixture
def taught(home: Path) -> Path:
    """Three sheets of three negatives on one paper."""
    with Notebook(home / "notebook.db") as notebook:
        for n in range(3):
            first_sheet(notebook, n, paper="Lustre", negative=f"quay {n}")
    return home


def test_the_next_negative_starts_from_what_the_others_taught(lamphouse: Run, taught: Path, tmp_path: Path) -> None:
    def planned(paper: str, *more: str) -> dict[str, Any]:
        begin = ("first-sheet", "--pack", "60M 50Y", "--seconds", "10", "--paper-name", paper)
        return dict(json.loads(lamphouse(*begin, *more, *HEAD, "--show", "--json").stdout))

    assert len(planned("Lustre")["patches"]) == 1
    assert "one patch: head and paper known from 3 sheets" in planned("Lustre")["notes"][0]
    assert len(planned("Gloss")["patches"]) == len(planned("Lustre", "--patches", "5")["patches"]) == 5

    more = ("--paper-name", "Lustre", "--negative", "harbour")
    lamphouse("first-sheet", "--pack", "60M 50Y", "--seconds", "10", *more, *HEAD, *QUICK)
    room = Darkroom(random.Random(7), process=1e-9, drift=1e-9)
    room.a = room._exposures_of(np.full(3, 0.8)) - 1 + room.head @ np.asarray([0, 0.6, 0.5]) + np.asarray([0.08, -0.08, 0])
    lamphouse("notebook", "readings", "4", cgats(tmp_path / "4.txt", {"1": room.still(FIRST[:1])[0]}))
    with_it = json.loads(lamphouse("solve", "4", "--aim", AIM, *HEAD, "--json").stdout)
    assert with_it["learned"]["says"] == "head and paper known from 3 sheets" == with_it["notes"][0]
    lamphouse("solve", "4", "--aim", AIM, *HEAD, "-o", str(tmp_path / "harbour.toml"))
    recipe = load_recipe(tmp_path / "harbour.toml")
    assert (recipe.negative, recipe.paper.name, recipe.filters.head) == ("harbour", "Lustre", "dichroic")
    setting = (recipe.base_s, (recipe.filters.c / 100, recipe.filters.m / 100, recipe.filters.y / 100))
    assert room.still([setting])[0] == pytest.approx([0.76, 0.74, 0.72], abs=0.05)  # one patch, one print

    lamphouse("calibrations", "forget", "dichroic on Lustre")
    without = json.loads(lamphouse("solve", "4", "--aim", AIM, *HEAD, "--json").stdout)
    assert without["learned"] is None
    assert all(without["within"][what] > 1.1 * with_it["within"][what] for what in ("density", "cast_cc"))


def test_a_sheet_that_contradicts_is_said_in_one_sentence(lamphouse: Run, taught: Path) -> None:
    with Notebook(taught / "notebook.db") as notebook:
        run = first_sheet(notebook, 9, paper="Lustre")
        odd = {1: (0.8, 0.8, 0.8), 2: (0.3, 0.3, 0.3), 3: (1.5, 1.5, 1.5), 4: (0.8, 0.4, 0.8), 5: (0.8, 0.8, 0.4)}
        take_readings(notebook, run, [Reading(str(n), *d, None) for n, d in odd.items()])  # twice as steep
    found = json.loads(lamphouse("solve", str(run), "--aim", AIM, *HEAD, "--json").stdout)
    says = [note for note in found["notes"] if "contradicts" in note]
    assert len(says) == 1 and "what 3 sheets before taught of head and paper" in says[0]
    assert "baths that have drifted, or another paper, head or negative?" in says[0]
    listed = lamphouse("calibrations", "list").stdout
    assert f"contradicted what was known before: sheets {run}" in listed


def test_readings_that_fit_no_paper_are_said_and_teach_no_doubt(lamphouse: Run, taught: Path) -> None:
    """Green gets lighter with more light, red and blue darker."""
    with Notebook(taught / "notebook.db") as notebook:
        run = first_sheet(notebook, 9, paper="Lustre")
        odd = {1: 0.8, 2: 0.5, 3: 1.15, 4: 1.1, 5: 0.4}
        take_readings(notebook, run, [Reading(str(n), d, 1.6 - d, d, None) for n, d in odd.items()])
    notes = json.loads(lamphouse("solve", str(run), "--aim", AIM, *HEAD, "--json").stdout)["notes"]
    assert not [note for note in notes if "contradicts" in note]
    assert [note for note in notes if "is off the rest by" in note and "look at it before you trust this" in note]


def test_the_list_shows_numbers_errors_and_sheets_and_forgets(lamphouse: Run, taught: Path) -> None:
    listed = lamphouse("calibrations", "list").stdout
    assert "dichroic on Lustre, by densitometer: head and paper known from 3 sheets" in listed
    assert "magenta" in listed and listed.count("±") == 12
    (found,) = json.loads(lamphouse("calibrations", "list", "--json").stdout)["learned"]
    with Notebook(taught / "notebook.db") as notebook:  # forgotten by the sheets' own times, to the millisecond
        for run, begun in ((1, "21:15:00.250+01:00"), (2, "20:15:00.750+00:00"), (3, "20:15:00.500+00:00")):
            notebook.write("UPDATE sheet SET begun = ? WHERE run = ?", (f"2026-03-01T{begun}", run))
    assert np.shape(found["head"]) == np.shape(found["head_error"]) == (3, 3)
    assert found["sheets"] == {"this_box": 3, "other_boxes": 0, "other_papers": 0}
    assert "forgotten" in lamphouse("calibrations", "forget", "dichroic on Lustre").stdout
    listed = lamphouse("calibrations", "list").stdout
    assert "±" not in listed and "what was learned until" in listed
    assert load_corrections(taught / "corrections.toml").forgotten == {"dichroic on Lustre": "2026-03-01T20:15:00.750+00:00"}
    lamphouse("calibrations", "forget", "dichroic on Lustre", "--undo")
    assert "±" in lamphouse("calibrations", "list").stdout


def test_measured_heads_and_boxes_are_forgotten_too(lamphouse: Run, home: Path) -> None:
    lamphouse("calibrations", "head", "condenser", "--from-m", "6.7", "--to-m", "10.9", "--ratio", "2.1")
    lamphouse("calibrations", "box", "spring", "--time", "1.08")
    assert "head condenser is forgotten" in lamphouse("calibrations", "forget", "condenser").stdout
    assert "box spring is forgotten" in lamphouse("calibrations", "forget", "spring").stdout
    assert lamphouse("calibrations", "list").stdout == "Nothing is measured yet.\n"
    for arguments in (("spring",), ("spring", "--undo"), ("dichroic on Lustre",)):
        assert "nothing is kept of" in lamphouse("calibrations", "forget", *arguments, check=1).stderr


@pytest.mark.parametrize("time", ["soon", "2026-11-30", "2026-11-30T20:15:00"])
def test_a_time_of_forgetting_that_is_none_is_one_sentence(lamphouse: Run, taught: Path, time: str) -> None:
    (taught / "corrections.toml").write_text(f'[forgotten]\n"dichroic on Lustre" = "{time}"\n')
    for arguments in (("solve", "1", "--aim", AIM), ("calibrations", "list")):
        said = lamphouse(*arguments, check=1).stderr
        assert f"forgotten 'dichroic on Lustre': '{time}' is not a time like" in said


def test_a_first_sheet_begins_from_the_right_prints(lamphouse: Run, home: Path) -> None:
    said = lamphouse("first-sheet", *HEAD, "--show", check=1).stderr
    assert "there is no notebook at" in said and "say where to begin: --pack" in said
    with Notebook(home / "notebook.db") as notebook:
        for n, m in enumerate((50, 60, 75)):
            recipe = a_print(m, 45, 8, title=f"Quay {n}")
            made(notebook, print_plan(recipe), recipe, rating=5)
    plan = json.loads(lamphouse("first-sheet", *HEAD, "--show", "--json").stdout)
    assert plan["patches"][0] == {"patch": 1, "stops": 0.0, "seconds": 8.0, "filters": "60M 45Y"}
    assert plan["notes"][0] == "pack and time: medians of 3 right prints (50M 45Y to 75M 45Y, 8.00 to 8.00 s)"
    plan = json.loads(lamphouse("first-sheet", *HEAD, "--seconds", "14", "--like", "quay", "--show", "--json").stdout)
    assert plan["patches"][0]["seconds"] == 14
    assert "no right colour print" in lamphouse("first-sheet", *HEAD, "--like", "beach", "--show", check=1).stderr
    assert "say which head it is" in lamphouse("first-sheet", "--show", check=1).stderr


def test_a_listed_plan_counts_its_exposures_and_nothing_else(lamphouse: Run, home: Path) -> None:
    """A look at the dials, with the sheet in its box, is no light."""
    listed = lamphouse("first-sheet", "--pack", "60M 50Y", "--seconds", "10", *HEAD, "--show").stdout
    assert "in 5 exposures" in listed and "  0.00 s  " not in listed
    ring = lamphouse("ringaround", "--pack", "60M 50Y", "--seconds", "10", *HEAD, "--show").stdout
    assert "in 7 exposures" in ring and "  0.00 s  " not in ring


def test_a_first_sheet_for_a_recipe(lamphouse: Run, home: Path) -> None:
    plan = json.loads(lamphouse("first-sheet", "--for", plain_print(home), "--show", "--json").stdout)
    assert plan["patches"][0]["filters"] == "60M 50Y" and plan["patches"][0]["seconds"] == 12


def test_the_control_patch(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    assert "there is no notebook" in lamphouse("drift", check=1).stderr
    with Notebook(home / "notebook.db") as notebook:
        for red in (0.76, 0.75, 0.77, 0.76, 0.90):
            run = made(notebook, print_plan(a_print()), a_print(), negative="control")
            take_readings(notebook, run, [Reading("grey", red, 0.74, 0.66, None)])
    done = lamphouse("drift", "--aim", AIM, "-o", str(tmp_path / "drift.png")).stdout
    assert "0.90 +0.14  0.74 +0.00  0.66 -0.06   red 0.14 over, blue 0.06 under: act" in done
    assert "Act: red 0.14 over, blue 0.06 under. Print it once more" in done
    assert (tmp_path / "drift.png").read_bytes().startswith(b"\x89PNG")
    found = json.loads(lamphouse("drift", "--json").stdout)
    assert [each["state"] for each in found["sessions"]] == ["in limits"] * 4 + ["act"] and not found["aim_said"]
    assert lamphouse("drift", "--since", "2", "--aim", "0.90 0.74 0.66").stdout.endswith("In limits.\n")
    assert "exists already" in lamphouse("drift", "-o", str(tmp_path / "drift.png"), check=1).stderr
    assert "no sheet of a negative called 'quay'" in lamphouse("drift", "quay", check=1).stderr


# ── a second grey ────────────────────────────────────────────────────────────


def test_crossover_is_reported_and_not_chased(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    with Notebook(home / "notebook.db") as notebook:
        first_sheet(notebook, 0)
    alone = json.loads(lamphouse("solve", "1", "--aim", AIM, "--json").stdout)
    room = Darkroom(random.Random(7))
    at = room._exposures_of(np.full(3, 0.8)) - 1 + room.head @ np.asarray(FIRST[0][1])
    aim, darker = np.asarray([0.76, 0.74, 0.72]), 0.2
    aim_dark = room._curve(room._exposures_of(aim) + darker) @ room.dyes + room.white
    room.a = at + darker + np.asarray([0.0, -0.04, 0.0])  # the dark grey's green layer has 0.04 less than it should
    rows = {f"{n} dark": d for n, d in enumerate(room.still(FIRST), 1)}
    lamphouse("notebook", "readings", "1", cgats(tmp_path / "d.txt", {k.replace(" ", "-"): v for k, v in rows.items()}))
    said = lamphouse("solve", "1", "--aim", AIM).stdout
    assert "the dark grey has no aim: read it on the print that is right too, as 'aim dark'" in said
    with Notebook(home / "notebook.db") as notebook:
        take_readings(notebook, 1, [Reading("aim dark", float(aim_dark[0]), float(aim_dark[1]), float(aim_dark[2]), None)])
    found = json.loads(lamphouse("solve", "1", "--aim", AIM, "--json").stdout)
    assert (found["pack"], found["seconds"]) == (alone["pack"], alone["seconds"])  # it moves nothing
    (grey,) = found["second_greys"]
    assert grey["crossover"] and grey["cast"]["name"] == "green" and grey["says"] == found["notes"][-1]
    slope = 0.04 * 2.6
    assert grey["cast"]["cc"] == pytest.approx(100 * slope, abs=grey["cast"]["within"])
    assert "crossover; filters cannot mend it" in grey["says"] or "crossover, and another contrast" in grey["says"]


def test_what_is_said_of_a_second_grey() -> None:
    from tests.craft.test_crossover import AIM as LIGHT
    from tests.craft.test_crossover import DARK, pair
    from timer.craft.sensitometry import Paper

    def says(*apart: float) -> str:
        return second_grey_line(
            second_grey("dark", [pair(np.zeros(3), np.asarray(apart), Paper())] * 4, LIGHT, DARK, Paper())
        )

    assert says(0, 0, 0).startswith("the dark grey comes right with it: no crossover of more than")
    assert "CC magenta (±" in says(0, 0.03, 0) and "filters cannot mend it" in says(0, 0.03, 0)
    assert "CC green (±" in says(0, -0.03, 0)
    assert "CC cyan" in says(0.03, 0, 0) and "CC red" in says(-0.03, 0, 0)
    assert "CC yellow" in says(0, 0, 0.03) and "CC blue" in says(0, 0, -0.03)
    assert "too dark (±" in says(0.04, 0.04, 0.04) and "keeps its colour" in says(0.04, 0.04, 0.04)
    assert "too light (±" in says(-0.04, -0.04, -0.04)
    assert "crossover, and another contrast" in says(0.09, 0.03, 0.05)


def test_nothing_is_said_to_be_known_better_than_its_last_digit() -> None:
    from timer.measure.crossover import SecondGrey

    grey = SecondGrey("dark", (0.0, 0.08, 0.0), 0.06, 0.001, 8.0, 0.2, "magenta")
    said = second_grey_line(grey)
    assert "8 CC magenta (± 1)" in said and "0.06 too dark (± 0.01)" in said
    assert second_grey_line(replace(grey, cc=0.1, darker=0.0)).endswith("no crossover of more than 1 CC")


def test_boxes_of_a_second_grey_on_a_scan() -> None:
    from timer.cli.scan import as_boxes

    found = as_boxes(None, None, ("3 dark=1,2,30,40", "aimlight=5,6,70,80", "aim=1,1,9,9"))  # type: ignore[arg-type]
    assert list(found) == ["3 dark", "aim light", "aim"]

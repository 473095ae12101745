import json
import math
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import Run
from timer.app.jobs import Job
from timer.app.strip_choice import StripChoice
from timer.bench import lamps
from timer.craft.lamp_response import INSTANT, LampResponse, on_time
from timer.craft.layers import LAYERS, TYPICAL, shift_cc, shift_from_long, shifts
from timer.documents.recipe_file import parse_recipe
from timer.documents.recipe_light import Pass
from timer.documents.settings import Settings
from timer.plans.print import print_plan
from timer.plans.strip import strip_plan
from timer.plans.strip_colour import patch_bursts, with_colour_note

GREEN = TYPICAL[1]


@pytest.mark.parametrize("way", ["cover", "uncover", "window"])
def test_every_patch_has_its_bursts(way: str) -> None:
    plan = strip_plan(4, Fraction(1, 3), 5, way, paper="ra4")  # type: ignore[arg-type]
    made = patch_bursts(plan)
    assert [sum(made[f"patch {p.patch}"]) for p in plan.patches] == pytest.approx([p.seconds for p in plan.patches])
    assert len(made["patch 5"]) == (1 if way == "window" else 5)


def test_bursts_are_spoken_of_and_a_window_is_not() -> None:
    short = with_colour_note(strip_plan(2, Fraction(1, 4), 5, "cover", paper="ra4"), GREEN, TYPICAL)
    assert "made of 5 bursts, patch 5 is" in short.notes[-1]
    assert "not calibrated" not in short.notes[-1]
    assert (
        "not calibrated" in with_colour_note(strip_plan(2, Fraction(1, 4), 5, "cover", paper="ra4"), INSTANT, None).notes[-1]
    )
    window = strip_plan(8, Fraction(1, 4), 5, "window", paper="ra4")
    assert with_colour_note(window, GREEN, TYPICAL) == window
    assert "redder" in with_colour_note(strip_plan(0.8, Fraction(1, 4), 3, "window", paper="ra4"), GREEN, TYPICAL).notes[-1]
    grey = strip_plan(2, Fraction(1, 4), 5, "cover", paper="bw")
    assert with_colour_note(grey, GREEN, TYPICAL) == grey


def test_a_print_in_bursts() -> None:
    text = (
        'recipe = 1\ntitle = "t"\nbase_s = 6\ndodging = "{}"\n[paper]\nkind = "ra4"\n'
        '[[dodge]]\narea = "a"\nstops = "1/2"\n[[dodge]]\narea = "b"\nstops = "1/3"\n'
    )
    bursts, whole = (print_plan(parse_recipe(text.format(way))) for way in ("stop-start", "run-through"))
    assert "made of 3 bursts, the base is" in with_colour_note(bursts, GREEN, TYPICAL).notes[-1]
    assert with_colour_note(whole, GREEN, TYPICAL) == whole


def test_three_lights_in_turn_are_no_bursts_of_one() -> None:
    plan = strip_plan(2, Fraction(1, 4), 2, "cover", paper="ra4")
    turns = tuple(replace(step, filters=light) for step in plan.steps for light in LAYERS)
    assert patch_bursts(replace(plan, steps=turns)) == {}


def test_bursts_of_three_lights_in_turn_are_spoken_of() -> None:
    third = tuple(Pass(light, share) for light, share in zip(LAYERS, (1.0, 0.5, 0.5), strict=True))
    covered, window = (strip_plan(2, Fraction(1, 4), 5, way, paper="ra4", parts=third) for way in ("cover", "window"))
    note = with_colour_note(covered, INSTANT, TYPICAL).notes[-1]
    # By hand, long lights: a lamp taken as instant loses its lag at each start, 90 ms in the red layer and 161 in the blue.
    # Patch 5 has 4 s of red and 2 s of blue, in five bursts four lags short of one: log2(1 - 4 x 0.09 / 3.91) = -0.139 stop
    # and log2(1 - 4 x 0.161 / 1.84) = -0.622, 14.5 CC apart; the shortest burst, 0.19 s, loses no more than it has.
    assert note.startswith("made of 5 bursts of each light, patch 5 is")
    assert 10 < float(note.split(" is ")[1].split(" CC")[0]) < 14.5
    assert with_colour_note(window, INSTANT, TYPICAL) == window


def test_the_figure_is_the_benchs() -> None:
    # patch 5 of a covered strip from 2 s in quarters, on the bench's own lamp, its bursts 30 s apart
    name, bursts = "halogen-24v-250w", [2.0, 0.378, 0.450, 0.535, 0.636]
    three = [lamps.response_of(name, layer) for layer in LAYERS]
    on = [on_time(t, three[1]) for t in bursts]
    lights = [(sum(on[:n]) + 30 * n, sum(on[: n + 1]) + 30 * n) for n in range(5)]
    had = lamps.doses(lamps.LAMPS[name], lights, LAYERS)
    (one,) = lamps.doses(lamps.LAMPS[name], [(0.0, on_time(sum(bursts), three[1]))], LAYERS)
    truth = shift_cc([math.log2(sum(dose[layer] for dose in had) / one[layer]) for layer in LAYERS])
    assert shift_cc(shifts(bursts, three[1], three)) == pytest.approx(truth, abs=0.1)
    assert truth > 1.5


@given(st.lists(st.floats(0.3, 20), min_size=1, max_size=12))
def test_a_lamp_with_one_response_for_all_shifts_nothing(bursts: list[float]) -> None:
    lamp = LampResponse(0.06, 0.1)
    assert shift_cc(shifts(bursts, lamp, [lamp] * 3)) == pytest.approx(0, abs=1e-6)
    assert shift_from_long(bursts[0], lamp, [lamp] * 3) == pytest.approx(0, abs=1e-6)


def test_on_the_screen_and_at_the_command_line(lamphouse: Run) -> None:
    choice = StripChoice(seconds=2.0, step=Fraction(1, 4)).on_paper("ra4")
    assert choice.way == "window"
    assert choice.on_paper("bw").way == "cover"
    covered = StripChoice(seconds=2.0, step=Fraction(1, 4), paper="ra4").job(Settings())
    assert "bursts" in covered.plan.notes[-1]
    plan = json.loads(lamphouse("strip", "--from", "8", "--paper", "ra4", "--show", "--json").stdout)
    assert (plan["paper"], plan["title"].endswith("window")) == ("ra4", True)
    assert "CC off" in lamphouse("strip", "--from", "2", "--paper", "ra4", "--way", "cover", "--show").stdout
    assert json.loads(lamphouse("strip", "--from", "8", "--show", "--json").stdout)["title"].endswith("cover")


@pytest.mark.parametrize(
    ("said", "paper", "way"),
    [
        (("--pack", "60M 50Y", "--head", "dichroic"), "ra4", "window"),
        (("--pack", "R12 G8 B6.5", "--head", "tricolour"), "ra4", "window"),
        (("--pack", "60M 50Y", "--head", "dichroic", "--paper", "bw"), "bw", "cover"),
        (("--grade", "2"), "bw", "cover"),
    ],
)
def test_a_colour_pack_makes_a_colour_strip(lamphouse: Run, said: tuple[str, ...], paper: str, way: str) -> None:
    plan = json.loads(lamphouse("strip", "--around", "8", *said, "--show", "--json").stdout)
    assert (plan["paper"], plan["title"].split(", ")[-1]) == (paper, way)


def test_a_colour_pack_under_a_card_is_told_of_its_colour(lamphouse: Run) -> None:
    # bursts of 2.0, 0.38, 0.45, 0.53 and 0.64 s: beyond 1.5 CC on the bench's lamp (below)
    said = ("strip", "--from", "2", "--step", "1/4", "--pack", "60M 50Y", "--head", "dichroic", "--way", "cover", "--show")
    assert "made of 5 bursts" in lamphouse(*said).stdout


def test_the_screens_strip_for_a_colour_print_is_by_window() -> None:
    recipe = parse_recipe('recipe = 1\ntitle = "t"\nbase_s = 8\n[paper]\nkind = "ra4"\n')
    job = Job(print_plan(recipe), recipe=recipe)
    made = StripChoice().on_its_paper(job, recipe)
    assert (made.paper, made.way, made.middle) == ("ra4", "window", pytest.approx(8))
    assert replace(made, way="uncover").on_its_paper(job, recipe).way == "uncover"  # chosen on this paper: it stays


def test_the_screens_strip_for_three_lights_in_turn_gives_all_three() -> None:
    lights = '[filters]\nhead = "tricolour"\nred = 12\ngreen = 8\nblue = 6\n'
    recipe = parse_recipe(f'recipe = 1\ntitle = "t"\nbase_s = 12\n[paper]\nkind = "ra4"\n{lights}')
    made = StripChoice(patches=3).on_its_paper(Job(print_plan(recipe), recipe=recipe), recipe)
    lit = {(s.filters, s.area): s.seconds for s in made.job().plan.steps if s.do == "expose"}
    assert len(lit) == 9
    # the middle patch is the print: 12 s of red, 8 of green, 6 of blue
    assert [lit[light, "patch 2"] for light in LAYERS] == pytest.approx([12, 8, 6])

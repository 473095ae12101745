from decimal import Decimal
from fractions import Fraction

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.cli.show import plan_lines
from timer.craft.dodge_burn import burn_seconds, dodge_seconds
from timer.craft.filters import Pack
from timer.craft.lamp_response import LampResponse
from timer.craft.lights import Lights
from timer.documents.recipe_file import parse_recipe
from timer.documents.recipe_light import passes
from timer.errors import LamphouseError, Refused
from timer.plans.lamp_calibration import calibration_plan
from timer.plans.limits import check_limits, short_light
from timer.plans.model import Plan
from timer.plans.print import print_plan
from timer.plans.remainder import SMALLEST_S, rest_of
from timer.plans.stored import decode_plan, encode_plan, plan_hash, plan_json
from timer.plans.strip import strip_plan
from timer.plans.test_sheets import dry_down_plan, ladder_plan, ring_plan

RECIPE = """
recipe = 1
title = "Gate"
base_s = 20
%s
[paper]
kind = "bw"
[filters]
grade = "2"
[[dodge]]
area = "gate"
stops = "1/3"
tool = "wire"
[[dodge]]
area = "tree"
stops = "-1/4"
[[burn]]
area = "sky"
stops = "1/2"
[[burn]]
area = "lamp"
seconds = 6
filters = { grade = "00" }
[edges]
stops = "1/6"
which = ["top", "left"]
[flash]
seconds = 1.5
"""


def made(extra: str = "") -> Plan:
    return print_plan(parse_recipe(RECIPE % extra))


def exposures(plan: Plan) -> list[tuple[str, float]]:
    return [(step.area, step.seconds) for step in plan.steps if step.do == "expose"]


def test_run_through_is_one_base_with_its_changes_called() -> None:
    plan = made()
    base = next(step for step in plan.steps if step.area == "base" and step.do == "expose")
    face, tree = dodge_seconds(20, Fraction(1, 3)), dodge_seconds(20, Fraction(1, 4))
    changes = [(mark.at, mark.say) for mark in base.marks if mark.cue == "change"]
    assert base.say == "base: hold back gate (wire)"
    assert changes == [(pytest.approx(face), "hold back tree"), (pytest.approx(face + tree), "all clear")]
    warned = [mark.at for mark in base.marks if mark.cue == "warn"]
    assert warned == [
        pytest.approx(face - 2),
        pytest.approx(face + tree - min(2, tree / 2)),
        pytest.approx(18),
    ]
    assert (base.marks[-1].cue, base.marks[-1].at) == ("end", 20)


def test_the_exposures_in_their_order() -> None:
    assert exposures(made()) == [
        ("flash", 1.5),
        ("base", 20),
        ("sky", pytest.approx(burn_seconds(20, 0.5))),
        ("top edge", pytest.approx(burn_seconds(20, 1 / 6))),
        ("left edge", pytest.approx(burn_seconds(20, 1 / 6))),
        ("lamp", 6),  # through another filter, so at the end
    ]


def test_filter_changes_wait_for_the_printer() -> None:
    waits = [step.say for step in made().steps if step.do == "wait"]
    assert "filters to grade 00; burn lamp" in waits
    assert not any("filters to grade 2;" in say for say in waits)  # what is given through it has been given by then
    ordered = [step.say for step in made('order = ["lamp", "sky"]').steps if step.do == "wait"]
    assert any(say.startswith("filters to grade 2; burn sky") for say in ordered)


def test_stop_start_splits_the_base() -> None:
    parts = [s for area, s in exposures(made('dodging = "stop-start"')) if area == "base"]
    assert parts == [
        pytest.approx(dodge_seconds(20, 1 / 3)),
        pytest.approx(dodge_seconds(20, 1 / 4)),
        pytest.approx(20 - sum(parts[:2])),
    ]
    assert sum(parts) == pytest.approx(20)


def test_dry_down_shortens_all_but_the_flash() -> None:
    plain, dry = dict(exposures(made())), dict(exposures(made("dry_down_percent = 8")))
    assert dry.pop("flash") == plain.pop("flash")
    assert {area: s / plain[area] for area, s in dry.items()} == {area: pytest.approx(0.92) for area in plain}


def test_order_puts_named_areas_first() -> None:
    areas = [area for area, _ in exposures(made('order = ["lamp", "tree"]'))]
    assert areas[1:4] == ["base", "lamp", "sky"]
    base = next(step for step in made('order = ["tree"]').steps if step.area == "base" and step.do == "expose")
    assert base.say == "base: hold back tree"


def test_overlapping_dodges_start_together_and_the_shorter_is_let_go_first() -> None:
    text = (RECIPE % "").replace('stops = "-1/4"', 'stops = "-1/4"\ntogether = "gate"')
    base = next(step for step in print_plan(parse_recipe(text)).steps if step.area == "base" and step.do == "expose")
    assert base.say == "base: hold back gate (wire) and tree"
    assert [mark.say for mark in base.marks if mark.cue == "change"] == ["hold back gate (wire)", "all clear"]


FAST = 'recipe = 1\ntitle = "t"\nbase_s = %g\n[paper]\nkind = "bw"\n[[dodge]]\narea = "a"\nstops = "1/3"\n[[dodge]]\narea = "b"\n'


@pytest.mark.parametrize(
    ("base", "second", "says"),
    [
        # of 10 s a third is 2.063 s and a half 2.929 s
        (10, 'stops = "1/2"\ntogether = "a"', "the dodges of a and b (2.06 and 2.93 s) end 0.866 s apart"),
        (10, 'stops = "1/2"', ""),
        (10, 'stops = "1/6"', "the dodge of b is 1.09 s, too short"),
        (10, 'stops = "1/6"\ntogether = "a"', "the dodge of b is 1.09 s, too short"),
        (9, 'stops = "1/2"\ntogether = "a"', "the dodge of a is 1.86 s, too short"),
        (30, 'stops = "1/2"\ntogether = "a"', ""),  # 2.6 s apart
    ],
)
def test_hands_that_have_no_time(base: float, second: str, says: str) -> None:
    found = [note for note in print_plan(parse_recipe(FAST % base + second)).notes if "aperture" in note]
    assert len(found) == bool(says)
    assert all(note.startswith(says) for note in found)


def test_hands_in_a_second_exposure() -> None:
    own = '[[burn]]\narea = "whole sheet"\nseconds = 8\nfilters = { grade = "00" }\n[[burn.dodge]]\narea = "c"\nstops = "1/6"\n'
    notes = print_plan(parse_recipe(FAST % 10 + 'stops = "1/2"\n' + own)).notes
    assert any(note.startswith("the dodge of c is 0.873 s") for note in notes)  # 8 x (1 - 2^-1/6)


def test_a_list_tells_short_lights_apart_and_its_total_is_the_sum_of_its_rows() -> None:
    # around 0.156 s in twelfths: patches 0.1390, 0.1473, 0.156, 0.1653, 0.1751; bursts 0.0083 to 0.0098 s after the first
    lines = plan_lines(strip_plan(0.156, Fraction(1, 12), 5, "cover", around=True))
    assert [line.split()[-1] for line in lines[3:8]] == ["0.139", "0.147", "0.156", "0.165", "0.175"]
    shown = [line.split()[1] for line in lines if " s  patch" in line]
    assert shown == ["0.139", "0.00826", "0.00876", "0.00928", "0.00983"]
    assert lines[-1] == "- light in all: 0.17513 s in 5 exposures"


@given(st.floats(0.5, 60), st.integers(2, 9))
def test_light_in_all_is_the_sum_of_the_rows(seconds: float, count: int) -> None:
    plan = strip_plan(seconds, Fraction(1, 3), count, "window")
    rows = [Decimal(line.split()[1]) for line in plan_lines(plan) if " s  patch" in line]
    assert sum(rows) == Decimal(plan.listed_total)
    assert float(plan.listed_total) == pytest.approx(plan.total_light_s, abs=0.005 * count)


@given(st.floats(0.5, 60), st.sampled_from(["cover", "uncover", "window"]), st.integers(2, 9))
def test_a_plan_survives_storage(seconds: float, way: str, count: int) -> None:
    plan = strip_plan(seconds, Fraction(1, 3), count, way)  # type: ignore[arg-type]
    assert decode_plan(encode_plan(plan)) == plan
    assert plan_hash(decode_plan(encode_plan(plan))) == plan_hash(plan)
    assert plan_json(plan)["total_light_s"] == pytest.approx(sum(s["seconds"] for s in plan_json(plan)["steps"]))


def test_a_plan_with_a_filter_that_no_set_has_is_none() -> None:
    with pytest.raises(msgspec.DecodeError, match=r"there is no 'grade 9\."):
        decode_plan(encode_plan(made()).replace(b'"grade ', b'"grade 9.'))


def test_the_strip_says_what_to_cover_and_which_end_is_darkest() -> None:
    says = [step.say for step in strip_plan(8, Fraction(1, 3), 3, "cover").steps if step.do == "wait"]
    assert says == [
        "strip uncovered",
        "cover patch 1 with the card: 1 of 3 covered",
        "cover patch 2 with the card: 2 of 3 covered",
    ]
    says = [step.say for step in strip_plan(8, Fraction(1, 3), 3, "uncover").steps if step.do == "wait"]
    assert says == [
        "cover all but patch 3 with the card",
        "uncover patch 2: 2 of 3 uncovered",
        "uncover patch 1: 3 of 3 uncovered",
    ]
    for way in ("cover", "uncover", "window"):
        assert "darkest: patch 3" in strip_plan(8, Fraction(1, 3), 3, way).notes[0]


def test_over_the_ceiling_is_refused_before_light() -> None:
    with pytest.raises(Refused, match="over the 120 s"):
        check_limits(strip_plan(100, Fraction(1), 2, "window"), 120)


@given(st.integers(0, 5), st.floats(0, 1))
def test_the_rest_is_exactly_what_is_missing(done: int, share: float) -> None:
    plan = made()
    lit = [n for n, step in enumerate(plan.steps) if step.do == "expose"]
    given_light = {n: plan.steps[n].seconds for n in lit[:done]}
    given_light[lit[done]] = plan.steps[lit[done]].seconds * share
    try:
        rest = rest_of(plan, given_light)
    except LamphouseError:
        assert done == len(lit) - 1
        assert plan.steps[lit[done]].seconds * (1 - share) < SMALLEST_S / 2
        return
    assert rest.total_light_s + sum(given_light.values()) == pytest.approx(plan.total_light_s, abs=SMALLEST_S / 2 + 1e-9)
    for step in rest.steps:
        assert all(0 < mark.at <= step.seconds + 1e-9 for mark in step.marks)


def test_the_rest_of_a_base_knows_which_dodge_is_due() -> None:
    plan = made()
    base = next(n for n, step in enumerate(plan.steps) if step.area == "base" and step.do == "expose")
    flash = next(n for n, step in enumerate(plan.steps) if step.do == "expose")
    rest = rest_of(plan, {flash: 1.5, base: 5.0})
    first = next(step for step in rest.steps if step.do == "expose")
    assert first.say == "base: hold back tree"
    assert [m.at for m in first.marks if m.cue == "change"] == [
        pytest.approx(dodge_seconds(20, 1 / 3) + dodge_seconds(20, 1 / 4) - 5)
    ]


LIGHTS = """
recipe = 1
title = "Gate"
base_s = 12
[paper]
kind = "ra4"
[filters]
head = "tricolour"
red = 12
green = 8
blue = 6
[[dodge]]
area = "gate"
stops = "1/4"
[[burn]]
area = "sky"
stops = 1
[[burn]]
area = "post"
seconds = 3
filters = { head = "tricolour", blue = 1 }
[edges]
stops = "1/6"
which = ["top", "left"]
"""


def test_three_lights_in_turn_are_three_of_each() -> None:
    plan = print_plan(parse_recipe(LIGHTS))
    light = [(step.area, step.filters, step.seconds) for step in plan.steps if step.do == "expose"]
    edge = burn_seconds(1, 1 / 6)
    assert light == [
        ("base", "red", 12), ("base", "green", 8), ("base", "blue", 6),
        # burns go back through the colours: the last one is in already
        ("sky", "blue", 6), ("sky", "green", 8), ("sky", "red", 12),
        ("top edge", "red", pytest.approx(12 * edge)), ("left edge", "red", pytest.approx(12 * edge)),
        ("top edge", "green", pytest.approx(8 * edge)), ("left edge", "green", pytest.approx(8 * edge)),
        ("top edge", "blue", pytest.approx(6 * edge)), ("left edge", "blue", pytest.approx(6 * edge)),
        ("post", "blue", 3),
    ]  # fmt: skip
    for n, colour in enumerate((12, 8, 6)):
        base = [step for step in plan.steps if step.area == "base" and step.do == "expose"][n]
        assert [m.at for m in base.marks if m.cue == "change"] == [pytest.approx(dodge_seconds(colour, 0.25))]
    waits = [step.say for step in plan.steps if step.do == "wait"]
    assert waits[:4] == [
        "paper in the easel, lens stopped down, red in; hold back gate",
        "filters to green; hold back gate",
        "filters to blue; hold back gate",
        "burn sky",
    ]
    assert "filters to green; burn sky" in waits
    stopped = print_plan(parse_recipe(LIGHTS.replace("base_s = 12", 'base_s = 12\ndodging = "stop-start"')))
    assert sum(step.seconds for step in stopped.steps if step.area == "base") == pytest.approx(26)


def test_three_lights_at_once_are_one_exposure() -> None:
    text = LIGHTS.replace(
        '"tricolour"\nred = 12\ngreen = 8\nblue = 6', '"additive"\nred = 30\ngreen = 24\nblue = 20\nper_stop = 12'
    )
    plan = print_plan(parse_recipe(text))
    assert [step.filters for step in plan.steps if step.area == "base"] == ["R30 G24 B20 at 12 a stop"]
    assert "R30 G24 B20 at 12 a stop in" in plan.steps[0].say


def test_a_strip_through_three_lights_in_turn() -> None:
    parts = passes(parse_recipe(LIGHTS).filters)
    plan = strip_plan(12, Fraction(1), 2, "cover", parts=parts)
    assert [(step.filters, step.seconds) for step in plan.steps if step.do == "expose"] == [
        ("red", 12), ("red", 12), ("green", 8), ("green", 8), ("blue", 6), ("blue", 6),
    ]  # fmt: skip
    assert [patch.seconds for patch in plan.patches] == [12, 24]
    assert plan.steps[0].say == "filters to red; strip uncovered"


def plans() -> list[Plan]:
    """One of every kind."""
    return [
        made(),
        print_plan(parse_recipe(LIGHTS)),
        strip_plan(8, Fraction(1, 3), 5, "window"),
        ring_plan(Pack(0, 60, 50), 10, 10, "dichroic"),
        ladder_plan(Lights(12, 8, 6.5), "M", (-10, 10), 12, "tricolour"),
        dry_down_plan(10),
        calibration_plan(8, 1.0),
    ]


@pytest.mark.parametrize("plan", plans(), ids=lambda plan: plan.title)
def test_the_end_of_every_exposure_is_warned_of(plan: Plan) -> None:
    for step in plan.steps:
        if step.do == "expose":
            *before, last = step.marks
            assert (last.cue, last.at) == ("end", step.seconds)
            since = max((mark.at for mark in before if mark.cue == "change"), default=0.0)
            if step.seconds - since >= 0.5:
                assert (before[-1].cue, before[-1].at) == (
                    "warn",
                    pytest.approx(max(step.seconds - 2, (since + step.seconds) / 2)),
                )


def test_light_that_cannot_be_given_is_refused() -> None:
    with pytest.raises(Refused, match=r"patches 2 to 5: 0.003 s of light cannot be given, 0.005 s is the least"):
        check_limits(strip_plan(0.05, Fraction(1, 12), 5, "cover"), 120)
    check_limits(strip_plan(0.05, Fraction(1, 12), 5, "window"), 120)
    with pytest.raises(Refused, match="cannot be given"):
        check_limits(ring_plan(Pack(0, 60, 50), 10, 0.004, "dichroic"), 120)
    # 4.96 ms are not the 5 ms that would do, nor 120.04 s the 120 s
    with pytest.raises(Refused, match=r"0\.00496 s of light cannot be given, 0\.005 s is the least"):
        check_limits(strip_plan(0.00496, Fraction(1, 1), 2, "window"), 120)
    with pytest.raises(Refused, match=r"120\.04 s is over the 120 s"):
        check_limits(strip_plan(60.02, Fraction(1, 1), 2, "window"), 120)


def test_light_that_a_lamp_gives_before_it_can_be_off_is_refused() -> None:
    """A dose may begin before the switch does, by calibration: then there is a least light, and no time below nothing."""
    early = LampResponse(-0.5, 0.1)
    check_limits(strip_plan(8, Fraction(1, 3), 5, "window"), 120, early)
    with pytest.raises(Refused, match=r"patch 1: 0.300 s of light cannot be given, since this lamp gives more"):
        check_limits(strip_plan(0.3, Fraction(1, 3), 5, "window"), 120, early)


def test_light_shorter_than_the_lamps_rise_is_warned_of() -> None:
    strip = strip_plan(2, Fraction(1, 12), 5, "cover")  # bursts of 0.12 s and more
    (warning,) = short_light(strip, LampResponse(0.06, 0.1))
    assert warning.startswith("4 of 5 exposures are shorter than the 0.360 s that this lamp takes to come up")
    assert "the shortest 0.119 s" in warning and "window" in warning
    assert short_light(strip, LampResponse()) == short_light(strip, LampResponse())
    assert "shorter than 0.5 s" in short_light(strip, LampResponse())[0]
    assert short_light(strip_plan(8, Fraction(1, 3), 5, "cover"), LampResponse(0.06, 0.1)) == ()
    assert short_light(strip_plan(2, Fraction(1, 12), 5, "window"), LampResponse(0.06, 0.1)) == ()
    windows = (strip_plan(0.2, Fraction(1, 3), 3, "window"), ring_plan(Pack(0, 60, 50), 10, 0.2, "dichroic"))
    assert not any("window" in short_light(plan, LampResponse())[0] for plan in windows)  # made by one already
    assert "window" in short_light(strip_plan(0.2, Fraction(1, 3), 3, "uncover"), LampResponse())[0]
    assert "window" not in short_light(calibration_plan(8, 0.2), LampResponse())[0]  # bursts are what it is about
    (one,) = short_light(print_plan(parse_recipe((RECIPE % "").replace("seconds = 1.5", "seconds = 0.3"))), LampResponse())
    assert one.startswith("the exposure of flash is shorter than 0.5 s")


def test_the_card_is_named_before_the_light_and_not_when_it_is_away_again() -> None:
    plan = print_plan(parse_recipe(LIGHTS))
    base = next(n for n, step in enumerate(plan.steps) if step.do == "expose")
    assert plan.steps[base - 1].say.endswith("; hold back gate")
    held = next(m.at for m in plan.steps[base].marks if m.cue == "change")
    assert rest_of(plan, {base: held / 2}).steps[0].say.endswith("; hold back gate")
    assert rest_of(plan, {base: held + 1}).steps[0].say == "as it was, nothing moved: all clear"

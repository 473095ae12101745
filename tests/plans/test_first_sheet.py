"""The first sheet's plan: each patch alone, the time kept while filters come in."""

import pytest

from timer.craft.filters import Pack
from timer.craft.heads import Setting, parse_setting
from timer.craft.lights import Lights
from timer.errors import Refused
from timer.plans.first_sheet import first_sheet_plan
from timer.plans.stored import decode_plan, encode_plan


def test_five_patches_each_alone() -> None:
    plan = first_sheet_plan(Pack(0, 60, 50), 10, "dichroic")
    lit = [step for step in plan.steps if step.do == "expose"]
    assert [step.area for step in lit] == [f"patch {n}" for n in range(1, 6)]
    assert [step.seconds for step in lit] == pytest.approx([10, 10 / 2**0.5, 10 * 2**0.5, 10, 10])
    assert [step.filters for step in lit] == ["60M 50Y", "60M 50Y", "60M 50Y", "80M 50Y", "60M 70Y"]
    changes = [step.say for step in plan.steps if "filters to" in step.say]
    assert len(changes) == 3 and all(say.startswith("paper covered") for say in changes)
    assert decode_plan(encode_plan(plan)) == plan and plan.paper == "ra4"


def test_of_lights_in_turn_a_fifth_of_a_density_less_of_one() -> None:
    plan = first_sheet_plan(Lights(12, 8, 6.5), 12, "tricolour")
    lit = {(s.area, s.filters): s.seconds for s in plan.steps if s.do == "expose"}
    assert len(lit) == 15
    assert lit["patch 1", "red"] == pytest.approx(12) and lit["patch 1", "blue"] == pytest.approx(6.5)
    assert lit["patch 4", "green"] == pytest.approx(8 * 10**-0.2, abs=0.01)
    assert lit["patch 5", "blue"] == pytest.approx(6.5 * 10**-0.2, abs=0.01)
    assert lit["patch 3", "green"] == pytest.approx(8 * 2**0.5)


def given(setting: Setting, head: str, top: float = 0.0) -> list[tuple[str, float]]:
    return [(patch.filters, patch.seconds) for patch in first_sheet_plan(setting, 10, head, top).patches[3:]]


def test_neutral_density_stays_in_with_the_time() -> None:
    # 20 of all three taken out would be 1.2 x 1.3 times the light on dials, and the time says nothing of it
    assert given(Pack(20, 60, 50), "dichroic") == [("20C 80M 50Y", 10), ("20C 60M 70Y", 10)]
    assert given(Pack(20, 60, 0), "dichroic") == [("20C 80M", 10), ("20C 60M 20Y", 10)]
    assert given(parse_setting("20C 60M 50Y", "cp"), "cp") == [("20C 80M 50Y", 10), ("20C 60M 70Y", 10)]
    # sheets stay as they are stacked, one more among them
    assert given(parse_setting("20R 10Y", "cp"), "cp") == [("20R 10Y 20M", 10), ("20R 30Y", 10)]
    plan = first_sheet_plan(Pack(0, -5, 50), 10, "dichroic")  # no head has less than no filter: 5 of all three put in
    assert [patch.filters for patch in plan.patches] == ["5C 55Y"] * 3 + ["5C 20M 55Y", "5C 75Y"]


def test_a_head_that_ends_before_has_less_instead() -> None:
    plan = first_sheet_plan(Pack(0, 60, 50), 10, "dichroic", top=70)
    assert [patch.filters for patch in plan.patches[3:]] == ["40M 50Y", "60M 70Y"]
    assert [step.say for step in plan.steps if step.do == "expose"][3:] == ["20M less", "20Y more"]
    assert given(Pack(20, 60, 50), "dichroic", 70) == [("20C 40M 50Y", 10), ("20C 60M 70Y", 10)]
    with pytest.raises(Refused, match="30M, and the head ends at 25.*; nor is there room for 20M less"):
        first_sheet_plan(Pack(0, 10, 10), 10, "dichroic", top=25)
    assert len(first_sheet_plan(Pack(0, 10, 10), 10, "dichroic", top=25, patches=1).patches) == 1


def test_lights_in_steps_near_their_end_are_turned_the_other_way() -> None:
    # 30 steps a stop, so 20 CC are 0.2 / log10(2) x 30 = 19.93 steps; green at 5 has no room for so much less
    assert given(Lights(40, 5, 30, 30), "additive") == [
        ("R40 G24.93 B30 at 30 a stop", 10), ("R40 G5 B10.07 at 30 a stop", 10),
    ]  # fmt: skip
    assert given(Lights(90, 60, 50), "additive", 100) == [("R90 G37.86 B50", 10), ("R90 G60 B31.55", 10)]

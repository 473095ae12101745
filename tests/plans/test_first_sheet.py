"""The first sheet's plan: each patch alone, the time kept while filters come in."""

import pytest

from timer.craft.filters import Pack
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


def test_a_head_that_ends_before() -> None:
    with pytest.raises(Refused, match="the head ends at 70"):
        first_sheet_plan(Pack(0, 60, 50), 10, "dichroic", top=70)

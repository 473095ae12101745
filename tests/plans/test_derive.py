from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.dodge_burn import burn_seconds, dodge_seconds
from timer.craft.filters import Pack
from timer.craft.lights import Lights
from timer.documents.calibrations import Box
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.errors import Refused
from timer.plans.derive import derive
from timer.plans.print import print_plan
from timer.plans.recipe_change import RecipeChange, derived_json, times

COLOUR = """
recipe = 1
title = "Harbour"
base_s = 10.0
[paper]
kind = "ra4"
[enlargement]
frame = "24x36mm"
sheet = "8x10in"
lens_mm = 50
aperture = 8
detail_negative_mm = 24
detail_print_mm = 190.5
[filters]
m = 60
y = 45
head = "dichroic"
[[dodge]]
area = "face"
stops = "1/4"
[[burn]]
area = "sky"
stops = "1/2"
"""
SILVER = """
recipe = 1
title = "Gate"
base_s = 10.0
[paper]
kind = "bw"
speed = 200
[enlargement]
frame = "6x6"
sheet = "8x10in"
aperture = 11
[filters]
grade = "2"
[[burn]]
area = "sky"
seconds = 6
filters = { grade = "00" }
[flash]
seconds = 1.5
"""


def test_the_trades_worked_example() -> None:
    # 35 mm cropped, short image side 7.5 in to 11.5 in; arithmetic on (M + 1)^2: 10.0, 21.7, opened 10.9, new box 11.7 s
    recipe = parse_recipe(COLOUR)
    bigger = derive(recipe, RecipeChange(sheet="12x16in", detail_print_mm=292.1))
    assert bigger.magnification == pytest.approx((7.94, 12.17), abs=0.01)
    assert bigger.size == pytest.approx(2.172, abs=0.001)
    assert bigger.recipe.base_s == pytest.approx(21.7, abs=0.05)
    opened = derive(recipe, RecipeChange(sheet="12x16in", detail_print_mm=292.1, aperture=5.6))
    assert opened.recipe.base_s == pytest.approx(10.9, abs=0.05)
    box = Box("new", 1.08, Pack(m=-5))
    boxed = derive(recipe, RecipeChange(sheet="12x16in", detail_print_mm=292.1, aperture=5.6, box=box))
    assert boxed.recipe.base_s == pytest.approx(11.7, abs=0.05)
    assert (boxed.recipe.filters.m, boxed.recipe.filters.y) == (55, 45)
    assert boxed.filters == 1  # no magenta rule on top of a measured ratio
    base = boxed.recipe.base_s
    assert dodge_seconds(base, Fraction(1, 4)) == pytest.approx(1.87, abs=0.01)
    assert burn_seconds(base, Fraction(1, 2)) == pytest.approx(4.86, abs=0.01)
    assert any("dodge of face" in line for line in boxed.advice)
    # lens to paper 658 mm, negative to paper 713 mm for f = 50 at M = 12.17
    assert (bigger.lens_to_paper_mm, bigger.negative_to_paper_mm) == pytest.approx((658, 713), abs=1)


def test_common_practice_eight_by_ten_at_f11_to_twelve_by_sixteen_at_f8() -> None:
    # common practice, no source: 7 to 10 s at f/11 on 8x10 need about the same or a little more at f/8 on 12x16
    recipe = parse_recipe(
        COLOUR.replace("aperture = 8", "aperture = 11").replace("detail_negative_mm = 24\ndetail_print_mm = 190.5\n", "")
    )
    moved = derive(recipe, RecipeChange(sheet="12x16in", aperture=8))
    assert 1.0 <= moved.factor <= 1.3
    assert moved.recipe.base_s >= 10


def test_the_strip_that_confirms_it_is_on_its_paper() -> None:
    strips = [derive(parse_recipe(text), RecipeChange(stops=Fraction(1))).strip for text in (COLOUR, SILVER)]
    assert strips[0] == "lamphouse strip --around 20.0 --step 1/6 --patches 3 --paper ra4"
    assert strips[1] == "lamphouse strip --around 20.0 --step 1/6 --patches 3"


def test_a_measured_detail_wins_and_the_crop_is_kept() -> None:
    recipe = parse_recipe(COLOUR)
    moved = derive(recipe, RecipeChange(sheet="12x16in"))
    assert moved.magnification[0] == pytest.approx(7.94, abs=0.01)
    assert moved.magnification[1] == pytest.approx(7.9375 * 11.2889 / 7.0556, abs=0.01)


def test_burns_through_another_filter_and_flash() -> None:
    moved = derive(parse_recipe(SILVER), RecipeChange(sheet="12x16in", aperture=8, speed=100))
    light = moved.size * moved.aperture * moved.paper
    assert (moved.aperture, moved.paper, moved.filters) == (pytest.approx(0.5), 2, 1)
    assert moved.recipe.burn[0].seconds == pytest.approx(6 * light, abs=0.001)
    assert moved.recipe.base_s == pytest.approx(10 * light, abs=0.001)
    # the flash follows the paper's speed alone, and its own set-up is for the printer to see to
    assert moved.recipe.flash and moved.recipe.flash.seconds == 3.0
    assert any("flash 1.5 s x 2.000 = 3.00 s" in line for line in moved.says)
    assert any("its own set-up" in line for line in moved.advice)
    assert any("find its threshold again" in line for line in moved.advice)
    assert any("D = 0.6" in line for line in moved.says)


def test_a_speed_through_another_grade_holds_the_grades_stop() -> None:
    recipe = parse_recipe(SILVER)
    both = derive(recipe, RecipeChange(grade="5", speed=100))
    assert (both.factor, both.paper, both.filters) == (2, 1, 2)
    assert both.recipe.flash and both.recipe.flash.seconds == 1.5  # the paper is as fast as it was
    assert both.recipe.burn[0].seconds == 6  # its own grade is as it was
    slower = derive(recipe, RecipeChange(grade="5", speed=50))
    assert (slower.factor, slower.paper, slower.filters) == (4, 2, 2)
    assert slower.recipe.flash and slower.recipe.flash.seconds == 3
    # the grade alone takes the speed with it, so a speed said later does not count its stop again
    harder = derive(recipe, RecipeChange(grade="5"))
    assert (harder.factor, harder.recipe.paper.speed) == (2, 100)
    assert derive(harder.recipe, RecipeChange(speed=100, aperture=8)).paper == 1
    assert any("judge dodges and burns again" in line for line in harder.advice)
    back = derive(both.recipe, RecipeChange(grade="2", speed=200))
    assert back.recipe.base_s == recipe.base_s


def test_a_measured_box_has_its_speed_in_it() -> None:
    with pytest.raises(Refused, match="its speed in its time already"):
        derive(parse_recipe(SILVER), RecipeChange(box=Box("b", 1.1, Pack()), speed=100))
    with pytest.raises(Refused, match="measured with a change of pack"):
        derive(parse_recipe(SILVER), RecipeChange(box=Box("b", 1.1, Pack(m=5))))
    moved = derive(parse_recipe(SILVER), RecipeChange(box=Box("b", 1.1, Pack())))
    assert moved.recipe.flash and moved.recipe.flash.seconds == pytest.approx(1.65)
    assert moved.recipe.burn[0].seconds == pytest.approx(6.6)


OWN_PACK = """
[[burn]]
area = "post"
seconds = 3
filters = { m = 40, y = 40 }
[[burn]]
area = "rim"
seconds = 2
filters = {}
"""


def test_a_new_box_takes_its_neutral_out_with_its_time_also_from_burns() -> None:
    recipe = parse_recipe(COLOUR.replace("y = 45", "y = 50") + OWN_PACK)
    moved = derive(recipe, RecipeChange(box=Box("b3", 1.1, Pack(c=5))))
    # 5C 60M 50Y less 5 neutral on dials: 5M less, and the 1.1 of 5C
    neutral = 1.2 ** (-5 / 20) / 1.1
    assert (moved.recipe.filters.c, moved.recipe.filters.m, moved.recipe.filters.y) == (0, 55, 45)
    assert moved.recipe.base_s == pytest.approx(10 * 1.1 * neutral, abs=0.001)
    assert (moved.paper, moved.filters) == (1.1, pytest.approx(neutral))
    post, rim = moved.recipe.burn[1:]
    assert post.filters and (post.filters.c, post.filters.m, post.filters.y) == (0, 35, 35)
    assert post.seconds == pytest.approx(3 * 1.1 * neutral, abs=0.001)
    assert rim.filters and rim.filters.m == 0  # white light on purpose: no pack in it to follow
    assert rim.seconds == pytest.approx(2 * 1.1)
    gel = parse_recipe(COLOUR.replace('"dichroic"', '"cp"'))
    assert derive(gel, RecipeChange(box=Box("b3", 1.1, Pack(c=5)))).filters == pytest.approx(
        # sheets: 60M is 50M and 10M, 55M 50M and 5M; cyan gone
        1.2 / 1.3 / 1.1
    )
    with pytest.raises(Refused, match="--head cp"):
        derive(parse_recipe(COLOUR.replace('head = "dichroic"\n', "")), RecipeChange(box=Box("b3", 1.1, Pack(c=5))))


def test_a_recipe_with_neutral_density_in_its_pack() -> None:
    recipe = parse_recipe(COLOUR.replace("m = 60", "c = 20\nm = 60").replace("y = 45", "y = 50"))
    moved = derive(recipe, RecipeChange(correct=Pack(m=-10)))
    assert (moved.recipe.filters.c, moved.recipe.filters.m, moved.recipe.filters.y) == (0, 30, 30)
    assert moved.recipe.base_s == pytest.approx(10 * 1.2 ** (-30 / 20) / 1.3, abs=0.001)
    assert moved.recipe == derive(recipe, RecipeChange(correct=Pack(m=-10))).recipe
    assert derive(recipe, RecipeChange(pack=Pack(0, 30, 30))).recipe.base_s == moved.recipe.base_s
    assert derive(recipe, RecipeChange(pack=Pack(10, 40, 40))).recipe.base_s == moved.recipe.base_s  # neutral is not put in


def test_no_pack_beyond_the_heads_end_and_none_for_another_head() -> None:
    for target in (
        RecipeChange(correct=Pack(m=20)),
        RecipeChange(pack=Pack(m=80, y=45)),
        RecipeChange(box=Box("b", 1.0, Pack(m=20))),
    ):
        with pytest.raises(Refused, match="80M, and the head ends at 70"):
            derive(parse_recipe(COLOUR), replace(target, top=70))
    levels = COLOUR.replace("m = 60\ny = 45", "red = 50\ngreen = 40\nblue = 30").replace('"dichroic"', '"additive"')
    with pytest.raises(Refused, match="R80, and the head ends at 70"):
        derive(parse_recipe(levels), RecipeChange(pack=Lights(80, 40, 30), top=70))
    with pytest.raises(Refused, match="only a test there can say"):
        derive(parse_recipe(COLOUR), RecipeChange(pack=Pack(m=70), head="cp"))
    with pytest.raises(Refused, match="no lights to change from"):
        derive(
            parse_recipe(COLOUR.replace('head = "dichroic"\n', "").replace("m = 60\ny = 45\n", "")),
            RecipeChange(pack=Lights(1, 1, 1), head="additive"),
        )


@pytest.mark.parametrize("head", ["additive", "tricolour"])
@pytest.mark.parametrize("filters", ["", "m = 60\ny = 50\n", 'head = "dichroic"\n'])
def test_a_head_of_lights_needs_lights_to_change_from(head: str, filters: str) -> None:
    text = COLOUR.replace('m = 60\ny = 45\nhead = "dichroic"\n', filters)
    with pytest.raises(Refused, match="no lights to change from"):
        derive(parse_recipe(text), RecipeChange(sheet="12x16in", head=head))


def test_distances_through_another_lens_and_on_a_measured_head() -> None:
    recipe = parse_recipe(COLOUR)
    moved = derive(recipe, RecipeChange(distances_mm=(400, 640), lens_mm=80))
    assert (moved.size, moved.magnification) == (1, (7, 7))  # (v2 f1 / (v1 f2))^2
    assert derive(recipe, RecipeChange(distances_mm=(400, 640), lens_mm=40)).size == pytest.approx(
        (640 * 50 / (400 * 40)) ** 2
    )
    bent = derive(recipe, RecipeChange(distances_mm=(400, 640), exponent=0.675, exponent_of="cond"))
    assert bent.size == pytest.approx(1.886, abs=0.001)
    assert "cond" in bent.says[0]
    # a lens that the recipe does not say is the one that is said now, or the same one
    unknown = parse_recipe(COLOUR.replace("lens_mm = 50\n", ""))
    assert derive(unknown, RecipeChange(distances_mm=(400, 640))).size == pytest.approx(2.56)
    assert derive(unknown, RecipeChange(distances_mm=(400, 640), lens_mm=50)).size == pytest.approx(2.56)


def test_another_paper_without_a_speed_is_said_to_keep_the_old_time() -> None:
    def said(**target: Any) -> list[str]:
        return [line for line in derive(parse_recipe(SILVER), RecipeChange(**target)).advice if "the time is still" in line]

    assert len(said(paper="Foo")) == 1 and derive(parse_recipe(SILVER), RecipeChange(paper="Foo")).factor == 1
    assert not said(paper="Foo", speed=100)
    assert not said(paper="Foo", box=Box("b", 1.1, Pack()))
    assert not said(aperture=8)


def test_another_papers_speed_and_range_are_not_the_old_ones() -> None:
    text = SILVER.replace("speed = 200", 'speed = 200\nrange = 90\nname = "matt"')
    moved = derive(parse_recipe(text), RecipeChange(paper="Foo")).recipe.paper
    assert (moved.name, moved.speed, moved.range) == ("Foo", None, None)
    said = derive(parse_recipe(text), RecipeChange(paper="Foo", speed=400)).recipe
    assert (said.paper.speed, said.base_s) == (400, 5)  # P 200 / 400
    same = derive(parse_recipe(text), RecipeChange(paper="matt", aperture=8)).recipe.paper
    assert (same.speed, same.range) == (200, 90)
    # R is of the grade on the box: through a contrast filter nothing is said of it
    assert not [note for note in print_plan(parse_recipe(text)).notes if "R90" in note]
    bare = text.replace('grade = "2"', "", 1).replace("[[burn]]", "")[: text.index("[[burn]]") - 12]
    assert "paper of R90: a grade 3" in print_plan(parse_recipe(bare)).notes  # 0.80 to 0.95


def test_a_flash_that_follows_the_paper_is_not_said_to_be_as_it_was() -> None:
    made = derive(parse_recipe(SILVER), RecipeChange(sheet="30x40cm", speed=100))
    assert made.recipe.flash and made.recipe.flash.seconds == 3  # of 1.5 s: a paper half as fast
    assert not [line for line in made.advice if "as it was" in line]
    assert any(line.startswith("the flash does not follow size and aperture") for line in made.advice)


@pytest.mark.parametrize(
    ("factor", "says"), [(1.0, "x 1"), (1.00004, "x 1.00004"), (0.9996, "x 0.9996"), (1.0006, "x 1.001"), (0.05, "x 0.05")]
)
def test_a_factor_that_is_not_one_never_reads_one(factor: float, says: str) -> None:
    assert times(factor) == says


def test_what_was_measured_goes_along_with_the_distances() -> None:
    recipe = parse_recipe(COLOUR)
    there = derive(recipe, RecipeChange(distances_mm=(450, 750))).recipe
    assert there.enlargement.lens_to_paper_mm == 750
    assert there.enlargement.detail_print_mm == pytest.approx(190.5 * 14 / 8)
    # so the next move begins where this one ended
    again = derive(there, RecipeChange(detail_print_mm=190.5))
    assert again.factor == pytest.approx(((190.5 / 24 + 1) / (190.5 / 24 * 14 / 8 + 1)) ** 2, rel=1e-4)
    assert again.recipe.enlargement.lens_to_paper_mm == pytest.approx(
        750 * (190.5 / 24 + 1) / (190.5 / 24 * 14 / 8 + 1), abs=0.001
    )
    plain = parse_recipe(COLOUR.replace("detail_negative_mm = 24\ndetail_print_mm = 190.5\n", ""))
    there = derive(plain, RecipeChange(distances_mm=(400, 640))).recipe
    bigger = derive(there, RecipeChange(sheet="16x20in"))
    assert bigger.magnification == pytest.approx((640 / 50 - 1, (640 / 50 - 1) * 2))  # the crop stays
    other = derive(there, RecipeChange(lens_mm=80, aperture=5.6))
    assert (other.size, other.recipe.enlargement.lens_to_paper_mm) == (1, pytest.approx(80 * 12.8))
    blind = parse_recipe(
        COLOUR.replace("detail_negative_mm = 24\ndetail_print_mm = 190.5\n", "").replace("lens_mm = 50\n", "")
    )
    there = derive(blind, RecipeChange(distances_mm=(400, 640))).recipe
    assert derive(there, RecipeChange(distances_mm=(640, 400))).recipe.base_s == pytest.approx(10)
    with pytest.raises(Refused, match="small"):
        derive(parse_recipe(COLOUR.replace("lens_mm = 50\n", "")), RecipeChange(distances_mm=(600, 60)))


MEASURED = """
recipe = 1
title = "Quay"
base_s = 10.0
[paper]
kind = "bw"
[enlargement]
frame = "6x7"
sheet = "18x24cm"
"""
DETAIL, LENS = "detail_negative_mm = 10\ndetail_print_mm = %g\n", "lens_mm = 80\nlens_to_paper_mm = %g\n"


@pytest.mark.parametrize("measured", [DETAIL % 80, LENS % (80 * 9)])
def test_what_was_measured_grows_with_the_print(measured: str) -> None:
    # 6x7 is 56 mm wide: whole on 18x24 M 180/56, on 30x40 300/56, so M 8 becomes 8 x 300/180 = 13.33, and the time grows by
    # ((13.33 + 1) / (8 + 1))^2 = 2.536
    there = derive(parse_recipe(MEASURED + measured), RecipeChange(sheet="30x40cm"))
    assert there.magnification == pytest.approx((8, 40 / 3))
    assert there.recipe.base_s == pytest.approx(25.36, abs=0.01)
    place = there.recipe.enlargement
    assert (place.detail_print_mm or 400 / 3) == pytest.approx(400 / 3, abs=0.001)
    assert (place.lens_to_paper_mm or 80 * 43 / 3) == pytest.approx(80 * 43 / 3, abs=0.001)
    back = derive(there.recipe, RecipeChange(sheet="18x24cm"))
    assert back.magnification == pytest.approx((40 / 3, 8), rel=1e-5)
    assert back.recipe.base_s == pytest.approx(10, abs=0.001)


def test_by_way_of_another_size() -> None:
    # M 4 on 18x24: 6x7 whole on 24x30 is 240/56, so M 4 x 240/180 = 5.333, and 10 s x (6.333 / 5)^2 = 16.04 s
    recipe = parse_recipe(MEASURED + DETAIL % 40)
    via = derive(derive(recipe, RecipeChange(sheet="30x40cm")).recipe, RecipeChange(sheet="24x30cm")).recipe
    assert (via.base_s, derive(recipe, RecipeChange(sheet="24x30cm")).recipe.base_s) == pytest.approx(
        (16.04, 16.04), abs=0.01
    )


sizes = st.fixed_dictionaries(
    {
        "sheet": st.sampled_from(["5x7", "8x10in", "18x24cm", "30x40cm", "16x20in"]),
        "fill": st.booleans(),
        "border_mm": st.sampled_from([0.0, 10.0]),
        "lens_mm": st.sampled_from([None, 105.0]),
        "aperture": st.none(),
    }
).map(lambda said: RecipeChange(**said))  # type: ignore[arg-type]


@given(
    st.sampled_from(["", DETAIL, LENS, DETAIL + "lens_mm = 80\nlens_to_paper_mm = 700\n"]), st.floats(1, 12), sizes, sizes
)
def test_the_way_to_a_size_does_not_matter(measured: str, m: float, there: RecipeChange, then: RecipeChange) -> None:
    first = MEASURED + (measured % (80 * (m + 1) if measured == LENS else 10 * m) if measured else "")
    recipe = parse_recipe(first)
    start = RecipeChange(sheet="18x24cm", fill=False, border_mm=0.0, lens_mm=recipe.enlargement.lens_mm)
    by_way = derive(derive(recipe, there).recipe, then)
    straight = derive(recipe, then)
    assert by_way.recipe.base_s == pytest.approx(straight.recipe.base_s, rel=1e-3)
    assert by_way.magnification[1] == pytest.approx(straight.magnification[1], rel=1e-3)
    assert derive(by_way.recipe, start).recipe.base_s == pytest.approx(10, rel=1e-3)


def test_a_size_that_lacks_one_measure_names_it() -> None:
    with pytest.raises(Refused, match="add detail_negative_mm"):
        derive(parse_recipe(MEASURED), RecipeChange(detail_print_mm=60))
    with pytest.raises(Refused, match="add detail_negative_mm"):
        derive(parse_recipe(MEASURED), RecipeChange(sheet="30x40cm", detail_print_mm=60))
    there = derive(parse_recipe(MEASURED), RecipeChange(distances_mm=(400, 500))).recipe
    with pytest.raises(Refused, match="500 mm says its size only with the lens; add lens_mm"):
        derive(there, RecipeChange(sheet="30x40cm"))


def test_what_is_written_is_read_again_or_refused() -> None:
    recipe = parse_recipe(COLOUR.replace("detail_print_mm = 190.5", "detail_print_mm = 4.8"))  # M 0.2
    with pytest.raises(Refused, match="3600 s at most"):
        derive(recipe, RecipeChange(detail_print_mm=2000))
    with pytest.raises(Refused, match=r"cannot be made: .*base_s"):
        derive(parse_recipe(COLOUR.replace("base_s = 10.0", "base_s = 0.1")), RecipeChange(aperture=1))
    crowded = COLOUR.replace("[paper]", "changeover_s = 4\n[paper]", 1) + '[[dodge]]\narea = "hand"\nstops = "1/4"\n'
    with pytest.raises(Refused, match=r"cannot be made: .*the dodges"):
        derive(parse_recipe(crowded), RecipeChange(aperture=5.6))
    tiny = derive(
        parse_recipe(COLOUR.replace("[[dodge]]", "[[burn]]", 1).replace('stops = "1/4"', "stops = 1", 1)),
        RecipeChange(aperture=1),
    )
    assert tiny.recipe.base_s == pytest.approx(10 / 64, rel=5e-4)  # four digits
    assert tiny.strip == "lamphouse strip --around 0.156 --step 1/6 --patches 3 --paper ra4"
    assert "= 0.156 s" in tiny.says[-1]
    assert any("x 0.0156" in line for line in tiny.says)


def test_blades_stay_inside_a_border() -> None:
    moved = derive(
        parse_recipe(COLOUR.replace("detail_negative_mm = 24\ndetail_print_mm = 190.5\n", "")),
        RecipeChange(fill=True, border_mm=10),
    )
    line = next(line for line in moved.advice if "easel blades" in line)
    assert "image 183 x 234 mm, so 10 mm of white along each long side and 10 mm" in line


def test_the_last_correction_is_remembered_with_the_print() -> None:
    recipe = parse_recipe(COLOUR)
    darker = derive(recipe, RecipeChange(stops=Fraction(1, 3))).recipe
    assert darker.derived and (darker.derived.stops, darker.derived.change) == (Fraction(1, 3), None)
    both = derive(darker, RecipeChange(correct=Pack(m=-5))).recipe
    assert both.derived and (both.derived.stops, both.derived.change) == (Fraction(1, 3), (0, -5, 0))
    again = parse_recipe(recipe_toml(both))
    assert again.derived == both.derived
    by_pack = derive(darker, RecipeChange(pack=Pack(m=50, y=35))).recipe
    assert by_pack.derived and by_pack.derived.change == (0, -10, -10)
    # another size is another print
    bigger = derive(both, RecipeChange(sheet="12x16in")).recipe
    assert bigger.derived and (bigger.derived.stops, bigger.derived.change) == (None, None)


LEVELS = COLOUR.replace('m = 60\ny = 45\nhead = "dichroic"', 'head = "additive"\nred = 80\ngreen = 60\nblue = 50')
IN_TURN = COLOUR.replace("base_s = 10.0", "base_s = 12").replace(
    'm = 60\ny = 45\nhead = "dichroic"', 'head = "tricolour"\nred = 12\ngreen = 8\nblue = 6.5'
)


def test_three_lights_at_once() -> None:
    moved = derive(parse_recipe(LEVELS), RecipeChange(correct=Pack(m=10)))
    assert moved.recipe.filters.green == pytest.approx(60 / 10**0.1, abs=0.01)
    assert (moved.recipe.filters.red, moved.recipe.filters.blue) == (80, 50)
    assert moved.recipe.base_s == pytest.approx(10 * 10**0.065, abs=0.002)
    assert moved.recipe.filters.c == moved.recipe.filters.m == 0
    # a box's change of pack is a ratio of light; there is no neutral density in it to take out
    boxed = derive(parse_recipe(LEVELS), RecipeChange(box=Box("b3", 1.1, Pack(c=5))))
    assert boxed.recipe.filters.red == pytest.approx(80 / 10**0.05, abs=0.01)
    assert boxed.recipe.base_s == pytest.approx(11)
    full = derive(parse_recipe(LEVELS), RecipeChange(correct=Pack(c=-20), top=100))
    assert full.recipe.filters.red == 100
    assert full.recipe.filters.green == pytest.approx(60 * 100 / (80 * 10**0.2), abs=0.01)
    assert full.recipe.base_s * full.recipe.filters.green == pytest.approx(10 * 60 * 10 ** (-0.2 * 0.35), rel=1e-3)
    to = derive(parse_recipe(LEVELS), RecipeChange(pack=Lights(40, 30, 25)))
    assert to.recipe.base_s == pytest.approx(20)


def test_three_lights_in_turn() -> None:
    moved = derive(parse_recipe(IN_TURN), RecipeChange(correct=Pack(y=10)))  # blue has no share in the density
    assert moved.recipe.base_s == 12
    assert (moved.recipe.filters.red, moved.recipe.filters.green) == (12, 8)
    assert moved.recipe.filters.blue == pytest.approx(6.5 / 10**0.1, abs=0.01)
    greener = derive(parse_recipe(IN_TURN), RecipeChange(correct=Pack(c=20)))  # red is the longest, and no longer
    red, green, blue = 12 / 10**0.2, 8.0, 6.5
    more = 10 ** (0.2 * 0.35)
    made = greener.recipe
    assert (made.filters.red, made.filters.green, made.filters.blue) == pytest.approx(
        (red * more, green * more, blue * more), abs=0.02
    )
    assert made.base_s == pytest.approx(max(red, green) * more, abs=0.02)
    bigger = derive(parse_recipe(IN_TURN), RecipeChange(aperture=5.6)).recipe  # written in seconds again
    assert (bigger.base_s, bigger.filters.red, bigger.filters.green, bigger.filters.blue) == (6, 6, 4, 3.25)
    assert greener.strip.endswith("--paper ra4 --pack 'R8.895 G9.399 B7.637' --head tricolour")
    boxed = derive(parse_recipe(IN_TURN), RecipeChange(box=Box("b", 1.1, Pack(m=10)))).recipe
    assert (boxed.filters.red, boxed.filters.blue) == pytest.approx((13.2, 7.15))
    assert boxed.filters.green == pytest.approx(8.8 / 10**0.1, abs=0.01)


def test_colour_outside_its_seconds_is_told_to_open_the_lens() -> None:
    moved = derive(parse_recipe(COLOUR.replace("base_s = 10.0", "base_s = 40")), RecipeChange(sheet="16x20in"))
    advice = next(line for line in moved.advice if "outside 5 to 45" in line)
    assert "open the lens by 2 stops from f/8" in advice
    short = derive(parse_recipe(COLOUR.replace("base_s = 10.0", "base_s = 4")), RecipeChange(aperture=5.6))
    assert any("close the lens by 2 stops" in line for line in short.advice)


def test_column_and_blades() -> None:
    moved = derive(parse_recipe(COLOUR), RecipeChange(sheet="12x16in", column_mm=600))
    assert any("column reaches 600 mm" in line for line in moved.advice)
    assert any("easel blades" in line for line in moved.advice)


def test_measured_distances_and_a_measured_head() -> None:
    recipe = parse_recipe(COLOUR)
    assert derive(recipe, RecipeChange(distances_mm=(450, 750))).size == pytest.approx(2.778, abs=0.001)
    plain = derive(recipe, RecipeChange(sheet="12x16in"))
    bent = derive(recipe, RecipeChange(sheet="12x16in", exponent=0.85, exponent_of="condenser"))
    assert bent.size == pytest.approx(plain.size**0.85)
    assert "condenser" in bent.says[0]


@pytest.mark.parametrize(
    ("text", "target", "says"),
    [
        (SILVER.replace('frame = "6x6"\n', ""), RecipeChange(sheet="12x16in"), "does not say the size"),
        (SILVER.replace("aperture = 11\n", ""), RecipeChange(aperture=8), "does not say its aperture"),
        (SILVER.replace("speed = 200\n", ""), RecipeChange(speed=100), "does not say its paper's speed"),
        (COLOUR.replace('head = "dichroic"\n', ""), RecipeChange(pack=Pack(m=70)), "--head cp"),
        (COLOUR, RecipeChange(grade="4"), "no grade to change from"),
        (SILVER, RecipeChange(pack=Pack(m=70)), "contrast grade"),
        (SILVER, RecipeChange(sheet="8x10in", border_mm=120), "leaves nothing"),
    ],
)
def test_what_is_not_known_is_asked_for(text: str, target: RecipeChange, says: str) -> None:
    with pytest.raises(Refused, match=says):
        derive(parse_recipe(text), target)


def test_a_derived_recipe_is_read_back_and_links_to_its_original() -> None:
    moved = derive(parse_recipe(COLOUR), RecipeChange(sheet="12x16in", aperture=5.6), file="harbour.toml", sha256="ab" * 32)
    again = parse_recipe(recipe_toml(moved.recipe))
    assert again == moved.recipe
    assert again.derived and (again.derived.title, again.derived.file) == ("Harbour", "harbour.toml")
    assert len(again.derived.says) == len(moved.says)
    assert set(derived_json(moved)) >= {
        "factors",
        "factor",
        "stops",
        "base_s",
        "magnification",
        "lens_to_paper_mm",
        "negative_to_paper_mm",
    }


@given(
    st.sampled_from([COLOUR, SILVER]),
    st.sampled_from(["12x16in", "16x20in", "30x40cm", "5x7"]),
    st.sampled_from([4, 5.6, 8, 11, 16]),
)
def test_there_and_back_is_where_it_was(text: str, sheet: str, aperture: float) -> None:
    recipe = parse_recipe(text)
    there = derive(recipe, RecipeChange(sheet=sheet, aperture=aperture)).recipe
    back = derive(there, RecipeChange(sheet="8x10in", aperture=recipe.enlargement.aperture)).recipe
    assert back.base_s == pytest.approx(recipe.base_s, abs=0.01)
    assert back.enlargement.sheet == "8x10in"


def test_dodges_and_burns_in_stops_follow_by_themselves() -> None:
    recipe = parse_recipe(COLOUR)
    moved = derive(recipe, RecipeChange(sheet="12x16in"))
    before, after = print_plan(recipe), print_plan(moved.recipe)
    ratios = [b.seconds / a.seconds for a, b in zip(before.steps, after.steps, strict=True) if a.seconds]
    assert ratios == pytest.approx([moved.factor] * len(ratios), rel=1e-3)


def test_recipes_round_trip_through_toml(tmp_path: Path) -> None:
    example = Path(__file__).parents[2] / "timer" / "documents" / "example.toml"
    least = 'recipe = 1\ntitle = "-"\nbase_s = 1\n[paper]\nkind = "bw"\n'
    for text in (COLOUR, SILVER, least, example.read_text()):
        recipe = parse_recipe(text)
        assert parse_recipe(recipe_toml(recipe)) == recipe


def test_a_pack_and_a_change_of_pack() -> None:
    with pytest.raises(Refused, match="a pack to go to, or a change of the pack, not both"):
        derive(parse_recipe(COLOUR), RecipeChange(pack=Pack(0, 70, 45), correct=Pack(m=-10)))


def test_lights_on_another_scale_than_the_recipes() -> None:
    lights = COLOUR.replace('m = 60\ny = 45\nhead = "dichroic"\n', 'head = "additive"\nred = 80\ngreen = 60\nblue = 50\n')
    with pytest.raises(Refused, match="on two scales"):
        derive(parse_recipe(lights), RecipeChange(pack=Lights(80, 60, 50, 12)))

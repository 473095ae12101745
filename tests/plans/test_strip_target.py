"""What a strip is made for: nothing of another size, grade or paper is taken along that is not known of it."""

from msgspec.structs import replace

from timer.documents.recipe import Enlargement, Filters, Paper, Recipe
from timer.plans.strip_target import About, strip_target

PLACE = Enlargement("24x36mm", "18x24cm", 50, detail_negative_mm=10, detail_print_mm=60, lens_to_paper_mm=350)
ABOUT = About()
GATE = Recipe(
    recipe=1,
    title="Gate",
    base_s=10.0,
    paper=Paper("bw", "matt", 200.0, 90.0),
    enlargement=PLACE,
    filters=Filters(grade="3"),
)


def made(about: About = ABOUT, filters: Filters | None = None) -> Recipe:
    target = strip_target(GATE, about, 10.0, "bw", filters)
    assert target
    return target


def test_what_was_measured_is_of_its_own_size() -> None:
    there = made(About(size="30x40cm")).enlargement
    assert there == replace(PLACE, sheet="30x40cm", detail_print_mm=None, lens_to_paper_mm=None)
    assert made(About(size="18x24cm", aperture=8.0)).enlargement == replace(PLACE, aperture=8.0)


def test_the_speed_goes_with_its_grade_and_stays_with_its_paper() -> None:
    """Through 4 and harder a paper wants twice the light (the filter set's leaflet), so its P is half of what it was."""
    assert made(filters=Filters(grade="4")).paper.speed == 100
    assert made(filters=Filters(grade="2")).paper.speed == 200
    assert made(About(paper_name="matt")).paper == GATE.paper
    assert made(About(paper_name="pearl")).paper == Paper("bw", "pearl")

"""The template, read back from its PDF: what is drawn has the size that it says, in millimetres."""

import io
import json
import re
from pathlib import Path

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from tests.conftest import Run
from timer.app.jobs import Job, questions
from timer.app.template_pdf import as_pdf, template_of
from timer.craft.enlargement import Size
from timer.craft.template import MARGIN, OVERLAP, template, tiling
from timer.documents.recipe import Enlargement, Paper, Recipe
from timer.plans.derive import derive
from timer.plans.print import print_plan
from timer.plans.recipe_change import RecipeChange

POINT_MM = 25.4 / 72  # ISO 32000-1, 8.3.2.3: a unit of default user space is 1/72 inch
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1


def recipe(**place: object) -> Recipe:
    return Recipe(recipe=1, title="Stair", base_s=8.0, paper=Paper("bw"), enlargement=Enlargement(**place))  # type: ignore[arg-type]


STAIR = recipe(sheet="18x24cm", frame="24x36mm", border_mm=5)


BORDERED = recipe(sheet="24x30cm", frame="24x36mm", border_mm=10)


def test_the_blades_are_the_same_wherever_they_are_said() -> None:
    # within 10 mm, 220 x 280 mm are left: 24x36 goes to 280 / 36 = 7.78, 186.7 x 280 mm, and (240 - 186.7) / 2 are white
    assert template_of(BORDERED).white == pytest.approx((26.67, 10), abs=0.01)
    job = Job(print_plan(BORDERED), recipe=BORDERED)
    assert questions(job)[-1] == "easel 24x30cm, blades 27 and 10 mm"
    smaller = msgspec.structs.replace(BORDERED, enlargement=Enlargement(sheet="18x24cm", frame="24x36mm", border_mm=5))
    moved = derive(smaller, RecipeChange(sheet="24x30cm", border_mm=10))
    assert any("27 mm of white along each long side and 10 mm" in line for line in moved.advice)
    assert questions(Job(print_plan(moved.recipe), recipe=moved.recipe))[-1] == questions(job)[-1]
    even = recipe(sheet="24x30cm", border_mm=10)  # the picture fills what the border leaves
    assert questions(Job(print_plan(even), recipe=even))[-1] == "easel 24x30cm, blades 10 mm"
    assert questions(Job(print_plan(recipe()), recipe=recipe()))[-1] == "easel, blades set"


def rectangles(page: object) -> set[tuple[float, float]]:
    """Width and height of all that a page draws or clips, mm, to a twentieth."""
    content = page.get_contents().get_data().decode("latin-1")  # type: ignore[attr-defined]
    found = re.findall(r"[\d.-]+ [\d.-]+ ([\d.-]+) ([\d.-]+) re", content)
    return {(round(abs(float(w)) * POINT_MM * 20) / 20, round(abs(float(h)) * POINT_MM * 20) / 20) for w, h in found}


@pytest.mark.parametrize("page", ["a4", "letter"])
def test_what_is_drawn_is_as_large_as_it_says(page: str) -> None:
    reader = PdfReader(io.BytesIO(as_pdf(STAIR, page)))
    assert len(reader.pages) == 1 + len(tiling(template_of(STAIR), page).tiles)
    for sheet in reader.pages:
        size = sorted(float(side) * POINT_MM for side in (sheet.mediabox.width, sheet.mediabox.height))
        assert size == pytest.approx(PAPERS[page], abs=0.05)
    for sheet in reader.pages[1:]:
        # the negative is 24 x 36 mm: across 230 mm it is 153.3 mm high
        assert {(240.0, 180.0), (230.0, 153.35)} <= rectangles(sheet)


def test_each_page_has_a_ruler_of_100_mm_and_its_name() -> None:
    reader = PdfReader(io.BytesIO(as_pdf(STAIR)))
    for page in reader.pages:
        content = page.get_contents().get_data().decode("latin-1")  # type: ignore[union-attr]
        lines = re.findall(r"([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l", content)
        across = [(float(x2) - float(x1)) * POINT_MM for x1, y1, x2, y2 in lines if y1 == y2]
        assert any(length == pytest.approx(100, abs=0.02) for length in across)
        assert "100 mm" in page.extract_text()
    assert "row 1, column 2 of" in reader.pages[2].extract_text()
    words = reader.pages[0].extract_text()
    assert "13.3 mm of white each" in words  # (180 - 153.3) / 2
    assert "5.0 mm of white each" in words  # (240 - 230) / 2


SIDES = st.floats(60, 1000)


@given(SIDES, SIDES, st.floats(0, 25), st.sampled_from(["a4", "letter"]))
def test_the_pages_cover_all_of_it_and_neighbours_share_a_strip(one: float, other: float, border: float, page: str) -> None:
    sheet = Size(min(one, other), max(one, other))
    made = template(sheet, sheet.inside(border))
    assert made.picture.x - made.sheet.x == pytest.approx(border)
    assert made.white == (pytest.approx(border), pytest.approx(border))
    try:
        pages = tiling(made, page)
    except ValueError as error:
        assert "by hand" in str(error)
        return
    at = {(tile.row, tile.column): tile.part for tile in pages.tiles}
    assert len(at) == pages.rows * pages.columns
    last = at[pages.rows, pages.columns]
    assert last.x + last.width >= made.width - 1e-6
    assert last.y + last.height >= made.height - 1e-6
    for (row, column), part in at.items():
        assert part.width + 2 * MARGIN <= pages.width + 1e-9
        if column > 1:
            before = at[row, column - 1]
            assert before.x + before.width - part.x == pytest.approx(OVERLAP)
        if row > 1:
            before = at[row - 1, column]
            assert before.y + before.height - part.y == pytest.approx(OVERLAP)


def test_the_stops_touch_the_sheet_and_never_lie_on_it() -> None:
    made = template_of(STAIR)
    sheet = made.sheet
    for stop in made.stops:
        apart_x = stop.x + stop.width <= sheet.x + 1e-9 or stop.x >= sheet.x + sheet.width - 1e-9
        apart_y = stop.y + stop.height <= sheet.y + 1e-9 or stop.y >= sheet.y + sheet.height - 1e-9
        assert apart_x or apart_y
    corner = (sheet.x + sheet.width, sheet.y + sheet.height)  # open: the sheet slides in from there
    assert not any(s.x <= corner[0] <= s.x + s.width and s.y <= corner[1] <= s.y + s.height for s in made.stops)


def test_what_has_no_template() -> None:
    with pytest.raises(ValueError, match="does not say its sheet"):
        template_of(recipe())
    with pytest.raises(ValueError, match="larger than the sheet"):
        template(Size(100, 200), Size(101, 150))


def test_at_the_command_line(lamphouse: Run, tmp_path: Path) -> None:
    path = tmp_path / "stair.toml"
    path.write_text(
        'recipe = 1\ntitle = "Über die Treppe ½ 楼"\nbase_s = 8\n[paper]\nkind = "bw"\n'
        '[enlargement]\nsheet = "8x10in"\nborder_mm = 10\n'
    )
    out = tmp_path / "t.pdf"
    made = json.loads(lamphouse("template", str(path), "--json").stdout)
    assert made["picture_mm"] == pytest.approx([234, 183.2])
    assert "Print at 100 %" in lamphouse("template", str(path), "-o", str(out), "--on", "letter").stdout
    assert "Über die Treppe ½ ?" in PdfReader(out).pages[0].extract_text()
    assert "exists already" in lamphouse("template", str(path), "-o", str(out), check=1).stderr
    assert "is a PDF" in lamphouse("template", str(path), "-o", str(tmp_path / "t.docx"), check=2).stderr

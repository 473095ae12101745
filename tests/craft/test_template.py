"""Sheet, picture and pages by hand, in millimetres."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.enlargement import Size
from timer.craft.template import AROUND, MARGIN, MAX_PAGES, OVERLAP, Box, template, tiling

SHEET, PICTURE = Size(180, 240), Size(150, 220)
sizes = st.builds(Size, st.floats(60, 400), st.floats(400, 500))


def test_the_picture_is_in_the_middle_of_its_sheet() -> None:
    made = template(SHEET, PICTURE)
    assert (made.width, made.height) == (284, 224)  # 22 of room all round
    assert made.sheet == Box(22, 22, 240, 180)
    assert made.picture == Box(32, 37, 220, 150)  # 10 of white at the short ends, 15 along the long sides
    assert made.white == (15, 10)


def test_the_stops_touch_three_corners_and_leave_the_fourth_open() -> None:
    """Arms of 50, 12 wide, outside of the sheet, that begin at the corners (10, 10), (262, 10) and (10, 202); those at the right
    are 0.8 further out, so that a sheet has some play."""
    assert template(SHEET, PICTURE).stops == (
        Box(10, 10, 62, 12), Box(10, 22, 12, 50), Box(212, 10, 62.8, 12), Box(262.8, 22, 12, 50), Box(10, 152, 12, 50),
    )  # fmt: skip
    # on a small sheet two arms meet in the middle of its short side, and do not pass each other
    small = template(Size(60, 90), Size(50, 80)).stops
    assert [(box.width, box.height) for box in small] == [(42, 12), (12, 30), (42.8, 12), (12, 30), (12, 30)]


def test_a_picture_as_large_as_the_sheet_is_the_largest() -> None:
    assert template(SHEET, SHEET).white == (0, 0)
    for larger in (Size(180.1, 240), Size(180, 240.1)):
        with pytest.raises(ValueError, match="larger than the sheet, 180 x 240 mm"):
            template(SHEET, larger)


def test_pages_by_hand() -> None:
    """284 x 224 on A4 across: 273 x 170 of it can be printed, less a foot of 16: two columns, two rows; upright 186 x 257: 2 by 1."""
    made = tiling(template(SHEET, PICTURE), "a4")
    assert (made.width, made.height, made.rows, made.columns) == (210, 297, 1, 2)
    assert [(tile.row, tile.column, tile.part) for tile in made.tiles] == [
        (1, 1, Box(0, 0, 186, 257)), (1, 2, Box(176, 0, 186, 257)),
    ]  # fmt: skip
    across = tiling(template(Size(100, 200), Size(90, 190)), "a4")
    assert (across.width, across.height, across.rows, across.columns) == (297, 210, 1, 1)
    assert across.tiles[0].part == Box(0, 0, 297 - 2 * MARGIN, 210 - 2 * MARGIN - 16)
    assert (tiling(template(SHEET, PICTURE), "letter").width, tiling(template(SHEET, PICTURE), "letter").height) == (
        215.9,
        279.4,
    )


@given(sizes)
def test_pages_cover_all_and_share_ten_millimetres(sheet: Size) -> None:
    of = template(sheet, sheet)
    made = tiling(of, "a4")
    assert len(made.tiles) == made.rows * made.columns
    last = made.tiles[-1].part
    assert last.x + last.width >= of.width - 1e-6 and last.y + last.height >= of.height - 1e-6
    # one fewer would not do
    assert made.columns == 1 or last.x + OVERLAP < of.width
    assert made.rows == 1 or last.y + OVERLAP < of.height
    for one, other in zip(made.tiles, made.tiles[1:], strict=False):
        if one.row == other.row:
            assert one.part.x + one.part.width - other.part.x == pytest.approx(OVERLAP)
        else:
            assert (other.part.x, one.part.y + one.part.height - other.part.y) == (0, pytest.approx(OVERLAP))


def test_too_many_pages_are_said() -> None:
    most = template(Size(1500, 1900), Size(1500, 1900))
    with pytest.raises(ValueError, match=f"pages, and {MAX_PAGES} is the most"):
        tiling(most, "a4")
    assert AROUND == 22


def test_sixty_pages_are_the_most() -> None:
    """Upright A4 pages go on by 176 x 247 mm, and the last adds 10: 1770 x 1492 are ten columns by six rows to the
    millimetre (70 pages across); 10746 x 250 are 61 columns."""
    made = tiling(template(Size(1448, 1726), Size(1448, 1726)), "a4")
    assert (made.columns, made.rows, len(made.tiles)) == (10, 6, 60)
    assert [(tile.row, tile.column) for tile in made.tiles[-2:]] == [(6, 9), (6, 10)]
    assert made.tiles[-1].part == Box(9 * 176, 5 * 247, 186, 257)
    with pytest.raises(ValueError, match="61 pages, and 60 is the most"):
        tiling(template(Size(206, 10702), Size(206, 10702)), "a4")

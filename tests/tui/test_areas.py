"""The areas of a print set in their places with the arrow keys, over the printer's own picture, and written back."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from tests.tui.stage import cells, next_action, press, recipe_in, screen_text, stage, text_of, until
from timer.documents.recipe import Outline
from timer.documents.recipe_file import load_recipe
from timer.plans import outlines
from tui.screens.outlines import Outlines
from tui.screens.prepare import Prepare
from tui.widgets import canvas


def photo(path: Path, size: tuple[int, int] = (400, 320), turned: int = 1) -> Path:
    """Left half dark, right half light, as the camera has it; ``turned``: its EXIF orientation (TIFF 6.0, tag 274)."""
    image = Image.new("RGB", size, (20, 20, 20))
    image.paste((240, 240, 240), (size[0] // 2, 0, *size))
    exif = Image.Exif()
    exif[274] = turned
    image.save(path, exif=exif)
    return path


async def test_a_place_given_moved_and_written(home: Path) -> None:
    path = recipe_in(home)
    async with stage() as (app, pilot):
        await pilot.press("down")
        await press(app, pilot, "o")
        await until(pilot, lambda: isinstance(app.screen, Outlines) and "gate -1/3   no place yet" in text_of(app, "choice"))
        await press(app, pilot, "k")
        await until(pilot, lambda: "ellipse" in text_of(app, "choice"))
        assert "▶gate" in screen_text(app)
        await pilot.press("right", "right", "up")
        await press(app, pilot, "s")
        await pilot.press("up")
        await press(app, pilot, "a", "k", "k")
        await until(pilot, lambda: "sky +1/2   polygon" in text_of(app, "choice"))
        await press(app, pilot, "p")
        await until(pilot, lambda: "point 1" in text_of(app, "choice"))
        await pilot.press("left")
        await press(app, pilot, "i", "u", "q")
        await until(pilot, lambda: "Not written yet" in next_action(app))
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare) and "gate -1/3" in screen_text(app))
        recipe = load_recipe(path)
        assert recipe.dodge[0].outline and recipe.burn[0].outline
        assert recipe.dodge[0].outline.ellipse == pytest.approx((0.54, 0.48, 0.12, 0.14))
        assert recipe.burn[0].outline.polygon and recipe.burn[0].outline.polygon[0] == pytest.approx((0.36, 0.38))
        assert len(recipe.burn[0].outline.polygon) == 4  # the fifth was taken back
        await press(app, pilot, "u")
        await until(pilot, lambda: "gate.toml is as it was" in text_of(app, "news"))
        assert load_recipe(path).dodge[0].outline is None


@pytest.mark.parametrize("turned", [1, 6])
async def test_the_printers_own_picture_lies_below_as_it_was_held(home: Path, turned: int) -> None:
    path = recipe_in(home)
    photo(path.parent / "work.jpg", turned=turned)
    path.write_text(path.read_text().replace("base_s", 'picture = "work.jpg"\nbase_s'))
    async with stage((100, 30)) as (app, pilot):
        await pilot.press("down")
        await until(pilot, lambda: any(char == "▀" and back[1] > 150 for char, _, back in cells(app)))
        seen = [(n % 100, n // 100, back[1]) for n, (char, _, back) in enumerate(cells(app)) if char == "▀"]
        middle_x = sum(x for x, _, _ in seen) / len(seen)
        middle_y = sum(y for _, y, _ in seen) / len(seen)
        light = [(x, y) for x, y, value in seen if value > 200]
        wide = max(x for x, _, _ in seen) - min(x for x, _, _ in seen) + 1
        high = 2 * (max(y for _, y, _ in seen) - min(y for _, y, _ in seen) + 1)
        if turned == 1:
            assert sum(x for x, _ in light) / len(light) > middle_x + 5
            assert wide / high == pytest.approx(5 / 4, abs=0.1)
        else:  # turned by a quarter to the right: the right half is below
            assert sum(y for _, y in light) / len(light) > middle_y + 2
            assert wide / high == pytest.approx(4 / 5, abs=0.1)
        assert app.open_box("bw")
        await press(app, pilot, "o")
        await until(pilot, lambda: "cover it first" in app.said.trouble)
        await until(pilot, lambda: not any(char == "▀" and back != (0, 0, 0) for char, _, back in cells(app)))


@pytest.mark.parametrize(("data", "says"), [(None, "no such file"), (b"no picture", "not a picture")])
async def test_a_picture_that_is_none_is_said_and_the_map_is_there(home: Path, data: bytes | None, says: str) -> None:
    path = recipe_in(home)
    if data:
        (path.parent / "work.jpg").write_bytes(data)
    path.write_text(path.read_text().replace("base_s", 'picture = "work.jpg"\nbase_s'))
    async with stage((100, 30)) as (app, pilot):
        await pilot.press("down")
        await until(pilot, lambda: says in text_of(app, "alarm"))
        await until(pilot, lambda: "get ready" in next_action(app) and "┌───" in screen_text(app))


SIDE = st.floats(0, 1)


@given(SIDE, SIDE, st.floats(0.02, 1), st.floats(0.02, 1), st.integers(20, 80), st.integers(8, 40))
def test_a_drawn_ellipse_is_where_its_numbers_say(x: float, y: float, rx: float, ry: float, width: int, height: int) -> None:
    """The equation of the ellipse, ((px - x)/rx)^2 + ((py - y)/ry)^2 = 1, holds within a pixel for all that is drawn."""
    across, down = canvas.size(5 / 4, width, height)
    assert across <= width - 2 and down <= 2 * (height - 2)
    for px, py in canvas.drawn(Outline(ellipse=(x, y, rx, ry)), across, down):
        near = [(((px + i) / across - x) / rx) ** 2 + (((py + j) / down - y) / ry) ** 2 for i in (0, 1) for j in (0, 1)]
        far_side = 2 / across / rx + 2 / down / ry
        assert min(near) <= (1 + far_side) ** 2 and max(near) >= max(0.0, 1 - far_side) ** 2


@given(st.sampled_from(outlines.FORMS), SIDE, SIDE, st.integers(12, 90), st.integers(5, 40))
def test_the_sheet_fits_its_place_and_keeps_every_row_as_long(
    form: outlines.Form, x: float, y: float, width: int, height: int
) -> None:
    outline = outlines.begun(form, x, y)
    rows = canvas.framed({"wall": outline}, {"wall": "wall -1/3"}, 4 / 3, width, height, None, (x, y)).plain.split("\n")
    assert len(rows) <= height and {len(row) for row in rows} == {len(rows[0])} and len(rows[0]) <= width

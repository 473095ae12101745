from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.conftest import Run
from timer.bench import negative, sheet
from timer.errors import LamphouseError
from timer.plan import print_plan, strip_plan
from timer.recipe import Recipe, parse_recipe

BASE = 'recipe = 1\ntitle = "t"\nbase_s = 12\n[paper]\nkind = "silver"\n[filters]\ngrade = "2"\n'
DODGE = '[[dodge]]\narea = "left"\nstops = "1/2"\noutline = { edge = "left", depth = 0.3, feather = 0 }\n'
BURN = '[[burn]]\narea = "spot"\nstops = "1"\noutline = { ellipse = [0.8, 0.5, 0.1, 0.1], feather = 0 }\n'


def lights(text: str) -> tuple[Recipe, np.ndarray]:
    recipe = parse_recipe(text)
    (light,) = sheet.light_maps(print_plan(recipe), recipe, 240, 240).values()
    return recipe, light


@pytest.mark.parametrize("way", ["run-through", "stop-start"])
def test_light_by_area_is_the_arithmetic(way: str) -> None:
    text = BASE.replace("base_s", f'dodging = "{way}"\nbase_s')
    _, light = lights(text + DODGE + BURN)
    assert light[120, 20] == pytest.approx(12 / 2**0.5, abs=0.01)  # half a stop held back
    assert light[120, 192] == pytest.approx(24, abs=0.01)  # a stop more
    assert light[20, 120] == pytest.approx(12, abs=0.01)


def test_a_feather_is_soft_and_a_polygon_is_filled() -> None:
    _, light = lights(BASE + DODGE.replace("feather = 0", "feather = 0.3"))
    edge = light[120, 60:90]
    assert np.all(np.diff(edge) >= -1e-6)
    assert edge[0] < 11 < edge[-1] + 0.5
    polygon = "outline = { polygon = [[0, 0], [1, 0], [0, 1]], feather = 0 }"
    _, light = lights(BASE + f'[[burn]]\narea = "corner"\nstops = 1\n{polygon}\n')
    assert (light[10, 10], light[230, 230]) == (pytest.approx(24), pytest.approx(12))


def test_a_strip_has_its_patches_from_light_to_dark() -> None:
    plan = strip_plan(4, Fraction(1, 2), 5, "cover", paper="silver")
    picture = sheet.render(plan, None, np.full((100, 250, 3), 0.2))
    shades = [int(picture[50, 25 + 50 * n, 0]) for n in range(5)]
    assert shades == sorted(shades, reverse=True)
    assert len(set(shades)) == 5
    for way in ("uncover", "window"):
        other = sheet.render(strip_plan(4, Fraction(1, 2), 5, way, paper="silver"), None, np.full((100, 250, 3), 0.2))  # type: ignore[arg-type]
        assert np.array_equal(other, picture)


def test_more_light_is_a_darker_print_and_a_harder_grade_a_steeper_one() -> None:
    film = negative.own_scene(120, 100)

    def made(base: float, grade: str) -> np.ndarray:
        recipe = parse_recipe(BASE.replace("base_s = 12", f"base_s = {base}").replace('"2"', f'"{grade}"'))
        return sheet.render(print_plan(recipe), recipe, film).astype(float)

    assert made(24, "2").mean() < made(12, "2").mean() < made(6, "2").mean()
    assert made(12, "5").std() > made(12, "2").std() > made(12, "00").std()


def test_flash_and_safelight_veil_the_highlights() -> None:
    film = np.full((20, 20, 3), 0.03)
    recipe = parse_recipe(BASE)
    plain = sheet.render(print_plan(recipe), recipe, film).mean()
    flashed = parse_recipe(BASE + "[flash]\nseconds = 30\n")
    assert sheet.render(print_plan(flashed), flashed, film).mean() < plain
    assert sheet.render(print_plan(recipe), recipe, film, safelight_s=300).mean() < plain


def test_a_cast_and_its_correction() -> None:
    film = negative.own_scene(120, 100)

    def made(m: float, y: float) -> np.ndarray:
        recipe = parse_recipe(f'recipe = 1\ntitle = "t"\nbase_s = 12\n[paper]\nkind = "ra4"\n[filters]\nm = {m}\ny = {y}\n')
        return sheet.render(print_plan(recipe), recipe, film).astype(float).mean(axis=(0, 1))

    right, less_magenta, less_yellow = made(60, 50), made(40, 50), made(60, 30)
    # less magenta in the pack: more green light, more magenta dye, so less green in the print
    assert less_magenta[1] - right[1] < -10
    assert less_yellow[2] - right[2] < -10


@pytest.mark.parametrize("mode", ["L", "RGB", "I;16"])
def test_negatives_of_8_and_16_bit(tmp_path: Path, mode: str) -> None:
    data = np.linspace(0, 65535 if mode == "I;16" else 255, 64 * 64).reshape(64, 64)
    image = Image.fromarray(data.astype(np.uint16 if mode == "I;16" else np.uint8))
    path = tmp_path / "n.png"
    (image.convert("RGB") if mode == "RGB" else image).save(path)
    film = negative.load(path, 32, 32)
    assert film.shape == (32, 32, 3)
    assert film[0, 0, 0] < 0.01
    assert film[-1, -1, 0] > 0.9
    turned = negative.load(path, 32, 32, positive=True)
    assert turned[0, 0, 0] > turned[-1, -1, 0]


def test_what_is_no_picture(tmp_path: Path) -> None:
    (tmp_path / "n.png").write_bytes(b"not a picture")
    with pytest.raises(LamphouseError, match="not a picture"):
        negative.load(tmp_path / "n.png", 10, 10)
    with pytest.raises(LamphouseError, match="cannot be read"):
        negative.load(tmp_path / "none.png", 10, 10)


def test_half_blocks() -> None:
    picture = np.zeros((40, 80, 3), dtype=np.uint8)
    picture[20:] = 255
    rows = sheet.half_blocks(picture, 20)
    assert len(rows) == 5
    assert len(rows[0]) == 20
    assert rows[0][0] == ((0, 0, 0), (0, 0, 0))
    assert rows[-1][0] == ((255, 255, 255), (255, 255, 255))


FAULTS = [
    ("outline = {}", "give one of ellipse, polygon or edge"),
    ('outline = { edge = "left", ellipse = [0.5, 0.5, 0.1, 0.1] }', "give one of"),
    ("outline = { polygon = [[0, 0], [1, 1]] }", "three points"),
    ("outline = { ellipse = [0.5, 0.5, 0, 0.1] }", "radii"),
    ("outline = { ellipse = [0.5, 0.5, 0.1] }", "length 4"),
    ("outline = { elipse = [0.5, 0.5, 0.1, 0.1] }", "did you mean 'ellipse'"),
]


@pytest.mark.parametrize(("outline", "says"), FAULTS)
def test_outlines_that_are_none(outline: str, says: str) -> None:
    with pytest.raises(LamphouseError, match=rf"dodge\[0\]\.outline.*{says}"):
        parse_recipe(BASE + f'[[dodge]]\narea = "x"\nstops = 1\n{outline}\n')


def test_preview_at_the_command_line(lamphouse: Run, tmp_path: Path) -> None:
    example = Path(__file__).parents[2] / "timer" / "example.toml"
    for extra in ((), ("--map", "--force")):
        lamphouse("preview", str(example), "-o", str(tmp_path / "p.png"), "--size", "300x240", *extra)
        with Image.open(tmp_path / "p.png") as made:
            assert made.size == (300, 240)
    before = (tmp_path / "p.png").read_bytes()
    assert "exists already" in lamphouse("preview", str(example), "-o", str(tmp_path / "p.png"), check=1).stderr
    assert (tmp_path / "p.png").read_bytes() == before
    assert ".png, .tif" in lamphouse("preview", str(example), "-o", str(tmp_path / "p.xyz"), check=2).stderr
    plan = tmp_path / "plan.json"
    plan.write_text(lamphouse("strip", "--from", "4", "--show", "--json").stdout)
    assert "▀" in lamphouse("preview", str(plan), "--terminal").stdout
    assert "not a plan" in _error(lamphouse, tmp_path, '{"kind": "x"}', "--terminal")
    assert "with -o FILE" in lamphouse("preview", str(example), check=2).stderr
    assert "printing map" in lamphouse("preview", str(plan), "--map", "--terminal", check=2).stderr
    assert "not a size in pixels" in lamphouse("preview", str(example), "--terminal", "--size", "big", check=2).stderr


def _error(lamphouse: Run, folder: Path, text: str, *arguments: str) -> str:
    path = folder / "bad.json"
    path.write_text(text)
    return lamphouse("preview", str(path), *arguments, check=1).stderr

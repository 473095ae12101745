from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.conftest import Run
from timer.bench import negative, sheet
from timer.documents.recipe import Recipe
from timer.documents.recipe_file import parse_recipe
from timer.errors import LamphouseError
from timer.plans.print import print_plan
from timer.plans.strip import strip_plan

BASE = 'recipe = 1\ntitle = "t"\nbase_s = 12\n[paper]\nkind = "bw"\n[filters]\ngrade = "2"\n'
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


def test_what_lies_nowhere_is_not_drawn() -> None:
    """A burn darkens nothing where nobody has said that it lies, as a dodge lightens nothing; a second exposure is all over."""
    _, light = lights(BASE + DODGE.split("outline")[0] + BURN.split("outline")[0])
    assert light == pytest.approx(np.full((240, 240), 12.0))
    text = BASE + '[[burn]]\narea = "{}"\nseconds = 5\nfilters = {{ grade = "5" }}\n'
    whole, sky = (parse_recipe(text.format(area)) for area in ("whole sheet", "sky"))
    assert sheet.light_maps(print_plan(whole), whole, 24, 24)["grade 5"] == pytest.approx(np.full((24, 24), 5.0))
    assert "grade 5" not in sheet.light_maps(print_plan(sky), sky, 24, 24)


def test_a_feather_is_soft_and_a_polygon_is_filled() -> None:
    _, light = lights(BASE + DODGE.replace("feather = 0", "feather = 0.3"))
    edge = light[120, 60:90]
    assert np.all(np.diff(edge) >= -1e-6)
    assert edge[0] < 11 < edge[-1] + 0.5
    polygon = "outline = { polygon = [[0, 0], [1, 0], [0, 1]], feather = 0 }"
    _, light = lights(BASE + f'[[burn]]\narea = "corner"\nstops = 1\n{polygon}\n')
    assert (light[10, 10], light[230, 230]) == (pytest.approx(24), pytest.approx(12))


def test_a_strip_has_its_patches_from_light_to_dark() -> None:
    plan = strip_plan(4, Fraction(1, 2), 5, "cover", paper="bw")
    picture = sheet.render(plan, None, np.full((100, 250, 3), 0.2))
    shades = [int(picture[50, 25 + 50 * n, 0]) for n in range(5)]
    assert shades == sorted(shades, reverse=True)
    assert len(set(shades)) == 5
    for way in ("uncover", "window"):
        other = sheet.render(strip_plan(4, Fraction(1, 2), 5, way, paper="bw"), None, np.full((100, 250, 3), 0.2))
        assert np.array_equal(other, picture)


def test_more_light_is_a_darker_print_and_a_harder_grade_a_steeper_one() -> None:
    film = negative.own_scene(120, 100)

    def made(base: float, grade: str) -> np.ndarray:
        recipe = parse_recipe(BASE.replace("base_s = 12", f"base_s = {base}").replace('"2"', f'"{grade}"'))
        return sheet.render(print_plan(recipe), recipe, film).astype(float)

    assert made(24, "2").mean() < made(12, "2").mean() < made(6, "2").mean()
    # the filters 4 to 5 want twice the time
    assert made(24, "5").std() > made(12, "2").std() > made(12, "00").std()


@pytest.mark.parametrize("grade", ["2", "5"])
def test_a_slower_paper_takes_the_time_that_its_speed_says(grade: str) -> None:
    # P is the same middle tone: P100 wants twice the time of P200, P400 half of it
    film = negative.own_scene(60, 50)

    def made(base: float, speed: int | None) -> np.ndarray:
        text = BASE.replace("base_s = 12", f"base_s = {base}").replace('"2"', f'"{grade}"')
        text = text.replace('kind = "bw"', f'kind = "bw"\nspeed = {speed}') if speed else text
        return printed(parse_recipe(text), film)

    assert np.allclose(made(24, 100), made(12, 200), atol=1)
    assert np.allclose(made(6, 400), made(12, 200), atol=1)
    assert np.allclose(made(12, {"2": 200, "5": 100}[grade]), made(12, None), atol=1)  # what the bench's paper has
    assert made(12, 100).mean() > made(12, 200).mean() > made(12, 400).mean()


def burned(first: str, second: str, seconds: float = 6.0) -> Recipe:
    """``seconds`` at one grade all over, and as many again at another."""
    text = BASE.replace("base_s = 12", f"base_s = {seconds}").replace('"2"', f'"{first}"')
    all_over = "outline = { polygon = [[-1, -1], [2, -1], [2, 2], [-1, 2]], feather = 0 }"
    return parse_recipe(
        text + f'[[burn]]\narea = "all"\nseconds = {seconds}\nfilters = {{ grade = "{second}" }}\n{all_over}\n'
    )


def printed(recipe: Recipe, film: np.ndarray) -> np.ndarray:
    return sheet.render(print_plan(recipe), recipe, film).astype(float)


@pytest.mark.parametrize("film", [np.full((40, 40, 3), 0.3), negative.own_scene(100, 80)])
def test_two_filters_add_up_in_either_order(film: np.ndarray) -> None:
    one, other = burned("00", "5"), burned("5", "00")
    assert np.array_equal(printed(one, film), printed(other, film))
    # and the same filter twice is one exposure
    twice, once = burned("2", "2"), parse_recipe(BASE)
    assert np.allclose(printed(twice, film), printed(once, film), atol=1)


def test_soft_and_hard_together_are_between() -> None:
    film = negative.own_scene(120, 100)
    soft = printed(parse_recipe(BASE.replace('"2"', '"00"')), film)
    hard = printed(parse_recipe(BASE.replace("base_s = 12", "base_s = 24").replace('"2"', '"5"')), film)
    both = parse_recipe(
        BASE.replace('"2"', '"00"') + '[[burn]]\narea = "all"\nseconds = 12\nfilters = { grade = "5" }\n'
        "outline = { polygon = [[-1, -1], [2, -1], [2, 2], [-1, 2]], feather = 0 }\n"
    )
    assert soft.std() < printed(both, film).std() < hard.std()


def test_a_move_to_a_harder_grade_keeps_the_middle_tone() -> None:
    # grade_factor's own rule, 3 to 4 doubles: a tone of 0.6 above base must stay where it is
    from timer.bench import paper
    from timer.craft.paper import grade_factor

    middle = 10 ** paper.curve_for(90, 200).log_exposure(0.06 + 0.6) / sheet.LUX / 12
    film = np.full((4, 4, 3), middle)
    at_three = printed(parse_recipe(BASE.replace('"2"', '"3"')), film)
    seconds = 12 * grade_factor("3", "4")
    at_four = printed(parse_recipe(BASE.replace("base_s = 12", f"base_s = {seconds}").replace('"2"', '"4"')), film)
    assert np.allclose(at_three, at_four, atol=1)
    assert np.allclose(at_three, float(paper.srgb(np.array([0.66]))[0]), atol=1)


def test_paper_of_its_box() -> None:
    film = negative.own_scene(120, 100)
    box = '[paper]\nkind = "bw"\nrange = {}\nspeed = {}\n'
    plain = BASE.replace('[filters]\ngrade = "2"\n', "")

    def made(r: int, p: int) -> np.ndarray:
        return printed(parse_recipe(plain.replace('[paper]\nkind = "bw"\n', box.format(r, p))), film)

    assert made(60, 200).std() > made(120, 200).std()
    assert made(100, 400).mean() < made(100, 200).mean()


def test_equal_layers_print_grey() -> None:
    recipe = parse_recipe('recipe = 1\ntitle = "t"\nbase_s = 12\n[paper]\nkind = "ra4"\n[filters]\nm = 60\ny = 50\n')
    for tone in (0.01, 0.05, 0.22, 0.6):
        red, green, blue = printed(recipe, np.full((4, 4, 3), tone))[0, 0]
        assert max(red, green, blue) - min(red, green, blue) <= 1, tone


def test_three_lights_of_a_head() -> None:
    head = '[paper]\nkind = "ra4"\n'
    recipe = parse_recipe(f'recipe = 1\ntitle = "t"\nbase_s = 12\n{head}[filters]\nm = 60\ny = 50\n')
    plan, film = print_plan(recipe), negative.own_scene(60, 50)

    def lit(*lights: str) -> np.ndarray:
        steps = tuple(replace(step, filters=light) for step in plan.steps for light in lights)
        return sheet.render(replace(plan, steps=steps), recipe, film)

    neutral = sheet.render(plan, recipe, film)
    assert np.array_equal(lit("red", "green", "blue"), neutral)
    assert np.array_equal(lit("R80 G80 B80"), neutral)
    weaker = lit("R80 G60 B80").astype(float).mean(axis=(0, 1)) - neutral.astype(float).mean(axis=(0, 1))
    assert weaker[1] > 5 * max(abs(weaker[0]), abs(weaker[2]))  # less green light: less magenta dye


def test_lights_on_a_scale_in_steps_are_as_bright_as_their_stops() -> None:
    """At 10 steps a stop R20 G30 B40 are a quarter, a half and all of the strongest: as levels in proportion R25 G50 B100."""
    film = np.full((4, 4, 3), 0.3)
    recipe = parse_recipe('recipe = 1\ntitle = "t"\nbase_s = 12\n[paper]\nkind = "ra4"\n')
    plan = print_plan(recipe)

    def lit(lights: str) -> np.ndarray:
        return sheet.render(replace(plan, steps=tuple(replace(step, filters=lights) for step in plan.steps)), recipe, film)

    assert np.array_equal(lit("R20 G30 B40 at 10 a stop"), lit("R25 G50 B100"))
    assert not np.array_equal(lit("R20 G30 B40 at 10 a stop"), lit("R20 G30 B40"))
    assert np.array_equal(lit("R0 G0 B0 at 10 a stop"), lit("R80 G80 B80"))


def test_colour_paper_takes_the_time_that_its_speed_says() -> None:
    """Half the P wants twice the time (ISO 6846's P, from memory, is 1000 over an exposure)."""
    film = negative.own_scene(60, 50)

    def made(base: float, speed: str) -> np.ndarray:
        text = f'recipe = 1\ntitle = "t"\nbase_s = {base}\n[paper]\nkind = "ra4"\n{speed}\n[filters]\nm = 60\ny = 50\n'
        return printed(parse_recipe(text), film)

    assert np.allclose(made(24, "speed = 100"), made(12, "speed = 200"), atol=1)
    assert np.allclose(made(12, ""), made(12, "speed = 200"), atol=1)
    assert made(12, "speed = 400").mean() < made(12, "").mean() < made(12, "speed = 100").mean()


def test_a_colour_flash_goes_through_no_negative() -> None:
    recipe = parse_recipe(
        'recipe = 1\ntitle = "t"\nbase_s = 12\n[paper]\nkind = "ra4"\n[filters]\nm = 60\ny = 50\n[flash]\nseconds = 120\n'
    )
    film = np.full((4, 4, 3), [0.001, 0.02, 0.1])
    without = parse_recipe('recipe = 1\ntitle = "t"\nbase_s = 12\n[paper]\nkind = "ra4"\n[filters]\nm = 60\ny = 50\n')
    veiled, plain = printed(recipe, film)[0, 0], printed(without, film)[0, 0]
    assert veiled[0] < plain[0] - 20  # where the negative is dense the flash is what there is


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
        mean: np.ndarray = sheet.render(print_plan(recipe), recipe, film).astype(float).mean(axis=(0, 1))
        return mean

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
    ("outline = { ellipse = [0.5, 0.5, 0.1] }", "4 entries"),
    ("outline = { elipse = [0.5, 0.5, 0.1, 0.1] }", "did you mean 'ellipse'"),
]


@pytest.mark.parametrize(("outline", "says"), FAULTS)
def test_outlines_that_are_none(outline: str, says: str) -> None:
    with pytest.raises(LamphouseError, match=rf"dodge 1, outline.*{says}"):
        parse_recipe(BASE + f'[[dodge]]\narea = "x"\nstops = 1\n{outline}\n')


def test_preview_at_the_command_line(lamphouse: Run, tmp_path: Path) -> None:
    example = Path(__file__).parents[2] / "timer" / "documents" / "example.toml"
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

"""A photo of the work print: found by the recipe's word, turned as it was held, and refused in one sentence."""

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.conftest import Run
from timer.bench.picture import photo
from timer.documents.own_picture import picture_path
from timer.documents.recipe_file import parse_recipe
from timer.errors import LamphouseError

RECIPE = 'recipe = 1\ntitle = "Gate"\nbase_s = 8\npicture = "work.png"\n[paper]\nkind = "bw"\n'


def test_it_is_looked_for_beside_the_recipe_and_then_among_the_recipes(home: Path, tmp_path: Path) -> None:
    recipe = parse_recipe(RECIPE)
    file = tmp_path / "gate.toml"
    with pytest.raises(LamphouseError, match=r"work\.png: no such file; picture names"):
        picture_path(recipe, file)
    (home / "recipes").mkdir()
    (home / "recipes" / "work.png").touch()
    assert picture_path(recipe, file) == home / "recipes" / "work.png"
    (tmp_path / "work.png").touch()
    assert picture_path(recipe, file) == tmp_path / "work.png"
    assert picture_path(parse_recipe(RECIPE.replace('picture = "work.png"\n', "")), file) is None


@pytest.mark.parametrize("mode", ["RGB", "L", "P", "RGBA", "CMYK", "I;16"])
def test_any_usual_kind_of_picture_keeps_its_tones(tmp_path: Path, mode: str) -> None:
    """A grey of half of full scale, whatever the file's own numbers are: 8 bit, 16 bit, an index, an ink."""
    path = tmp_path / ("work.tif" if mode in ("CMYK", "I;16") else "work.png")
    if mode == "I;16":
        Image.fromarray(np.full((30, 40), 32896, dtype=np.uint16)).save(path)
    else:
        grey = Image.new("RGB", (40, 30), (128, 128, 128))
        (grey.quantize() if mode == "P" else grey.convert(mode)).save(path)
    made = photo(path, 100, 4 / 3)
    assert made.shape == (75, 100, 3)
    assert int(made.min()) >= 126 and int(made.max()) <= 130


def test_what_is_no_picture_is_one_sentence_everywhere(home: Path, tmp_path: Path, lamphouse: Run) -> None:
    (tmp_path / "gate.toml").write_text(RECIPE)
    (tmp_path / "work.png").write_bytes(b"\x89PNG\r\n\x1a\n broken")
    done = lamphouse("preview", str(tmp_path / "gate.toml"), "--map", "-o", str(tmp_path / "map.png"), check=1)
    assert "picture" in done.stderr and len(done.stderr.strip().splitlines()) == 1
    assert not (tmp_path / "map.png").exists()
    checked = lamphouse("check", str(tmp_path / "gate.toml"), "--json")
    assert checked.returncode == 0  # the print can be made without it
    assert "work.png" in json.loads(checked.stdout)["warnings"][0]


def test_the_map_lies_over_it_and_over_an_empty_sheet_without_it(home: Path, tmp_path: Path, lamphouse: Run) -> None:
    Image.new("RGB", (300, 400), (0, 0, 0)).save(tmp_path / "work.png")
    sheet = '[enlargement]\nsheet = "18x24cm"\n[[burn]]\narea = "sky"\nstops = 1\n'
    (tmp_path / "gate.toml").write_text(RECIPE + sheet)
    (tmp_path / "empty.toml").write_text(RECIPE.replace('picture = "work.png"\n', "") + sheet)
    for name in ("gate", "empty"):
        done = lamphouse(
            "preview", str(tmp_path / f"{name}.toml"), "--map", "--size", "400x300", "-o", str(tmp_path / f"{name}-map.png")
        )
        assert done.returncode == 0, done.stderr
    over = np.asarray(Image.open(tmp_path / "gate-map.png"))
    empty = np.asarray(Image.open(tmp_path / "empty-map.png"))
    assert over.shape == (400, 300, 3) and empty.shape == (300, 400, 3)  # 18 x 24: upright as the photo, or lying
    assert np.median(over) == pytest.approx(255 * 0.55, abs=1)  # black, paler
    assert np.median(empty) == 255

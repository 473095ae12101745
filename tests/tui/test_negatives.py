"""The list of negatives on the screen: newest first, found by words, versions folded, broken ones with their fault."""

import os
import re
import time
from pathlib import Path

import pytest

from tests.tui.stage import next_action, press, recipe_in, screen_text, stage, text_of, until
from timer.app.jobs import load_job
from timer.notebook import sheets
from tui.app import LamphouseApp
from tui.screens.edit_recipe import EditRecipe
from tui.screens.negatives import Negatives
from tui.screens.prepare import Prepare

BEGUN = re.compile(r"\d{4}-\d\d-\d\d")
BEGAN_S = 1_700_000_000


@pytest.fixture
def three(home: Path) -> Path:
    """gate (with a second version), quay, and one that is broken; of old, gate's first version the oldest."""
    gate = recipe_in(home)
    text = gate.read_text()
    quay = text.replace("Gate in the rain", "Quay at noon").replace("base_s = 2.0", "base_s = 7.5")
    quay = quay.replace(
        "[[dodge]]", '[enlargement]\nsheet = "18x24cm"\naperture = 8\n[filters]\ngrade = "2 1/2"\n[[dodge]]', 1
    )
    (gate.parent / "quay.toml").write_text(quay)
    gate.write_text(text.replace("base_s", 'negative = "roll 3, gate"\nbase_s', 1))
    second = text.replace("Gate in the rain", "Gate, larger").replace("base_s", 'negative = "roll 3, gate"\nbase_s', 1)
    (gate.parent / "gate-2.toml").write_text(second)
    (gate.parent / "shed.toml").write_text(text.replace("Gate in the rain", "Shed").replace("2.0", '"long"'))
    for n, name in enumerate(("gate", "quay", "shed", "gate-2")):
        os.utime(gate.parent / f"{name}.toml", (BEGAN_S + n, BEGAN_S + n))
    return gate.parent


async def test_newest_first_with_size_grade_last_print_and_rating(three: Path) -> None:
    async with stage() as (app, pilot):
        printed(app, three / "quay.toml", 4)
        await press(app, pilot, "slash")
        await until(pilot, lambda: isinstance(app.screen, Negatives) and "quay" in text_of(app, "hands"))
        rows = text_of(app, "list").splitlines()
        assert rows[1].startswith("> Quay at noon")
        assert (
            "18x24cm" in rows[1] and "grade 2 1/2" in rows[1] and BEGUN.search(rows[1]) and rows[1].rstrip().endswith("****")
        )
        assert [row[2:14].strip() for row in rows[2:]] == ["Gate, larger", "Shed: NOT US"]
        assert "3 negatives" in text_of(app, "choice")


def printed(app: LamphouseApp, path: Path, rating: int) -> None:
    run = app.darkroom.notebook.begin_run(load_job(path).plan, recipe=path.read_text())
    sheets.write_on(app.darkroom.notebook, run, {"rating": rating})


async def test_a_negative_was_printed_when_any_of_its_versions_was(three: Path) -> None:
    async with stage() as (app, pilot):
        printed(app, three / "gate.toml", 3)  # the older of its two
        later = time.time() + 60  # a print's moment may be told a second late
        os.utime(three / "gate-2.toml", (later, later))
        await press(app, pilot, "slash")
        await until(pilot, lambda: isinstance(app.screen, Negatives) and "version 1 of 2" in text_of(app, "hands"))
        row = text_of(app, "list").splitlines()[1]
        assert row.startswith("> Gate, larger") and BEGUN.search(row) and row.rstrip().endswith("***")
        assert "not printed yet" in text_of(app, "hands")
        await press(app, pilot, "right")
        assert re.search(rf"printed {BEGUN.pattern}", text_of(app, "hands"))


async def test_versions_lie_behind_one_another_and_one_is_taken(three: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "slash")
        await until(pilot, lambda: isinstance(app.screen, Negatives) and "version 1 of 2" in text_of(app, "hands"))
        await press(app, pilot, "right")
        await until(pilot, lambda: "version 2 of 2: Gate in the rain" in text_of(app, "hands"))
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        assert "print: Gate in the rain" in text_of(app, "choice")


async def test_a_broken_one_is_listed_with_its_fault_and_not_taken(three: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "slash")
        await until(pilot, lambda: isinstance(app.screen, Negatives) and "Gate" in text_of(app, "hands"))
        await press(app, pilot, "down")
        await until(pilot, lambda: "shed.toml: base_s" in text_of(app, "hands"))
        assert str(three) not in screen_text(app)
        for key in ("enter", "e"):
            await press(app, pilot, key)
            assert "cannot be used" in app.said.trouble
        assert isinstance(app.screen, Negatives)


async def test_found_by_words_and_edited(three: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "slash")
        await until(pilot, lambda: isinstance(app.screen, Negatives) and "Gate" in text_of(app, "hands"))
        await press(app, pilot, "slash", *"noon_quay")
        await until(pilot, lambda: "1 negative, found by: noon quay" in text_of(app, "choice"))
        await press(app, pilot, "enter", "e")
        await until(pilot, lambda: isinstance(app.screen, EditRecipe))
        await press(app, pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, Negatives) and "Quay" in text_of(app, "hands"))
        await press(app, pilot, "slash", *"nothing_like_it", "enter", "down", "right", "e")
        assert "Nothing has all these words" in text_of(app, "list")
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))


@pytest.mark.parametrize("size", [(40, 15), (80, 24)])
async def test_page_keys_through_many(home: Path, size: tuple[int, int]) -> None:
    text = recipe_in(home).read_text()
    for n in range(60):
        path = home / "recipes" / f"many-{n:02}.toml"
        path.write_text(text.replace("Gate in the rain", f"Many {n:02}"))
        os.utime(path, (BEGAN_S - n, BEGAN_S - n))
    async with stage(size) as (app, pilot):
        await app.push_screen(Negatives())
        await until(pilot, lambda: "Gate" in text_of(app, "hands"))
        await press(app, pilot, "pagedown", "pagedown")
        await until(pilot, lambda: f"Many {2 * (size[1] - 9) - 1:02}" in text_of(app, "hands"))
        await press(app, pilot, "end")
        await until(pilot, lambda: "Many 59" in text_of(app, "hands"))
        await press(app, pilot, "home", "up")
        await until(pilot, lambda: "Gate" in text_of(app, "hands"))
        assert "Enter: take it" in next_action(app)


async def test_a_file_changed_meanwhile_is_read_anew(three: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "slash")
        await until(pilot, lambda: isinstance(app.screen, Negatives) and "Gate" in text_of(app, "hands"))
        (three / "quay.toml").write_text((three / "quay.toml").read_text().replace("Quay at noon", "Quay at dusk"))
        await press(app, pilot, "slash", "enter")
        await until(pilot, lambda: "Quay at dusk" in text_of(app, "list"))

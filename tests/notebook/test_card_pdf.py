"""The card's PDF read back: its words are words, its columns stand in line, its drawing fills the page; strips have one too."""

import io
from collections import defaultdict
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from tests.conftest import Run
from timer.bench import negative, sheet
from timer.documents.recipe_file import parse_recipe
from timer.notebook.card import card_of
from timer.notebook.card_pdf import as_pdf
from timer.notebook.rows import new_row
from timer.notebook.store import Notebook
from timer.plans.model import Plan
from timer.plans.print import print_plan
from timer.plans.strip import strip_plan

STAIR = """
recipe = 1
title = "Stair well, ½ open, 楼"
base_s = 8.0
[paper]
kind = "bw"
[[dodge]]
area = "coat"
stops = "1/3"
[[burn]]
area = "window"
stops = "1/2"
tool = "a card with a hole in it"
"""


def made(tmp_path: Path, plan: Plan, recipe: str = "", made_for: str = "") -> bytes:
    with Notebook(tmp_path / "n.db") as notebook:
        run = notebook.begin_run(plan, recipe=recipe, made_for=made_for)
        lit = [(n, step) for n, step in enumerate(plan.steps) if step.do == "expose"]
        for number, (n, step) in enumerate(lit):
            micros = round(step.seconds * 1e6)
            notebook.intend(new_row(run, number, n, step.area, step.seconds, micros))
            notebook.fact(run, number, micros, micros, "complete")
        notebook.end_run(run, "finished", "finished")
        return as_pdf(card_of(notebook, run))


def words(data: bytes) -> dict[str, tuple[float, float]]:
    """Each piece of text on the first page, and where it begins, in mm from the left and from the foot."""
    found: dict[str, tuple[float, float]] = {}

    def visit(text: str, cm: list[float], tm: list[float], *_: object) -> None:
        if text.strip():
            x, y = tm[4] * cm[0] + cm[4], tm[5] * cm[3] + cm[5]
            found.setdefault(text.strip(), (x * 25.4 / 72, y * 25.4 / 72))

    PdfReader(io.BytesIO(data)).pages[0].extract_text(visitor_text=visit)
    return found


def test_a_print(tmp_path: Path) -> None:
    data = made(tmp_path, print_plan(parse_recipe(STAIR)), STAIR)
    reader = PdfReader(io.BytesIO(data))
    assert len(reader.pages) == 1
    text = reader.pages[0].extract_text()
    for word in ("Stair well, ½ open, ?", "8 s of full light", "dodge 1/3 stop", "a card with a hole in it", "3.31 s"):
        assert word in text
    at = words(data)
    lines: dict[float, list[str]] = defaultdict(list)
    for word, (x, _) in at.items():
        lines[round(x)].append(word)
    assert any({"coat", "window"} <= set(column) for column in lines.values())
    assert any({"dodge 1/3 stop", "burn 1/2 stop"} <= set(column) for column in lines.values())
    assert min(y for _, y in at.values()) < 297 / 4  # its last line is in the lowest quarter of the page
    assert len(reader.pages[0].images) == 1


def test_a_strip_has_a_drawing_and_says_what_it_was_made_for(tmp_path: Path) -> None:
    data = made(tmp_path, strip_plan(8.0, Fraction(1, 3), 5, "cover"), made_for=STAIR)
    page = PdfReader(io.BytesIO(data)).pages[0]
    assert len(page.images) == 1
    assert "Stair well" in page.extract_text()


def test_a_long_one_goes_on_to_a_second_page(tmp_path: Path) -> None:
    data = made(tmp_path, strip_plan(1.0, Fraction(1, 12), 24, "window"))
    reader = PdfReader(io.BytesIO(data))
    assert "patch 24" in "".join(page.extract_text() for page in reader.pages)


@pytest.mark.parametrize("count", [2, 7, 24])
def test_every_patch_of_a_picture_is_named(count: int) -> None:
    plan = strip_plan(8.0, Fraction(1, 12), count, "cover")
    bare = sheet.render(plan, None, negative.own_scene(900, 600))
    named = sheet.named_patches(bare, plan)
    changed = np.any(bare != named, axis=-1)
    wide = 900 / count
    for n in range(count):  # something is written in each patch, and the upper half is left alone but for the lines between
        band = changed[:, int(n * wide) + 3 : int((n + 1) * wide) - 3]
        assert band[300:].any()
        assert not band[:300].any()


def test_other_endings_are_refused(lamphouse: Run, tmp_path: Path) -> None:
    for name in ("card.docx", "card"):
        assert "end it in .pdf, .html or .txt" in lamphouse(
            "notebook", "card", "1", "-o", str(tmp_path / name), check=2
        ).stderr  # fmt: skip
    wrong = lamphouse("notebook", "card", "1", "--form", "html", "-o", str(tmp_path / "a.pdf"), check=2)
    assert "another kind of file" in wrong.stderr


def test_a_strip_says_that_its_picture_is_a_sample(tmp_path: Path) -> None:
    strip = made(tmp_path, strip_plan(8.0, Fraction(1, 3), 5, "cover", paper="bw"))
    assert "sample picture, not this negative" in " ".join(words(strip))
    (tmp_path / "n.db").unlink()
    assert "sample" not in " ".join(words(made(tmp_path, print_plan(parse_recipe(STAIR)), STAIR)))

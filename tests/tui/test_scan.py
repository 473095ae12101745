"""A sheet's scan read on the screen: chosen or typed, its boxes seen, its readings taken and taken back; or made by a scanner."""

import random
from pathlib import Path

import numpy as np
import pytest
from textual.pilot import Pilot

from tests.tools.scans import Bed, save, scanned
from tests.tui.stage import cells, next_action, press, screen_text, stage, text_of, until
from tests.tui.test_solve import printed, quay
from timer.app.jobs import Job, load_job
from timer.app.picks import picks_of
from timer.app.scan_sheet import parse_box, parse_tablet
from timer.documents.recipe_light import setting_of
from timer.notebook.readings import readings
from timer.plans.first_sheet import first_sheet_plan
from tui.app import LamphouseApp
from tui.screens.scan import ScanPage
from tui.screens.solve import Solve

PATCHES = np.array([[0.70, 0.70, 0.70], [0.45, 0.45, 0.45], [1.00, 1.00, 1.00], [0.70, 0.50, 0.70], [0.70, 0.70, 0.90]])
"""Invented: middle, lighter, darker, one with less green density and one with more blue, as a first sheet's packs make it."""
AIM = (0.74, 0.74, 0.74)


def first(path: Path) -> Job:
    job = load_job(path)
    assert job.recipe
    plan = first_sheet_plan(setting_of(job.recipe.filters), job.recipe.base_s, "dichroic")
    return Job(plan, made_for=job, picks=picks_of(plan))


def lying(folder: Path, name: str = "sheet_4.png", *, aim: bool = True) -> Path:
    """A scan in ``folder``: the five patches in a row, and a print that is right below them."""
    bed = Bed()
    bed.sheet(PATCHES, 450, 220, 700, 140)
    if aim:
        bed.lay(450, 500, 240, 160, AIM)
    return save(folder / name, scanned(bed, random.Random(3), noise=0.0, flare=0.0, cross=0.0))


async def to_scan(app: LamphouseApp, pilot: Pilot[int], home: Path) -> int:
    job = first(quay(home))
    run = printed(app, job)
    app.push_screen(Solve(job, run))
    await until(pilot, lambda: isinstance(app.screen, Solve) and "read its scan, r" in text_of(app, "says"))
    assert "lamphouse" not in screen_text(app).lower()  # no command where a key does it
    await press(app, pilot, "r")
    await until(pilot, lambda: isinstance(app.screen, ScanPage) and next_action(app) != "")
    return run


def kept(app: LamphouseApp, run: int) -> dict[str, tuple[float | None, ...]]:
    return {each.sample: (each.red, each.green, each.blue) for each in readings(app.darkroom.notebook, run)}


async def test_a_file_is_chosen_seen_and_taken_and_taken_back(home: Path) -> None:
    lying(Path())
    async with stage((100, 30)) as (app, pilot):
        run = await to_scan(app, pilot, home)
        assert "> sheet_4.png" in text_of(app, "list") and "Enter: read this file" in next_action(app)
        await press(app, pilot, "enter")
        await until(pilot, lambda: "take these 6 readings, if the boxes lie right" in next_action(app), 30)
        assert kept(app, run) == {}  # seen first
        await until(pilot, lambda: "aim" in text_of(app, "picture"))
        drawn = text_of(app, "picture")
        assert all(name in drawn for name in ("1", "2", "3", "4", "5")) and "▀" in drawn
        await press(app, pilot, "q")
        assert "q again" in next_action(app)
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Solve))
        there = kept(app, run)
        # What was laid on the bed, up to the white that paper is taken for: the same for all, so that it is the differences
        # to the aim that count. Of patches laid without flare, noise or crosstalk: 0.01.
        for name, wanted in zip("12345", PATCHES, strict=True):
            found = np.subtract(there[name], there["aim"])  # type: ignore[arg-type]
            assert found == pytest.approx(wanted - AIM, abs=0.012)
        await until(pilot, lambda: "aimed at" not in text_of(app, "says") and "write" in next_action(app))
        await press(app, pilot, "u")
        assert kept(app, run) == {}
        await until(pilot, lambda: "read its scan, r" in text_of(app, "says"))


async def test_a_name_is_typed_and_a_box_marked(home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An underscore writes a space, and a name may have one; what cannot be read is said with this page's keys."""
    scans = tmp_path / "s"
    scans.mkdir()
    lying(scans, "of_the day.png", aim=False)
    monkeypatch.chdir(tmp_path)
    async with stage() as (app, pilot):
        await to_scan(app, pilot, home)
        assert "no picture lies here" in text_of(app, "list").lower()
        await press(app, pilot, "n", *"no.png", "enter")
        assert "no file 'no.png'" in app.screen.refused  # type: ignore[attr-defined]
        await press(app, pilot, "escape", "n", *"s/of_the_day.png", "enter")
        assert "no file" in app.screen.refused  # type: ignore[attr-defined]
        await press(app, pilot, "escape")
        (scans / "of_the day.png").rename(scans / "of_the_day.png")
        await press(app, pilot, "n", *"s/of_the_day.png", "enter")
        await until(pilot, lambda: "nothing to compare with" in text_of(app, "list"), 30)
        assert "say t: " in text_of(app, "list") and "--" not in text_of(app, "list")
        await press(app, pilot, "b", *"9=200,180,60,60", "enter")
        await until(pilot, lambda: "no patch '9'; its patches are 1 to 5" in text_of(app, "list"), 30)
        assert "nothing is read" in next_action(app)
        await press(app, pilot, "o", "n", *"s/of_the_day.png", "enter")
        await until(pilot, lambda: "nothing to compare with" in text_of(app, "list"), 30)
        await press(app, pilot, "b", *"aim=200,180,60,60", "enter")  # on the first patch
        await until(pilot, lambda: "take these 6 readings" in next_action(app), 30)
        assert "aim" in text_of(app, "list")


async def test_the_scanner_is_asked_from_here(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from timer.app import scan_sheet

    def scan(path: Path) -> tuple[str, ...]:
        save(path.with_suffix(".png"), scanned(bed, random.Random(3), gamma=1.0)).rename(path)
        return ("the scanner gives no 16 bits: dark patches are read less well",)

    bed = Bed()
    bed.sheet(PATCHES, 450, 220, 700, 140)
    bed.lay(450, 500, 240, 160, AIM)
    monkeypatch.setattr("timer.app.scanner.scan_to", scan)
    async with stage((100, 30)) as (app, pilot):
        run = await to_scan(app, pilot, home)
        await press(app, pilot, "s")
        await until(pilot, lambda: "take these 6 readings" in next_action(app), 30)
        assert (Path() / f"scan-{run}.tif").exists() and "16 bits" in text_of(app, "list")
        assert "linear" in text_of(app, "choice") and scan_sheet.files() != []


async def test_without_a_scanner_it_is_said_and_the_files_stay(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("shutil.which", lambda name: None)
    lying(Path())
    async with stage() as (app, pilot):
        await to_scan(app, pilot, home)
        await press(app, pilot, "s")
        await until(pilot, lambda: "scanimage" in app.said.trouble)
        assert "> sheet_4.png" in text_of(app, "list")


@pytest.mark.parametrize("size", [(40, 15), (80, 24), (160, 50)])
async def test_no_line_is_cut(home: Path, size: tuple[int, int]) -> None:
    lying(Path())
    async with stage(size) as (app, pilot):
        await to_scan(app, pilot, home)
        await press(app, pilot, "enter")
        await until(pilot, lambda: "take" in next_action(app), 30)
        for key in ("i", "b", "escape", "t", "escape", "q", "down"):
            await press(app, pilot, key)
            assert all(len(line) <= size[0] for line in next_action(app).split("\n")), (key, next_action(app))
            assert next_action(app).count("\n") == 1


async def test_with_paper_out_no_scan_is_drawn(home: Path) -> None:
    lying(Path())
    async with stage() as (app, pilot):
        await to_scan(app, pilot, home)
        await press(app, pilot, "enter")
        await until(pilot, lambda: "take" in next_action(app), 30)
        assert app.open_box("bw")
        await pilot.pause(0.1)
        assert all(front[1:] == back[1:] == (0, 0) for _, front, back in cells(app))
        await press(app, pilot, "enter")
        assert "cover it first" in app.said.trouble


def test_a_box_and_a_tablet_are_read_or_refused_in_a_sentence() -> None:
    assert parse_box("3=1200, 800,150,150") == ("3", (1200, 800, 150, 150))
    assert parse_tablet("0.05 0.20 0.35") == (0.05, 0.20, 0.35)
    assert parse_tablet("") == ()
    for text in ("3", "3=1,2,3", "=1,2,3,4", "3=a,b,c,d"):
        with pytest.raises(ValueError, match="is no box; write patch=left"):
            parse_box(text)
    for text in ("0.1 0.2", "0.1 x 0.3", "0.3 0.1 0.2", "1 2 5"):
        with pytest.raises(ValueError, match="a tablet is 3 to 60 densities"):
            parse_tablet(text)

"""Wrong lines: one sentence with what is wrong, where, and what would be right; nothing is written. And no option is
taken and then not used."""

import io
import shlex
import sys
from pathlib import Path

import pytest

from tests.fuzz.notebooks import good_book
from timer.cli import main

RECIPE = 'recipe = 1\ntitle = "Coat"\nbase_s = 16.0\n[paper]\nkind = "bw"\n[enlargement]\naperture = 5.6\n[filters]\ngrade = "2"\n[[burn]]\narea = "wall"\nstops = 1\n'


@pytest.fixture
def folder(home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A recipe, a notebook with a few runs, and nothing else."""
    good_book(home / "notebook.db")
    (home / "vessels.toml").write_text("[drums.tube]\nlength_mm = 345\nround_mm = 285\n")
    place = tmp_path / "here"
    place.mkdir()
    monkeypatch.chdir(place)
    (place / "coat.toml").write_text(RECIPE)
    return place


def called(line: str, monkeypatch: pytest.MonkeyPatch) -> tuple[object, str]:
    """Exit code, and the sentence behind ``Error:``."""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setattr(sys, "stderr", err)
    with pytest.raises(SystemExit) as ended:
        main(shlex.split(line))
    err.flush()
    assert isinstance(err.buffer, io.BytesIO)
    said = [each for each in err.buffer.getvalue().decode().splitlines() if not each.startswith("Usage: ")]
    assert len(said) == 1, said
    return ended.value.code, said[0].removeprefix("Error: ")


WRONG = {
    "strip --from abc": "--from: 'abc' is not a number; right would be over 0 to 3600",
    "strip --from nan": "--from: nan is out of range; right would be over 0 to 3600",
    "strip --from 0": "--from: 0 is out of range; right would be over 0 to 3600",
    "strip --from 3601": "--from: 3601 is out of range; right would be over 0 to 3600",
    "strip --from 8,5": "--from: '8,5' is not a number; right would be over 0 to 3600; its decimals stand after a point: 8.5",
    "strip --from 8 --patches 2.5": "--patches: '2.5' is not a whole number; right would be 2 to 24",
    "strip --from 8 --patches 25": "--patches: 25 is out of range; right would be 2 to 24",
    "strip --from 8 --way sideways": "--way: 'sideways' is not one of 'cover', 'uncover', 'window'",
    "strip --from 8 --step x": "--step: 'x' is not an amount in stops; write it like 1/3, 1 1/2 or 0.25",
    "strip --fro 8": "there is no option --fro; did you mean --from?",
    "strip 8": "'8' is one word too many; `lamphouse strip --help` shows how it is written",
    "strip --from": "--from needs a value behind it",
    "strip --show=1": "--show stands alone, without a value",
    "strip --from 8 --notebook .": "--notebook: .: a folder, not a file",
    "srtip --from 8": "there is no command 'srtip'; did you mean 'strip'?",
    "lamp on": "there is no command 'on'; `lamphouse lamp --help` shows how it is written",
    "notebook show": "RUN is missing; `lamphouse notebook show --help` shows how it is written",
    "notebook show x": "RUN: 'x' is not a whole number; right would be 1 or more",
    "notebook show 0": "RUN: 0 is out of range; right would be 1 or more",
    "bath mix x": "--ml is missing: --ml ML; `lamphouse bath mix --help` shows how it is written",
    "bath mix '' --ml 100": "NAME: it is empty; give it a name",
    "vessel drum ' ' --length 300 --round 28cm": "NAME: it is empty; give it a name",
    "check ''": "RECIPE: it is empty; give the name of a file",
    "print .": "RECIPE: .: a folder, not a file",
    "cast purple --pack 60M": "CAST: 'purple' is not one of 'red', 'yellow', 'green', 'cyan', 'blue', 'magenta'",
    "resize coat.toml --lens-to-paper 4": "--lens-to-paper needs 2 values behind it",
}


@pytest.mark.parametrize("line", WRONG)
def test_what_is_wrong_is_said_in_one_sentence(line: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert called(line, monkeypatch) == (2, WRONG[line])
    assert [path.name for path in folder.iterdir()] == ["coat.toml"]


IDLE = {
    "strip --from 8 --show --pause 5": "--pause",
    "strip --from 8 --show --head cp": "--head",
    "strip --from 8 --grade 2 --show --top 100": "--top",
    "strip --from 8 --pack 60M --head cp --per-stop 12 --show": "--per-stop",
    "read 3 --from 8 --title Coat": "--title",
    "read 3 --from 8 --notebook other.db": "--notebook",
    "read 1 wall=2 --step 1/6": "--step",
    "read 1 wall=2 --patches 3": "--patches",
    "first-sheet --pack 60M --seconds 9 --head cp --like x --show": "--like",
    "scan 1 sheet.tif --device x": "--device",
    "scan 1 sheet.tif --per-inch 300": "--per-inch",
    "solve 1 --aim 0.7 --table --json": "--table",
    "grade --range 1.05 --notebook other.db": "--notebook",
    "drydown --seconds 12 --paper Pearl": "--paper",
    "drydown --wet 0.1 --dry 0.2 --paper Pearl --grade 2 --show": "--show",
    "resume --forget --show": "--show",
    "resume --forget --assume most": "--assume",
    "bath show bw-rc-tray --celsius 22": "--celsius",
    "bath run bw-rc-tray --celsius 22": "--celsius",
    "correct coat.toml 'wall +1/3' --force": "--force",
    "resize coat.toml --aperture 8 --force": "--force",
    "resize coat.toml --aperture 8 --top 100": "--top",
    "resize coat.toml --aperture 8 --head cp": "--head",
    "cast red --viewing 10 --amount strong --pack 60M --seconds 9 --head cp": "--amount",
    "preview coat.toml -o x.png --positive": "--positive",
    "preview coat.toml --terminal --force": "--force",
    "calibrate match --long 2.9 --notebook other.db": "--notebook",
}


@pytest.mark.parametrize("line", IDLE)
def test_an_option_that_would_do_nothing_is_refused(line: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    code, says = called(line, monkeypatch)
    assert code == 2
    assert says.startswith(f"{IDLE[line]} would do nothing here: ")
    assert [path.name for path in folder.iterdir()] == ["coat.toml"]


def test_a_column_whose_reach_cannot_be_judged(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    says = "--column needs to know the way from negative to paper: say the lens, like --lens 50"
    assert called("resize coat.toml --aperture 8 --column 900 -o new.toml", monkeypatch) == (1, says)
    assert [path.name for path in folder.iterdir()] == ["coat.toml"]


BOTH = {
    "check coat.toml --schema": "--schema is that of every recipe: leave coat.toml away",
    "strips --done 1 --again 1": "run 1 is either taken off the list (--done) or put back (--again), not both",
    "paper --json covered": "--json stands behind the command: lamphouse paper covered --json",
    "setup --write --remove": "say --write or --remove, not both",
}


@pytest.mark.parametrize("line", BOTH)
def test_two_that_exclude_each_other_are_refused(line: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert called(line, monkeypatch) == (2, BOTH[line])

"""Titles, names, notes and file names with escape codes: no command passes one on to the terminal, errors included."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import Run, write_recipe
from tests.fuzz.judge import faults_of
from tests.fuzz.notebooks import good_book
from timer.app.notebook_files import spreadsheet_cell
from timer.notebook.store import Notebook
from timer.text import UNFIT

EVIL = "A\x1b[?5hB\x9b31mC\u202eD\n    1  2026-01-01 00:00  finished     print  never made"


@pytest.fixture
def evil_book(home: Path) -> Path:
    """A notebook as another program may have left it: every text column of it acts."""
    good_book(home / "notebook.db")
    with Notebook(home / "notebook.db") as book, book.commit():
        for table, names in (
            ("run", "state says title lamp"), ("exposure", "label why"), ("chemistry", "name mixed"),
            ("sheet", "title negative paper box batch process head notes"),
        ):  # fmt: skip
            for name in names.split():
                book.write(f"UPDATE {table} SET {name} = ?", (EVIL,))
        book.write("INSERT INTO reading VALUES (1, ?, 1, 1, 1, 1, ?, ?, 1)", (EVIL, EVIL, EVIL))
    return home


COMMANDS = [
    ["notebook", "list"], ["notebook", "list", "--json"], ["notebook", "show", "1"], ["notebook", "show", "2", "--json"],
    ["notebook", "find", "a"], ["notebook", "compare", "1", "2"], ["notebook", "account"], ["notebook", "card", "1"],
    ["notebook", "csv"], ["notebook", "check"], ["bath", "status"], ["bath", "use", EVIL, "--area", "1"], ["bath", "show", EVIL],
    ["check", EVIL], ["print", f"{EVIL}.toml"], ["preview", EVIL, "-o", f"{EVIL}.png"], ["calibrations", "head", EVIL],
    ["notebook", "write", "1", "--notes", EVIL], ["notebook", "write", "1", "--box", EVIL], [EVIL], ["strip", "--from", EVIL],
    ["strip", "--way", EVIL], ["notebook", "list", "--notebook", EVIL], ["notebook", "export", f"/none/{EVIL}"],
    ["notebook", "import", EVIL], ["resume", "1", "--show"], ["reprint", "1", "--show"], ["resize", EVIL, "--paper", EVIL],
]  # fmt: skip


@pytest.mark.parametrize("line", COMMANDS, ids=lambda line: " ".join(line)[:24].encode("ascii", "replace").decode())
def test_no_command_passes_an_escape_code_on(evil_book: Path, line: list[str]) -> None:
    assert faults_of(line) == []


def test_a_row_stays_a_row(lamphouse: Run, evil_book: Path) -> None:
    assert len(lamphouse("notebook", "list").stdout.splitlines()) == 6
    assert len(lamphouse("notebook", "find", "a").stdout.splitlines()) <= 6
    assert len(lamphouse("bath", "status").stdout.splitlines()) == 1


def test_json_keeps_the_value(lamphouse: Run, evil_book: Path) -> None:
    out = lamphouse("notebook", "show", "1", "--json").stdout
    assert not UNFIT.search(out)
    assert json.loads(out)["title"].startswith("A\ufffd[?5hB")


def test_what_the_files_bring_along(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    name = tmp_path / "caf\udce9\x1b[2J.toml"  # a name in another encoding, with an escape code
    write_recipe(name)
    out = lamphouse("check", str(name)).stdout
    assert "good" in out
    assert not UNFIT.search(out)
    for bad in ('title = "A\\u001b[?5hB"', 'title = "A\\u202eB"', 'title = "A\\nB"', '"\\u001b[2J" = 1'):
        name.write_text(f'recipe = 1\nbase_s = 2\npaper.kind = "bw"\n{bad}\n')
        err = lamphouse("check", str(name), check=1).stderr
        assert "has a " in err
        assert not UNFIT.search(err)
    (home / "processes").mkdir()
    (home / "processes" / "A\x1b[2J.toml").write_text("x = 1")
    out = lamphouse("bath", "list").stdout
    assert "NOT USABLE" in out
    assert "ra4-drum" in out
    assert not UNFIT.search(out)


def test_an_encoding_that_lacks_a_letter(home: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "timer.cli", "bath", "show", "½"],
        capture_output=True, env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert done.returncode == 1
    assert done.stderr.startswith(b"Error: there is no process '?'")


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", " =1", "|cmd", "＝1", "\n=1"])
def test_a_cell_is_no_formula(text: str) -> None:
    assert spreadsheet_cell(text) == f"'{text}"


def test_cells_that_are_none_stay_as_they_are() -> None:
    for value in (1, -0.5, None, "", "sky at last", "2-1"):
        assert spreadsheet_cell(value) == value


def test_csv_of_a_sheet_that_would_be_a_formula(lamphouse: Run, home: Path) -> None:
    good_book(home / "notebook.db")
    lamphouse("notebook", "write", "1", "--notes", '=HYPERLINK("http://x","y")')
    assert "'=HYPERLINK" in lamphouse("notebook", "csv").stdout


LONG = "9" * 5000
SENTENCES = [
    (["notebook", "show", "9223372036854775808"], 2), (["notebook", "show", LONG], 2), (["notebook", "show", "-5"], 2),
    (["reprint", "9223372036854775808"], 2), (["resume", "99999999999999999999"], 2), (["notebook", "show", "9223372036854775807"], 1),
    (["check", LONG], 1), (["notebook", "list", "--notebook", LONG], 1), (["notebook", "export", LONG], 1),
    (["notebook", "import", "/"], 2), (["notebook", "import", LONG], 1), (["notebook", "csv", "-o", LONG], 1), (["preview", LONG, "-o", f"{LONG}.png"], 1),
    (["notebook", "find", "caf\udce9"], 1), (["bath", "mix", "caf\udce9", "--ml", "5"], 2), (["check", "caf\udce9"], 1),
    (["notebook", "write", "1", "--notes", "caf\udce9"], 2), (["bath", "use", "caf\udce9", "--area", "1"], 2),
]  # fmt: skip


@pytest.mark.parametrize(("line", "code"), SENTENCES, ids=range(len(SENTENCES)))
def test_numbers_and_names_beyond_all_measure(lamphouse: Run, home: Path, line: list[str], code: int) -> None:
    good_book(home / "notebook.db")
    done = lamphouse(*line, check=code)
    assert len(done.stderr) < 1500
    assert not code or done.stderr.strip().splitlines()[-1].startswith("Error: ")

"""From wet sheet to print on file, at the command line."""

import json
from pathlib import Path

import pytest

from tests.conftest import Run
from tests.documents.test_cgats import WEDGE


@pytest.fixture
def made(lamphouse: Run, recipe_file: Path) -> Path:
    lamphouse("print", str(recipe_file), "--advance", "auto", "--speed", "50", "--pause", "0")
    return recipe_file


def data(lamphouse: Run, *arguments: str) -> dict[str, object]:
    found: dict[str, object] = json.loads(lamphouse(*arguments, "--json").stdout)
    return found


def test_write_find_compare_account(lamphouse: Run, made: Path) -> None:
    lamphouse("notebook", "write", "1", "--rating", "4", "--notes", "Sky at last", "--box", "3", "--cost", "1.2")
    assert "Gate in the rain" in lamphouse("notebook", "find", "sky").stdout
    assert "Nothing found" in lamphouse("notebook", "find", "zebra").stdout
    lamphouse("print", str(made), "--advance", "auto", "--speed", "50", "--pause", "0")
    rows = {row["what"]: row["second"] for row in json.loads(lamphouse("notebook", "compare", "1", "2", "--json").stdout)}
    assert rows["rating"] == "-"
    assert data(lamphouse, "notebook", "account")["sheets_per_keeper"] == 2
    assert "Sky at last" in lamphouse("notebook", "csv").stdout
    assert "notes: Sky at last" in lamphouse("notebook", "show", "1").stdout


def test_reprint_and_at_another_size(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    path = tmp_path / "r.toml"
    path.write_text(
        'recipe = 1\ntitle = "Wall"\nbase_s = 4\n[paper]\nkind = "bw"\n'
        '[enlargement]\nframe = "6x6"\nsheet = "8x10in"\naperture = 8\n[filters]\ngrade = "2"\n'
    )
    lamphouse("print", str(path), "--advance", "auto", "--speed", "50", "--pause", "0")
    same = data(lamphouse, "reprint", "1", "--show")
    assert same["total_light_s"] == 4
    bigger = data(lamphouse, "reprint", "1", "--sheet", "16x20in", "--aperture", "5.6", "--show")
    assert bigger["total_light_s"] == pytest.approx(4 * 3.1825 / 2, abs=0.01)  # computed table: 6x6, 8x10 to 16x20, fit
    run = data(
        lamphouse, "reprint", "1", "--advance", "auto", "--speed", "50", "--pause", "0", "--keep", str(tmp_path / "k.toml")
    )
    assert run["state"] == "finished"
    assert "good" in lamphouse("check", str(tmp_path / "k.toml")).stdout


def test_print_card_in_three_forms(lamphouse: Run, made: Path, tmp_path: Path) -> None:
    text = lamphouse("notebook", "card", "1").stdout
    for word in ("Gate in the rain", "dodge 1/3 stop", "burn 1.5 s, grade 00", "Exposures"):
        assert word in text
    lamphouse("notebook", "card", "1", "-o", str(tmp_path / "c.html"))
    page = (tmp_path / "c.html").read_text()
    assert page.startswith("<!DOCTYPE html>")
    assert "data:image/png;base64," in page
    lamphouse("notebook", "card", "1", "-o", str(tmp_path / "c.pdf"))
    assert (tmp_path / "c.pdf").read_bytes().startswith(b"%PDF")
    assert "exists already" in lamphouse("notebook", "card", "1", "-o", str(tmp_path / "c.pdf"), check=1).stderr


def test_readings(lamphouse: Run, made: Path, tmp_path: Path) -> None:
    path = tmp_path / "wedge.txt"
    path.write_text(WEDGE)
    found = data(lamphouse, "notebook", "readings", "1", str(path))
    assert len(found["readings"]) == 2  # type: ignore[arg-type]
    assert "visual 2.06" in lamphouse("notebook", "show", "1").stdout
    assert "does not say which density status" in lamphouse("notebook", "readings", "1", str(path)).stdout
    path.write_text(WEDGE.replace("0.07", "x"))
    assert "D_BLUE is 'x'" in lamphouse("notebook", "readings", "1", str(path), check=1).stderr
    assert "visual 2.06" in lamphouse("notebook", "show", "1").stdout


def test_export_import_check(lamphouse: Run, made: Path, home: Path, tmp_path: Path) -> None:
    lamphouse("notebook", "export", str(tmp_path / "b.db"))
    lamphouse("strip", "--from", "0.1", "--patches", "2", "--advance", "auto", "--pause", "0")
    lamphouse("notebook", "import", str(tmp_path / "b.db"))
    assert len(json.loads(lamphouse("notebook", "list", "--json").stdout)) == 1
    assert data(lamphouse, "notebook", "check") == {"ok": True, "runs": 1, "faults": []}
    (tmp_path / "bad.db").write_bytes(b"nonsense" * 999)
    assert "damaged" in lamphouse("notebook", "import", str(tmp_path / "bad.db"), check=1).stderr
    assert data(lamphouse, "notebook", "check")["ok"] is True


def test_baths(lamphouse: Run, home: Path) -> None:
    found = data(lamphouse, "bath", "volume", "--sheet", "12x16in", "--sheets", "1", "--vessel", "drum")
    assert set(found) == {"ml", "wets_ml", "uses_ml", "area_8x10", "vessel", "way", "why"}
    assert found["area_8x10"] == pytest.approx(2.4)
    lamphouse("bath", "mix", "developer", "--ml", "1000", "--capacity", "2")
    out = lamphouse("bath", "use", "developer", "--area", "0.25").stdout
    assert "0.25 of 2" in out
    assert "WARNING" in lamphouse("bath", "use", "developer", "--sheet", "8x10in", "--sheets", "2").stdout
    assert "2.25 of 2" in lamphouse("bath", "status").stdout
    assert "100 ml + 400 ml" in lamphouse("bath", "parts", "1+4", "--ml", "500").stdout
    assert lamphouse("bath", "parts", "1+100", "--ml", "40").stdout.split() == ["0.4", "ml", "+", "39.6", "ml"]
    assert "starting point" in lamphouse("bath", "list").stdout
    named = json.loads(lamphouse("bath", "list", "--json").stdout)
    assert {"bw-fibre-tray", "bw-rc-tray", "ra4-drum", "ra4-tray"} == {each["name"] for each in named if each["source"]}
    assert "drain" in lamphouse("bath", "show", "ra4-drum").stdout
    at_28 = lamphouse("bath", "show", "ra4-tray", "--celsius", "28.5").stdout
    assert "developer: 85 s, 28.5 °C" in at_28  # half-way from 24 °C, 120 s to 33 °C, 60 s in log time
    assert "stop: 30 s; " in at_28  # it has one time, and nothing is known of its temperature
    assert "over" in lamphouse("bath", "run", "ra4-drum", "--speed", "500", "--hands-free").stdout


WRONG = [
    (["bath", "volume", "--sheet", "banana", "--vessel", "drum"], 1, "not a size"),
    (["bath", "use", "developer", "--area", "1"], 1, "is mixed"),
    (["bath", "use", "developer"], 2, "--area 0.25"),
    (["bath", "show", "nothing"], 1, "no process 'nothing'"),
    (["bath", "show", "ra4-tray", "--celsius", "60"], 1, "outside of the table"),
    (["bath", "parts", "4", "--ml", "500"], 1, "1+4"),
    (["notebook", "write", "1"], 2, "say what to write"),
    (["notebook", "write", "1", "--rating", "9"], 2, "1 to 5"),
    (["notebook", "write", "7", "--rating", "3"], 1, "no sheet 7"),
    (["notebook", "compare", "1", "9"], 1, "no run 9"),
    (["notebook", "card", "9"], 1, "no run 9"),
    (["reprint", "9"], 1, "no run 9"),
]


@pytest.mark.parametrize(("arguments", "code", "says"), WRONG)
def test_wrong_calls_get_a_sentence(lamphouse: Run, home: Path, arguments: list[str], code: int, says: str) -> None:
    from fractions import Fraction

    from timer.notebook.store import Notebook
    from timer.plans.strip import strip_plan

    notebook = Notebook(home / "notebook.db")
    notebook.begin_run(strip_plan(8.0, Fraction(1, 3), 3, "cover"))
    notebook.close()
    done = lamphouse(*arguments, check=code)
    assert says in done.stderr


PROCESS = 'process = 1\ntitle = "Mine"\nsource = "the leaflet"\nvessel = "drum"\ndrain = "inside"\n'


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (PROCESS, "the key bath is missing"),
        (PROCESS + '[[bath]]\nname = "dev"\n', r"bath 1: give either seconds or a table"),
        (PROCESS + '[[bath]]\nname = "dev"\nsecond = 3\n', "did you mean 'seconds'"),
        (PROCESS + '[[bath]]\nname = "dev"\nseconds = 5\n', "does not fit"),
        (PROCESS.replace("drum", "bucket") + '[[bath]]\nname = "dev"\nseconds = 60\n', "vessel"),
    ],
)
def test_a_process_of_ones_own(lamphouse: Run, home: Path, text: str, says: str) -> None:
    (home / "processes").mkdir()
    path = home / "processes" / "mine.toml"
    path.write_text(text)
    assert says in lamphouse("bath", "show", "mine", check=1).stderr
    path.write_text(PROCESS + 'ml_per_8x10 = 60\nleast_ml = 100\n[[bath]]\nname = "dev"\nseconds = 60\n')
    assert "dev: 60 s" in lamphouse("bath", "show", "mine").stdout
    found = data(lamphouse, "bath", "volume", "--sheet", "8x10in", "--process", "mine")
    assert found["ml"] == 100

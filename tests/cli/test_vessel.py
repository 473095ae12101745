"""A vessel measured once and used from then on."""

import json
from pathlib import Path

from tests.conftest import Run
from timer.app.cautions import vessel_note
from timer.app.jobs import load_job
from timer.documents.bath_process import processes

RECIPE = """
recipe = 1
title = "Stair well"
base_s = 12.0
[paper]
kind = "bw"
[enlargement]
sheet = "12x16in"
"""


def test_measured_kept_used(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    assert "None is measured" in lamphouse("vessel", "list").stdout
    assert "no vessel 'x' is measured" in lamphouse("bath", "volume", "--sheet", "8x10in", "--vessel", "x", check=1).stderr
    lamphouse("vessel", "drum", "tube", "--length", "34.5cm", "--round", "285")
    lamphouse("vessel", "tray", "big", "--bottom", "430", "12.6in")
    kept = {each["name"]: each for each in json.loads(lamphouse("vessel", "list", "--json").stdout)}
    assert (kept["tube"]["length"], kept["tube"]["kind"], round(kept["big"]["short"])) == (345, "drum", 320)
    assert json.loads(lamphouse("vessel", "fit", "5x7in", "--json").stdout)["tube"]["count"] == 2
    one = json.loads(lamphouse("bath", "volume", "--sheet", "8x10in", "--vessel", "tube", "--json").stdout)
    assert (one["ml"], one["vessel"]) == (80, "tube")
    assert (
        "takes 1 of" in lamphouse("bath", "volume", "--sheet", "8x10in", "--sheets", "2", "--vessel", "tube", check=1).stderr
    )
    # the printer's own least, found with water and a scrap of paper
    lamphouse("vessel", "drum", "tube", "--length", "345", "--round", "285", "--least", "120")
    assert json.loads(lamphouse("bath", "volume", "--sheet", "5x7in", "--vessel", "tube", "--json").stdout)["ml"] == 120
    lamphouse("vessel", "drop", "big")
    assert "big" not in lamphouse("vessel", "list").stdout
    assert "turn both ways" in lamphouse("vessel", "even", "tube").stdout
    assert "spirit level" not in lamphouse("vessel", "even", "tray").stdout


def test_a_process_in_its_own_vessel(lamphouse: Run, home: Path) -> None:
    (home / "processes").mkdir()
    (home / "processes" / "mine.toml").write_text(
        'process = 1\ntitle = "mine"\nsource = "my leaflet"\nvessel = "drum"\ndrain = "inside"\nin_vessel = "tube"\n'
        'ml_per_8x10 = 90\n[[bath]]\nname = "developer"\nseconds = 60\n'
    )
    assert (
        "no vessel 'tube' is measured"
        in lamphouse("bath", "volume", "--sheet", "8x10in", "--process", "mine", check=1).stderr
    )
    lamphouse("vessel", "drum", "tube", "--length", "345", "--round", "285")
    made = json.loads(lamphouse("bath", "volume", "--sheet", "8x10in", "--process", "mine", "--json").stdout)
    assert (made["ml"], made["uses_ml"], made["vessel"]) == (90, 90, "tube")


def test_a_sheet_too_large_is_said_before_paper_is_cut(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    path = tmp_path / "stair.toml"
    path.write_text(RECIPE)
    assert "fits into no" not in lamphouse("print", str(path), "--show").stdout
    lamphouse("vessel", "drum", "tube", "--length", "345", "--round", "285")
    assert "12x16in fits into no drum or tray of yours (tube)" in lamphouse("print", str(path), "--show").stdout
    assert "fits into no drum" in lamphouse("check", str(path)).stdout
    assert "fits into no drum" in vessel_note(load_job(path))[0]
    lamphouse("vessel", "tray", "big", "--bottom", "32cm", "43cm")
    assert vessel_note(load_job(path)) == []


def test_vessels_that_cannot_be_read_warn_and_stop_no_print(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    path = tmp_path / "stair.toml"
    path.write_text(RECIPE)
    (home / "vessels.toml").write_text("drums = 3\n")
    said = lamphouse("print", str(path), "--show").stdout
    assert "vessels.toml" in said and "light in all" in said
    assert json.loads(lamphouse("check", str(path), "--json").stdout)["ok"]


def test_bad_measures(lamphouse: Run, home: Path) -> None:
    assert "not a length" in lamphouse("vessel", "drum", "x", "--length", "long", "--round", "3", check=2).stderr
    assert "50 to 2000 mm" in lamphouse("vessel", "drum", "x", "--length", "3cm", "--round", "30cm", check=1).stderr
    assert "kinds of vessels" in lamphouse("vessel", "tray", "tray", "--bottom", "300", "400", check=1).stderr
    assert "none yet" in lamphouse("vessel", "drop", "x", check=1).stderr
    (home / "vessels.toml").write_text("[drums.a]\nlength_mm = 300\nround_mm = 1\n")
    assert "vessels.toml: a (drum" in lamphouse("vessel", "list", check=1).stderr


def test_drain_is_said_one_way(lamphouse: Run, home: Path) -> None:
    assert "developer: 60 s, 35 °C; the last 10 s of it to drain" in lamphouse("bath", "show", "ra4-drum").stdout
    # SS0509 drains prints for 15 s: inside the time here, so that 90 s of developer are not 105
    assert "developer: 90 s, 20 °C; the last 15 s of it to drain" in lamphouse("bath", "show", "bw-rc-tray").stdout
    assert {process.drain for process in processes(home).good.values()} == {"inside"}
    (home / "processes").mkdir()
    (home / "processes" / "mine.toml").write_text(
        'process = 1\ntitle = "mine"\nsource = "my leaflet"\nvessel = "tray"\ndrain = "outside"\n'
        '[[bath]]\nname = "developer"\nseconds = 90\n'
    )
    assert "developer: 90 s; 15 s more to drain, 105 s in all" in lamphouse("bath", "show", "mine").stdout


def test_what_ships_says_where_its_times_are_from(home: Path) -> None:
    for name, process in processes(home).good.items():
        assert "common practice" in process.source and "leaflet" in process.source, name


def test_care_is_said_with_every_process(lamphouse: Run, home: Path) -> None:
    for name in processes(home).good:
        says = lamphouse("bath", "show", name).stdout
        assert all(word in says for word in ("Gloves or tongs for every bath", "eye protection", "acid into water"))
    assert "tongs or gloves" in lamphouse("vessel", "even", "tray").stdout


def test_a_colour_print_in_a_tray_is_washed_longer_than_in_a_warm_drum(home: Path) -> None:
    # common practice: two minutes of warm water; a tray stands at room temperature
    good = processes(home).good
    tray, drum = (next(b.seconds for b in good[name].bath if b.name == "wash") for name in ("ra4-tray", "ra4-drum"))
    assert (drum, tray) == (120, 240)


def test_the_document_has_every_process_that_ships(home: Path) -> None:
    text = (Path(__file__).parents[2] / "docs" / "baths.md").read_text()
    for name, process in processes(home).good.items():
        row = next(line for line in text.splitlines() if line.startswith(f"| `{name}` |"))
        assert f"| {next(b.seconds for b in process.bath if b.name == 'stop'):g} s |" in row

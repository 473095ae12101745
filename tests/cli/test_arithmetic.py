"""The arithmetic at the command line, as scripts and people call it."""

import json
from pathlib import Path

import pytest

from tests.conftest import Run
from timer.documents.recipe_file import load_recipe

RECIPE = """recipe = 1
title = "Harbour"
base_s = 10.0
[paper]
kind = "ra4"
[enlargement]
frame = "35mm"
sheet = "8x10in"
lens_mm = 50
aperture = 11
[filters]
m = 60
y = 50
"""


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    path = tmp_path / "harbour.toml"
    path.write_text(RECIPE)
    return path


def data(lamphouse: Run, *arguments: str) -> dict[str, object]:
    made: dict[str, object] = json.loads(lamphouse(*arguments, "--json").stdout)
    return made


def test_move_writes_a_derived_recipe(lamphouse: Run, harbour: Path, tmp_path: Path) -> None:
    new = tmp_path / "big.toml"
    made = data(lamphouse, "resize", str(harbour), "--sheet", "30x40cm", "--aperture", "8", "-o", str(new))
    assert made["factors"] == {"size": pytest.approx(2.2604, abs=1e-3), "aperture": 0.5, "paper": 1.0, "filters": 1.0}
    assert made["magnification"] == pytest.approx([7.0556, 11.1111], abs=1e-3)
    assert made["lens_to_paper_mm"] == pytest.approx(605.6, abs=0.1)
    derived = load_recipe(new)
    assert derived.base_s == made["base_s"]
    assert derived.derived and derived.derived.file == "harbour.toml"
    assert "exists already" in lamphouse("resize", str(harbour), "--aperture", "8", "-o", str(new), check=1).stderr
    lamphouse("resize", str(harbour), "--aperture", "8", "-o", str(new), "--force")
    out = lamphouse("resize", str(new), "--sheet", "16x20in").stdout
    assert "Confirm it first: lamphouse strip --around" in out
    assert "good" in lamphouse("check", str(new)).stdout


def test_pack(lamphouse: Run) -> None:
    assert data(lamphouse, "pack", "46Y 38M 12C") == {"pack": {"c": 0, "m": 26, "y": 34}, "neutral_removed": 12}
    assert data(lamphouse, "pack", "5M -10M")["pack"] == {"c": 5, "m": 0, "y": 5}
    made = data(lamphouse, "pack", "40M 60Y", "--to", "50M 60Y", "--seconds", "10", "--head", "dichroic")
    assert (made["factor"], made["seconds"]) == (pytest.approx(1.2**0.5), pytest.approx(11, abs=0.05))
    made = data(lamphouse, "pack", "20M", "--to", "20R", "--seconds", "10", "--head", "cp")
    assert made["seconds"] == pytest.approx(10)
    assert "-10M" not in lamphouse("pack", "-10M").stdout


def test_cast(lamphouse: Run) -> None:
    made = data(
        lamphouse, "cast", "green", "--amount", "slight", "--pack", "0C 60M 50Y", "--seconds", "10", "--head", "dichroic"
    )
    assert made["pack"] == {"c": 0, "m": 55, "y": 50}
    assert made["seconds"] == pytest.approx(10 / 1.2**0.25)
    assert "negative-positive" in str(made["say"])
    assert str(made["say"]).startswith("Subtract 5M: pack 55M 50Y. On a dichroic head 9.55 s")
    made = data(lamphouse, "cast", "red", "--viewing", "20", "--pack", "60M 50Y", "--seconds", "10", "--head", "dichroic")
    assert made["pack"] == {"c": 0, "m": 70, "y": 60}
    made = data(
        lamphouse,
        "cast",
        "red",
        "--amount",
        "10",
        "--pack",
        "60M 50Y",
        "--seconds",
        "10",
        "--head",
        "dichroic",
        "--reversal",
    )
    assert made["pack"] == {"c": 0, "m": 50, "y": 40}
    assert "reversal material" in str(made["say"])


def test_rings_ladders_and_dry_down_are_plans_that_run(lamphouse: Run) -> None:
    plan = data(lamphouse, "ringaround", "--pack", "60M 50Y", "--seconds", "10", "--head", "dichroic", "--show")
    patches = plan["patches"]
    assert isinstance(patches, list)
    assert len(patches) == 7
    assert patches[0] == {"patch": 1, "stops": 0.0, "seconds": 10.0, "filters": "60M 50Y"}
    made = data(
        lamphouse, "ladder", "--pack", "60M 50Y", "--seconds", "1", "--along", "M", "--head", "dichroic",
        "--advance", "auto", "--speed", "50", "--pause", "0",
    )  # fmt: skip
    assert made["state"] == "finished"
    exposures = made["exposures"]
    assert isinstance(exposures, list)
    assert [e["asked_s"] for e in exposures] == pytest.approx([1.2 ** (m / 20) for m in (0, -10, -5, 5, 10)])
    plan = data(lamphouse, "drydown", "--seconds", "10", "--show")
    assert [p["seconds"] for p in plan["patches"]] == pytest.approx([10, 9.2, 9.1, 9.0, 8.9, 8.8])  # type: ignore[attr-defined]


def test_reading_a_strip(lamphouse: Run) -> None:
    made = data(lamphouse, "read", "3.5", "--from", "8", "--step", "1/3")
    assert made["seconds"] == pytest.approx(8 * 2 ** (5 / 6))
    assert "darkest was chosen" in str(data(lamphouse, "read", "5", "--from", "8")["advice"])


def test_what_was_measured_is_kept_and_used(lamphouse: Run, harbour: Path) -> None:
    lamphouse("calibrations", "head", "condenser", "--from-m", "6.7", "--to-m", "10.9", "--ratio", "2.1")
    lamphouse("calibrations", "box", "spring", "--time", "1.08", "--pack", "-5M")
    kept = data(lamphouse, "calibrations", "list")
    assert set(kept) == {"heads", "boxes", "curves", "forgotten", "learned"}
    plain = data(lamphouse, "resize", str(harbour), "--sheet", "12x16in")
    bent = data(lamphouse, "resize", str(harbour), "--sheet", "12x16in", "--head", "condenser", "--box", "spring")
    assert bent["factors"]["size"] < plain["factors"]["size"]  # type: ignore[index]
    assert bent["factors"]["paper"] == pytest.approx(1.08)  # type: ignore[index]
    assert bent["factors"]["filters"] == 1  # type: ignore[index]


WRONG = [
    (["resize", "HARBOUR"], 2, "say what is to change"),
    (["resize", "HARBOUR", "--sheet", "banana"], 2, "not a size"),
    (["resize", "HARBOUR", "--sheet", "12x16inn"], 2, "not a size"),
    (["resize", "HARBOUR", "--pack", "70M 50Y"], 1, "--head cp"),
    (["resize", "HARBOUR", "--aperture", "8", "--head", "mine"], 1, "was not measured"),
    (["resize", "HARBOUR", "--box", "mine"], 1, "was not measured"),
    (["resize", "none.toml", "--aperture", "8"], 1, "no such file"),
    (["pack", "banana"], 1, "not a filter pack"),
    (["pack", "60M", "--to", "70M", "--head", "dichroic"], 1, "--seconds 10"),
    (["pack", "60M", "--to", "70M", "--seconds", "10"], 1, "--head cp"),
    (
        ["pack", "60M 50Y", "--to", "160M 50Y", "--seconds", "10", "--head", "dichroic", "--top", "130"],
        1,
        "160M, and the head ends at 130",
    ),
    (["pack", "-100M -50Y", "--top", "80"], 1, "100C, and the head ends at 80"),
    (
        ["pack", "R8 G6 B5", "--to", "R50 G2 B80", "--seconds", "10", "--head", "additive", "--top", "60"],
        1,
        "B80, and the head ends at 60",
    ),
    (
        ["strip", "--from", "8", "--pack", "160M", "--head", "dichroic", "--top", "130", "--show"],
        1,
        "160M, and the head ends at 130",
    ),
    (["cast", "green", "--pack", "60M", "--seconds", "10"], 1, "--head cp"),
    (["cast", "puce", "--pack", "60M", "--seconds", "10"], 2, "puce"),
    (
        ["cast", "green", "--amount", "lots", "--pack", "60M", "--seconds", "10", "--head", "dichroic"],
        1,
        "not an amount of a cast",
    ),
    (["ringaround", "--pack", "60M", "--seconds", "10", "--show"], 1, "--head cp"),
    (
        ["ladder", "--pack", "60M", "--seconds", "10", "--along", "M", "--amounts", "a,b", "--head", "dichroic"],
        2,
        "row of numbers",
    ),
    (["read", "9", "--from", "8"], 1, "not on a strip"),
    (["read", "nan", "--from", "8"], 2, "not a place on a strip"),
    (["read", "2", "--from", "8", "--around", "9"], 2, "--from SECONDS, or its middle"),
    (
        ["cast", "magenta", "--amount", "100", "--pack", "200M 50Y", "--seconds", "10", "--head", "dichroic"],
        1,
        "the head ends at 250",
    ),
    (["ringaround", "--pack", "245M", "--seconds", "10", "--head", "dichroic", "--show"], 1, "the head ends at 250"),
    (
        ["ladder", "--pack", "200M", "--along", "M", "--amounts", "0,60", "--seconds", "10", "--head", "dichroic", "--show"],
        1,
        "250",
    ),
    (["cast", "green", "--pack", "60M 50Y", "--seconds", "10", "--head", "additive"], 1, "not three lights"),
    (["cast", "green", "--pack", "R80 G60 B50", "--head", "additive"], 1, "--seconds 10"),
    (["resize", "HARBOUR", "--aperture", "nan"], 2, "out of range"),
    (["resize", "HARBOUR", "--lens", "5000"], 2, "1000"),
    (["resize", "HARBOUR", "--pack", "R80 G60 B50", "--head", "additive"], 1, "no lights to change from"),
    (["pack", "46Y", "--seconds", "nan", "--head", "dichroic"], 2, "out of range"),
    (["calibrations", "head", "x", "--from-m", "5", "--to-m", "5", "--ratio", "2"], 1, "further apart"),
    (["calibrations", "head", "x", "--from-m", "5", "--to-m", "9", "--ratio", "50"], 1, "too far"),
]


@pytest.mark.parametrize(("arguments", "code", "says"), WRONG)
def test_wrong_calls_get_a_sentence(lamphouse: Run, harbour: Path, arguments: list[str], code: int, says: str) -> None:
    done = lamphouse(*[str(harbour) if a == "HARBOUR" else a for a in arguments], check=code)
    assert says in done.stderr


def test_neutral_density_takes_its_time(lamphouse: Run) -> None:
    made = data(lamphouse, "pack", "46Y 38M 12C", "--seconds", "10", "--head", "dichroic")
    assert made["pack"] == {"c": 0, "m": 26, "y": 34}
    cyan = 1.2**0.8 * 1.3**0.2  # between 10C and 20C
    assert made["factor"] == pytest.approx(1.2 ** (-12 / 20) / cyan)
    same = data(lamphouse, "pack", "46Y 38M 12C", "--to", "34Y 26M", "--seconds", "10", "--head", "dichroic")
    assert same["seconds"] == made["seconds"]
    assert "its time changes with that" in lamphouse("pack", "46Y 38M 12C").stdout
    for head, seconds in (("dichroic", 10 * 1.2 ** (-30 / 20) / 1.3), ("cp", 10 * 1.7 * 1.1 / (1.3 * 2.1 * 1.3 * 1.1))):
        made = data(lamphouse, "cast", "green", "--amount", "10", "--pack", "20C 60M 50Y", "--seconds", "10", "--head", head)
        assert made["seconds"] == pytest.approx(seconds)
        assert "take 20 of neutral density out" in str(made["say"])
        plan = data(lamphouse, "ringaround", "--pack", "20C 60M 50Y", "--seconds", "10", "--head", head, "--show")
        patches = plan["patches"]
        assert isinstance(patches, list)
        first, *_, last = patches
        assert (first["filters"], first["seconds"]) == ("20C 60M 50Y", 10)
        assert (last["filters"], last["seconds"]) == ("30M 30Y", pytest.approx(seconds))


def test_what_a_pack_does_not_hold_is_made_up_for(lamphouse: Run) -> None:
    says = lamphouse("cast", "green", "--amount", "20", "--pack", "5M 50Y", "--seconds", "10", "--head", "dichroic").stdout
    assert "The pack holds only 5 magenta to subtract, so add 15C 15Y and subtract 5M: pack 15C 65Y" in says
    says = lamphouse("cast", "cyan", "--amount", "20", "--pack", "0", "--seconds", "10", "--head", "dichroic").stdout
    assert "holds no magenta and no yellow to subtract, so add 20C: pack 20C" in says


def test_three_lights(lamphouse: Run) -> None:
    made = data(lamphouse, "pack", "R80 G60 B50", "--head", "additive")
    assert made["pack"] == {"red": 80, "green": 60, "blue": 50}
    made = data(lamphouse, "cast", "magenta", "--pack", "80-60-50", "--seconds", "10", "--head", "additive")
    assert made["pack"] == {"red": 80, "green": pytest.approx(60 / 10**0.05, abs=0.01), "blue": 50}
    assert made["seconds"] == pytest.approx(10 * 10 ** (0.05 * 0.65), rel=1e-3)
    made = data(lamphouse, "cast", "magenta", "--pack", "R12 G8 B6.5", "--head", "tricolour")
    pack = made["pack"]
    assert isinstance(pack, dict)
    assert pack["red"] / 12 == pytest.approx(pack["blue"] / 6.5, rel=1e-3)
    assert pack["green"] / pack["red"] == pytest.approx(8 / 12 / 10**0.05, rel=1e-3)
    full = data(
        lamphouse,
        "cast",
        "cyan",
        "--amount",
        "20",
        "--pack",
        "R95 G90 B50",
        "--seconds",
        "10",
        "--head",
        "additive",
        "--top",
        "100",
    )
    assert full["pack"]["green"] == 100  # type: ignore[index]
    plan = data(lamphouse, "ringaround", "--pack", "R12 G8 B6.5", "--head", "tricolour", "--show")
    assert len(plan["steps"]) == 2 * 3 * 7  # type: ignore[arg-type]
    assert plan["patches"][0]["seconds"] == 12  # type: ignore[index]
    plan = data(lamphouse, "strip", "--from", "12", "--pack", "R12 G8 B6.5", "--head", "tricolour", "--show")
    assert [s["seconds"] for s in plan["steps"] if s["filters"] == "blue" and s["do"] == "expose"][0] == 6.5  # type: ignore[attr-defined]


def test_the_settings_know_the_head(lamphouse: Run, home: Path, harbour: Path) -> None:
    (home / "settings.toml").write_text('[head]\nkind = "dichroic"\ntop = 64\n')
    made = data(lamphouse, "pack", "40M", "--to", "60M", "--seconds", "10")
    assert made["seconds"] == pytest.approx(12)
    says = lamphouse("cast", "magenta", "--pack", "60M 50Y", "--seconds", "10", check=1).stderr
    assert "65M, and the head ends at 64" in says
    assert "70M" in lamphouse("resize", str(harbour), "--pack", "70M 50Y", check=1).stderr
    lamphouse("cast", "magenta", "--pack", "60M 50Y", "--seconds", "10", "--head", "cp")  # another head has another end
    (home / "settings.toml").write_text('[head]\nkind = "additive"\nper_stop = 12\n')
    made = data(lamphouse, "cast", "yellow", "--amount", "10", "--pack", "R30 G24 B20", "--seconds", "10")
    assert made["pack"]["blue"] == pytest.approx(20 - 3.99, abs=0.01)  # type: ignore[index]


def test_a_strip_with_its_middle_known_is_read(lamphouse: Run) -> None:
    made = data(lamphouse, "read", "2", "--around", "12", "--step", "1/6", "--patches", "3")
    assert made["seconds"] == pytest.approx(12)
    assert lamphouse("read", "2.3", "--from", "8").stdout == "10.8 s, +0.43 stop from patch 1\n"


def test_short_bursts_are_warned_of(lamphouse: Run, home: Path) -> None:
    assert "0.005 s is the least" in lamphouse("strip", "--from", "0.05", "--step", "1/12", check=1).stderr
    out = lamphouse("strip", "--from", "2", "--step", "1/12", "--show").stdout
    assert "4 of 5 exposures are shorter than 0.5 s" in out
    (home / "settings.toml").write_text("[lamp_response]\ndelay_ms = 10\nrise_ms = 20\n")
    assert "shorter" not in lamphouse("strip", "--from", "2", "--step", "1/12", "--show").stdout


def test_a_move_that_could_not_be_written_is_refused(lamphouse: Run, tmp_path: Path) -> None:
    path, new = tmp_path / "small.toml", tmp_path / "new.toml"
    path.write_text(RECIPE.replace("[filters]", "detail_negative_mm = 5\ndetail_print_mm = 1\n[filters]"))
    said = lamphouse("resize", str(path), "--detail-print", "400", "-o", str(new), check=1).stderr
    assert "a recipe holds 3600 s at most" in said
    assert not new.exists()
    out = lamphouse("resize", str(path), "--aperture", "1").stdout
    assert "Confirm it first: lamphouse strip --around 0.0781 --step 1/6 --patches 3" in out

"""From a test sheet's scan to the next recipe, at the command line."""

import json
import random
from pathlib import Path

import numpy as np
import pytest

from tests.conftest import Run
from tests.measure.test_scan import AIM, PATCHES, TABLET, bed, tablet
from tests.tools.scans import save, scanned

QUICK = ("--advance", "auto", "--pause", "0", "--speed", "40")


@pytest.fixture
def sheet(lamphouse: Run, tmp_path: Path) -> Path:
    lamphouse("first-sheet", "--pack", "60M 50Y", "--seconds", "10", "--head", "dichroic", *QUICK)
    return save(tmp_path / "sheet.png", scanned(bed(), random.Random(2)))


def test_look_then_take_then_solve(lamphouse: Run, sheet: Path, tmp_path: Path) -> None:
    looked = lamphouse("scan", "1", str(sheet)).stdout
    assert "Nothing is kept yet" in looked and (tmp_path / "sheet-boxes.png").read_bytes().startswith(b"\x89PNG")
    assert json.loads(lamphouse("notebook", "show", "1", "--json").stdout)["readings"] == []
    lamphouse("scan", "1", str(sheet))
    assert (tmp_path / "sheet-boxes-2.png").exists()
    found = json.loads(lamphouse("scan", "1", str(sheet), "--take", "--json").stdout)
    assert found["taken"] and found["picture"] is None and found["follows"] > 0.9
    kept = json.loads(lamphouse("notebook", "show", "1", "--json").stdout)["readings"]
    assert {each["sample"] for each in kept} == {"1", "2", "3", "4", "5", "aim"} and {each["kind"] for each in kept} == {
        "scan"
    }
    said = json.loads(lamphouse("solve", "1", "--json").stdout)
    assert np.abs(np.asarray(said["predicted"]) - said["aim"]).max() < 0.02 and said["within"]["density"] < 0.2
    lamphouse("solve", "1", "-o", str(tmp_path / "next.toml"))


def test_boxes_are_moved_in_pixels_of_the_file(lamphouse: Run, sheet: Path) -> None:
    found = json.loads(lamphouse("scan", "1", str(sheet), "--box", "aim=470,360,60,40", "--json").stdout)
    assert found["samples"][-1]["box"] == [470, 360, 60, 40]
    assert found["samples"][-1]["density"][0] - found["samples"][0]["density"][0] == pytest.approx(
        AIM[0] - PATCHES[0][0], abs=0.05
    )


def test_beside_a_tablet(lamphouse: Run, sheet: Path, tmp_path: Path) -> None:
    made = save(tmp_path / "t.png", scanned(tablet(bed(aim=False), 330, 380), random.Random(2)))
    found = json.loads(lamphouse("scan", "1", str(made), "--tablet", " ".join(map(str, TABLET)), "--take", "--json").stdout)
    assert len(found["tablet"]) == len(TABLET) and len(found["samples"]) == 5
    lamphouse("solve", "1", "--aim", "0.74")


def test_one_sentence(lamphouse: Run, sheet: Path, tmp_path: Path) -> None:
    def says(*arguments: str, code: int = 1) -> str:
        return lamphouse("scan", *arguments, check=code).stderr.strip()

    assert "there is no run 7" in says("7", str(sheet))
    assert "no such file" in says("1", str(tmp_path / "none.tif"))
    assert "is no box" in says("1", str(sheet), "--box", "3=1,2", code=2)
    assert "has no patch '6'" in says("1", str(sheet), "--box", "6=1,2,30,30")
    assert "a tablet is 3 to 60 densities" in says("1", str(sheet), "--tablet", "0.3 0.2 0.9", code=2)
    assert "is none of srgb" in says("1", str(sheet), "--curve", "log", code=2)
    assert "exists already" in says("1", str(sheet), "-o", str(sheet))
    sheet.write_bytes(sheet.read_bytes()[:3000])
    assert "cannot be read as a picture" in says("1", str(sheet))

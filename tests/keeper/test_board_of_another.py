"""The board in docs/boards.md, as it stands there, installed beside us by its entry point: the whole suite runs against it."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.tools.witness import Witness
from timer.app.lamp import keeper_config
from timer.documents.settings import Settings
from timer.errors import LamphouseError
from timer.keeper.boards.open import lamps
from timer.keeper.config import Config
from timer.testing.conformance import *  # noqa: F403
from timer.testing.rig import RunningKeeper

PAGE = (Path(__file__).parents[2] / "docs" / "boards.md").read_text()


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", PAGE, re.S | re.M)


@pytest.fixture
def installed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    site = tmp_path / "site"
    about = site / "relaybox-1.0.dist-info"
    about.mkdir(parents=True)
    (site / "relaybox.py").write_text(blocks("python")[0])
    (about / "METADATA").write_text("Metadata-Version: 2.1\nName: relaybox\nVersion: 1.0\n")
    (entry,) = re.findall(r"^relaybox = \"(.*)\"$", blocks("toml")[0], re.M)
    (about / "entry_points.txt").write_text(f"[lamphouse.boards]\nrelaybox = {entry}\n")
    monkeypatch.syspath_prepend(str(site))
    monkeypatch.setenv("PYTHONPATH", str(site), prepend=":")


@pytest.fixture
def rig(tmp_path: Path, installed: None) -> Iterator[RunningKeeper]:
    witness = Witness(tmp_path / "w")
    made = RunningKeeper(Config(str(tmp_path), lamp="relaybox", port=str(witness.path)), witness)
    yield made
    made.close()
    witness.close()


def test_it_is_a_lamp_by_name(installed: None, home: Path) -> None:
    assert lamps() == ["simulated", "gpio", "controller", "relaybox"]
    assert keeper_config(Settings(lamp="relaybox")).lamp == "relaybox"


def test_it_is_short() -> None:
    assert len([line for line in blocks("python")[0].splitlines() if line.strip()]) <= 40


def test_a_lamp_that_nobody_brings_is_refused_in_a_sentence(home: Path) -> None:
    with pytest.raises(
        LamphouseError, match=r"settings.toml: lamp: there is no lamp 'relaybox'; there are simulated, gpio, "
    ):
        keeper_config(Settings(lamp="relaybox"))

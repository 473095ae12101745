"""A whole evening with nothing but keys and the pedal: a test in thirds of a new negative, read area by area into a recipe,
printed, one area corrected, printed, marked final, and made again at another size; on paper that bears red, and on colour
paper in the black, by ear.

The lamp's own edges, seen on the simulated lamp's wire, are compared with seconds worked out here from what was said.
"""

import os
import shlex
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

import pytest

from tests.tools.needs import need
from tests.tools.witness import Witness
from timer.documents.recipe_file import load_recipe
from timer.notebook import paper_out
from timer.notebook.sheets import is_final, sheet
from timer.notebook.store import Notebook

T = TypeVar("T")
SERVER = f"lamphouse-evening-{os.getpid()}"
REST_S = 0.4
"""Between two presses, of a foot that is let go, or of one key: enough that each is one of its own."""
FIRST_S = 8 / 2 ** (57 / 12)
"""Of the lightest third: from 8 s down by 57 twelfths of a stop, as short as a test may be."""
OFF_S = 0.012
"""How far a light may be off in what the wire saw; a hundredth of a stop of the shortest is no less than 2 ms."""


def tmux(*arguments: str) -> str:
    return subprocess.run(["tmux", "-L", SERVER, *arguments], capture_output=True, text=True, check=False).stdout


class Evening:
    """The printer: keys, foot, eyes and ears."""

    def __init__(self, said: Path, witness: Witness) -> None:
        self._said, self._witness = said, witness
        self._listened = 0
        self._last: dict[str, float] = {}
        self._latest = ""

    def _rest(self, what: str) -> None:
        time.sleep(max(0.0, self._last.get(what, 0.0) + REST_S - time.monotonic()))
        self._last[what], self._latest = time.monotonic(), what

    def _acted(self) -> None:
        """What was pressed last has been read by now; on a busy machine that may be long after it was sent."""
        self._last[self._latest] = time.monotonic()

    def key(self, *names: str) -> None:
        for name in names:
            self._rest("press" if name == "Enter" else name)
            tmux("send-keys", name)

    def hold(self, name: str, count: int) -> None:
        """A key that chooses, so many times in a row."""
        tmux("send-keys", "-N", str(count), name)

    def types(self, text: str) -> None:
        """Into a line that is open for it."""
        self.sees("Esc: as it was")
        tmux("send-keys", "-l", text.replace(" ", "_"))
        self.sees(f"{text}_")
        self.key("Enter")

    def pedal(self) -> None:
        self._rest("press")
        self._witness.tell("P1")
        time.sleep(0.15)  # a foot; shorter than a hold, longer than a busy machine may take for a bounce
        self._witness.tell("P0")

    def sees(self, *words: str) -> str:
        seen = _until(lambda: tmux("capture-pane", "-p"), lambda screen: all(word in screen for word in words))
        self._acted()
        return seen

    def hears(self, *words: str) -> str:
        """The next thing said that has all ``words``; what was said before it is heard no more."""

        def found() -> list[str]:
            lines = self._said.read_text().splitlines() if self._said.exists() else []
            return [line for line in lines[self._listened :] if all(word in line for word in words)]

        heard = _until(found, lambda lines: bool(lines))[0]
        self._listened = self._said.read_text().splitlines().index(heard, self._listened) + 1
        self._acted()
        return heard

    def exposes(self, hands: list[str], black: bool) -> list[float]:
        """Through the dark with a sheet: seconds of each light, whose hands are told as ``hands``."""
        before = len(self._witness.exposures_ns())
        self.sees("the screen goes")
        self.pedal()
        self.hears("open the box")
        if black:
            assert not tmux("capture-pane", "-p").strip()
        else:
            self.sees("red light", "PAPER OUT")
        self.pedal()
        for n, words in enumerate(hands, 1):
            self.hears(words, "ready")
            if not black:
                self.sees(f"{n}/{len(hands)}", "ready")
            assert len(self._witness.exposures_ns()) == before + n - 1
            self.pedal()
            self._witness.wait(False, 20, more_than=2 * (before + n) - 1)
        self.hears("finished", "Say when the paper is covered")
        assert not self._witness.lit
        self.key("c")
        self.sees("white light", "paper covered", "LOOK BACK")
        return [ns / 1e9 for ns in self._witness.exposures_ns()[before:]]


def _until(get: Callable[[], T], true: Callable[[T], bool], seconds: float = 20) -> T:
    end = time.monotonic() + seconds
    while not true(found := get()):
        assert time.monotonic() < end, found or tmux("capture-pane", "-p")
        time.sleep(0.03)
    return found


@pytest.fixture
def evening(home: Path, tmp_path: Path, witness: Witness) -> Iterator[Evening]:
    need("tmux", install="tmux")
    ears = tmp_path / "bin" / "espeak-ng"  # what is spoken, as text
    ears.parent.mkdir()
    said = tmp_path / "said"
    ears.write_text(f'#!/bin/sh\nshift 3\necho "$*" >> {shlex.quote(str(said))}\n')
    ears.chmod(0o755)
    (home / "settings.toml").write_text("ask = false\n")
    around = {
        "PATH": f"{ears.parent}:{os.environ['PATH']}",
        "PYTHONPATH": os.getcwd(),
        "LAMPHOUSE_HOME": str(home),
        "LAMPHOUSE_WIRE": str(witness.path),
    }
    words = " ".join(f"{name}={shlex.quote(value)}" for name, value in around.items())
    command = f"cd {shlex.quote(str(tmp_path))} && env {words} {sys.executable} -m tui; echo code $?; sleep 60"
    tmux("-f", "/dev/null", "new-session", "-d", "-x", "100", "-y", "30", command)
    try:
        yield Evening(said, witness)
    finally:
        tmux("kill-server")


def light(wanted: list[float]) -> object:
    return pytest.approx(wanted, abs=OFF_S)


@pytest.mark.parametrize("kind", ["bw", "ra4"])
def test_a_whole_evening(evening: Evening, home: Path, kind: str) -> None:
    black = kind == "ra4"
    printer = evening
    printer.sees("get ready")
    if black:
        printer.key("k")
        printer.sees("strip on colour")
    printer.key("s")
    printer.hold("Left", 57)
    for patches in (6, 7, 8, 9, 2, 3):
        printer.key("p")
        printer.sees("from 0.297 s", f"{patches} patches", "1/2 stop")
    printer.key("Enter")

    # Whole sheet in thirds: each third has half a stop more than the one before.
    thirds = [FIRST_S, FIRST_S * 2**0.5, FIRST_S * 2]
    if black:
        test = printer.exposes(["window over patch 1", "window over patch 2", "window over patch 3"], black)
        assert test == light(thirds)
    else:
        test = printer.exposes(["strip uncovered", "cover patch 1", "cover patch 2"], black)
        assert [sum(test[: n + 1]) for n in range(3)] == light(thirds)

    # Read by area: the window best at 3, the wall between 1 and 2; the base is the wall's, the window burnt in.
    printer.key("a")
    printer.types("window")
    printer.sees("> window", "leave it to read")
    printer.key("3")
    printer.sees("> window           3", "leave it to read")
    printer.key("a")
    printer.types("wall")
    printer.sees("> wall             2", "leave it to read")
    printer.key("Left")
    printer.sees("burn +3/4", "as the base", "lowest base, with burns (easier)")
    printer.key("Enter")
    printer.types("Stair well")
    printer.sees("print: Stair well", "get ready")
    base = FIRST_S * 2**0.25
    recipe = load_recipe(home / "recipes" / "stair-well.toml")
    assert (recipe.paper.kind, recipe.base_s) == (kind, pytest.approx(base, abs=0.001))

    # Its frame, sheet and aperture, so that it can be made in another size.
    printer.key("e")
    printer.sees("RECIPE", "> base")
    printer.hold("Up", 2)
    printer.sees("> sheet")
    printer.key("n")
    printer.types("24x36mm 8x10in f/8")
    printer.sees("8x10in  f/8", "write it into stair-well.toml")
    printer.key("Enter")
    printer.sees("print: Stair well", "get ready")

    printer.key("Enter")
    burn = base * (2**0.75 - 1)
    assert printer.exposes(["paper in the easel", "burn window"], black) == light([base, burn])

    # The window a third of a stop darker.
    printer.sees("make it", "window")
    printer.hold("Down", 2 if black else 1)
    printer.sees("> window")
    printer.hold("Right", 4)
    printer.sees("+1/3")
    printer.key("Enter")
    printer.sees("print: Stair well, corrected", "get ready")
    printer.key("Enter")
    burn = base * (2 ** (0.75 + 1 / 3) - 1)
    assert printer.exposes(["paper in the easel", "burn window"], black) == light([base, burn])
    printer.key("Enter")
    printer.sees("get ready")

    # Final, and once more on a larger sheet: the whole of 36 mm on 10 in, and on 16 in, by (m + 1) squared.
    printer.key("n")
    printer.sees("NOTEBOOK", "Stair well, corrected")
    printer.key("k")
    printer.sees("notes: FINAL PRINT")
    printer.key("p")
    printer.sees("REPRINT", "8x10in")
    printer.hold("Right", 5)
    printer.sees("12x16in", "get ready")
    printer.key("Enter")
    larger = ((406.4 / 36 + 1) / (254 / 36 + 1)) ** 2
    assert printer.exposes(["paper in the easel", "burn window"], black) == light([base * larger, burn * larger])
    printer.key("q")
    printer.sees("get ready")
    printer.key("q")
    printer.sees("code 0")
    with Notebook(home / "notebook.db", read_only=True) as notebook:
        runs = notebook.runs()
        assert [row.state for row in runs] == ["finished"] * 4
        assert [is_final(sheet(notebook, row.id).notes) for row in runs] == [False, True, False, False]
        assert paper_out.all_out(notebook) == ()

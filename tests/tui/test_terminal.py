"""The app on a real pseudo-terminal: what is seen on it at every moment, for every kind of colour, and how it ends."""

import os
import signal
import subprocess
import sys
import termios
import time
from pathlib import Path

import pytest

from tests.tools.terminal import DEPTHS, Terminal, terminal
from tests.tools.witness import Witness
from timer.notebook import paper_out
from timer.notebook.store import Notebook


@pytest.fixture(autouse=True)
def brief(home: Path) -> None:
    (home / "settings.toml").write_text("speech = false\nask = false\n")


def to_the_box(term: Terminal, kind: str = "bw") -> None:
    """The box may be opened: from here on nothing but that paper's light may be seen."""
    term.shows("get ready")
    term.keys("k" * ["bw", "ra4", "pan"].index(kind) + "\r")
    term.shows("the screen goes")
    os.write(term.master, b"\r")
    room = "red" if kind == "bw" else "none"
    end = time.monotonic() + 10
    while not term.model.is_dark(room):
        assert time.monotonic() < end, term.model.text
        term.read(0.01)
    term.model.must_be(room)
    term.read(0.8)


def to_the_light(term: Terminal, witness: Witness, kind: str = "bw") -> None:
    to_the_box(term, kind)
    term.keys("\r")
    term.light()
    witness.wait(True)


@pytest.mark.parametrize("depth", DEPTHS)
@pytest.mark.parametrize("kind", ["bw", "ra4"])
def test_nothing_else_is_seen_from_the_box_to_the_cover(home: Path, witness: Witness, depth: str, kind: str) -> None:
    with terminal(**DEPTHS[depth]) as term:
        to_the_light(term, witness, kind)
        if kind == "bw":
            term.shows("DARK NOW")
        term.keys("d" * 6 + "?v\r ", 0.2)
        term.read(0.5)
        assert term.model.faults == []
        term.model.room = ""
        assert term.model.bells == 0
        term.keys("qc", 0.8)
        if kind == "bw":
            term.shows("white light")


@pytest.mark.parametrize("size", [(40, 15), (20, 5), (200, 50)])
def test_of_any_size(home: Path, witness: Witness, size: tuple[int, int]) -> None:
    with terminal(size, **DEPTHS["truecolor"]) as term:
        term.read(2.0)
        term.keys("\r", 0.6)
        os.write(term.master, b"\r")
        term.read(1.0)
        assert term.model.is_dark("red")
        term.model.must_be("red")
        term.keys("\r?q", 0.5)
        assert term.model.faults == []


@pytest.mark.parametrize("depth", ["truecolor", "256", "linux"])
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_a_signal_darkens_the_lamp_and_leaves_the_terminal_dark(
    home: Path, witness: Witness, depth: str, number: int
) -> None:
    with terminal(**DEPTHS[depth]) as term:
        to_the_light(term, witness)
        term.process.send_signal(number)
        assert not witness.wait(False, 1).on
        end = time.monotonic() + 10
        while term.process.poll() is None:
            assert time.monotonic() < end
            term.read(0.05)
        term.read(0.3)
        assert term.process.wait(5) == 128 + number
        assert "Traceback" not in term.seen
        assert term.model.faults == []
        assert not term.model.text.strip()
        assert not term.model.cursor_on
        flags = termios.tcgetattr(term.slave)[3]
        assert flags & termios.ECHO
        assert flags & termios.ICANON


def test_a_terminal_that_cannot_be_told_its_colours_stays_dark_too(home: Path, witness: Witness) -> None:
    with terminal(**DEPTHS["truecolor"], KNOWS_OSC="0") as term:
        to_the_light(term, witness)
        term.process.send_signal(signal.SIGTERM)
        term.read(1.5)
        assert term.model.faults == []


def test_a_killed_app_leaves_the_lamp_dark_and_comes_back_dark(home: Path, witness: Witness) -> None:
    with terminal(**DEPTHS["truecolor"]) as term:
        to_the_light(term, witness)
        term.process.kill()
        assert not witness.wait(False, 1).on
        term.process.wait()
        term.read(0.2)
        term.start()
        term.shows("PAPER IS OUT")
        term.shows("finish sheet 1")
        term.read(0.3)
        assert term.model.faults == []


@pytest.mark.parametrize("depth", DEPTHS)
@pytest.mark.parametrize("kind", ["bw", "ra4"])
def test_a_start_with_paper_out_is_dark_before_anything_else(home: Path, depth: str, kind: str) -> None:
    with Notebook(home / "notebook.db") as notebook:
        paper_out.open_box(notebook, kind)
    room = "red" if kind == "bw" else "none"
    with terminal(**DEPTHS[depth]) as term:
        began = time.monotonic()
        while not term.seen:
            term.read(0.01)
        dark_s = time.monotonic() - began
        assert term.model.is_dark(room)
        term.model.must_be(room)
        term.until(lambda got: "\x1b[?1049h" in got)
        drawn_s = time.monotonic() - began
        term.read(1.5)
        assert term.model.faults == []
        assert dark_s < drawn_s / 1.2  # what the screen needs is loaded in the dark


def test_the_terminal_is_closed_and_the_lamp_is_dark(home: Path, witness: Witness) -> None:
    with terminal(**DEPTHS["truecolor"]) as term:
        to_the_light(term, witness)
        term.close()
        witness.wait(False, 1)
        assert term.process.wait(10) == 128 + signal.SIGHUP


def test_white_light_is_given_back_as_it_was(home: Path) -> None:
    with terminal(**DEPTHS["truecolor"]) as term:
        to_the_box(term)
        term.model.room = ""
        term.keys("q", 1.0)
        term.keys("c", 1.0)
        term.shows("get ready")
        term.keys("q", 1.0)
        assert term.process.wait(10) == 0
        term.read(0.3)
        model = term.model
        assert (model.front, model.back, model.cursor, model.cursor_on) == ((0, 0, 0), (255, 255, 255), None, True)


def test_ctrl_c_in_the_light_is_dark_and_leaves_as_q_does(home: Path, witness: Witness) -> None:
    for key in (b"\x03", b"\x11"):
        with terminal(**DEPTHS["truecolor"]) as term:
            to_the_light(term, witness)
            count = len(witness.edges)
            os.write(term.master, key)
            witness.wait(False, 1, more_than=count)
            term.shows("covered, or in the lidded drum?")
            assert term.process.poll() is None
            assert term.model.faults == []
        with Notebook(home / "notebook.db") as notebook:
            paper_out.cover(notebook)


def test_no_terminal_is_help_with_the_reason_not_a_crash() -> None:
    done = subprocess.run([sys.executable, "-m", "tui"], capture_output=True, text=True, stdin=subprocess.DEVNULL)
    assert done.returncode == 2
    assert "A strip, a print:" in done.stderr
    assert "no terminal is at its input and output and error output" in done.stderr


def test_a_terminal_without_colours_is_refused(home: Path) -> None:
    with terminal(TERM="dumb") as term:
        assert term.process.wait(10) == 1
        term.read(0.2)
        assert "cannot be kept dark" in term.seen

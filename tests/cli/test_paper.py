"""Paper that is out, at the command line: seen, said to be covered, and no light beside it."""

import json
import os
import pty
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.conftest import Run
from tests.tools.witness import Witness
from timer.app.lamp import keeper_config
from timer.documents.settings_file import load_settings
from timer.keeper.claim import Claim
from timer.notebook import paper_out
from timer.notebook.store import Notebook

AUTO = ("--advance", "auto", "--pause", "0")


@pytest.fixture
def out(home: Path) -> None:
    with Notebook(home / "notebook.db") as notebook:
        paper_out.open_box(notebook, "bw")


def test_nothing_is_out(lamphouse: Run) -> None:
    assert "All paper is covered" in lamphouse("paper").stdout
    assert json.loads(lamphouse("paper", "--json").stdout) == []
    assert "No paper was out" in lamphouse("paper", "covered").stdout


def test_what_is_out_and_the_word_that_it_is_not(lamphouse: Run, out: None) -> None:
    assert "OUT: black-and-white paper, since" in lamphouse("paper").stdout
    assert json.loads(lamphouse("paper", "--json").stdout)[0]["kind"] == "bw"
    assert "covered: black-and-white paper" in lamphouse("paper", "covered").stdout
    assert "All paper is covered" in lamphouse("paper").stdout


def test_no_light_beside_paper_that_is_out(lamphouse: Run, out: None, witness: Witness, recipe_file: Path) -> None:
    for arguments in (
        ("lamp", "view", "--minutes", "0.02"),
        ("print", str(recipe_file), *AUTO),
        ("strip", "--from", "0.2", "--patches", "2", *AUTO),
        ("calibrate", "dose", "--seconds", "0.2", "--port", "/dev/null"),
    ):
        done = lamphouse(*arguments, check=1)
        assert "black-and-white paper" in done.stderr and "lamphouse paper covered" in done.stderr
    assert witness.edges == []
    lamphouse("lamp", "off")  # and this is never refused


def test_no_focus_light_beside_a_screen(lamphouse: Run, home: Path, witness: Witness) -> None:
    place = Claim(keeper_config(load_settings()).screen_key)
    try:
        assert "a screen (process" in lamphouse("lamp", "view", "--minutes", "0.02", check=1).stderr
        assert "say it there: c" in lamphouse("paper", "covered", check=1).stderr
    finally:
        place.close()
    assert witness.edges == []


def test_a_print_at_the_console_is_out_while_it_is_made(
    lamphouse: Run, home: Path, witness: Witness, recipe_file: Path
) -> None:
    text = recipe_file.read_text()
    recipe_file.write_text(text.replace("base_s = 2.0", "base_s = 30.0"))
    app = subprocess.Popen(
        [sys.executable, "-m", "timer.cli", "print", str(recipe_file), *AUTO],
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        witness.wait(True)
    finally:
        app.kill()
        app.wait()
    assert "OUT: black-and-white paper" in lamphouse("paper").stdout
    assert "`lamphouse resume 1`" in lamphouse("print", str(recipe_file), *AUTO, check=1).stderr
    recipe_file.write_text(text)
    assert lamphouse("resume", "--show").returncode == 0
    lamphouse("paper", "covered")
    done = lamphouse("print", str(recipe_file), *AUTO, "--speed", "5")
    assert "finished" in done.stdout
    assert "All paper is covered" in lamphouse("paper").stdout


def test_enter_held_at_the_console_is_one_press(home: Path, witness: Witness) -> None:
    master, slave = pty.openpty()
    app = subprocess.Popen(
        [sys.executable, "-m", "timer.cli", "strip", "--from", "0.2", "--patches", "4"],
        stdin=slave, stdout=slave, stderr=slave,
    )  # fmt: skip
    os.close(slave)
    seen = b""
    try:
        while b"ready" not in seen:
            seen += os.read(master, 4096)
        os.write(master, b"\r")
        time.sleep(0.4)
        for _ in range(80):
            os.write(master, b"\r")
            time.sleep(0.03)
        time.sleep(0.5)
        assert len(witness.exposures_ns()) == 1
        time.sleep(1.2)
        os.write(master, b"\r")
        witness.wait(True, 3, more_than=2)
    finally:
        app.kill()
        app.wait()
        os.close(master)


def test_a_pedal_at_a_terminal(home: Path, tmp_path: Path) -> None:
    path = tmp_path / "pedal"
    foot = subprocess.Popen(
        [sys.executable, "-m", "timer.cli", "bench", "pedal", "--at", str(path)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert foot.stdin and foot.stdout
    run = None
    try:
        assert f"LAMPHOUSE_WIRE={path} lamphouse" in foot.stdout.readline()
        foot.stdout.readline()
        run = subprocess.Popen(
            [sys.executable, "-m", "timer.cli", "strip", "--from", "0.5", "--patches", "2"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env={**os.environ, "LAMPHOUSE_WIRE": str(path)},
        )  # fmt: skip
        assert run.stdout
        assert "the lamp is there" in foot.stdout.readline()
        while "ready" not in run.stdout.readline():
            pass
        foot.stdin.write("\n")
        foot.stdin.flush()
        assert "LIGHT" in foot.stdout.readline()
        while "sound" in (line := foot.stdout.readline()):
            pass
        assert "dark after 0.50" in line
        foot.stdin.write("q")
        foot.stdin.close()
        assert foot.wait(5) == 0
        assert not path.exists()
    finally:
        for process in (foot, run):
            if process:
                process.kill()
                process.wait()
                for pipe in (process.stdin, process.stdout):
                    if pipe:
                        pipe.close()


def test_a_pedal_takes_the_name_of_nothing_else(lamphouse: Run, tmp_path: Path) -> None:
    recipe = tmp_path / "coat.toml"
    recipe.write_text("recipe = 1\n")
    said = lamphouse("bench", "pedal", "--at", str(recipe), check=1).stderr
    assert "exists already, and is no pedal" in said
    assert recipe.read_text() == "recipe = 1\n"

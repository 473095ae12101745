"""The command line as a stranger uses it: every command in a process of its own."""

import json
import os
import shlex
import signal
import subprocess
import sys
import time
from fractions import Fraction
from pathlib import Path

import pytest

from tests.conftest import Run
from tests.tools.witness import Witness
from timer.notebook.rows import new_row
from timer.notebook.store import Notebook
from timer.plans.strip import strip_plan


def test_strip_show_json_has_the_form_that_scripts_rely_on(lamphouse: Run) -> None:
    plan = json.loads(
        lamphouse("strip", "--from", "8", "--step", "1/3", "--patches", "7", "--way", "cover", "--show", "--json").stdout
    )
    assert plan["kind"] == "strip"
    assert [p["patch"] for p in plan["patches"]] == [1, 2, 3, 4, 5, 6, 7]
    # traditional rounding of the 1/3-stop series from 8 s (arithmetic)
    assert [p["seconds"] for p in plan["patches"]] == pytest.approx([8, 10.079, 12.699, 16, 20.159, 25.398, 32], abs=0.001)
    assert [p["stops"] for p in plan["patches"]] == pytest.approx([n / 3 for n in range(7)])
    assert plan["total_light_s"] == pytest.approx(32)
    assert {s["do"] for s in plan["steps"]} == {"expose", "wait"}
    assert all(set(mark) >= {"at", "cue"} for s in plan["steps"] for mark in s["marks"])


def test_around_is_centred(lamphouse: Run) -> None:
    plan = json.loads(lamphouse("strip", "--around", "12", "--patches", "3", "--show", "--json").stdout)
    assert [p["stops"] for p in plan["patches"]] == pytest.approx([-1 / 3, 0, 1 / 3])
    assert plan["patches"][1]["seconds"] == 12


def test_show_lights_nothing(lamphouse: Run, home: Path, recipe_file: Path) -> None:
    assert "hold back gate" in lamphouse("print", str(recipe_file), "--show").stdout
    assert "good" in lamphouse("check", str(recipe_file)).stdout
    assert list(home.iterdir()) == []


def test_print_auto_runs_to_the_end(lamphouse: Run, recipe_file: Path) -> None:
    done = lamphouse("print", str(recipe_file), "--advance", "auto", "--speed", "20", "--json")
    run = json.loads(done.stdout)
    assert (run["run"], run["state"]) == (1, "finished")
    assert [e["label"] for e in run["exposures"]] == ["base", "sky", "puddle"]
    for made in run["exposures"]:
        assert made["delivered_s"] == pytest.approx(made["asked_s"], abs=0.1)
        assert set(made) >= {"label", "asked_s", "on_time_s", "delivered_s", "error_us"}
    shown = json.loads(lamphouse("notebook", "show", "1", "--json").stdout)
    assert shown["exposures"] == run["exposures"]
    assert [row["state"] for row in json.loads(lamphouse("notebook", "list", "--json").stdout)] == ["finished"]
    assert "Gate in the rain" in lamphouse("notebook", "list").stdout
    assert "base" in lamphouse("notebook", "show", "1").stdout


def test_enter_is_the_press(lamphouse: Run) -> None:
    args = ("strip", "--from", "0.2", "--patches", "2", "--step", "1")
    process = _start(*args)
    assert process.stdin
    assert process.stdout
    for _ in range(2):
        while "ready" not in (line := process.stdout.readline()):
            assert line
        process.stdin.write("\n")
        process.stdin.flush()
    out = process.stdout.read()
    assert process.wait(10) == 0
    assert "finished" in out
    process.communicate()


def test_demo(lamphouse: Run) -> None:
    out = lamphouse("demo", "--speed", "200").stdout
    assert out.count("finished") >= 2
    assert "coat" in out


def test_lamp_commands(lamphouse: Run, witness: Witness) -> None:
    assert "nobody" in lamphouse("lamp", "status").stdout
    assert "Lamp off" in lamphouse("lamp", "off").stdout
    assert json.loads(lamphouse("lamp", "status", "--json").stdout)["lit"] is False
    assert "Lamp off" in lamphouse("lamp", "view", "--minutes", "0.02", stdin="\n").stdout
    assert not witness.lit
    assert len(witness.edges) == 2


WRONG = [
    (["strip"], 2, "--from SECONDS"),
    (["strip", "--from", "8", "--around", "9"], 2, "--from SECONDS"),
    (["strip", "--from", "-1"], 2, "range"),
    (["strip", "--from", "nan"], 2, "nan"),
    (["strip", "--from", "8", "--step", "banana"], 2, "write it like 1/3"),
    (["strip", "--from", "8", "--step", "-1/3", "--show"], 1, "more than 0 stops"),
    (["strip", "--from", "100", "--step", "1", "--way", "window"], 1, "over the 120 s"),
    (["print", "none.toml"], 1, "no such file"),
    (["print"], 2, "RECIPE"),
    (["check"], 2, "name a recipe"),
    (["notebook", "list"], 1, "no notebook"),
    (["notebook", "show", "5"], 1, "no notebook"),
    (["resume"], 1, "nothing was interrupted"),
    (["resume", "5"], 1, "no run 5"),
    (["strip", "--from", "1", "--lamp", "gpio", "--speed", "2"], 1, "time-lapse"),
    (["strip", "--from", "1", "--lamp", "gpio"], 1, "cannot open GPIO pins"),
    (["nonsense"], 2, "nonsense"),
]


@pytest.mark.parametrize(("arguments", "code", "says"), WRONG)
def test_wrong_calls_get_a_sentence(lamphouse: Run, arguments: list[str], code: int, says: str) -> None:
    done = lamphouse(*arguments, check=code)
    assert says in done.stderr
    assert done.stderr.strip().splitlines()[-1].startswith("Error: ")


def test_bad_settings_get_a_sentence(lamphouse: Run, home: Path) -> None:
    (home / "settings.toml").write_text("[pins]\nlampp = 4\n")
    done = lamphouse("strip", "--from", "8", "--show", check=1)
    assert "pins.lampp: unknown key; did you mean 'lamp'?" in done.stderr


def test_a_bad_recipe_as_json(lamphouse: Run, tmp_path: Path) -> None:
    (tmp_path / "r.toml").write_text('recipe = 1\ntitle = "x"\n')
    data = json.loads(lamphouse("check", str(tmp_path / "r.toml"), "--json", check=1).stdout)
    assert data["ok"] is False
    assert "missing" in data["error"]


@pytest.mark.parametrize("content", [b"not a database" * 99, b""])
def test_a_damaged_notebook_refuses_before_light(lamphouse: Run, home: Path, witness: Witness, content: bytes) -> None:
    (home / "notebook.db").write_bytes(content)
    done = lamphouse("strip", "--from", "0.1", "--advance", "auto", "--pause", "0", check=1 if content else 0)
    assert ("damaged" in done.stderr) == bool(content)
    assert bool(witness.edges) != bool(content)


def test_a_notebook_that_cannot_be_there(lamphouse: Run, tmp_path: Path, witness: Witness) -> None:
    (tmp_path / "file").write_text("")
    done = lamphouse("strip", "--from", "1", "--notebook", str(tmp_path / "file" / "n.db"), check=1)
    assert "notebook" in done.stderr
    assert not witness.edges


def test_a_full_disk_ends_the_run_dark_and_the_next_start_offers_the_rest(
    lamphouse: Run, home: Path, witness: Witness, tmp_path: Path
) -> None:
    lamphouse("strip", "--from", "0.1", "--patches", "2", "--advance", "auto", "--pause", "0")
    size = (home / "notebook.db").stat().st_size
    wrapper = (
        "import resource, runpy, sys; "
        f"resource.setrlimit(resource.RLIMIT_FSIZE, ({size + 12000}, -1)); "
        "sys.argv[0] = 'lamphouse'; runpy.run_module('timer.cli', run_name='__main__')"
    )
    args = [
        "strip",
        "--from",
        "0.2",
        "--patches",
        "20",
        "--step",
        "1/12",
        "--advance",
        "auto",
        "--pause",
        "0",
    ]
    done = subprocess.run([sys.executable, "-c", wrapper, *args], capture_output=True, text=True, timeout=60)
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert "full or failing" in done.stdout + done.stderr
    assert not witness.lit
    exposed = sum(witness.exposures_ns()[2:]) / 1e9
    rest = lamphouse("resume", "--advance", "auto", "--pause", "0", "--json", check=None)
    if rest.returncode == 0:
        whole = 0.2 * 2 ** (19 / 12)
        again = sum(e["delivered_s"] for e in json.loads(rest.stdout)["exposures"])
        assert exposed + again == pytest.approx(whole, abs=0.02)
    else:
        assert exposed == 0


def _start(*arguments: str) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-m", "timer.cli", *arguments],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_a_signal_is_dark_and_the_rest_is_offered(lamphouse: Run, witness: Witness, number: int) -> None:
    process = _start("strip", "--from", "1.5", "--patches", "2", "--step", "1/2", "--advance", "auto", "--pause", "0")
    witness.wait(True)
    time.sleep(0.2)
    process.send_signal(number)
    sent = time.monotonic_ns()
    dark = witness.wait(False, 1)
    assert dark.at_ns - sent < 50_000_000
    out, err = process.communicate(timeout=10)
    assert process.returncode == 128 + number, out + err
    assert "resume" in err
    rest = json.loads(lamphouse("resume", "--advance", "auto", "--pause", "0", "--json").stdout)
    assert rest["state"] == "finished"
    total = sum(witness.exposures_ns()) / 1e9
    assert total == pytest.approx(1.5 * 2**0.5, abs=0.01)
    assert "continued" in lamphouse("notebook", "list").stdout
    assert "nothing was interrupted" in lamphouse("resume", check=1).stderr


def test_a_closed_input_is_dark(lamphouse: Run, witness: Witness) -> None:
    process = _start("strip", "--from", "5")
    assert process.stdin
    assert process.stdout
    while "ready" not in process.stdout.readline():
        pass
    process.stdin.write("\n")
    process.stdin.flush()
    witness.wait(True)
    process.stdin.close()
    witness.wait(False, 1)
    assert process.wait(10) == 1
    assert "interrupted" not in lamphouse("notebook", "list").stdout
    assert "stopped" in lamphouse("notebook", "list").stdout
    lamphouse("resume", "--forget")
    assert "given up" in lamphouse("notebook", "list").stdout
    process.stdout.close()
    assert process.stderr
    process.stderr.close()


def test_lamp_off_ends_whatever_runs(lamphouse: Run, witness: Witness) -> None:
    process = _start("strip", "--from", "9", "--advance", "auto", "--pause", "0")
    witness.wait(True)
    assert "LIT" in lamphouse("lamp", "status").stdout
    out = lamphouse("lamp", "off").stdout
    witness.wait(False, 1)
    assert "is ended" in out
    stdout, _ = process.communicate(timeout=10)
    assert process.returncode == 1
    assert "Lamp" not in stdout or "off" in stdout


def test_an_exposure_that_nobody_has_settled_is_never_called_not_given(lamphouse: Run, home: Path) -> None:
    """Killed in light: what the notebook has of it by then is the least that it had, and not nothing."""
    plan = strip_plan(8, Fraction(1, 3), 3, "cover")
    step = next(n for n, each in enumerate(plan.steps) if each.do == "expose")
    with Notebook(home / "notebook.db") as notebook:
        run = notebook.begin_run(plan, lamp="simulated")
        notebook.intend(new_row(run, 0, step, "patches 1 to 3", 8.0, 8_000_000))
        notebook.progress(run, 0, 4_500_000)
    (made,) = json.loads(lamphouse("notebook", "show", str(run), "--json").stdout)["exposures"]
    assert (made["delivered_s"], made["delivered_range_s"]) == (4.5, [4.5, None])
    assert "given 4.500 or more s" in lamphouse("notebook", "show", str(run)).stdout


ENTRY = [sys.executable, "-c", "from tui.entry import main; main()"]


def test_a_shell_can_complete_commands_options_and_choices(home: Path) -> None:
    def offered(words: str, at: int) -> set[str]:
        asked = {"COMP_WORDS": words, "COMP_CWORD": str(at), "_LAMPHOUSE_COMPLETE": "bash_complete"}
        done = subprocess.run(ENTRY, env={**os.environ, **asked}, capture_output=True, text=True, timeout=60, check=True)
        return {line.partition(",")[2] for line in done.stdout.splitlines()}

    assert offered("lamphouse res", 1) == {"resume", "resize"}
    assert offered("lamphouse strip --pa", 2) == {"--paper", "--paper-name", "--patches", "--pack", "--pause"}
    assert offered("lamphouse strip --paper ", 3) == {"bw", "ra4", "pan"}


def test_without_a_terminal_or_any_input_there_is_help_and_the_reason(home: Path) -> None:
    line = f"{shlex.join(ENTRY)} <&- >/dev/null"
    done = subprocess.run(["sh", "-c", line], capture_output=True, text=True, timeout=60)
    assert done.returncode == 2
    assert done.stderr.endswith("No screen here: no terminal is at its input and output and error output.\n")


def test_a_run_whose_input_is_closed_is_left_dark(home: Path) -> None:
    line = f"{shlex.join([sys.executable, '-m', 'timer.cli'])} strip --from 8 <&-"
    done = subprocess.run(["sh", "-c", line], capture_output=True, text=True, timeout=60)
    assert done.returncode == 1
    assert "the input ended" in done.stdout
    assert "fault" not in done.stderr

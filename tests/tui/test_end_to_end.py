"""One whole run as a person makes it, in tmux: keys sent, screen read."""

import os
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from tests.tools.needs import need
from timer.notebook import paper_out
from timer.notebook.store import Notebook


def tmux(*arguments: str) -> str:
    return subprocess.run(["tmux", "-L", "lamphouse-test", *arguments], capture_output=True, text=True, check=False).stdout


def until(true: Callable[[str], bool], seconds: float = 10) -> str:
    end = time.monotonic() + seconds
    while not true(screen := tmux("capture-pane", "-p")):
        assert time.monotonic() < end, screen
        time.sleep(0.05)
    return screen


def press() -> None:
    """After a rest: it is certainly no key that is held."""
    time.sleep(1.25)
    tmux("send-keys", "Enter")


def test_a_strip_in_tmux(home: Path, tmp_path: Path) -> None:
    need("tmux", install="tmux")
    command = (
        f"cd {tmp_path} && PYTHONPATH={os.getcwd()} LAMPHOUSE_HOME={home} {sys.executable} -m tui; echo code $?; sleep 60"
    )
    (home / "settings.toml").write_text("speech = false\n")
    tmux("-f", "/dev/null", "new-session", "-d", "-x", "80", "-y", "24", command)
    try:
        until(lambda screen: "get ready" in screen)
        time.sleep(1)
        for _ in range(70):  # from 8 s down to the least, a twelfth of a stop at a time
            tmux("send-keys", "Left")
        for patches in (6, 7, 8, 9, 2, 3, 4):
            time.sleep(0.4)  # after the one before has been seen to be read: no key that is held
            tmux("send-keys", "p")
            screen = until(partial(lambda count, screen: "from 0.200 s" in screen and f"{count} patches" in screen, patches))
        assert "PREPARE" in screen
        tmux("send-keys", "Enter")
        for question in ("lens stopped down", "filters", "easel blades"):
            until(partial(lambda question, screen: question in screen, question))
            press()
        screen = until(lambda screen: "lights out" in screen)
        assert "white light" in screen
        press()
        until(lambda screen: "PAPER OUT bw" in screen and "open the box" in screen)
        press()
        for n in range(4):
            until(partial(lambda n, screen: f"{n + 1}/4" in screen and "ready" in screen, n))
            press()
        until(lambda screen: "covered, or in the lidded drum" in screen)
        tmux("send-keys", "c")
        screen = until(lambda screen: "Which patch was right?" in screen)
        assert "white light" in screen
        tmux("send-keys", "q")
        until(lambda screen: "get ready" in screen)
        time.sleep(0.5)  # without a rest it would be a key that is held
        tmux("send-keys", "q")
        until(lambda screen: "code 0" in screen)
    finally:
        tmux("kill-server")
    notebook = Notebook(home / "notebook.db", read_only=True)
    assert [row.state for row in notebook.runs()] == ["finished"]
    assert [e.why for e in notebook.exposures(1)] == ["complete"] * 4
    assert paper_out.all_out(notebook) == ()
    notebook.close()

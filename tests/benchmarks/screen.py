"""The screen on a pseudo-terminal: time to its first paint, its share of a core, and the keeper's timing beside it.

    python -m tests.benchmarks.screen --json
    python -m tests.benchmarks.screen --paints-only --paints 25 --beside ../earlier     # a working tree of another commit

The keeper's timing is the p99 error of 20 ms exposures, with the screen running (a strip's light on it) and without,
in one run, turn and turn about; their ratio should be near 1. The first paint stands beside that of a Textual app that only
says "get ready", turn and turn about too: what is between them is Lamphouse's own.
"""

import argparse
import json
import os
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

from tests.benchmarks.edge_timing import figures
from tests.tools.terminal import Terminal, terminal
from timer.keeper.config import Config
from timer.keeper.host.local import start_local
from timer.keeper.wire import messages
from timer.notebook.rows import new_name

ROOT = Path(__file__).parents[2]
ENV = {"TERM": "xterm-256color", "COLORTERM": "truecolor"}


BARE = """\
from textual.app import App
from textual.widgets import Static

class Bare(App):
    def compose(self):
        yield Static("get ready")

Bare().run(mouse=False)
"""


def screen_of(tree: Path, home: Path) -> str:
    """What starts the screen of a working tree by its own interpreter, with a notebook of its own in ``home``."""
    python = str(tree / ".venv" / "bin" / "python")
    start = "from tui.entry import main; main()"
    home.mkdir()
    at_home = f"os.environ['LAMPHOUSE_HOME'] = {str(home)!r}; os.chdir({str(tree)!r})"
    return f"import os; {at_home}; os.execv({python!r}, [{python!r}, '-c', {start!r}])"


def paints(shown: dict[str, str], turns: int) -> dict[str, float]:
    """Median seconds from start to first page of each of what is ``shown``, turn and turn about."""
    took: dict[str, list[float]] = {name: [] for name in shown}
    for _ in range(turns):
        for name, runs in shown.items():
            began = time.monotonic()
            with terminal((80, 24), runs, **ENV) as term:
                term.until(lambda got: "get ready" in got)
                took[name].append(time.monotonic() - began)
    return {name: statistics.median(seconds) for name, seconds in took.items()}


def cpu_s(process: int) -> float:
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def share(term: Terminal, seconds: float) -> float:
    before, began = cpu_s(term.process.pid), time.monotonic()
    term.read(seconds)
    return (cpu_s(term.process.pid) - before) / (time.monotonic() - began)


def to_light(term: Terminal) -> None:
    """A strip's first exposure, lit."""
    for _ in range(8):  # get ready, the screen goes red, the box, the easel, ready
        term.light()
        term.read(0.6)
        if "LIGHT ON" in term.model.text or "DARK NOW" in term.model.text:
            return
    raise AssertionError(term.model.text)


def errors(folder: Path, count: int, term: Terminal | None) -> list[float]:
    """Errors in µs of a second keeper's exposures; the terminal is read meanwhile, as a real one is."""
    dark: list[messages.Dark] = []

    def hear(event: object) -> None:
        if isinstance(event, messages.Dark):
            dark.append(event)

    base = new_name()
    with start_local(Config(str(folder)), hear) as keeper:
        for n in range(count):
            keeper.expose(base + n, 20_000, now=True)
            while len(dark) <= n:
                term.read(0.002) if term else time.sleep(0.002)
    return [float(d.off_us - d.on_us - d.ordered_us) for d in dark]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=8)
    parser.add_argument("--paints", type=int, default=9)
    parser.add_argument("--beside", type=Path, help="another working tree, with a .venv of its own: its first paint too")
    parser.add_argument("--paints-only", action="store_true")
    parser.add_argument("--count", type=int, default=400)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    data: dict[str, Any] = {}
    with tempfile.TemporaryDirectory(prefix="lh-") as made:
        home = Path(made)
        os.environ["LAMPHOUSE_HOME"] = made
        (home / "settings.toml").write_text("speech = false\nask = false\n")
        shown = {"first_paint_s": "", "first_paint_bare_s": BARE}
        if options.beside:
            trees = {"of_this_tree_s": ROOT, "of_that_tree_s": options.beside.absolute()}
            shown |= {name: screen_of(tree, home / name) for name, tree in trees.items()}
        data |= paints(shown, options.paints)
        data["first_paint_ratio"] = data["first_paint_s"] / data["first_paint_bare_s"]
        if options.paints_only:
            return show(data, options.json)
        with terminal(**ENV) as term:
            term.until(lambda got: "get ready" in got)
            term.read(1.0)
            data["cpu_idle"] = share(term, options.seconds)
            os.write(term.master, b"\x1b[C" * 12)  # a longer first patch: 16 s
            term.read(0.5)
            to_light(term)
            data["cpu_in_light"] = share(term, options.seconds)
        alone: list[float] = []
        beside: list[float] = []
        for turn in range(4):
            other = home / f"other{turn}"
            with terminal(**ENV) as term:
                term.until(lambda got: "PAPER IS OUT" in got or "get ready" in got)
                term.keys("c")
                term.read(0.3)
                to_light(term)
                beside += errors(other, options.count // 4, term)
            alone += errors(home / f"alone{turn}", options.count // 4, None)
        data["keeper_alone"], data["keeper_beside_screen"] = figures(alone), figures(beside)
        data["p50_ratio"] = data["keeper_beside_screen"]["p50_us"] / data["keeper_alone"]["p50_us"]
        data["p99_ratio"] = data["keeper_beside_screen"]["p99_us"] / data["keeper_alone"]["p99_us"]
        data["p99_difference_us"] = data["keeper_beside_screen"]["p99_us"] - data["keeper_alone"]["p99_us"]
    return show(data, options.json)


def show(data: dict[str, Any], as_json: bool) -> None:
    print(json.dumps(data, indent=2) if as_json else "\n".join(f"{k}: {v}" for k, v in data.items()))


if __name__ == "__main__":
    main()

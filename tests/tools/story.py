"""A whole session by keys, ended by chance and begun again: is there ever light over bare paper?

From the moment the box may be opened (the notebook has it, and the screen is dark) to the printer's word that the paper is
covered, every byte that reaches the terminal is judged by a model of one, the page beneath and the cursor included. In
between the screen is killed, stopped or told to end at a moment of chance, started again on the same terminal as from a
shell, led to a page of chance, and ended once more.
"""

import os
import random
import signal
import sqlite3
import time
from dataclasses import dataclass, field
from pathlib import Path

from tests.tools.terminal import DEPTHS, REST_S, Terminal, terminal
from tests.tools.witness import Witness

ENDS = ("KILL", "TERM", "HUP", "STOP then KILL", "STOP then on")
DOWN, RIGHT = "\x1b[B", "\x1b[C"
PAGES: dict[str, tuple[str, ...]] = {
    "prepare": (),
    "baths": ("z",),
    "notebook": ("n",),
    "lights": ("l",),
    "keys": ("?",),
    "unfinished": ("r",),
    "to read": ("a",),
    "the rest": ("\r",),
    "another size": (DOWN, "m"),
    "correct": (DOWN, "b"),
    "tests": (DOWN, "t"),
    "recipe": (DOWN, "e"),
    "areas": (DOWN, "o"),
    "picture": (DOWN, "i"),
    "negatives": ("/",),
    "reprint": ("n", "p"),
    "solve": ("n", "s"),
    "scan": ("n", "s", "r"),
}
SHELL = "\x1b[32muser\x1b[0m@\x1b[34mroom\x1b[0m:~$ "
"""A prompt in a theme's own colours."""
RECIPE = """
recipe = 1
title = "Gate in the rain"
base_s = 0.6
[paper]
kind = "{kind}"
{filters}
[[burn]]
area = "sky"
stops = "1/2"
"""
FILTERS = {"ra4": '[filters]\nm = 60\ny = 50\nhead = "dichroic"', "bw": ""}
CALM_S = 2.2
"""After a light, till the word that the sheet is in its box is taken."""


@dataclass
class Outcome:
    """``faults``: what was seen that must not be, and after what."""

    what: str
    faults: list[str] = field(default_factory=list)
    ended_at: str = ""


def story(folder: Path, chance: random.Random, *, most_s: float = 7.0) -> Outcome:
    """One session with two ends in it."""
    folder.mkdir(parents=True)
    kind = chance.choice(["bw", "ra4"])
    job = chance.choice(["strip", "print", "ring"])
    kind = "ra4" if job == "ring" else kind
    looked = chance.choice(["", "in its box", "out again"]) if job == "ring" else ""
    depth = chance.choice(["truecolor", "256", "linux"])
    ends = [chance.choice(ENDS), chance.choice(ENDS)]
    page = chance.choice(list(PAGES))
    outcome = Outcome(f"{kind} {job} {looked}, {depth}: {ends[0]}, then {page}: {ends[1]}")
    (folder / "settings.toml").write_text("speech = false\nask = false\n")
    (folder / "recipes").mkdir()
    (folder / "recipes" / "gate.toml").write_text(RECIPE.format(kind=kind, filters=FILTERS[kind]))
    witness = Witness(folder / "w")
    env = {**DEPTHS[depth], "LAMPHOUSE_HOME": str(folder), "LAMPHOUSE_WIRE": str(witness.path)}
    try:
        with terminal(**env) as term:
            _to_the_box(term, folder, kind, job)
            if looked:
                _to_look(term, folder, witness)
            if looked == "out again":
                _out_of_the_box(term, folder, kind)
            _until_chance(term, chance.uniform(0.0, most_s if looked != "in its box" else 1.0), press=looked != "in its box")
            outcome.ended_at = " ".join(term.model.text.split())[:60] or "dark"
            _end(term, ends[0], chance)
            _again(term)
            if looked == "in its box":  # it is covered, and is known to be; what it lacks is given from the dark
                term.keys("r")
                term.shows("UNFINISHED", 30)
                os.write(term.master, RIGHT.encode())  # where only a range of its light is known, with the least
                term.read(REST_S)
                term.keys("\r")
                _out_of_the_box(term, folder, kind)
            for key in PAGES[page]:
                os.write(term.master, key.encode())
                term.read(0.6)
            _until_chance(term, chance.uniform(0.0, 1.0), press=page == "the rest")
            _end(term, ends[1], chance)
            _again(term)
            outcome.faults = list(term.model.faults)
            if _still_out(folder) != 1:
                outcome.faults.append(f"the notebook has {_still_out(folder)} sheets out")
            _cover(term, folder, outcome)
    finally:
        witness.close()
    return outcome


def _to_the_box(term: Terminal, folder: Path, kind: str, job: str) -> None:
    term.shows("get ready", 30)
    if job in ("print", "ring"):
        os.write(term.master, DOWN.encode())
        term.shows("print: Gate", 30)
        if job == "ring":
            term.keys("t")
            term.shows("ring-around", 30)
    elif kind == "ra4":
        term.keys("k")
        term.shows("strip on colour", 30)
    term.keys("\r")
    _out_of_the_box(term, folder, kind)


def _to_look(term: Terminal, folder: Path, witness: Witness) -> None:
    """The first patch's light, then the sheet into its box, and the word that it is there: now it may be light."""
    term.light()  # in the easel
    end = time.monotonic() + 30
    while not witness.edges:  # on a busy machine a press can come before it is asked for
        assert time.monotonic() < end, "never lit"
        term.light()
    witness.wait(False, 20, more_than=1)
    term.model.room = ""
    end = time.monotonic() + 30
    while "the box stays shut" not in term.model.text:  # a word that comes too soon after the light is not taken
        assert time.monotonic() < end, "never in its box"
        term.read(CALM_S)
        term.keys("c")
        term.read(1.0)
    assert not _still_out(folder)


def _out_of_the_box(term: Terminal, folder: Path, kind: str) -> None:
    """The screen goes dark, and only then may the box be opened."""
    term.shows("the screen goes", 30)
    term.read(REST_S)
    os.write(term.master, b"\r")
    room = "red" if kind == "bw" else "none"
    end = time.monotonic() + 30
    while not (_still_out(folder) and term.model.is_dark(room)):
        assert time.monotonic() < end, term.model.text
        term.read(0.01)
    term.model.must_be(room)


def _until_chance(term: Terminal, seconds: float, *, press: bool = True) -> None:
    """Go on as a printer does, a press now and then, till the moment has come."""
    end = time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0:
        term.read(min(left, 1.2))
        if press and time.monotonic() < end:
            os.write(term.master, b"\r")


def _end(term: Terminal, how: str, chance: random.Random) -> None:
    """End the app, or hold it up and let it go on: then it is ended after all."""
    process = term.process
    if how.startswith("STOP"):
        process.send_signal(signal.SIGSTOP)
        term.read(chance.uniform(0.1, 1.5))
        if how == "STOP then KILL":
            process.kill()
        process.send_signal(signal.SIGCONT)
        if how == "STOP then on":
            term.read(chance.uniform(0.0, 1.0))
            process.terminate()
    else:
        process.send_signal(getattr(signal, f"SIG{how}"))
    end = time.monotonic() + 20
    while process.poll() is None:
        assert time.monotonic() < end, "it does not end"
        term.read(0.05)
    term.read(0.2)
    term.model.feed(SHELL)


def _again(term: Terminal) -> None:
    """From the shell, and long enough for all that it draws."""
    before = len(term.seen)
    term.start()
    end = time.monotonic() + 30
    while "\x1b[?1049h" not in term.seen[before:]:
        assert time.monotonic() < end
        term.read(0.05)
    term.read(2.5)


def _cover(term: Terminal, folder: Path, outcome: Outcome) -> None:
    """The printer's word: now it may be light again, and is."""
    term.model.room = ""
    term.keys("c", 1.0)
    end = time.monotonic() + 10
    while _still_out(folder):
        if time.monotonic() > end:
            outcome.faults.append("the word that it is covered was not taken")
            return
        term.read(0.1)
    term.read(0.5)
    if term.model.is_dark("red"):
        outcome.faults.append("white light did not come back")


def _still_out(folder: Path) -> int:
    db = sqlite3.connect(f"{(folder / 'notebook.db').as_uri()}?mode=ro", uri=True)
    try:
        return int(db.execute("SELECT count(*) FROM paper_out WHERE covered IS NULL").fetchone()[0])
    finally:
        db.close()

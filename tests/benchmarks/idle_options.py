"""Options that change nothing: every option of every command, beside lines that work, with a value that differs.

    .venv/bin/python -m tests.benchmarks.idle_options

Prints those with which all stays as it was without: what is said, the exit code, the files. Each is to be judged by hand: it may
say what is so anyway (`--whole` of a whole picture), or set a limit that is not reached (`--top`). Some 700 tries, a minute.
What was found to be ignored is refused now; tests/cli/test_wrong_lines.py holds that.
"""

import contextlib
import io
import os
import shlex
import shutil
import sys
import tempfile
from pathlib import Path

import click

from timer.cli import cli, main

COAT = """recipe = 1
title = "Coat"
base_s = 16.0
paper = { kind = "bw" }
enlargement = { frame = "24x36mm", sheet = "18x24cm", aperture = 8 }
filters = { grade = "2" }
dodge = [{ area = "coat", stops = "1/3" }]
burn = [{ area = "window", stops = "2/3" }]
"""
BEFORE = """
strip --from 1 --patches 4 --negative stair --grade 2 --advance auto --pause 0 --speed 100
paper covered
bench trace --on 8 -o long.csv
bench trace --on 0.25 -o short.csv
vessel drum tube --length 345 --round 285
bath mix developer --ml 1000
"""
LINES = """
strip --from 8 --show
strip --from 8 --pack "60M 50Y" --head dichroic --show
strip --for coat.toml --show
read 3.5 --from 8
read 1 window=3 wall=1.5
read 1 window=3 -o new.toml
strips
first-sheet --pack "60M 50Y" --seconds 10 --head dichroic --show
print coat.toml --show
check coat.toml
grade --range 1.05
bath show bw-rc-tray
bath show ra4-tray
bath volume --sheet 18x24cm --vessel tube
bath use developer --area 0.25
correct coat.toml "window +1/3"
resize coat.toml --sheet 30x40cm
resize coat.toml --grade 3
pack "46Y 38M 12C" --seconds 10 --head dichroic
cast magenta --pack "60M 50Y" --seconds 10 --head dichroic
cast red --viewing 20 --pack "60M 50Y" --seconds 10 --head cp
ringaround --pack "60M 50Y" --seconds 10 --head dichroic --show
ladder --pack "60M 50Y" --seconds 10 --along M --head dichroic --show
drydown --seconds 12 --show
preview coat.toml -o sheet.png --size 100x80
preview coat.toml --terminal
template coat.toml
calibrate print --show
calibrate match --long 2.9
calibrate trace long.csv short.csv
calibrations list
bench bursts
bench trace --on 1
notebook list
notebook show 1
notebook find stair
notebook card 1
paper
lamp status
setup
"""
TEXTS = {
    "STOPS": "1/6", "PACK": "50M 50Y", "SIZE": "24x30cm", "PIXELS": "80x60", "NAME": "other", "TITLE": "other", "WORDS": "other",
    "FILE": "other.toml", "DENSITIES": "0.1 0.2 0.3", "DENSITY": "0.3", "CC": "strong", "GRADE": "4", "FILTER": "10G",
    "HEAD": "cp", "LENGTH": "30cm", "NUMBER": "7", "SECONDS,...": "1,2", "CC,CC,...": "-5,0,5", "RUN": "1", "BULB": "led",
}  # fmt: skip


def called(line: list[str]) -> tuple[object, str, str]:
    """Exit code, what was said, and what was complained of, with ``line`` in this process."""
    streams = [io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2)]
    before = sys.stdout, sys.stderr, sys.stdin
    sys.stdout, sys.stderr, sys.stdin = streams[0], streams[1], io.TextIOWrapper(io.BytesIO())
    code: object = None
    try:
        main(line)
    except SystemExit as ended:
        code = ended.code
    finally:
        sys.stdout, sys.stderr, sys.stdin = before
    said = []
    for stream in streams:
        with contextlib.suppress(ValueError):
            stream.flush()
        assert isinstance(stream.buffer, io.BytesIO)
        said.append(stream.buffer.getvalue().decode(errors="replace"))
    return code, said[0], said[1]


def outcome(line: list[str], seed: Path) -> tuple[object, ...]:
    """What ``line`` says and leaves in a fresh copy of ``seed``."""
    place = seed.parent / "place"
    os.chdir(seed.parent)
    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(seed, place)
    os.chdir(place)
    os.environ["LAMPHOUSE_HOME"] = str(place / "home")
    done = called(line)
    files = {str(path): path.read_bytes() for path in place.rglob("*") if path.is_file() and "notebook.db" not in path.name}
    return (*done, files)


def value_of(option: click.Option, ctx: click.Context) -> list[str]:
    """Words that the option may have, other than its default."""
    if option.is_flag:
        return []
    kind = option.type
    if isinstance(kind, click.Choice):
        return [str(next(each for each in reversed(kind.choices) if each != option.default))]
    if isinstance(kind, click.IntRange | click.FloatRange):
        least, most = float(kind.min or 0), float(kind.max or 1)
        number = least + (min(most, least + 9) - least) / 2
        words = [str(round(number)) if isinstance(kind, click.IntRange) else f"{number:.3f}"]
        return words * option.nargs
    return [TEXTS.get(option.make_metavar(ctx).partition(" ")[0], "other")] * option.nargs


def command_of(line: list[str]) -> tuple[click.Command, click.Context]:
    command: click.Command = cli
    ctx = click.Context(cli)
    for word in line:
        below = command.get_command(ctx, word) if isinstance(command, click.Group) else None
        if below is None:
            break
        command, ctx = below, click.Context(below, parent=ctx)
    return command, ctx


def idle(line: list[str], seed: Path) -> list[str]:
    """The options that change nothing beside ``line``."""
    command, ctx = command_of(line)
    as_json = any("--json" in each.opts for each in command.params)
    found = []
    for option in command.params:
        if not isinstance(option, click.Option) or {*option.opts, *option.secondary_opts} & {*line, "--json"}:
            continue
        light = {"--advance", "--speed", "--lamp", "--notebook"} & {*option.opts}
        if option.hidden or (light and "--show" in line):
            continue  # with --show a line for the lamp is listed as it stands
        extra = [option.opts[-1], *value_of(option, ctx)]
        ways = [[], ["--json"]] if as_json else [[]]
        if all(outcome([*line, *extra, *way], seed) == outcome([*line, *way], seed) for way in ways):
            found.append(shlex.join(extra))
    return found


def run() -> None:
    with tempfile.TemporaryDirectory() as folder:
        seed = Path(folder) / "seed"
        (seed / "home").mkdir(parents=True)
        (seed / "coat.toml").write_text(COAT)
        os.chdir(seed)
        os.environ["LAMPHOUSE_HOME"] = str(seed / "home")
        for line in BEFORE.strip().splitlines():
            assert called(shlex.split(line))[0] == 0, line
        for line in LINES.strip().splitlines():
            for extra in idle(shlex.split(line), seed):
                print(f"{line}   {extra}", flush=True)
        os.chdir("/")


if __name__ == "__main__":
    run()

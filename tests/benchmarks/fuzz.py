"""Fuzzed files, commands on damaged notebooks, command lines by chance, readings and scans, hostile databases: a result or one sentence.

python -m tests.benchmarks.fuzz                    # 20,000 files, 9,000 commands, 4,000 lines, 3,000 sheets' readings, every hostile database
python -m tests.benchmarks.fuzz --files 200 --books 10 --lines 100 --screens 2

Each runs in a worker process, many to a process. One that takes over 5 s of the processor, or never ends, or brings its
process over 300 MB, has failed.
"""

import argparse
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from tests.documents.test_cgats import WEDGE
from tests.fuzz import files, lines, measured, notebooks
from tests.fuzz.judge import outcome

MAX_MB = 300
COMMANDS_A_BOOK = 10
LARGEST = {
    "files": 20_000,
    "books": 9_000 // COMMANDS_A_BOOK,
    "lines": 4_000,
    "measured": 3_000,
    "databases": len(notebooks.HOSTILE),
    "screens": 100,
}
"""Cases of each kind in a whole run."""
BATCH = 500
HANGS_S = 60


@dataclass(frozen=True)
class Case:
    """Files laid down in a folder that is the home of the commands then run."""

    name: str
    commands: list[list[str]]


def cases(kind: str, first: int, count: int, seed: int, folder: Path) -> Iterator[Case]:
    """Cases ``first`` and on; each is laid down when it is asked for."""
    known = lines.commands() if kind == "lines" else []
    hostile = list(notebooks.HOSTILE.items())
    pattern = folder / "pattern.db"
    measured.colour_book(pattern) if kind == "measured" else notebooks.good_book(pattern)
    for number in range(first, first + count):
        home = folder / str(number)
        home.mkdir()
        os.environ["LAMPHOUSE_HOME"] = str(home)
        match kind:
            case "files":
                (home / "notebook.db").write_bytes(pattern.read_bytes()) if number % 20 in (14, 15, 16) else None
                yield Case(f"file {number}", files.file_case(number, seed, home))
            case "books":
                chance = random.Random(f"book-{seed}-{number}")
                book = home / "notebook.db"
                book.write_bytes(pattern.read_bytes())
                notebooks.damage(book, chance)
                yield Case(f"book {number}", notebooks.book_commands(str(book), chance, home, COMMANDS_A_BOOK))
            case "measured":
                (home / "notebook.db").write_bytes(pattern.read_bytes())
                yield Case(f"measured {number}", measured.measured_case(number, seed, home))
            case "lines":
                (home / "good.toml").write_text(files.FULL)
                (home / "readings.txt").write_text(WEDGE)
                (home / "notebook.db").write_bytes(pattern.read_bytes())
                os.chdir(home)
                yield Case(f"line {number}", [lines.line_case(number, seed, home, known)])
            case "databases":
                name, make = hostile[number % len(hostile)]
                book = home / "bad.db"
                make(book)
                at = ["--notebook", str(book)]
                tried = [["notebook", "import", str(book), "--notebook", str(home / "mine.db")]]
                tried += [["notebook", *words, *at] for words in (["list"], ["show", "1"], ["find", "sky"], ["account"])]
                tried += [["notebook", *words, *at] for words in (["csv"], ["check"], ["card", "2"], ["check", "--json"])]
                tried += [["reprint", "2", "--show", *at], ["bath", "mix", "x", "--ml", "5", *at], ["bath", "status", *at]]
                yield Case(name, tried)
            case "screens":
                book = home / "notebook.db"
                book.write_bytes(pattern.read_bytes())
                chance = random.Random(f"screen-{seed}-{number}")
                notebooks.damage(book, chance)
                (home / "recipes").mkdir()
                for n in range(3):
                    (home / "recipes" / f"r{n}.toml").write_text(files.damaged(files.FULL, chance), errors="surrogateescape")
                yield Case(f"screen {number}", [["<screen>"]])


def work(kind: str, first: int, count: int, seed: int) -> None:
    """In a worker: say each case's number before it, and each fault after it, a line of JSON each."""
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    slowest = 0.0
    with tempfile.TemporaryDirectory(prefix="lh-fuzz-") as folder:
        for number, case in enumerate(cases(kind, first, count, seed, Path(folder)), first):
            for command in case.commands:
                _say({"at": number, "case": case.name, "line": [word[:80] for word in command]})
                signal.alarm(HANGS_S)
                found, took = (_screen(), 0.0) if command == ["<screen>"] else outcome(command)
                signal.alarm(0)
                slowest = max(slowest, took)
                used = _most_mb()
                if used > MAX_MB:
                    found.append(f"{used} MB")
                for fault in found:
                    _say({"fault": fault})
                if used > MAX_MB:
                    _say({"done": number + 1})
                    return
            os.chdir("/")
    _say({"done": first + count, "mb": _most_mb(), "s": slowest})


def _most_mb() -> int:
    """What this process had in memory at most. getrusage would count its parent too, as large as that was at the fork."""
    status = Path("/proc/self/status").read_text()
    return int(status.partition("VmHWM:")[2].split()[0]) // 1024


def _say(data: dict[str, object]) -> None:
    assert sys.__stdout__
    sys.__stdout__.write(json.dumps(data) + "\n")
    sys.__stdout__.flush()


def _screen() -> list[str]:
    from tests.fuzz.screen import faults_of_screen

    return faults_of_screen()


@dataclass
class Outcome:
    """Of all cases of one kind: what failed, how many commands ran, the slowest (s of the processor), the most memory (MB)."""

    failed: list[str]
    commands: int = 0
    slowest_s: float = 0.0
    mb: int = 0


def run(kind: str, count: int, seed: int) -> Outcome:
    """``count`` cases of ``kind``, in worker processes."""
    out = Outcome([])
    at = 0
    while at < count:
        here = min(BATCH, count - at)
        last: dict[str, object] = {"at": at - 1}
        done: dict[str, float] = {}
        with subprocess.Popen(
            [sys.executable, "-m", "tests.benchmarks.fuzz", "--worker", kind, str(at), str(here), "--seed", str(seed)],
            stdout=subprocess.PIPE, text=True,
        ) as worker:  # fmt: skip
            assert worker.stdout
            for text in worker.stdout:
                said = json.loads(text)
                if "fault" in said:
                    out.failed.append(f"{last.get('case')}: {said['fault']}: {last.get('line')}")
                elif "done" in said:
                    done = said
                else:
                    last, out.commands = said, out.commands + 1
        code = worker.returncode
        out.mb = max(out.mb, int(done.get("mb", 0)))
        out.slowest_s = max(out.slowest_s, done.get("s", 0.0))
        if done:
            at = int(done["done"])
            continue
        out.failed.append(f"{last.get('case')}: the process ended with {code}: {last.get('line')}")
        if "case" not in last:
            break  # it cannot even begin
        at = int(str(last["at"])) + 1
    return out


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for kind, count in LARGEST.items():
        parser.add_argument(f"--{kind}", type=int, default=count, help="cases; of books, with ten commands each")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--worker", nargs=3, metavar=("KIND", "FIRST", "COUNT"), help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.worker:
        work(options.worker[0], int(options.worker[1]), int(options.worker[2]), options.seed)
        return
    wanted = {kind: getattr(options, kind) for kind in LARGEST}
    data: dict[str, object] = {}
    bad = 0
    for kind, count in wanted.items():
        began = time.monotonic()
        out = run(kind, count, options.seed)
        bad += len(out.failed)
        data[kind] = {"cases": count, **asdict(out), "seconds": round(time.monotonic() - began, 1)}
        if not options.json:
            print(
                f"{kind:10} {count:6} cases  {out.commands:6} commands  {len(out.failed):4} failed  "
                f"slowest {out.slowest_s:5.2f} s  {out.mb:4} MB",
                flush=True,
            )
            for fault in out.failed[:40]:
                print(f"  {fault}")
    if options.json:
        print(json.dumps(data, indent=2))
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()

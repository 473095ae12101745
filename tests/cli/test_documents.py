"""Every command in a document works: run one after another, in a home that has what an evening's would have.

A command that gives light is run to its end, in time-lapse. What needs hardware, root or another program is only parsed.
"""

import json
import random
import re
import shlex
from importlib.util import find_spec
from pathlib import Path

import click
import msgspec
import pytest

from tests.cli.test_help import EVERY, examples
from tests.conftest import Run
from tests.measure.test_scan import bed
from tests.tools.scans import save, scanned
from timer.documents.recipe_file import parse_recipe
from timer.documents.settings_file import load_settings
from timer.notebook.rows import new_row
from timer.notebook.store import Notebook
from timer.plans.print import print_plan

PROJECT = Path(__file__).parents[2]
DOCUMENTS = sorted(
    path.relative_to(PROJECT)
    for path in (*PROJECT.glob("*.md"), *(PROJECT / "docs").glob("*.md"), *(PROJECT / "hardware").rglob("*.md"))
)
LIGHT = ("strip", "print", "resume", "reprint", "ringaround", "ladder", "drydown", "first-sheet")
LINE = re.compile(r"^    (\S.*?)(?:  +#.*)?$", re.MULTILINE)
INLINE = re.compile(r"`(lamphouse [a-z][^`\n]*)`")
PATCHES = """CGATS.17
BEGIN_DATA_FORMAT
SAMPLE_ID D_RED D_GREEN D_BLUE
END_DATA_FORMAT
BEGIN_DATA
1 0.93 0.85 0.80
2 0.62 0.55 0.52
3 1.28 1.17 1.10
4 0.92 0.62 0.79
5 0.93 0.84 0.58
END_DATA
"""
PEARL = """CGATS.17
BEGIN_DATA_FORMAT
SAMPLE_ID D_VIS
END_DATA_FORMAT
BEGIN_DATA
1 0.06
2 0.06
3 0.07
4 0.13
5 0.23
6 0.37
7 0.54
8 0.76
9 1.05
10 1.47
11 1.91
12 2.09
13 2.09
14 2.09
base 0.06
END_DATA
"""
QUAY = """recipe = 1
title = "Quay"
base_s = 9.5
paper = { kind = "ra4" }
filters = { m = 60, y = 50, head = "dichroic" }
"""
RECIPE = (PROJECT / "timer" / "documents" / "example.toml").read_text()


def commands(text: str) -> list[list[str]]:
    """The arguments of every `lamphouse` that stands on a line of its own with something after it."""
    found = []
    for line in LINE.findall(text):
        line = line.rpartition(" && ")[2]
        if re.match(r"(\.venv/bin/)?lamphouse \S", line):
            found.append(shlex.split(line, comments=True)[1:])
    return found


@pytest.fixture
def evening(home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Thirteen sheets in the notebook, the last one interrupted; a drum, two bottles; a recipe in the folder."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "coat.toml").write_text(RECIPE)
    plan = print_plan(parse_recipe(RECIPE))
    with Notebook(home / "notebook.db") as notebook:
        for _ in range(12):
            notebook.end_run(notebook.begin_run(plan, recipe=RECIPE, lamp="simulated"), "finished", "finished")
        cut = notebook.begin_run(plan, recipe=RECIPE, lamp="simulated")
        step = next(n for n, each in enumerate(plan.steps) if each.do == "expose")
        row = new_row(cut, 0, step, "base", plan.steps[step].seconds, round(plan.steps[step].seconds * 1e6))
        notebook.intend(row)
        notebook.fact(cut, 0, 4_000_000, 4_000_000, "host")
        notebook.end_run(cut, "stopped", "stopped by you")
    (home / "vessels.toml").write_text("[drums.tube]\nlength_mm = 345\nround_mm = 285\n")
    (tmp_path / "patches.txt").write_text(PATCHES)
    (tmp_path / "pearl.txt").write_text(PEARL)
    save(tmp_path / "sheet.tif", scanned(bed(), random.Random(1)))
    return tmp_path


@pytest.mark.timeout(600)  # a hundred commands one after another, each a process of its own
@pytest.mark.parametrize("document", DOCUMENTS, ids=str)
def test_every_command_works(document: Path, lamphouse: Run, evening: Path) -> None:
    _every_one_works(str(document), commands((PROJECT / document).read_text()), lamphouse)


def _every_one_works(document: str, lines: list[list[str]], lamphouse: Run, latest: str = "") -> None:
    """Each as it stands, one after another; a command that gives light is run to its end, in time-lapse."""
    for arguments in lines:
        said = f"{document}: lamphouse {' '.join(arguments)}"
        # The test that was just made, whatever its number is.
        measured = {"patches.txt", "sheet.tif", "pearl.txt", "control"} & {*arguments}
        if arguments[:2] == ["read", "12"] or measured or arguments[0] in ("solve", "paper-curve", "strips"):
            arguments = [latest if word == "12" else word for word in arguments]
        if arguments[0] == "bath" and "developer" in arguments and "use" in arguments:
            lamphouse("bath", "mix", "developer", "--ml", "1000")
        if "gpio" in arguments or "controller" in arguments:  # there is none here; no usage error is what can be seen
            assert lamphouse(*arguments, check=None).returncode in (0, 1), said
            continue
        if arguments[:2] == ["bench", "pedal"]:
            assert lamphouse(*arguments, stdin="q\n", check=None).returncode == 0, said
            continue
        if arguments[0] == "demo":
            arguments = [*arguments, "--speed", "500"]
        if arguments[:2] == ["bath", "run"]:
            arguments = [*arguments, "--speed", "1000", "--hands-free"]
        gives_light = arguments[0] in LIGHT and not {"--show", "--wet"} & {*arguments}
        if gives_light:
            arguments = [*arguments, "--advance", "auto", "--pause", "0", "--speed", "50"]
        if "-o" in arguments:
            Path(arguments[arguments.index("-o") + 1]).unlink(missing_ok=True)
        done = lamphouse(*arguments, check=None)
        assert done.returncode == 0, f"{said}\n{done.stderr}{done.stdout}"
        if gives_light:
            lamphouse("paper", "covered")
            latest = str(max(run["run"] for run in json.loads(lamphouse("notebook", "list", "--json").stdout)))


def test_the_documents_hold_the_commands_that_are_run() -> None:
    seen = [words for path in DOCUMENTS for words in commands((PROJECT / path).read_text())]
    assert len(seen) > 60
    assert {words[0] for words in seen} >= {*LIGHT, "cast", "pack", "resize", "calibrations", "notebook", "lamp", "doctor"}


@pytest.mark.parametrize("document", DOCUMENTS, ids=str)
def test_commands_within_a_sentence_exist(document: Path) -> None:
    """Their names, down to the last that is a command, and their options: what else follows may stand for one of yours."""
    by_path = {
        path: {name for each in command.params for name in (*each.opts, *each.secondary_opts)} for path, command, _ in EVERY
    }
    for line in INLINE.findall((PROJECT / document).read_text()):
        words = line.split()
        assert f"lamphouse {words[1]}" in by_path, line
        path = max((" ".join(words[:n]) for n in (2, 3) if " ".join(words[:n]) in by_path), key=len)
        for word in words:
            if re.match(r"--[a-z]", word):
                assert word in by_path[path] | {"--help"}, line


@pytest.mark.parametrize("document", DOCUMENTS, ids=str)
def test_options_named_alone_exist(document: Path) -> None:
    known = {name for _, command, _ in EVERY for each in command.params for name in (*each.opts, *each.secondary_opts)}
    modules = "".join(path.read_text() for path in (PROJECT / "tests" / "benchmarks").glob("*.py"))
    for option in re.findall(r"`(--[a-z][a-z0-9-]*)", (PROJECT / document).read_text()):
        assert option in known | {"--help", "--version"} or f'"{option}"' in modules, option


@pytest.mark.parametrize("document", DOCUMENTS, ids=str)
def test_modules_that_are_to_be_run_exist_and_have_those_options(document: Path) -> None:
    for name, rest in re.findall(r"python -m ([a-z_.]+)([^\n`#|]*)", (PROJECT / document).read_text()):
        found = find_spec(name.rstrip("."))
        assert found is not None, name
        if name.startswith("tests."):
            assert found.origin is not None
            folder = Path(found.origin).parent
            source = "".join(path.read_text() for path in folder.glob("*.py"))
            for option in re.findall(r"--[a-z][a-z-]*", rest):
                assert f'"{option}"' in source, f"{name} {option}"
        for path in re.findall(r"(?<!\S)tests/\S+", rest):
            assert (PROJECT / path).exists(), path


def test_files_named_in_documents_exist() -> None:
    """Sources, by their place in the project or, as a reader of one page knows them, in a room or beside the page."""
    for document in DOCUMENTS:
        for name in re.findall(r"`([\w./-]+\.(?:py|c|h))`", (PROJECT / document).read_text()):
            places = (PROJECT, PROJECT / "timer", (PROJECT / document).parent, PROJECT / "tests")
            in_a_room = re.fullmatch(r"x(_file)?\.py", name) or (  # these stand for any
                "/" not in name and any(any((PROJECT / room).rglob(name)) for room in ("timer", "tui", "tests"))
            )
            assert in_a_room or any((place / name).is_file() for place in places), f"{document}: {name}"


def test_the_settings_page_has_every_setting_at_its_default(home: Path) -> None:
    """The block on the page is a file that can be used as it stands, and says nothing else than what is so without it."""
    (block,) = re.findall(r"^```toml\n(.*?)^```", (PROJECT / "docs" / "settings.md").read_text(), re.DOTALL | re.MULTILINE)
    without = load_settings()
    (home / "settings.toml").write_text(
        block.partition("[lamp_response.colour]")[0]
    )  # that table is for who has measured it
    assert load_settings() == without
    keys = set(re.findall(r"^(\w+) = ", block, re.MULTILINE))
    assert {field.name for field in msgspec.structs.fields(type(without))} <= keys | {"pins", "head", "lamp_response"}


def test_a_process_in_a_document_can_be_used(home: Path, lamphouse: Run) -> None:
    (block,) = re.findall(r"^```toml\n(.*?)^```", (PROJECT / "docs" / "baths.md").read_text(), re.DOTALL | re.MULTILINE)
    (home / "processes").mkdir()
    (home / "processes" / "mine.toml").write_text(block)
    assert lamphouse("bath", "show", "mine").stdout.startswith("My kit, drum")


@pytest.mark.parametrize("document", DOCUMENTS, ids=str)
def test_recipes_in_documents_can_be_printed(document: Path) -> None:
    for block in re.findall(r"^```toml\n(.*?)^```", (PROJECT / document).read_text(), re.DOTALL | re.MULTILINE):
        if block.startswith("recipe = 1"):
            assert print_plan(parse_recipe(block, str(document))).steps


NEEDS_ITS_SHEETS = {
    "solve",
    "scan",
    "paper-curve",
    "grade",
    "drift",
    "first-sheet",
    "calibrations",
    "calibrate",
    "setup",
    "reprint",
    "resume",
    "lamp",
}
"""Their examples are of sheets that were read, of recordings, or for root: only parsed here. docs/commands.md runs the rest."""


def _all_examples() -> dict[str, list[list[str]]]:
    """The examples of every command's help, by the first word of the command."""
    by_word: dict[str, list[list[str]]] = {}
    for path, command, ctx in EVERY[1:]:
        for line in examples(command.get_help(ctx)):
            words = shlex.split(line.partition(" > ")[0], comments=True)
            by_word.setdefault(path.split()[1], []).append(words[words.index("sudo") + 2 if "sudo" in words else 1 :])
    return by_word


EXAMPLES = _all_examples()


@pytest.mark.parametrize("word", list(EXAMPLES))
def test_every_example_of_a_help_is_a_command_that_can_be_called(word: str) -> None:
    """Options and arguments as they stand: parsed in whole, nothing is carried out."""
    from timer.cli import cli

    for line in EXAMPLES[word]:
        command: click.Command | None = cli
        ctx = click.Context(cli, info_name="lamphouse", resilient_parsing=False)
        rest = list(line)
        while isinstance(command, click.Group) and rest and command.get_command(ctx, rest[0]):
            name = rest.pop(0)
            command = command.get_command(ctx, name)
            assert command is not None
            ctx = click.Context(command, info_name=name, parent=ctx)
        assert command is not None
        if not isinstance(command, click.Group):
            command.parse_args(ctx, rest)


ELSEWHERE = {tuple(words) for path in DOCUMENTS for words in commands((PROJECT / path).read_text())}
"""What a document shows too is run there."""


@pytest.mark.timeout(600)
@pytest.mark.parametrize("word", [word for word in EXAMPLES if word not in NEEDS_ITS_SHEETS])
def test_every_example_of_a_help_works(word: str, lamphouse: Run, evening: Path) -> None:
    (evening / "stair.toml").write_text(RECIPE.replace("coat", "wall"))
    (evening / "quay.toml").write_text(QUAY)
    (evening / "wedge.txt").write_text(PATCHES)
    latest = _strip(lamphouse, "--from", "0.5", "--patches", "4") if word in ("read", "strips") else ""
    if word == "drydown":
        lamphouse("paper-curve", _pearl(lamphouse), "--keep")
    if word == "preview":
        (evening / "strip.json").write_text(lamphouse("strip", "--from", "8", "--show", "--json").stdout)
    build_on_another = word in ("vessel", "notebook")
    lines = [words for words in EXAMPLES[word] if build_on_another or tuple(words) not in ELSEWHERE]
    _every_one_works(f"help of {word}", lines, lamphouse, latest)


def _strip(lamphouse: Run, *how: str) -> str:
    """The run's number of a strip that was made now, the box shut again."""
    lamphouse("strip", *how, "--advance", "auto", "--pause", "0", "--speed", "50")
    return str(max(each["run"] for each in json.loads(lamphouse("notebook", "list", "--json").stdout)))


def _pearl(lamphouse: Run) -> str:
    """A strip on the paper Pearl that was read: its run's number."""
    run = _strip(lamphouse, *["--from", "0.5", "--step", "1/2", "--patches", "14", "--grade", "2", "--paper-name", "Pearl"])
    lamphouse("notebook", "readings", run, "pearl.txt")
    return run

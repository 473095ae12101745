"""Help and errors are for printers: every command has an example that is run, every option a word for what it takes."""

import re

import click
import pytest

from timer.cli import cli

COLUMNS = 80
MACHINE_WORDS = re.compile(
    r"\b(FLOAT|INTEGER|TEXT|PATH|RANGE|ARGS|enum|float|integer|boolean|bool|string|None|null|stdout|stderr|argument|param"
    r"|regex|parse|deserialize|int)\b|<=?x"
)


def tree(command: click.Command, ctx: click.Context) -> "list[tuple[str, click.Command, click.Context]]":
    """Every command below ``command`` and itself, with its path and context."""
    out = [(ctx.command_path, command, ctx)]
    if isinstance(command, click.Group):
        for name in command.list_commands(ctx):
            below = command.get_command(ctx, name)
            assert below is not None
            out += tree(below, click.Context(below, info_name=name, parent=ctx, terminal_width=COLUMNS))
    return out


ROOT = click.Context(cli, info_name="lamphouse", terminal_width=COLUMNS, help_option_names=["-h", "--help"])
EVERY = tree(cli, ROOT)


def examples(text: str) -> list[str]:
    """The lines of a help's examples, those that go on over a line's end joined."""
    joined = text.replace("\\\n", " ")
    return [
        re.sub(r"\s+", " ", line.strip()) for line in joined.splitlines() if re.match(r"    (sudo )?\S*lamphouse ", line)
    ]


@pytest.mark.parametrize(("path", "command", "ctx"), EVERY, ids=[path for path, _, _ in EVERY])
def test_a_help_has_an_example_and_no_machine_words(path: str, command: click.Command, ctx: click.Context) -> None:
    text = command.get_help(ctx)
    assert max(map(len, text.splitlines())) <= COLUMNS
    assert not MACHINE_WORDS.search(text), MACHINE_WORDS.search(text)
    assert any(line.split("lamphouse ", 1)[1].startswith(path.removeprefix("lamphouse").strip()) for line in examples(text))
    for param in command.get_params(ctx):
        if isinstance(param, click.Option) and not param.hidden:
            assert param.help, param.opts


@pytest.mark.parametrize("path", [path for path, each, _ in EVERY if isinstance(each, click.Group)])
def test_what_a_command_does_is_not_cut_off(path: str) -> None:
    command, ctx = next((each, ctx) for name, each, ctx in EVERY if name == path)
    assert isinstance(command, click.Group)
    section = command.get_help(ctx).partition("Options:")[2]
    assert "..." not in section
    assert all(f"  {name} " in section for name in command.list_commands(ctx))

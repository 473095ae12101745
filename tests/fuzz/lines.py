"""Command lines by chance: every command and option there is, by Click's own word, with values good, odd and hostile."""

import random
from pathlib import Path
from typing import Any

import click

from timer.cli import COMMANDS, cli

VALUES = (
    "8", "1/3", "12", "0", "-1", "1", "2", "3", "0.5", "1e9", "1e-9", "nan", "inf", "-inf", "9" * 30, "9" * 5000, "banana", "",
    " ", "8x10in", "30x40cm", "6x7", "0x0mm", "1e3x1e3cm", "60M 50Y", "-5M", "999999C", "1+4", "0+0", "99+99+9e9", "cp", "dichroic",
    "½", "１／３", "٣", "A\x1b[?5hB", "A\nB", "A\u202eB", "caf\udce9", "\ud800", "x" * 300, "x" * 70_000, "--", "-", "=1+1",
    "/dev/null", "/dev/zero", "/", ".", "/proc/self/mem", "../" * 1500, "red", "green", "slight", "1,2,3", "-10,,5", "ra4-drum",
    "none.toml", "9223372036854775807", "9223372036854775808", "1_000", "0x10", "1e400", "\u202e", "32x24", "2000x2000", "<b>",
)  # fmt: skip
LEFT_OUT = {
    ("lamp",): "starts a keeper",
    ("demo",): "starts a keeper",
    ("doctor",): "starts a keeper",
    ("calibrate", "dose"): "waits for a controller",
    ("calibrate", "print"): "gives light; its options are those of strip",
    ("bath", "run"): "takes its baths' time",
}


def commands() -> list[tuple[tuple[str, ...], click.Command]]:
    """Every command that is tried, with its words."""
    context = click.Context(cli)
    found: list[tuple[tuple[str, ...], click.Command]] = []
    for name in COMMANDS:
        command = cli.get_command(context, name)
        assert command
        parts = [((name, sub), each) for sub, each in command.commands.items()] if isinstance(command, click.Group) else []
        found += parts or [((name,), command)]
    return [(words, each) for words, each in found if words[:1] not in LEFT_OUT and words[:2] not in LEFT_OUT]


def line_case(number: int, seed: int, folder: Path, known: list[tuple[tuple[str, ...], click.Command]]) -> list[str]:
    chance = random.Random(f"line-{seed}-{number}")
    words, command = chance.choice(known)
    good = {"recipe": str(folder / "good.toml"), "file": str(folder / "readings.txt"), "source": str(folder / "good.toml")}
    line = list(words)
    for param in command.params:
        if isinstance(param, click.Argument):
            for _ in range(chance.choice((0, 1, 1, 1, 2)) if param.nargs < 0 else chance.choice((0, 1, 1, 1, 1, 1, 1))):
                line.append(_value(param, chance, good))
        elif chance.random() < 0.3 or (param.required and chance.random() < 0.9):
            option = chance.choice((*param.opts, *param.secondary_opts))
            is_flag = getattr(param, "is_flag", False)
            line += [option] if is_flag else [option, *(_value(param, chance, good) for _ in range(max(1, param.nargs)))]
    if chance.random() < 0.05:
        line.insert(chance.randrange(len(line) + 1), chance.choice(("--nonsense", "-x", "--", "--help", "--json")))
    if any("--show" in param.opts for param in command.params) and "--show" not in line:
        line.insert(len(words), "--show")  # this hunts for words that hurt, and lights no lamp
    if words == ("preview",):
        line += ["--size", "32x24"]
    return line


def _value(param: click.Parameter, chance: random.Random, good: dict[str, str]) -> str:
    kind: Any = param.type
    if chance.random() < 0.6:
        if isinstance(kind, click.Choice):
            return str(chance.choice(list(kind.choices)))
        if param.name in good:
            return good[param.name]
        if isinstance(kind, click.IntRange):
            return str(chance.randint(1, 9))
        if isinstance(kind, click.FloatRange):
            return str(round(chance.uniform(0.1, 30), 2))
    return chance.choice(VALUES)

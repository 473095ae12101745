"""``lamphouse solve``."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from timer.cli.heads import chosen, head_options
from timer.cli.options import RUN, Finite, Line, json_option, notebook_option
from timer.cli.show import echo_json
from timer.craft.filters import parse_pack
from timer.errors import Refused

if TYPE_CHECKING:
    from timer.craft.filters import Pack
    from timer.craft.solve import Reading
    from timer.documents.settings import Head
    from timer.measure.sheet import Given
    from timer.notebook.rows import RunRow
    from timer.notebook.store import Notebook

Aim = tuple[float, float, float]
GREY_CARD = (0.74, 0.74, 0.74)
"""Density of a card that reflects 18 %: log10(1 / 0.18)."""


def as_aim(ctx: click.Context, param: click.Parameter, value: str | None) -> Aim | None:
    """Callback: one density for a neutral, or three: red, green, blue."""
    if value is None:
        return None
    try:
        numbers = [float(part) for part in value.replace(",", " ").split()]
    except ValueError:
        numbers = []
    if len(numbers) not in (1, 3) or not all(0 <= d <= 4 for d in numbers):
        raise click.BadParameter(
            f"{value!r} is not a density like 0.75, or three of them, like '0.76 0.74 0.71'", ctx, param
        )
    return (numbers[0],) * 3 if len(numbers) == 1 else (numbers[0], numbers[1], numbers[2])


@click.command("solve")
@click.argument("runs", type=RUN, nargs=-1, required=True)
@click.option(
    "--aim", callback=as_aim, help="Densities to reach: red, green, blue, or one for all.  [default: sample 'aim']"
)
@click.option(
    "--read-with",
    type=click.Choice(["densitometer", "scan", "eye"]),
    default="densitometer",
    show_default=True,
    help="What the readings were taken with: how much they count.",
)
@click.option("--through", type=Line(30), help="By eye: the viewing filter that it looks right through, like 10G.")
@click.option("--darker", type=Finite(min=-1, max=1), default=0.0, help="By eye: how much darker than right, in density.")
@click.option("--patch", type=click.IntRange(1, 99), help="By eye: of a test sheet, the patch that was looked at.")
@click.option("--reversal", is_flag=True, help="Paper for prints from slides, which gets lighter with light.")
@click.option("-o", "--output", type=click.Path(path_type=Path, dir_okay=False), help="Write the next recipe here.")
@head_options
@json_option
@notebook_option
def command(
    runs: tuple[int, ...],
    aim: Aim | None,
    read_with: str,
    through: str | None,
    darker: float,
    patch: int | None,
    reversal: bool,
    output: Path | None,
    head: str | None,
    top: float | None,
    per_stop: float | None,
    as_json: bool,
    notebook_path: Path | None,
) -> None:
    """Pack and time for the next sheet, from readings of one grey place on the sheets RUNS of one negative, oldest first.

    Readings are taken into a sheet by `lamphouse notebook readings`; samples are named by their patch (1, 2, ...), and a
    print that is right, read with them, is 'aim'.

    \b
    Examples:
      lamphouse solve 12 --aim "0.76 0.74 0.71"
      lamphouse solve 12 13 -o quay-3.toml
      lamphouse solve 13 --through 10G --darker 0.1
    """
    from timer.documents.settings import notebook_file
    from timer.notebook.sheets import sheet
    from timer.notebook.store import Notebook

    this = chosen(head, top, per_stop)
    with Notebook(notebook_path or notebook_file(), read_only=True) as notebook:
        taken = _Taken(notebook, this.per_stop)
        for run in dict.fromkeys(runs):
            taken.take(run, read_with)
        negative = sheet(notebook, runs[-1]).negative
    target = aim or taken.aim
    if through is not None or darker:
        target = target or GREY_CARD
        taken.look(_viewing(through or "0"), darker, patch, target)
    _solve_and_say(taken, target, this, negative, output, as_json=as_json, reversal=reversal)


class _Taken:
    """What was gathered from the sheets, in turn."""

    def __init__(self, notebook: "Notebook", per_stop: float) -> None:
        self._notebook, self._per_stop = notebook, per_stop
        self.readings: list[Reading] = []
        self.aim: Aim | None = None
        self.lights: list[Given] = []
        self.row: RunRow | None = None

    def take(self, run: int, read_with: str) -> None:
        from timer.measure.sheet import ERRORS, SCAN_BESIDE_AIM, aim_of, given, readings
        from timer.notebook.readings import readings as kept

        self.row = self._notebook.run(run)
        if self.row.paper not in ("ra4", ""):
            raise Refused(f"sheet {run} is black-and-white; packs are solved for colour paper")
        self.lights = given(self.row, self._notebook.exposures(run), self._per_stop)
        read = kept(self._notebook, run)
        beside = aim_of(read, run)
        error = SCAN_BESIDE_AIM if beside and read_with == "scan" else ERRORS[read_with]
        self.readings += readings(run, self.lights, read, error)
        self.aim = beside or self.aim

    def look(self, viewing: "Pack", darker: float, patch: int | None, aim: Aim) -> None:
        """Count a look at the last sheet as a reading with a wide error."""
        from timer.craft.solve import Reading
        from timer.measure.sheet import ERRORS, controls, through_filter

        assert self.row
        seen = [g for g in self.lights if patch is None or g.patch == patch]
        if len(seen) != 1:
            most = max(g.patch for g in self.lights)
            raise Refused(f"sheet {self.row.id} has patches 1 to {most}: say which one you looked at, like --patch 3")
        density = through_filter(aim, viewing, darker)
        self.readings.append(Reading(seen[0].seconds, controls(seen[0].setting), density, ERRORS["eye"], self.row.id))


def _viewing(text: str) -> "Pack":
    try:
        return parse_pack(text)
    except ValueError as error:
        raise Refused(str(error)) from None


def _solve_and_say(
    taken: _Taken, aim: Aim | None, head: "Head", negative: str, output: Path | None, *, as_json: bool, reversal: bool
) -> None:
    from timer.documents.files import must_be_free, write_new
    from timer.documents.recipe_file import recipe_toml
    from timer.measure.advise import advice_json, advise, sentence, strip_command
    from timer.measure.next_recipe import next_recipe

    row = taken.row
    assert row
    if not taken.readings:
        raise Refused(
            f"sheet {row.id} has no readings; take them in with `lamphouse notebook readings {row.id} FILE`, or look at it "
            "and say --through 10G"
        )
    if aim is None:
        raise Refused("say what is aimed at: --aim 0.75, or a reading named 'aim' of a print that is right")
    if output:
        must_be_free(output)
    advice = advise(taken.readings, taken.lights, aim, head.top, reversal=reversal)
    lines = list(advice.notes)
    if advice.strip and not advice.right:
        lines.append(f"to bracket it: {strip_command(advice)}")
    if output and advice.right:
        lines.append(f"{output} is not written: nothing is to be changed")
    elif output:
        recipe, says = next_recipe(advice, row, head.kind, negative)
        write_new(output, recipe_toml(recipe).encode())
        lines += [says] if says else []
        lines.append(f"written to {output}")
    if as_json:
        echo_json(advice_json(advice))
        return
    click.echo(sentence(advice))
    for line in lines:
        click.echo(f"- {line}")

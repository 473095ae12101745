"""``lamphouse resize``."""

from pathlib import Path
from typing import Any

import click

from timer.app.calibrations import box_kept, exponent_kept
from timer.app.head import head_of_change
from timer.app.jobs import load_job
from timer.app.writing import derived, write_at
from timer.cli.heads import top_option
from timer.cli.options import json_option, refuse_idle
from timer.cli.show import echo_json
from timer.cli.values import APERTURE, FILE, Finite, Line
from timer.craft.enlargement import parse_frame, parse_sheet
from timer.craft.heads import HEADS, parse_setting
from timer.documents.recipe import GRADES, Filters
from timer.errors import Refused
from timer.plans.recipe_change import RecipeChange, derived_json, described


def _readable(read: Any) -> Any:
    """A callback that passes text on if ``read`` can make sense of it."""

    def check(ctx: click.Context, param: click.Parameter, value: str | None) -> str | None:
        try:
            if value is not None:
                read(value)
        except ValueError as error:
            raise click.BadParameter(str(error), ctx, param) from None
        return value

    return check


MM = Finite("mm", 0, 5000, above=True)


@click.command("resize")
@click.argument("recipe", type=FILE)
@click.option("--sheet", metavar="SIZE", callback=_readable(parse_sheet), help="New sheet, like 30x40cm or 12x16in.")
@click.option("--frame", metavar="SIZE", callback=_readable(parse_frame), help="Frame of the negative, like 6x7 or 24x36mm.")
@click.option("--fill/--whole", default=None, help="Cover the sheet, or show the whole negative.")
@click.option("--border", type=Finite("mm", 0, 500), help="White border all round, mm.")
@click.option("--detail-print", type=MM, help="The recipe's measured detail on the new print, mm.")
@click.option("--lens-to-paper", metavar="OLD NEW", type=MM, nargs=2, help="Measured distances, old and new, mm.")
@click.option("--aperture", type=APERTURE, help="New aperture, as marked: 8 is f/8.")
@click.option("--lens", type=Finite("mm", 0, 1000, above=True), help="New focal length, mm.")
@click.option("--paper", metavar="NAME", type=Line(), default="", help="Name of the new paper.")
@click.option("--speed", type=Finite("P", 1, 10_000), help="ISO speed P of the new paper, through its grade.")
@click.option("--grade", type=click.Choice(GRADES), metavar="GRADE", help="New contrast grade, 00 to 5.")
@click.option("--pack", metavar="PACK", type=Line(), help="New filter pack, like '60M 45Y', or lights, like 'R80 G60 B50'.")
@click.option(
    "--head",
    metavar="HEAD",
    type=Line(),
    default="",
    help=f"{', '.join(HEADS)}; or a head you have measured (lamphouse calibrations head).",
)
@top_option
@click.option(
    "--box", metavar="NAME", type=Line(), default="", help="A new box you have measured (lamphouse calibrations box)."
)
@click.option("--column", type=MM, help="Reach of the column from negative to paper, mm.")
@click.option("-o", "--output", type=FILE, help="Write the derived recipe here.")
@click.option("--force", is_flag=True, help="Write over an existing file.")
@json_option
def command(recipe: Path, output: Path | None, force: bool, as_json: bool, **options: Any) -> None:
    """Take RECIPE to another size, aperture, paper or filter pack: a derived recipe that names its original.

    \b
    Examples:
      lamphouse resize coat.toml --sheet 30x40cm --aperture 8 -o coat-30x40.toml
      lamphouse resize quay.toml --pack "70M 45Y" --head dichroic
    """
    if output is None:
        refuse_idle("--force", "no recipe is written; -o FILE writes one")
    if not options["pack"]:
        refuse_idle("--top", "the head's end is asked for a new pack (--pack)")
        if options["head"] in HEADS:
            refuse_idle("--head", "a kind of head is asked for a new pack (--pack), one you have measured for another size")
    job = load_job(recipe)
    before = job.print_recipe
    if not any(value not in (None, "") for name, value in options.items() if name != "top"):
        raise click.UsageError("say what is to change, like --sheet 30x40cm or --aperture 5.6")
    moved = derived(job, _target(options, before.filters))
    if options["column"] and not moved.negative_to_paper_mm:
        raise Refused("--column needs to know the way from negative to paper: say the lens, like --lens 50")
    if output:
        write_at(output, moved.recipe, over=force)
    if as_json:
        echo_json(derived_json(moved))
        return
    click.echo(f"{before.title}: {described(before)}")
    for line in moved.says:
        click.echo(f"  {line}")
    if moved.lens_to_paper_mm and moved.negative_to_paper_mm:
        click.echo(f"  lens to paper {moved.lens_to_paper_mm:.0f} mm, negative to paper {moved.negative_to_paper_mm:.0f} mm")
    for line in moved.advice:
        click.echo(f"- {line}")
    click.echo(f"Confirm it first: {moved.strip}")
    click.echo(f"Written to {output}." if output else "Nothing is written; -o FILE keeps it.")


def _target(options: dict[str, Any], now: Filters) -> RecipeChange:
    named = options["head"]
    head = head_of_change(now, named, options["top"], new_pack=bool(options["pack"]))
    try:
        pack = parse_setting(options["pack"], head.kind or now.head, now.per_stop) if options["pack"] else None
    except ValueError as error:
        raise Refused(str(error)) from None
    return RecipeChange(
        sheet=options["sheet"] or "",
        frame=options["frame"] or "",
        fill=options["fill"],
        border_mm=options["border"],
        detail_print_mm=options["detail_print"],
        distances_mm=options["lens_to_paper"] or None,
        aperture=options["aperture"],
        lens_mm=options["lens"],
        paper=options["paper"],
        speed=options["speed"],
        grade=options["grade"] or "",
        pack=pack,
        head=head.kind,
        top=head.top,
        box=box_kept(options["box"]) if options["box"] else None,
        exponent=1.0 if not named or named in HEADS else exponent_kept(named),
        exponent_of=named,
        column_mm=options["column"],
    )

"""``lamphouse correct``."""

import re
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import click
import msgspec

from timer.app.jobs import load_job
from timer.app.picks import titled
from timer.app.writing import corrected, write_at
from timer.cli.options import json_option, refuse_idle
from timer.cli.show import echo_json
from timer.cli.values import FILE
from timer.plans.correct_area import PRINT, Amount, Correction, areas_of, parse_correction
from timer.text import unfit


@click.command("correct")
@click.argument("recipe", type=FILE)
@click.argument("corrections", nargs=-1, required=True, metavar="'AREA +STOPS'...")
@click.option("--exact", is_flag=True, help="Correct as asked also where the direction has turned.")
@click.option("-o", "--output", type=FILE, help="Write the corrected recipe here.")
@click.option("--force", is_flag=True, help="Write over an existing file.")
@json_option
def command(
    recipe: Path, corrections: tuple[str, ...], exact: bool, output: Path | None, force: bool, as_json: bool
) -> None:
    """RECIPE with single areas darker (+) or lighter (-), as the print was seen; old and new, in stops and seconds.

    An area that the recipe does not name becomes a burn or a dodge; 'print' is all of it, 'edges' its edges. Where the
    direction turns against the last correction of an area, no more than half of that one is taken back: the right value lies
    between (--exact: as you say).

    \b
    Examples:
      lamphouse correct stair.toml "window +1/3"
      lamphouse correct stair.toml "window +1/3" "wall -1/6" "print -1/12" \\
          -o stair-2.toml
    """
    if output is None:
        refuse_idle("--force", "no recipe is written; -o FILE writes one")
    job = load_job(recipe)
    before = job.print_recipe
    try:
        asked = [parse_correction(said) for said in corrections]
    except ValueError as error:
        raise click.UsageError(str(error)) from None
    for area, _ in asked:
        if len(area) > 60 or unfit(area):
            raise click.UsageError(f"{area[:20]!r} is not a name for an area; write up to 60 letters of plain text")
    made = corrected(job, asked, exact=exact)
    if output:
        after = msgspec.structs.replace(made.recipe, title=titled(before.title, "corrected", _number(before.title)))
        write_at(output, after, over=force)
    if as_json:
        echo_json({"base_s": made.recipe.base_s, "corrections": [_json(each) for each in made.corrections]})
        return
    click.echo("\n".join(map(str, made.corrections)))
    for area, _ in asked:
        if area not in (*areas_of(before), *PRINT, "edges"):
            near = get_close_matches(area, areas_of(before), 1)
            hint = f"; did you mean {near[0]!r}?" if near else ""
            click.echo(f"- {area!r} is not in the recipe yet, so it becomes an area of its own{hint}")
    click.echo(f"Written to {output}." if output else "Nothing is written; -o FILE keeps it.")


def _number(title: str) -> int:
    """How many times it will have been corrected."""
    found = re.search(r", corrected(?: (\d{1,4}))?(?=, |\Z)", title)
    return int(found[1] or 1) + 1 if found else 1


def _json(each: Correction) -> dict[str, Any]:
    def amount(of: Amount) -> dict[str, Any]:
        return {"kind": of.kind, "stops": None if of.stops is None else float(of.stops), "seconds": of.seconds}

    return {
        "area": each.area,
        "asked": float(each.asked),
        "given": float(each.given),
        "turned": each.asked != each.given,
        "old": amount(each.old),
        "new": amount(each.new),
        "second": each.second or None,
    }

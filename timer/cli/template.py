"""``lamphouse template``."""

from pathlib import Path

import click

from timer.cli.options import json_option
from timer.cli.show import echo_json
from timer.cli.values import FILE
from timer.craft.template import PAGES, tiling
from timer.errors import Refused


@click.command("template")
@click.argument("recipe", type=FILE)
@click.option("-o", "--output", type=FILE, help="Write the PDF here.")
@click.option("--on", "page", type=click.Choice(list(PAGES)), default="a4", show_default=True, help="The printer's paper.")
@json_option
def command(recipe: Path, output: Path | None, page: str, as_json: bool) -> None:
    """A true-size template for RECIPE's sheet and picture, to print straight without an easel.

    The PDF is cut into pages with marks to join them and a ruler to check the printer's scale. Strips of card, glued on
    its corner stops, are felt in the dark. Without -o, the blades' settings alone.

    \b
    Examples:
      lamphouse template stair.toml
      lamphouse template stair.toml -o template.pdf --on letter
    """
    from timer.app.jobs import load_job
    from timer.app.template_pdf import settings, template_of, write_at

    if output and output.suffix.lower() != ".pdf":
        raise click.UsageError(f"{output}: a template is a PDF; give it a name like template.pdf")
    found = load_job(recipe).print_recipe
    try:
        made = template_of(found)
        pages = tiling(made, page)
        if output:
            write_at(output, found, page)
    except ValueError as error:
        raise Refused(f"{recipe}: {error}") from None
    if as_json:
        sheet, picture = made.sheet, made.picture
        blades = {"long_sides_mm": made.white[0], "short_sides_mm": made.white[1]}
        sizes = {"sheet_mm": [sheet.width, sheet.height], "picture_mm": [picture.width, picture.height]}
        echo_json({**sizes, "blades": blades, "pages": len(pages.tiles), "rows": pages.rows, "columns": pages.columns})
        return
    for name, value in settings(made):
        click.echo(f"{name:22}{value}")
    if output:
        click.echo(f"Written to {output}: {len(pages.tiles)} pages to join. Print at 100 %, and measure the ruler: 100 mm.")
    else:
        click.echo(f"Nothing is written; -o FILE.pdf makes the template, of {len(pages.tiles)} pages to join.")

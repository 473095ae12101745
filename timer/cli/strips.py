"""``lamphouse strips``."""

from pathlib import Path

import click
import msgspec

from timer.cli.options import json_option, notebook_option
from timer.cli.show import echo_json
from timer.cli.values import RUN
from timer.documents.recipe import Recipe
from timer.plans.recipe_change import described


@click.command("strips")
@click.option("--done", type=RUN, help="Take this run off the list: judged by eye alone, or thrown away.")
@click.option("--again", type=RUN, help="Put this run back on the list.")
@json_option
@notebook_option
def command(done: int | None, again: int | None, as_json: bool, notebook_path: Path | None) -> None:
    """Test strips and sheets that were not read yet, the newest first, with what each was made for.

    \b
    Examples:
      lamphouse strips
      lamphouse strips --done 12
    """
    from timer.app.archive import opened

    if done is not None and done == again:
        raise click.UsageError(f"run {done} is either taken off the list (--done) or put back (--again), not both")
    with opened(notebook_path, to_write=done is not None or again is not None) as archive:
        if done is not None:
            archive.mark_read(done)
        if again is not None:
            archive.mark_unread(again)
        found = archive.tests_to_read()
    if as_json:
        echo_json([{**msgspec.to_builtins(test), "stands": _stands(test.recipe)} for test in found])
        return
    for test in found:
        about = ", ".join(part for part in (test.negative, _stands(test.recipe)) if part)
        click.echo(f"{test.run:5}  {test.begun[:16].replace('T', ' ')}  {test.title}" + (f"  for {about}" if about else ""))
    click.echo("Read one: lamphouse read NUMBER window=4 wall=2.5 -o NAME.toml" if found else "Every test was read.")


def _stands(recipe: Recipe | None) -> str:
    return f"{recipe.title}: {described(recipe)}" if recipe else ""

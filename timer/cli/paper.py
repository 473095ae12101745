"""``lamphouse paper``: what paper is out, and saying that it is covered."""

from dataclasses import asdict
from pathlib import Path

import click

from timer.cli.group import Group
from timer.cli.options import json_option, notebook_option
from timer.cli.show import echo_json


@click.group("paper", cls=Group, invoke_without_command=True)
@json_option
@notebook_option
@click.pass_context
def command(ctx: click.Context, as_json: bool, notebook_path: Path | None) -> None:
    """What paper is out: boxes that were opened and not yet reported covered.

    While there is any the screen keeps dark, and there is no focus light.

    \b
    Examples:
      lamphouse paper
      lamphouse paper covered
    """
    from timer.app import notebooks

    if ctx.invoked_subcommand:
        ctx.obj = notebook_path
        if as_json:
            raise click.UsageError(f"--json stands behind the command: lamphouse paper {ctx.invoked_subcommand} --json")
        return
    out = notebooks.out(notebook_path)
    if as_json:
        echo_json([asdict(paper) for paper in out])
        return
    for paper in out:
        click.echo(f"OUT: {paper}")
    click.echo("say `lamphouse paper covered` when it is." if out else "All paper is covered.")


@command.command("covered")
@json_option
@click.pass_obj
def covered(notebook_path: Path | None, as_json: bool) -> None:
    """Say that all paper is in its box again, or in the lidded drum.

    \b
    Example:
      lamphouse paper covered
    """
    from timer.app import paper as paper_kept

    out = paper_kept.covered(notebook_path)
    if as_json:
        echo_json([asdict(paper) for paper in out])
        return
    for paper in out:
        click.echo(f"covered: {paper}")
    if not out:
        click.echo("No paper was out.")

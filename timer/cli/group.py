"""A command of commands."""

from typing import Any

import click


class Group(click.Group):
    """Commands with one line on each, never cut off."""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        word = "[COMMAND]" if options.get("invoke_without_command") else "COMMAND ..."
        super().__init__(*arguments, **{"subcommand_metavar": word, **options})

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, each.get_short_help_str(400)) for name, each in sorted(self.commands.items())])

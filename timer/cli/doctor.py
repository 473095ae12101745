"""``lamphouse doctor``."""

import click
import msgspec

from timer.cli.options import json_option, lamp_option
from timer.cli.show import echo_json


@click.command("doctor")
@lamp_option
@json_option
def command(lamp: str | None, as_json: bool) -> int:
    """Check this machine, and say what to do about what is found. No light is given.

    \b
    Example:
      lamphouse doctor --lamp gpio
    """
    from timer.app.doctor import examine

    found = examine(lamp=lamp)
    if as_json:
        echo_json(msgspec.to_builtins(found))
    else:
        for each in found:
            click.echo(f"{each.state:6} {each.what:22} {each.says}")
    return 1 if any(each.state == "fault" for each in found) else 0

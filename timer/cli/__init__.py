"""The command line. One file a command group; each is imported only when it is called: the Pi is slow.

So is what a command needs, within its function: what is imported within is for the start-up time, in all of these files.
"""

import importlib
import sys
import traceback
from typing import Any

import click

from timer.cli.group import Group
from timer.cli.plain_stream import open_closed_streams, wrap_standard_streams
from timer.errors import LamphouseError, reason
from timer.text import one_line

SECTIONS = {
    "A strip, a print": {
        "strip": ("timer.cli.strip", "a test strip: list it, or run it"),
        "read": ("timer.cli.read", "what a test strip says: the time for a place, or a recipe from what each area needs"),
        "strips": ("timer.cli.strips", "test strips that were not read yet"),
        "print": ("timer.cli.printing", "make a print from a recipe"),
        "resume": ("timer.cli.resume", "give an interrupted sheet the missing light"),
        "reprint": ("timer.cli.reprint", "make a sheet in the notebook again, or at another size"),
        "check": ("timer.cli.check", "check a recipe and list what it will do"),
        "correct": ("timer.cli.correct", "one area of a print darker or lighter, by what was seen on it"),
        "resize": ("timer.cli.move", "take a print to another size, aperture, paper or pack"),
        "preview": ("timer.cli.preview", "a picture of the sheet, or its printing map"),
        "template": ("timer.cli.template", "a true-size template of sheet and picture, as PDF"),
    },
    "Colour": {
        "pack": ("timer.cli.filters:pack_command", "a filter pack without neutral density, another pack, and their times"),
        "cast": ("timer.cli.filters:cast_command", "correct a colour cast: what to do, the new pack, the new time"),
        "ringaround": ("timer.cli.pieces:ring_command", "a ring-around of filter packs on one sheet"),
        "ladder": ("timer.cli.pieces:ladder_command", "steps of one filter on one sheet"),
        "first-sheet": (
            "timer.cli.pieces:first_sheet_command",
            "five test patches of one grey, from which solve learns head and paper",
        ),
        "scan": ("timer.cli.scan", "read a test sheet's patches from its scan"),
        "solve": ("timer.cli.solve", "pack and time for the next sheet, from readings"),
        "drift": ("timer.cli.drift", "a control patch over time: baths and lamp within their limits, or not"),
    },
    "Black-and-white": {
        "grade": ("timer.cli.grade", "grade and base time for a negative, by your papers' own curves"),
        "paper-curve": ("timer.cli.paper_curve", "a black-and-white paper's own curve, ISO R and P, from readings"),
        "drydown": ("timer.cli.pieces:drydown_command", "a set of prints that finds a paper's dry-down"),
    },
    "Baths": {
        "bath": ("timer.cli.bath", "baths: volumes, chemistry, processes and their clock"),
        "vessel": ("timer.cli.vessel", "your drums and trays, measured once"),
    },
    "What was made": {
        "notebook": ("timer.cli.notebook", "what was printed, with what light, and what became of it"),
        "paper": ("timer.cli.paper", "what paper is out, and since when; say that it is covered"),
    },
    "Lamp and machine": {
        "lamp": ("timer.cli.lamp", "the lamp: status, focus light, off at once"),
        "calibrate": ("timer.cli.calibrate", "your own lamp's response, by print or by sensor"),
        "calibrations": ("timer.cli.measured", "your own heads, boxes of paper and papers' curves, measured and kept"),
        "doctor": ("timer.cli.doctor", "check this machine, and what to do about what is found"),
        "setup": ("timer.cli.setup", "set this machine up: screen from power-on, rights, pins"),
        "bench": ("timer.cli.bench", "the virtual darkroom: lamps, sensors, a pedal"),
        "demo": ("timer.cli.demo", "a strip and a print on the simulated lamp, in time-lapse"),
    },
}
"""Every command by what it is for: its module, and one line."""
COMMANDS = {name: each for section in SECTIONS.values() for name, each in section.items()}


class LazyGroup(Group):
    """Knows its commands' names and one line on each without importing them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module, _, name = COMMANDS[cmd_name][0].partition(":")
        command: click.Command = getattr(importlib.import_module(module), name or "command")
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        width = max(map(len, COMMANDS))
        for title, section in SECTIONS.items():
            with formatter.section(title):
                formatter.write_dl([(f"{name:{width}}", line) for name, (_, line) in section.items()])


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="lamphouse")
def cli() -> None:
    """Lamphouse, a darkroom timer: exposures in stops, a lamp that goes dark when anything fails, and a notebook of the
    light given.

    \b
    Begin with:
      lamphouse demo
      lamphouse strip --from 8 --step 1/3 --patches 7
    """


def help_text() -> str:
    """What ``lamphouse --help`` prints."""
    return cli.get_help(click.Context(cli, info_name="lamphouse"))


def main(arguments: list[str] | None = None) -> Any:
    """Run the command line and end the process: 0, 1 (refused, failed), 2 (wrong call), 128 + a signal's number."""
    open_closed_streams()
    wrap_standard_streams()
    try:
        code = cli.main(args=arguments, prog_name="lamphouse", standalone_mode=False)
    except click.exceptions.NoArgsIsHelpError as error:
        error.show()
        sys.exit(2)
    except click.ClickException as error:
        from timer.cli.usage import sentence

        if isinstance(error, click.UsageError) and error.ctx:
            click.echo(one_line(error.ctx.get_usage()), err=True)
        click.echo(f"Error: {one_line(sentence(error))}", err=True)
        sys.exit(error.exit_code)
    except LamphouseError as error:
        click.echo(f"Error: {error}", err=True)
        sys.exit(error.exit_code)
    except (click.exceptions.Abort, KeyboardInterrupt):
        click.echo("Stopped; the lamp is off.", err=True)
        sys.exit(130)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(1)
    except UnicodeEncodeError:
        click.echo("Error: an argument or file name has characters that cannot be written; use plain letters", err=True)
        sys.exit(2)
    except OSError as error:
        click.echo(f"Error: {_system_says(error)}", err=True)
        sys.exit(1)
    except Exception as error:
        from timer.app.fault_log import keep_fault

        asks = keep_fault(traceback.format_exc())
        click.echo(f"Error: a fault in Lamphouse itself ({error!r}); the lamp is off. {asks}", err=True)
        sys.exit(70)
    sys.exit(code if isinstance(code, int) else 0)


def _system_says(error: OSError) -> str:
    """What the machine refused, and of which file, where that is known."""
    name = f"{error.filename}: " if isinstance(error.filename, str) else ""
    return one_line(f"{name}{reason(error)}; the lamp is off")

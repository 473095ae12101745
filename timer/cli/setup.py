"""``lamphouse setup``."""

import os
import pwd
import shutil
import sys
from pathlib import Path

import click

from timer.cli.options import json_option
from timer.cli.show import echo_json
from timer.errors import LamphouseError


@click.command("setup")
@click.option("--user", metavar="NAME", default="", help="Who runs the screen; without it you, or whoever called sudo.")
@click.option("--write", "to_write", is_flag=True, help="Write what is shown.")
@click.option("--remove", "to_remove", is_flag=True, help="Take back what was written.")
@click.option("--only", multiple=True, metavar="NAME", help="This piece alone; may be given again.")
@click.option("--root", type=click.Path(path_type=Path, file_okay=False), default=Path("/"), hidden=True)
@json_option
def command(user: str, to_write: bool, to_remove: bool, only: tuple[str, ...], root: Path, as_json: bool) -> int:
    """Set this machine up: the screen from power-on, real-time rights, pins that fall back.

    Without --write or --remove it only shows each file, why it is there, and whether it is in place.

    \b
    Examples:
      lamphouse setup
      sudo .venv/bin/lamphouse setup --write
      sudo .venv/bin/lamphouse setup --write --only limits --only memory
      sudo .venv/bin/lamphouse setup --remove
    """
    from timer.app import machine

    if to_write and to_remove:
        raise click.UsageError("say --write or --remove, not both")
    who = user or os.environ.get("SUDO_USER") or pwd.getpwuid(os.geteuid()).pw_name
    _known(who)
    chosen = machine.pieces(who, _program(), root)
    names = [piece.name for piece in chosen]
    for name in only:
        if name not in names:
            raise click.UsageError(f"there is no piece {name!r}; there are {', '.join(names)}")
    chosen = [piece for piece in chosen if not only or piece.name in only]
    rows = []
    for piece in chosen:
        changed = machine.write(piece) if to_write else machine.remove(piece) if to_remove else False
        rows.append({"name": piece.name, "path": str(piece.path), "state": machine.state(piece), "changed": changed})
        if not as_json:
            _tell(piece, rows[-1], show=not (to_write or to_remove), text=machine.wanted(piece))
    if as_json:
        echo_json({"user": who, "pieces": rows, "groups_missing": machine.groups_missing(who)})
        return 0
    _what_next(who, machine.groups_missing(who), wrote=to_write, removed=to_remove)
    return 0


def _known(user: str) -> None:
    try:
        pwd.getpwnam(user)
    except KeyError:
        raise LamphouseError(f"there is no user {user!r} on this machine; say --user with one that there is") from None


def _program() -> str:
    """The path of this very program, for the unit."""
    here = Path(sys.argv[0])
    found = here.resolve() if here.name == "lamphouse" else shutil.which("lamphouse")
    return str(found or Path(sys.prefix) / "bin" / "lamphouse")


def _tell(piece: object, row: dict[str, object], *, show: bool, text: str) -> None:
    from timer.app.machine import Piece

    assert isinstance(piece, Piece)
    says = {"absent": "not in place", "there": "in place", "other": "something else is there"}[str(row["state"])]
    click.echo(f"{piece.name}: {piece.why}\n  {piece.path}: {'changed, ' if row['changed'] else ''}{says}")
    if show:
        click.echo("".join(f"    {line}\n" for line in text.splitlines()))


def _what_next(user: str, missing: list[str], *, wrote: bool, removed: bool) -> None:
    if wrote:
        if missing:
            click.echo(f"Then: usermod -aG {','.join(missing)} {user}")
        click.echo("Then: systemctl daemon-reload && systemctl enable lamphouse, and start the machine again.")
        click.echo("Check with: lamphouse doctor --lamp gpio")
    elif removed:
        click.echo("Then: systemctl disable --now lamphouse; systemctl daemon-reload, and start the machine again.")
    else:
        click.echo("Nothing was written. sudo lamphouse setup --write writes it; --remove takes it back.")

"""The other end of a simulated lamp's wire, at a terminal: keys are the footswitch, edges of the lamp are shown."""

import os
import select
import socket
import sys
import time
from contextlib import ExitStack, suppress
from pathlib import Path

import click

from timer.errors import Refused

SHORT_S, LONG_S = 0.15, 1.2
CUES = ("tick", "soon", "change", "end")


def serve(path: Path) -> int:
    """Until q or the end of the input; the exit code."""
    from timer.cli.console import single_keys

    with ExitStack() as held:
        server = held.enter_context(socket.socket(socket.AF_UNIX, socket.SOCK_STREAM))
        _bind(server, path)
        held.callback(lambda: path.unlink(missing_ok=True))
        click.echo(f"In another terminal:  LAMPHOUSE_WIRE={path} lamphouse")
        click.echo("Enter: press   h: hold, dark now   q: end")
        held.enter_context(single_keys(sys.stdin.fileno()))
        _serve(server, sys.stdin.fileno())
    return 0


def _bind(server: socket.socket, path: Path) -> None:
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as other:
        try:
            other.connect(str(path))
            raise Refused(f"{path}: another pedal is there")
        except OSError:
            if path.is_socket():  # of a pedal that was killed; nothing else that has the name is ours to take away
                path.unlink()
            elif os.path.lexists(path):
                raise Refused(f"{path}: exists already, and is no pedal; choose another name") from None
    try:
        server.bind(str(path))
    except OSError as error:
        raise Refused(f"{path}: cannot be used: {error.strerror or error}") from None
    server.listen(1)


def _serve(server: socket.socket, keys: int) -> None:
    lamp: socket.socket | None = None
    held, lit_ns = b"", 0
    while True:
        ready, _, _ = select.select([keys, (lamp or server).fileno()], [], [])
        if keys in ready:
            data = os.read(keys, 64)
            if not data or b"q" in data:
                return
            _press(lamp, LONG_S if b"h" in data else SHORT_S)
        elif lamp is None:
            lamp, held = server.accept()[0], b""
            click.echo("the lamp is there")
        else:
            data = _received(lamp)
            if not data:
                lamp.close()
                lamp, lit_ns = None, 0
                click.echo("the lamp is gone: dark")
            *lines, held = (held + data).split(b"\n")
            for line in lines:
                lit_ns = _show(line.decode(errors="replace"), lit_ns)


def _received(lamp: socket.socket) -> bytes:
    try:
        return lamp.recv(4096)
    except OSError:
        return b""


def _press(lamp: socket.socket | None, seconds: float) -> None:
    """Down, and up again."""
    if lamp is None:
        click.echo("there is no lamp yet: start the screen as shown above")
        return
    with suppress(OSError):
        lamp.sendall(b"P1\n")
        time.sleep(seconds)
        lamp.sendall(b"P0\n")


def _show(line: str, lit_ns: int) -> int:
    """One thing the lamp's keeper did; since when the lamp is lit, 0 for dark."""
    match line[:2], line[2:].strip():
        case "L1", at:
            click.echo("LIGHT")
            return int(at)
        case "L0", at:
            click.echo(f"dark after {(int(at) - lit_ns) / 1e9:.3f} s" if lit_ns else "dark")
            return 0
        case ("S1" | "S0") as what, _:
            click.echo(f"safelight {'on' if what == 'S1' else 'off'}")
        case what, _ if what[0] == "C" and what[1:].isdigit() and 0 < int(what[1:]) < len(CUES):
            click.echo(f"sound: {CUES[int(what[1:])]}")
    return lit_ns

"""``lamphouse lamp``: the lamp itself."""

import signal
import sys
import threading
from dataclasses import asdict
from typing import Any

import click

from timer.cli.group import Group
from timer.cli.options import json_option, lamp_option
from timer.cli.show import echo_json
from timer.cli.values import Finite


@click.group("lamp", cls=Group)
def command() -> None:
    """The lamp itself.

    \b
    Examples:
      lamphouse lamp off
      lamphouse lamp view --minutes 5
      lamphouse lamp status
    """


@command.command("off")
@lamp_option
@json_option
def off(lamp: str | None, as_json: bool) -> int:
    """Switch the lamp off at once, whatever holds it: a run, a program that hangs, or nothing. Says what was seen.

    Exit code 1 when the lamp could not be seen to be dark.

    \b
    Examples:
      lamphouse lamp off
      lamphouse lamp off --lamp gpio
    """
    from timer.app.lamp_now import switch_off

    name, done = switch_off(lamp)
    dark = done.seen in ("low", "off", "gone")
    if as_json:
        echo_json({"lamp": name, "dark": dark, **asdict(done)})
    else:
        who = ", ".join(map(str, done.ended))
        ended = f" What held it is ended (process {who})." if done.ended else ""
        click.echo(f"{'Lamp off' if dark else 'LAMP NOT SEEN DARK'}: {done.says}.{ended}")
    return 0 if dark or not done.seen else 1


@command.command("status")
@lamp_option
@json_option
def status(lamp: str | None, as_json: bool) -> None:
    """Whether the lamp is lit and who holds it, what was given last, and what to know of this machine.

    \b
    Example:
      lamphouse lamp status
    """
    from timer.app.lamp_now import lamp_status
    from timer.notebook.light import range_text

    now = lamp_status(lamp)
    if as_json:
        least, most = now.given_s
        given = {"given_s": most if least == most else None, "given_range_s": now.given_s}
        last = None if now.ordered_s is None else {"ordered_s": now.ordered_s, **given}
        about = {name: value for name, value in asdict(now).items() if name not in ("ordered_s", "given_s")}
        echo_json({**about, "keeper": now.keeper or None, "guard": now.guard or None, "last": last})
        return
    lit = {True: "LIT", False: "off", None: "not known whether lit"}[now.lit]
    click.echo(f"lamp: {now.lamp}, {lit} ({now.says})")
    guard = f", guarded by process {now.guard}" if now.guard else ""
    click.echo(f"held by: {f'process {now.keeper}{guard}' if now.keeper else 'nobody'}")
    click.echo(f"longest light at once: {now.ceiling_s:g} s")
    click.echo(f"lamp response: {'calibrated' if now.calibrated else 'not calibrated, taken as instant'}")
    if now.ordered_s is not None:
        so_far = " so far" if now.lit and now.given_s[1] is None else ""
        click.echo(f"last exposure: {now.ordered_s:.3f} s ordered, {range_text(*now.given_s, 3)} s given{so_far}")


@command.command("view")
@lamp_option
@click.option(
    "--minutes",
    type=Finite("minutes", 0.02, 10),
    default=5.0,
    show_default=True,
    help="Goes off by itself after so many minutes.",
)
def view(lamp: str | None, minutes: float) -> int:
    """Focus light: on until Enter, or until its time is up. Refused while paper is out.

    A long one can buckle or scorch the negative.

    \b
    Example:
      lamphouse lamp view --minutes 2
    """
    from timer.app.between import Between, FocusLightLeft, FocusLightOver, FootHeld, KeeperLost
    from timer.app.lamp_now import focus_light

    over = threading.Event()
    caught: list[int] = []
    lost: list[str] = []

    def hear(said: Between) -> None:
        match said:
            case KeeperLost(text):
                lost.append(text)
                over.set()
            case FocusLightOver() | FootHeld():
                over.set()
            case FocusLightLeft(15):
                click.echo("15 seconds left.")

    def stop(number: int, _: Any) -> None:
        caught.append(number)
        over.set()

    def wait_for_enter() -> None:
        sys.stdin.readline()
        over.set()

    for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGINT):
        signal.signal(number, stop)
    with focus_light(lamp, minutes * 60, hear):
        click.echo(f"LIGHT for {minutes:g} min at most. Enter: off")
        threading.Thread(target=wait_for_enter, daemon=True).start()
        over.wait()
    if lost:
        click.echo(f"Error: {lost[0]}.", err=True)
        return 1
    click.echo("Lamp off.")
    return 128 + caught[0] if caught else 0

"""``lamphouse lamp``: the lamp itself."""

import signal
import sys
import threading
from dataclasses import asdict
from typing import Any

import click

from timer.cli.options import Finite, json_option, lamp_option
from timer.cli.paper import refuse_with_paper_out
from timer.cli.show import echo_json


@click.group("lamp")
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
    """
    from timer.app.lamp import keeper_config
    from timer.documents.settings import load_settings
    from timer.keeper.host.darken import make_dark

    config = keeper_config(load_settings(), lamp=lamp)
    done = make_dark(config)
    dark = done.seen in ("low", "off", "gone")
    if as_json:
        echo_json({"lamp": config.lamp, "dark": dark, **asdict(done)})
    else:
        who = ", ".join(map(str, done.ended))
        ended = f" What held it is ended (process {who})." if done.ended else ""
        click.echo(f"{'Lamp off' if dark else 'LAMP NOT SEEN DARK'}: {done.says}.{ended}")
    return 0 if dark or not done.seen else 1


@command.command("status")
@lamp_option
@json_option
def status(lamp: str | None, as_json: bool) -> None:
    """Whether the lamp is lit and who holds it, what was given last, and what to know of this machine."""
    from timer.app.lamp import keeper_config
    from timer.documents.settings import calibrated, load_settings
    from timer.keeper.host.darken import look
    from timer.keeper.local.memory import memory_file, recollect
    from timer.keeper.runtime import runtime_dir

    settings = load_settings()
    config = keeper_config(settings, lamp=lamp)
    seen = look(config)
    memory = recollect(memory_file(runtime_dir(), config.lamp_key))
    last = max(memory.entries.values(), key=lambda e: e.begun_ns, default=None) if memory else None
    data: dict[str, Any] = {
        "lamp": config.lamp,
        "keeper": seen.keeper or None,
        "guard": seen.guard or None,
        "lit": seen.lit,
        "says": seen.says,
        "ceiling_s": settings.ceiling_s,
        "calibrated": calibrated(settings),
        "last": None,
    }
    if last:
        given = last.lamp_us(last.off_ns - last.on_ns) / 1e6 if last.off_ns else None
        data["last"] = {"ordered_s": last.ordered_us / 1e6, "given_s": given}
    if as_json:
        echo_json(data)
        return
    lit = {True: "LIT", False: "off", None: "not known whether lit"}[seen.lit]
    click.echo(f"lamp: {data['lamp']}, {lit} ({seen.says})")
    guard = f", guarded by process {seen.guard}" if seen.guard else ""
    click.echo(f"held by: {f'process {seen.keeper}{guard}' if seen.keeper else 'nobody'}")
    click.echo(f"longest light at once: {settings.ceiling_s:g} s")
    click.echo(f"lamp response: {'calibrated' if data['calibrated'] else 'not calibrated, taken as instant'}")
    if last:
        given = data["last"]["given_s"]
        click.echo(
            f"last exposure: {last.ordered_us / 1e6:.3f} s ordered, "
            + ("cut off" if given is None else f"{given:.3f} s given")
        )


@command.command("view")
@lamp_option
@click.option(
    "--minutes",
    type=Finite(min=0.02, max=10),
    default=5.0,
    show_default=True,
    help="Goes off by itself after so many minutes.",
)
def view(lamp: str | None, minutes: float) -> int:
    """Focus light: on until Enter, or until its time is up. Refused while paper is out."""
    from timer.app.lamp import keeper_config
    from timer.documents.settings import load_settings
    from timer.keeper.host.client import Heard, Lost
    from timer.keeper.host.open import open_keeper
    from timer.keeper.wire import messages

    over = threading.Event()
    caught: list[int] = []
    lost: list[str] = []

    def hear(event: Heard) -> None:
        match event:
            case Lost(text):
                lost.append(text)
                over.set()
            case messages.FocusLightChanged(0, _) | messages.Pedal(messages.Press.HOLD, _):
                over.set()
            case messages.FocusLightChanged(left_us, _) if left_us == 15_000_000:
                click.echo("15 seconds left.")

    def stop(number: int, _: Any) -> None:
        caught.append(number)
        over.set()

    def wait_for_enter() -> None:
        sys.stdin.readline()
        over.set()

    for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGINT):
        signal.signal(number, stop)
    config = keeper_config(load_settings(), lamp=lamp)
    refuse_with_paper_out(config)
    with open_keeper(config, hear) as keeper:
        keeper.focus_light(minutes * 60)
        click.echo(f"LIGHT for {minutes:g} min at most. Enter: off")
        threading.Thread(target=wait_for_enter, daemon=True).start()
        over.wait()
        if not lost:
            keeper.focus_light(0)
    if lost:
        click.echo(f"Error: {lost[0]}.", err=True)
        return 1
    click.echo("Lamp off.")
    return 128 + caught[0] if caught else 0

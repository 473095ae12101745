"""``lamphouse lamp``: the lamp itself."""

import signal
import sys
import threading
from typing import Any

import click

from timer.cli.options import Finite, json_option, lamp_option
from timer.cli.show import echo_json
from timer.errors import KeeperError
from timer.keeper.host.client import Lost, end_running_keeper, open_keeper, running_keeper
from timer.keeper.wire import messages
from timer.settings import calibrated, folder, keeper_config, load_settings


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
def off(lamp: str | None, as_json: bool) -> None:
    """Dark now, whatever is running; works with no Lamphouse running too."""
    state = folder("state")
    ended = end_running_keeper(state)
    if running_keeper(state):
        raise KeeperError(f"process {ended} still holds the lamp and cannot be ended: pull the lamp's plug")
    config = keeper_config(load_settings(), lamp=lamp)
    # A keeper drives its lamp off when it starts and when it ends: that is all that is wanted of this one.
    with open_keeper(config, lambda _: None) as keeper:
        keeper.halt()
    if as_json:
        echo_json({"lamp": config.lamp, "state": "off", "ended_keeper": ended})
    else:
        click.echo("Lamp off." + (f" The run that held it (process {ended}) is ended." if ended else ""))


@command.command("status")
@lamp_option
@json_option
def status(lamp: str | None, as_json: bool) -> None:
    """Who holds the lamp, what was given last, and what to know of this machine."""
    from timer.keeper.boards.gpio import outputs_outlive_process
    from timer.keeper.local.memory import memory_file, recall

    settings = load_settings()
    config = keeper_config(settings, lamp=lamp)
    state = folder("state")
    process = running_keeper(state)
    kept = recall(memory_file(state)).values()
    last = max(kept, key=lambda e: e.begun_ns, default=None)
    data: dict[str, Any] = {
        "lamp": config.lamp,
        "keeper": process,
        "lit": bool(process and last and last.on_ns and not last.off_ns),
        "ceiling_s": settings.ceiling_s,
        "calibrated": calibrated(settings),
        "outputs_outlive_process": outputs_outlive_process(),
        "last": None,
    }
    if last:
        given = last.lamp_us(last.off_ns - last.on_ns) / 1e6 if last.off_ns else None
        data["last"] = {"ordered_s": last.ordered_us / 1e6, "given_s": given}
    if as_json:
        echo_json(data)
        return
    click.echo(f"lamp: {data['lamp']}, {'LIT' if data['lit'] else 'off'}")
    click.echo(f"held by: {f'process {process}' if process else 'nobody'}")
    click.echo(f"longest light at once: {settings.ceiling_s:g} s")
    click.echo(f"lamp response: {'calibrated' if data['calibrated'] else 'not calibrated, taken as instant'}")
    if last:
        given = data["last"]["given_s"]
        click.echo(
            f"last exposure: {last.ordered_us / 1e6:.3f} s ordered, "
            + ("cut off" if given is None else f"{given:.3f} s given")
        )
    if data["outputs_outlive_process"]:
        click.echo("WARNING: GPIO outputs outlive a killed program here; add dtparam=strict_gpiod to config.txt")


@command.command("view")
@lamp_option
@click.option(
    "--minutes",
    type=Finite(min=0.02, max=10),
    default=5.0,
    show_default=True,
    help="Goes off by itself after this.",
)
def view(lamp: str | None, minutes: float) -> int:
    """Focus light: on until Enter, or until its time is up. No paper out!"""
    over = threading.Event()
    caught: list[int] = []

    def hear(event: messages.Event | Lost) -> None:
        match event:
            case messages.Viewing(0, _) | Lost() | messages.Pedal(messages.Press.HOLD, _):
                over.set()
            case messages.Viewing(left_us, _) if left_us == 15_000_000:
                click.echo("15 seconds left.")

    def stop(number: int, _: Any) -> None:
        caught.append(number)
        over.set()

    def wait_for_enter() -> None:
        sys.stdin.readline()
        over.set()

    for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGINT):
        signal.signal(number, stop)
    with open_keeper(keeper_config(load_settings(), lamp=lamp), hear) as keeper:
        keeper.view(minutes * 60)
        click.echo(f"LIGHT for {minutes:g} min at most. Enter: off")
        threading.Thread(target=wait_for_enter, daemon=True).start()
        over.wait()
        keeper.view(0)
    click.echo("Lamp off.")
    return 128 + caught[0] if caught else 0

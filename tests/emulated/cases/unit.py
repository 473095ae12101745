"""The service unit as ``lamphouse setup`` writes it, under a real systemd."""

from collections.abc import Iterable, Iterator

from tests.emulated.cases import attempt
from tests.emulated.guest_link import GuestError
from tests.emulated.rig import Rig
from tests.emulated.table import Row

SETTINGS = "/home/pi/.config/lamphouse/settings.toml"
FOCUS_LIGHT = "f"
DARKENED_BAR_MS = 10_000
"""After a kill of all its processes at once: until the program that ExecStopPost starts has run, on a slow board."""
STOPPED_BAR_MS = 3000
"""From ``systemctl stop``, a program of its own, to the dark."""
SHOW = "systemctl show lamphouse -p ActiveState,SubState,NRestarts,Result"


def unit(rig: Rig) -> Iterator[Row]:
    written = rig.guest.run("lamphouse setup --user pi --write")
    yield rig.row("setup writes", written.code == 0, written.last)
    found = rig.json("lamphouse setup --user pi --json")
    absent = [piece["name"] for piece in found["pieces"] if piece["state"] != "there"]
    yield rig.row("setup: each piece is in place", not absent, ", ".join(absent) or f"{len(found['pieces'])} pieces")
    pins = f"lamp = {rig.lamp}\nfootswitch = 0\n"
    rig.guest.do("put", path=SETTINGS, text=f'lamp = "gpio"\nspeech = false\n[pins]\n{pins}')
    rig.guest.run("chown -R pi /home/pi; systemd-tmpfiles --create lamphouse.conf; systemctl daemon-reload")
    yield from attempt(rig, "starts and stops", _starts_and_stops)
    yield from attempt(rig, "all of it killed, lit", _killed)
    yield from attempt(rig, "stopped while lit", _stopped)
    yield from attempt(rig, "main process stopped", _hangs)
    removed = rig.guest.run("systemctl stop lamphouse; lamphouse setup --user pi --remove")
    left = rig.json("lamphouse setup --user pi --json")
    there = [piece["name"] for piece in left["pieces"] if piece["state"] == "there"]
    yield rig.row("setup takes it back", removed.code == 0 and there in ([], ["settings"]), f"left: {there}")


def _start(rig: Rig) -> None:
    rig.guest.run("systemctl reset-failed lamphouse; systemctl start lamphouse", seconds=90)
    if not rig.wait_for_keeper(60):
        raise GuestError(f"the unit does not come up: {rig.guest.run(SHOW).text}{_journal(rig)}")


def _journal(rig: Rig) -> str:
    return rig.guest.run("cat /var/lib/lamphouse/keeper.log /home/pi/.local/state/lamphouse/keeper.log | tail -n 5").text


def _light(rig: Rig) -> float:
    """Press the focus light's key on the unit's own console."""
    rig.until(rig.now() + 3)  # until the page takes keys
    began = rig.now()
    rig.guest.do("type", tty="/dev/tty1", text=FOCUS_LIGHT)
    edge = rig.witness.wait(rig.lamp, True, began, 20)
    if not edge:
        raise GuestError("no light by the screen's key")
    return edge.at


def _starts_and_stops(rig: Rig) -> Iterable[Row]:
    before = len(rig.witness.edges(rig.lamp))
    _start(rig)
    rig.until(rig.now() + 5)
    state = rig.guest.run(SHOW).text
    running = "ActiveState=active" in state and "NRestarts=0" in state
    yield rig.row("starts, stays up", running, " ".join(state.split()))
    rig.guest.run("systemctl stop lamphouse", seconds=60)
    edges = len(rig.witness.edges(rig.lamp)) - before
    yield rig.row("start and stop: no edge of the lamp", edges == 0, f"{edges} edges")
    who = rig.who()
    yield rig.row("stopped: nobody is at the lamp", not who["keeper"] and not who["guard"], str(who))


def _killed(rig: Rig) -> Iterable[Row]:
    _start(rig)
    at = _light(rig)
    rig.until(at + 1)
    before = rig.now()
    rig.guest.run("systemctl kill -s KILL --kill-whom=all lamphouse")
    yield rig.row_ms("all of it killed, lit: dark by ExecStopPost", rig.dark_ms(before, 20), DARKENED_BAR_MS)
    rig.until(rig.now() + 12)
    lights = rig.lights(at)
    state = " ".join(rig.guest.run(SHOW).text.split())
    yield rig.row(
        "starts again, dark", len(lights) == 1 and "ActiveState=active" in state, f"{len(lights) - 1} lights; {state}"
    )


def _stopped(rig: Rig) -> Iterable[Row]:
    _start(rig)
    at = _light(rig)
    rig.until(at + 1)
    before = rig.now()
    rig.guest.run("systemctl stop lamphouse", seconds=60)
    yield rig.row_ms("stopped while lit", rig.dark_ms(before, 20), STOPPED_BAR_MS)


def _hangs(rig: Rig) -> Iterable[Row]:
    """Its keeper ends the light in a second; the watchdog ends the screen in ten more."""
    _start(rig)
    at = _light(rig)
    rig.until(at + 1)
    who = rig.who()
    hit = rig.hit([who["app"]], "STOP")
    yield rig.row_ms("screen STOP, lit", rig.dark_ms(hit, 3), 1000)
    rig.until(rig.now() + 25)
    state = " ".join(rig.guest.run(SHOW).text.split())
    again = rig.who()
    renewed = "ActiveState=active" in state and again["app"] not in (0, who["app"])
    yield rig.row("screen STOP: the watchdog starts it anew", renewed, state)

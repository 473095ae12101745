"""A run at the console: Enter or the footswitch is the press, space is dark now, q leaves.

For use with the lights on, or with the simulated lamp. With a terminal single keys act at once; with a pipe each
line is a press (or ``d`` for dark, ``q`` to leave), and its end leaves the run, dark.
"""

import os
import signal
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext, suppress
from pathlib import Path
from typing import Any

import click

from timer.app.cautions import within_limits
from timer.app.runs import Wanted, begin
from timer.cli.options import refuse_idle
from timer.cli.plain_stream import act
from timer.cli.show import echo_json, echo_plan, result_lines, run_json
from timer.craft.lamp_response import LampResponse
from timer.craft.stops import listed
from timer.documents.recipe import Recipe
from timer.plans.model import Plan
from timer.run import presses, states
from timer.run.cues import Cued
from timer.run.presses import Means, Presses
from timer.run.session import Result, Session

KEYS = "Enter or pedal: light   space: dark now   q: leave"


def carry_out_within_limits(plan: Plan, **options: Any) -> int:
    """``carry_out`` by the printer's own settings; LamphouseError if they do not allow the plan, shown or run."""
    return carry_out(within_limits(plan), **options)


def carry_out(
    plan: Plan,
    *,
    show: bool = False,
    as_json: bool = False,
    advance: str = "press",
    pause: float = 2.0,
    speed: float = 1.0,
    lamp: str | None = None,
    notebook_path: Path | None = None,
    recipe: str = "",
    made_for: Recipe | None = None,
    continues: int | None = None,
    lamp_response: LampResponse | None = None,
) -> int:
    """Show the plan, or run it; returns the exit code."""
    if advance != "auto":
        refuse_idle("--pause", "it is the dark before each exposure of --advance auto")
    if show:
        echo_plan(plan, as_json=as_json)
        return 0
    by_press = advance == "press"
    wanted = Wanted(
        plan, recipe, made_for, None if by_press else pause, speed, lamp, notebook_path, continues, lamp_response
    )
    screen = _Screen(sys.stderr if as_json else sys.stdout, speed)
    alone = not by_press and not sys.stdin.isatty()

    def shown(run: states.Run, what: states.Event | Cued) -> None:
        screen.show(run, what)
        if alone and run.state is states.State.PAUSED:
            session.leave("it went dark before its time, and nobody is at the keys to go on")

    with begin(wanted, shown) as (session, lies_out):
        screen.line("\n".join(["", plan.title, *plan.notes, ""]) + (KEYS if by_press else ""))
        result, caught = _run(session, keys=not alone)
    screen.end()
    if lies_out:
        click.echo("Paper is out as it was: say `lamphouse paper covered` when it is.", err=True)
    if as_json:
        echo_json(run_json(result))
    else:
        click.echo("\n".join(result_lines(result)))
    if result.state is not states.State.FINISHED:
        click.echo(f"Lamp off. `lamphouse resume {result.run}` gives the paper what it lacks.", err=True)
    return 128 + caught[0] if caught else 0 if result.state is states.State.FINISHED else 1


STOPPED_BY: dict[int, str] = {
    signal.SIGTERM: "stopped by the system (SIGTERM)",
    signal.SIGHUP: "stopped: its terminal was closed",
}


def _run(session: Session, *, keys: bool) -> tuple[Result, list[int]]:
    """Run ``session`` with the keyboard and the signals at it; the signals that came."""
    caught: list[int] = []

    def stop(number: int, _: Any) -> None:
        caught.append(number)
        session.leave(STOPPED_BY.get(number, "stopped by you"))

    signals = (signal.SIGTERM, signal.SIGHUP, signal.SIGINT)
    before = {number: signal.signal(number, stop) for number in signals}
    try:
        with _keyboard(session) if keys else nullcontext():
            return session.go(), caught
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


@contextmanager
def _keyboard(session: Session) -> Iterator[None]:
    """Keys to the session, on a thread; the terminal is put back as it was."""
    import select

    fd = sys.stdin.fileno()
    stop, stopped = os.pipe()

    def listen() -> None:
        read, live = Presses(), os.isatty(fd)
        while True:
            wait = None if read.due is None else max(0.0, read.due - time.monotonic())
            ready, _, _ = select.select([fd, stop], [], [], wait)
            if stop in ready:
                return
            if not ready:
                read, means = presses.passed(read, time.monotonic())
                if means is Means.PRESS:
                    session.press()
                continue
            data = os.read(fd, 1024)
            if not data:
                session.leave("the input ended")
                return
            for key in data.decode(errors="replace"):
                read = _key(session, key, read, live=live)

    with single_keys(fd):
        thread = threading.Thread(target=listen, name="keyboard", daemon=True)
        thread.start()
        try:
            yield
        finally:
            os.close(stopped)
            thread.join(1)
            os.close(stop)


def _key(session: Session, key: str, read: Presses, *, live: bool) -> Presses:
    """On a terminal Enter is a press when it is certainly no key that is held; of a pipe each line is one."""
    if key in "\r\n" and live:
        return presses.came(read, time.monotonic())[0]
    if key in "\r\n":
        session.press()
    elif key in " d":
        session.dark_now()
    elif key in "q\x1b":
        session.leave()
    return read


@contextmanager
def single_keys(fd: int) -> Iterator[None]:
    """Within it each key of terminal ``fd`` is read as it is pressed; a pipe or a file is left as it is.

    Also after Ctrl-Z and fg: the shell has put its own ways back meanwhile, in which Space is not read before Enter.
    """
    if not os.isatty(fd):
        yield
        return
    import termios
    import tty

    def again(*_: Any) -> None:
        with suppress(OSError, termios.error):
            if os.tcgetpgrp(fd) == os.getpgrp():  # one that goes on in the background would only be stopped again
                tty.setcbreak(fd)

    before = termios.tcgetattr(fd)
    tty.setcbreak(fd)
    continued = signal.signal(signal.SIGCONT, again)
    try:
        yield
    finally:
        signal.signal(signal.SIGCONT, continued)
        with suppress(termios.error):  # the terminal may be gone: then there is nothing to put back
            termios.tcsetattr(fd, termios.TCSADRAIN, before)


class _Screen:
    """Lines of what happens; on a terminal the seconds run in place."""

    def __init__(self, out: Any, speed: float) -> None:
        self._out, self._speed = out, speed
        self._live = out.isatty()
        self._stop: threading.Event | None = None
        self._lock = threading.Lock()
        self._said = ""

    def line(self, text: str) -> None:
        with self._lock, suppress(OSError, ValueError):
            if self._live:
                act(self._out, "\r\033[K")
            self._out.write(text + "\n")
            self._out.flush()

    def show(self, run: states.Run, what: states.Event | Cued) -> None:
        step = run.at
        match what:
            case states.Noted() if step:
                exposures = [n for n, each in enumerate(run.plan.steps) if each.do == "expose"]
                of = f"{exposures.index(run.step) + 1}/{len(exposures)}"
                self.line(f"[{of}] dark   {run.hands}")
                self.line(f"[{of}] ready  {listed(run.missing)} s on {step.area}")
            case states.Lit() if step:
                self.line(f"      LIGHT  {step.say}")
                self._count(run.missing)
            case states.Dark(given, complete, why):
                self._stop_count()
                self.line(f"      off    {given:.3f} s given" + ("" if complete else f" ({why})"))
            case Cued("warn", _, say):
                self.line(f"      soon   {say}")
            case Cued("change", at, say):
                self.line(f"      now    {say} ({listed(at)} s)")
            case states.Failed(text):
                self._stop_count()
                self.line(f"      FAULT  {text}")
        if run.state is states.State.PAUSED and self._said != "paused":
            self.line(f"      PAUSED dark; {listed(run.missing)} s missing. Enter or pedal: ready again")
        self._said = "paused" if run.state is states.State.PAUSED else ""

    def _count(self, seconds: float) -> None:
        if not self._live:
            return
        self._stop = threading.Event()
        threading.Thread(target=self._tick, args=(seconds, self._stop), daemon=True).start()

    def _tick(self, seconds: float, stop: threading.Event) -> None:
        began = time.monotonic()
        while not stop.wait(0.1):
            left = max(0.0, seconds - (time.monotonic() - began) * self._speed)
            done = round(30 * (1 - left / seconds))
            with self._lock, suppress(OSError, ValueError):
                act(self._out, "\r\033[K")
                self._out.write(f"      {left:6.1f} s  [{'#' * done}{'.' * (30 - done)}]")
                self._out.flush()

    def _stop_count(self) -> None:
        if self._stop:
            self._stop.set()
            self._stop = None

    def end(self) -> None:
        self._stop_count()
        self.line("")

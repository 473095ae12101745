"""Trains of keys and pedals on the running screen, and the light that they give: never two a press, and none without.

Enter and a footswitch that is a keyboard come as a terminal sends them, repeated while they are held; the lamp's own
footswitch is pressed down the simulated lamp's wire.
"""

import random
import time
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from textual.events import Key

from tests.tools.witness import Witness
from tests.tui.stage import press, stage, to_easel
from timer.app.strip_choice import StripChoice
from timer.run.session import HANDS_S

KINDS = ("tap", "doubled", "held", "pedal", "pedal bounced", "pedal held", "keyboard pedal", "keyboard pedal held", "both")
SLACK_S = 0.03


@dataclass
class Trains:
    """``presses`` that a finger or a foot made, and the ``lights`` that came of them."""

    presses: int = 0
    lights: int = 0
    faults: list[str] = field(default_factory=list)


def held(begin: float, seconds: float, delay: float = 0.5, every: float = 0.03) -> list[float]:
    """When a terminal sends a key that is held."""
    return [begin, *(begin + delay + n * every for n in range(int((seconds - delay) / every)))]


async def trains(home: Path, witness: Witness, chance: random.Random, count: int) -> Trains:
    """``count`` of them, on a strip of short exposures."""
    (home / "settings.toml").write_text('speech = false\npedal_key = "f9"\n')
    strip = StripChoice(seconds=chance.choice([0.1, 0.3, 0.6]), step=Fraction(1, 12), patches=9)
    async with stage(choice=strip) as (app, pilot):
        await to_easel(app, pilot)
        await press(app, pilot, "enter")
        downs: list[float] = []
        for _ in range(count):
            await pilot.pause(chance.choice([0.05, 0.4, 0.8, 1.3]))
            kind = chance.choice(KINDS)
            downs.append(time.monotonic())
            if kind.startswith("pedal") or kind == "both":
                for _ in range(3 if "bounced" in kind else 1):
                    witness.tell("P1")
                    await pilot.pause(0.6 if "held" in kind else 0.02)
                    witness.tell("P0")
            if not kind.startswith("pedal"):
                name = "f9" if kind.startswith("keyboard") else "enter"
                long, delay, every = chance.uniform(0.3, 0.75), chance.choice([0.25, 0.4, 0.66]), chance.choice([0.03, 0.09])
                times = held(0.0, long, delay, every) if "held" in kind else [0.0]
                for at in times + ([0.02] if kind == "doubled" else []):
                    while time.monotonic() < downs[-1] + at:
                        await pilot.pause(0.005)
                    key = Key(name, "\r" if name == "enter" else None)
                    key.time = downs[-1] + at
                    app.screen.post_message(key)
        await pilot.pause(0.9)
    lights = [edge.at_ns / 1e9 for edge in witness.edges if edge.on]
    dark = [edge.at_ns / 1e9 for edge in witness.edges if not edge.on]
    found = Trains(len(downs), len(lights))
    for n, at in enumerate(lights):
        since = lights[n - 1] if n else 0.0
        if not any(since < down <= at for down in downs):
            found.faults.append(f"light {n + 1} has no press of its own")
        if n and at - dark[n - 1] < HANDS_S - SLACK_S:
            found.faults.append(f"light {n + 1} came {at - dark[n - 1]:.3f} s after the last: the hands had no moment")
    return found

"""A second grey beside the one that is matched, in words: where two disagree in colour, that is said, not chased."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from timer.craft.crossover import Pair, left_over
from timer.craft.lights import COLOURS
from timer.craft.sensitometry import Paper
from timer.errors import Refused
from timer.measure.sheet import Aim

LEAST_CC, LEAST_DENSITY = 2.5, 0.05
"""Below these, and below twice its standard deviation, a difference is not said. A trace of a cast is 2.5 CC."""
_MORE, _LESS = ("cyan", "magenta", "yellow"), COLOURS
"""How a print looks with more density in red, green, blue, and with less."""


@dataclass(frozen=True)
class SecondGrey:
    """The grey at ``place`` when the first is matched: ``off`` its own aim in density (red, green, blue), ``darker`` their
    mean, ``cc`` of ``cast`` as a viewing filter shows it; both with twice their standard deviation."""

    place: str
    off: tuple[float, float, float]
    darker: float
    darker_error: float
    cc: float
    cc_error: float
    cast: str

    @property
    def crosses(self) -> bool:
        """Whether its colour disagrees with that of the grey that is matched."""
        return self.cc > max(LEAST_CC, self.cc_error)

    @property
    def other_contrast(self) -> bool:
        """Whether its density does."""
        return abs(self.darker) > max(LEAST_DENSITY, self.darker_error)


def second_grey(place: str, pairs: Sequence[Pair], aim: Aim, second_aim: Aim, paper: Paper) -> SecondGrey:
    """What the grey at ``place`` comes to, from ``pairs`` of readings on the same patches. Refused: an aim off the paper."""
    try:
        left = left_over(pairs, aim, second_aim, paper)
    except ValueError as error:
        raise Refused(f"the {place} grey: {error}") from None
    off, spread = left.off, left.covariance
    high, low = int(np.argmax(off)), int(np.argmin(off))
    between, mean = np.eye(3)[high] - np.eye(3)[low], np.full(3, 1 / 3)
    middle = float(off.mean())
    return SecondGrey(
        place,
        (float(off[0]), float(off[1]), float(off[2])),
        middle,
        2 * float(np.sqrt(mean @ spread @ mean)),
        100 * float(off[high] - off[low]),
        200 * float(np.sqrt(between @ spread @ between)),
        _MORE[high] if off[high] - middle >= middle - off[low] else _LESS[low],
    )


def second_grey_line(grey: SecondGrey) -> str:
    """One sentence."""
    name = f"the {grey.place} grey"
    colour = f"{grey.cc:.0f} CC {grey.cast} (± {max(1.0, grey.cc_error):.0f})"
    density = f"{abs(grey.darker):.2f} too {'dark' if grey.darker > 0 else 'light'} (± {max(0.01, grey.darker_error):.2f})"
    if grey.crosses and grey.other_contrast:
        return f"{name} stays {colour} and {density}: crossover, and another contrast; filters mend neither"
    if grey.crosses:
        return f"{name} stays {colour}: crossover; filters cannot mend it without spoiling the grey that is matched"
    if grey.other_contrast:
        return f"{name} keeps its colour and stays {density}: the paper's contrast, which no filter changes"
    return f"{name} comes right with it: no crossover of more than {max(1.0, grey.cc, grey.cc_error):.0f} CC"


def second_grey_json(grey: SecondGrey) -> dict[str, Any]:
    """For ``--json``: densities, and CC as a viewing filter shows them."""
    return {
        "place": grey.place,
        "off": [round(d, 4) for d in grey.off],
        "density": {"off": round(grey.darker, 4), "within": round(grey.darker_error, 4)},
        "cast": {"name": grey.cast, "cc": round(grey.cc, 2), "within": round(grey.cc_error, 2)},
        "crossover": grey.crosses,
        "says": second_grey_line(grey),
    }

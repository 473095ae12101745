"""A hidden darkroom for tests of the solver: none of its family. Invented by us, no paper of any maker.

The curve is Gompertz's (its toe is short and its shoulder long), every layer with its own slope and reach; dyes absorb in
their neighbours' bands; the head leaks; every sheet has baths of its own.
"""

import random
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass
class Darkroom:
    """``chance`` decides all of it; ``process`` and ``drift``: log10 exposure, standard deviation, of a sheet and of the
    lamp from sheet to sheet."""

    chance: random.Random
    process: float = 0.0075
    drift: float = 0.003
    head: Array = field(init=False)
    a: Array = field(init=False)

    def __post_init__(self) -> None:
        pick = self.chance
        self.head = np.asarray(
            [[pick.gauss(0.95, 0.12) if j == k else abs(pick.gauss(0.06, 0.05)) for k in range(3)] for j in range(3)]
        )
        self.slope = np.asarray([pick.gauss(2.6, 0.25) for _ in range(3)])
        self.reach = np.asarray([pick.gauss(2.15, 0.1) for _ in range(3)])
        self.white = np.asarray([pick.gauss(0.10, 0.015) for _ in range(3)])
        self.dyes = np.asarray([[1.0 if j == k else abs(pick.gauss(0.06, 0.04)) for k in range(3)] for j in range(3)])
        self.lamp = 0.0
        # right for a grey of 0.74 at 10 s with some pack near 55M 50Y, off by up to a stop and 15 CC
        right = np.asarray([0.0, max(0.05, pick.gauss(0.55, 0.15)), max(0.05, pick.gauss(0.50, 0.15))])
        time = 10 * 2 ** pick.uniform(-1.0, 1.0)
        self.a = self._exposures_of(np.full(3, 0.74)) - np.log10(time) + self.head @ right

    def _curve(self, x: Array) -> Array:
        # Gompertz: reach exp(-exp(-c x)); steepest c reach / e
        return np.asarray(self.reach * np.exp(-np.exp(-np.clip(self.slope * np.e / self.reach * x, -40, 40))))

    def _exposures_of(self, density: Array) -> Array:
        share = np.linalg.solve(self.dyes.T, density - self.white) / self.reach
        return np.asarray(-np.log(-np.log(np.clip(share, 0.001, 0.999))) * self.reach / (self.slope * np.e))

    def sheet(self, settings: list[tuple[float, tuple[float, float, float]]]) -> Array:
        """True densities of the patches of one sheet."""
        self.lamp += self.chance.gauss(0, self.drift)
        bath = np.asarray([self.chance.gauss(0, self.process) for _ in range(3)])
        return self.still(settings, bath + self.lamp)

    def still(self, settings: list[tuple[float, tuple[float, float, float]]], shift: Array | float = 0.0) -> Array:
        """The same without baths and lamp."""
        time = np.log10([s for s, _ in settings])[:, None]
        x = self.a + time - np.asarray([u for _, u in settings]) @ self.head.T + shift
        return np.asarray(self.white + self._curve(x) @ self.dyes)

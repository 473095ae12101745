"""The built-in scene: what it is meant to show is there, at any size."""

import numpy as np
import pytest

from timer.bench.scene import LAMP, WINDOW, scene


@pytest.mark.parametrize("size", [(2, 2), (40, 32), (125, 100), (640, 512)])
def test_luminances_of_any_size(size: tuple[int, int]) -> None:
    made = scene(*size)
    assert made.shape == (size[1], size[0], 3)
    assert made.min() >= 0.01 and made.max() <= 1.0


def test_the_window_and_the_lamp_are_bright_the_coat_is_dark_and_the_steps_fall_into_shade() -> None:
    made = scene(500, 400).mean(axis=-1)

    def at(x: float, y: float, size: float = 0.01) -> float:
        part = made[round((y - size) * 400) : round((y + size) * 400), round((x - size) * 500) : round((x + size) * 500)]
        return float(part.mean())

    pane = at(WINDOW[0] + 0.06, WINDOW[1] + 0.05)
    wall, coat = at(0.33, 0.5), at(0.15, 0.6)
    assert at(LAMP[0], LAMP[1] + 0.012, 0.005) > pane > 3 * wall > 12 * coat
    low, high = at(0.9, 0.88), at(0.98, 0.45)
    assert low > high
    folds = made[220:300, 60:120]
    assert 1.2 < np.percentile(folds, 90) / np.percentile(folds, 10) < 5  # something left in the coat, and little

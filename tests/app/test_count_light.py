"""The light sensor's counts for a second of full light, from a lamp that is cold or warm, and a controller that says so."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from timer.app import lamp_now
from timer.app.lamp import keeper_config
from timer.app.lamp_now import count_light
from timer.craft.lamp_response import LampResponse, full_light
from timer.documents.settings import Settings
from timer.errors import Refused
from timer.keeper.local.warmth import cut_us
from timer.keeper.wire.messages import Dark, EndReason

COUNTS_PER_S = 5000.0
LAMP = LampResponse(0.060, 0.100, 0.240, 2.2)


class Controller:
    """With a filament under its sensor that went off ``rested`` seconds ago, after a long light."""

    def __init__(self, rested: float | None, why: EndReason, hear: Callable[[object], None]) -> None:
        self.rested, self.why, self.hear = rested, why, hear

    def expose(self, exposure: int, on_us: int, *, now: bool, less_us: int, recovery_us: int) -> None:
        assert now
        rested_us = None if self.rested is None else round(self.rested * 1e6)
        on_us -= cut_us(less_us, recovery_us, rested_us, 10_000_000, 0)
        light = full_light(on_us / 1e6, LAMP, *(() if self.rested is None else (self.rested,)))
        off_us = on_us if self.why is EndReason.COMPLETE else 3_000_000
        self.hear(Dark(exposure, on_us, 0, off_us, self.why, round(light * COUNTS_PER_S)))


@pytest.fixture
def counted(home: object, monkeypatch: pytest.MonkeyPatch) -> Callable[..., int]:
    def count(rested: float | None, known: LampResponse, why: EndReason = EndReason.COMPLETE) -> int:
        @contextmanager
        def opened(config: Any, hear: Callable[[object], None]) -> Iterator[Controller]:
            yield Controller(rested, why, hear)

        monkeypatch.setattr(lamp_now, "open_keeper", opened)
        return count_light(keeper_config(Settings(), lamp="controller"), 10.0, known)

    return count


@pytest.mark.parametrize("rested", [None, 0.5, 1.0, 4.0, 30.0])
def test_cold_or_warm_it_is_the_same(counted: Callable[..., int], rested: float | None) -> None:
    assert counted(rested, LAMP) == pytest.approx(10 * COUNTS_PER_S, abs=2)


def test_a_warm_lamp_that_is_taken_for_a_cold_one(counted: Callable[..., int]) -> None:
    """A second after it went off it needs 240 exp(-1 / 2.2) / sqrt(1 + 64 / 2.2) = 27.77 ms less: 139 counts too many."""
    assert counted(1.0, LampResponse(0.060, 0.100)) == pytest.approx(10 * COUNTS_PER_S + 138.8, abs=2)


def test_a_light_that_was_cut_short_counts_for_nothing(counted: Callable[..., int]) -> None:
    with pytest.raises(Refused, match=r"^the light was cut short after 3\.0 s of 10\.2 s: measure once more$"):
        counted(None, LAMP, EndReason.PEDAL)

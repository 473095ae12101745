"""The exposures of one run: the one at hand, what is certain of its light, and what the notebook is told of each."""

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from timer.craft.lamp_response import LampResponse, Order, order
from timer.notebook.light import Light
from timer.notebook.rows import ExposureRow, new_row
from timer.notebook.store import Notebook
from timer.notebook.writer import Writer

PROGRESS_S = 0.25
"""How often what is certain goes to disk while it is lit, for the case that the power goes."""


@dataclass(frozen=True)
class AtHand:
    """The exposure at hand: its row, the step's light before it, and when it was lit by the keeper's clock and ours."""

    row: ExposureRow
    asked: Order
    skip: float
    lit_us: int = 0
    lit_at: float = 0.0
    settled: bool = False
    dropped: bool = False  # by the keeper itself, without light

    def is_over_at(self, speed_permille: int, *, by_light: bool) -> float:
        """When, by time.monotonic, it must be dark: by light it may take twice the time and a second."""
        longest_us = 2 * self.row.ordered_us + 1_000_000 if by_light else self.row.ordered_us
        return self.lit_at + longest_us / 1000 / speed_permille


class Exposures:
    """Of the session's own thread alone; all writing is the writer's. ``made`` has every exposure as it is known."""

    def __init__(self, notebook: Notebook, writer: Writer, response: LampResponse) -> None:
        self._notebook, self._writer, self._response = notebook, writer, response
        self._progress_at = 0.0
        self.at_hand: AtHand | None = None
        self.made: dict[int, ExposureRow] = {}

    @property
    def row(self) -> ExposureRow:
        """The exposure at hand as it is known; there must be one."""
        assert self.at_hand
        return self.made[self.at_hand.row.number]

    @property
    def is_open(self) -> bool:
        """Whether there is one at hand whose light is not booked yet."""
        return self.at_hand is not None and not self.at_hand.settled

    def is_ours(self, name: int) -> bool:
        """Whether exposure ``name`` of the keeper's words is the one at hand."""
        return self.at_hand is not None and name == self.at_hand.row.name

    def intend(
        self, run: int, number: int, step: int, area: str, seconds: float, given: float, stored: Callable[[], None]
    ) -> None:
        """The next exposure: ``seconds`` of full light for ``step``, which has had ``given``.

        ``stored`` is called on the writer's thread, once it is on disk.
        """
        asked = order(seconds, self._response)
        row = new_row(run, number, step, area, seconds, asked.on_us)
        self.at_hand = AtHand(row, asked, given)
        self.made[number] = row
        self._writer.submit(lambda: self._notebook.intend(row), stored)

    def lit(self, at_us: int) -> None:
        """It is lit, since ``at_us`` of the keeper's clock."""
        assert self.at_hand
        self.at_hand = replace(self.at_hand, lit_us=at_us, lit_at=time.monotonic())
        self.seen(0)

    def dropped(self) -> None:
        """The keeper has disarmed it, without light."""
        assert self.at_hand
        self.at_hand = replace(self.at_hand, dropped=True)

    def seen(self, seen_us: int) -> None:
        """So much light there was, whatever comes; written a few times a second at most."""
        run, number = self.row.run, self.row.number
        if seen_us and time.monotonic() - self._progress_at < PROGRESS_S * 0.9:
            return
        self._progress_at = time.monotonic()
        self.made[number] = replace(self.made[number], lit=True, seen_us=max(seen_us, self.made[number].seen_us))
        self._writer.submit(lambda: self._notebook.progress(run, number, seen_us))

    def book(self, light: Light, dose_s: float | None = None) -> None:
        """What became of it; it is settled then."""
        assert self.at_hand
        run, number = self.at_hand.row.run, self.at_hand.row.number
        self.at_hand = replace(self.at_hand, settled=True)
        self.made[number] = replace(
            self.made[number],
            lit=self.made[number].lit or light.low_us > 0,
            low_us=light.low_us,
            high_us=light.high_us,
            why=light.why,
            dose_s=dose_s,
            cut_us=light.cut_us,
        )
        self._writer.submit(
            lambda: self._notebook.fact(run, number, light.low_us, light.high_us, light.why, dose_s, light.cut_us),
            final=True,
        )

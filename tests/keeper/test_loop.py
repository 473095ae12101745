"""The keeper's loop, with a board and rules that note what they are told, in order."""

import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack
from types import SimpleNamespace
from typing import Any, cast

import pytest

from timer.keeper.local.process import _loop
from timer.keeper.wire.messages import EndReason


class Held:
    """Rules that have something due, and a board whose footswitch has moved twice since it was last looked at."""

    def __init__(self, clock: int) -> None:
        self.told: list[object] = []
        self._edges = [(True, clock - 5_000_000), (False, clock - 4_800_000)]
        self._due: int | None = clock - 1

    def edge_due_ns(self) -> None:
        return None

    def next_due_ns(self) -> int | None:
        return self._due

    def due(self) -> None:
        self.told.append("due")
        self._due = None

    def pedal(self, down: bool, at_ns: int) -> None:
        self.told.append(down)

    def inputs(self) -> list[Any]:
        return []

    def pedal_edges(self) -> list[tuple[bool, int]]:
        edges, self._edges = self._edges, []
        return edges


@pytest.fixture
def sockets() -> Iterator[list[tuple[socket.socket, socket.socket]]]:
    with ExitStack() as held:
        pairs = [socket.socketpair() for _ in range(4)]
        for pair in pairs:
            for each in pair:
                held.enter_context(each)
        yield pairs


def test_a_keeper_that_was_held_up_reads_the_foot_before_time_judges_it(
    sockets: list[tuple[socket.socket, socket.socket]],
) -> None:
    """A closure of 0.2 ms is over, but not yet read, when its millisecond is due: it must not become a press."""
    held = Held(time.monotonic_ns())
    (link, _), (wake, waker), (claimed, _), (guarded, _) = sockets
    waker.send(b"!")
    why = _loop(
        cast(Any, held), link, {wake: EndReason.SIGNAL}, cast(Any, held), cast(Any, SimpleNamespace(socket=claimed)), guarded
    )
    assert why is EndReason.SIGNAL
    assert held.told == [True, False, "due"]

"""A live simulated controller, the client on it, what it said and what its pins did."""

import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from tests.hil.sim import SimulatedController
from tests.tools.witness import Witness
from timer.keeper.config import Config
from timer.keeper.host.client import Heard, Keeper
from timer.keeper.host.controller import connect
from timer.keeper.wire import messages

H = TypeVar("H")


class Bench:
    """``speed``: of the board over real time; ``light``: what its sensor sees after the lamp went on (board.c)."""

    def __init__(self, folder: Path, *, speed: float = 1.0, light: Path | None = None) -> None:
        folder.mkdir(exist_ok=True)
        self.folder = folder
        self.witness = Witness(folder / "w")
        self.board = SimulatedController(self.witness.path, speed=speed, light=light)
        self.heard: list[Heard] = []

    @property
    def config(self) -> Config:
        return Config(str(self.folder), lamp="controller", port=self.board.port)

    def connect(self) -> Keeper:
        return connect(self.config, self.heard.append)

    def until(
        self, kind: type[H] | tuple[type[H], ...], which: Callable[[H], bool] = lambda _: True, seconds: float = 10
    ) -> H:
        """The first that was heard of ``kind``, once it has been."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            for event in [*self.heard]:
                if isinstance(event, kind) and which(event):
                    return event
            time.sleep(0.005)
        raise AssertionError(f"never heard {kind}: {self.heard}")

    def dark(self, name: int, seconds: float = 10) -> messages.Dark:
        return self.until(messages.Dark, lambda dark: dark.exposure == name, seconds)

    def now_ns(self) -> int:
        """The board's time."""
        told = len(self.witness.other)
        self.witness.tell("Q")
        with self.witness.changed:
            assert self.witness.changed.wait_for(lambda: any(o.startswith("now") for o in self.witness.other[told:]), 5)
        return int(next(o for o in reversed(self.witness.other) if o.startswith("now")).split()[1])

    def close(self) -> None:
        self.board.close()
        self.witness.close()

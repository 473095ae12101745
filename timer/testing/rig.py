"""A keeper that runs on a board, for the suite in ``conformance``."""

import time

from timer.keeper.config import Config
from timer.keeper.host.client import Heard, Keeper
from timer.keeper.host.open import open_keeper
from timer.keeper.local.memory import Remembered, memory_file, recollect
from timer.keeper.runtime import runtime_dir
from timer.testing.conformance import Seen


class RunningKeeper:
    """A ``Rig``: the keeper of ``config``, begun at once, and ``witness``, which sees its lamp."""

    def __init__(self, config: Config, witness: Seen) -> None:
        self.config, self.witness = config, witness
        self.heard: list[Heard] = []
        self.keeper: Keeper = open_keeper(config, self.heard.append)

    def heard_of(self, kind: type, seconds: float = 5.0) -> list[Heard]:
        """All of ``kind`` that was heard, once there is one."""
        end = time.monotonic() + seconds
        while not (found := [e for e in self.heard if isinstance(e, kind)]) and time.monotonic() < end:
            time.sleep(0.002)
        return found

    def given_us(self, name: int) -> int:
        """What the keeper remembers of an exposure after the host has gone."""
        kept = self.remembered(name)
        return (kept.off_ns - kept.on_ns) // 1000

    def remembered(self, name: int) -> Remembered:
        """What the memory's file has of exposure ``name``; KeyError when that is nothing."""
        memory = recollect(memory_file(runtime_dir(), self.config.lamp_key))
        assert memory
        return memory.entries[name]

    def close(self) -> None:
        """The keeper is ended; ``witness`` is the caller's to close."""
        self.keeper.close()

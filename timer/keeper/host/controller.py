"""A keeper on a serial line: greeted, and held by one program at a time."""

import os
import time
from contextlib import suppress

from timer.errors import KeeperError
from timer.keeper.claim import Claim, holder_of
from timer.keeper.config import Config
from timer.keeper.host.client import Keeper, Listener
from timer.keeper.host.serial_port import SerialLink, only_port
from timer.keeper.local.memory import KEEPER_ALIVE, SHINES, Memory, memory_file
from timer.keeper.runtime import runtime_dir

CONTROLLER_VERSION = 2


def connect(config: Config, listen: Listener) -> Keeper:
    """Greet the controller that ``config`` names; KeeperError in one sentence when that fails."""
    port = config.port or only_port()
    try:
        claim = Claim(config.lamp_key)
    except OSError:
        holder = holder_of(config.lamp_key)
        who = f" (process {holder.process})" if holder else ""
        raise KeeperError(f"{port} is in use by another Lamphouse{who}; end that one, or `lamphouse lamp off`") from None
    try:
        link = SerialLink(port)
    except (OSError, ValueError) as error:
        claim.close()
        number = getattr(error, "errno", None)  # pyserial's own words have the port's name in them twice more
        raise KeeperError(f"{port}: cannot be opened: {os.strerror(number) if number else error}") from None
    keeper = Keeper(link, listen, ControllerEnding(claim, config))
    if keeper.hello.version != CONTROLLER_VERSION:
        keeper.close()
        raise KeeperError(
            f"{port}: the controller's firmware is version {keeper.hello.version} and {CONTROLLER_VERSION} is wanted; "
            "`make flash` in hardware/controller puts the right one on it"
        )
    return keeper


class ControllerEnding:
    """It is no process of ours: it goes dark by itself when it hears nothing. What it says is noted for `lamp status`."""

    def __init__(self, claim: Claim, config: Config) -> None:
        self._claim = claim
        self._memory = Memory(memory_file(runtime_dir(), config.lamp_key))
        self._memory.take()

    def beat(self, lit: bool) -> None:
        words = self._memory.words
        words[SHINES], words[KEEPER_ALIVE] = lit, time.monotonic_ns()

    def lost(self) -> str:
        return "the controller is not heard any more; it goes dark by itself within a second and remembers the light"

    def close(self) -> None:
        self._claim.close()
        with suppress(ValueError):  # closed before
            self._memory.words[SHINES] = 0
            self._memory.close()

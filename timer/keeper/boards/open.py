"""Which board a configuration names: ours by name, others by the entry points of ``lamphouse.boards``.

What is imported within a function is for the start-up time: a keeper loads the one board that it drives.
"""

import os
from collections.abc import Callable
from typing import TYPE_CHECKING

from timer.errors import KeeperError
from timer.keeper.boards.protocol import Board
from timer.keeper.config import Config

if TYPE_CHECKING:
    from importlib.metadata import EntryPoints

OWN_LAMPS = ("simulated", "gpio", "controller")
GROUP = "lamphouse.boards"
"""The entry points by which another package brings a board: a function of a Config that gives a Board, dark."""


def open_board(config: Config) -> Board:
    """The board that ``config.lamp`` names, dark. KeeperError in one sentence when it cannot be opened."""
    own: dict[str, Callable[[Config], Board]] = {"simulated": _simulated, "gpio": _gpio}
    if config.lamp in own:
        return own[config.lamp](config)
    for entry in _others():
        if entry.name == config.lamp:
            board: Board = entry.load()(config)
            return board
    raise KeeperError(f"there is no lamp {config.lamp!r}; there are {', '.join(lamps())}")


def lamps() -> list[str]:
    """The names that ``lamp`` may have in the settings: ours, and those of packages that are installed beside us."""
    return [*OWN_LAMPS, *sorted({entry.name for entry in _others()} - {*OWN_LAMPS})]


def _others() -> "EntryPoints":
    from importlib.metadata import entry_points  # 50 ms to import, and our own boards do without

    return entry_points(group=GROUP)


def _simulated(config: Config) -> Board:
    from timer.keeper.boards.simulated import SimulatedBoard

    return SimulatedBoard(config.wire, config.bulb, config.speed_permille)


def _gpio(config: Config) -> Board:
    """The kernel's own lines, unless a gpiozero pin factory is named on purpose."""
    if os.environ.get("GPIOZERO_PIN_FACTORY"):
        from timer.keeper.boards.gpio_factory import FactoryBoard

        return FactoryBoard(config)
    from timer.keeper.boards.gpio_lines import LinesBoard

    return LinesBoard(config)

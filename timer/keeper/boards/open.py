"""Which board a configuration names: ours by name, others by the entry points of ``lamphouse.boards``."""

import os
from collections.abc import Callable
from importlib.metadata import entry_points

from timer.errors import KeeperError
from timer.keeper.boards.protocol import Board
from timer.keeper.config import Config


def open_board(config: Config) -> Board:
    """The board that ``config.lamp`` names, dark. KeeperError in one sentence when it cannot be opened."""
    own: dict[str, Callable[[Config], Board]] = {"simulated": _simulated, "gpio": _gpio}
    if config.lamp in own:
        return own[config.lamp](config)
    for entry in entry_points(group="lamphouse.boards"):
        if entry.name == config.lamp:
            board: Board = entry.load()(config)
            return board
    raise KeeperError(f"there is no lamp {config.lamp!r}; there are {', '.join([*own, 'controller'])}")


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

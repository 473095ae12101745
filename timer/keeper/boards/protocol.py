"""What a board is, and where boards are found: ours by name, others by the entry points of ``lamphouse.boards``."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.metadata import entry_points
from typing import Any, Protocol

from timer.errors import KeeperError
from timer.keeper.config import Config


@dataclass(frozen=True)
class Line:
    """A line of a GPIO chip by its character device, so that a guard can take it when its owner is gone."""

    chip: str
    offset: int


class Board(Protocol):
    """The lamp and what is around it. All methods are called on one thread and come back at once."""

    pedal_down: bool
    """Whether the footswitch was closed when the board was opened."""
    line: Line | None
    """Where the lamp is, if a guard can drive it by itself; else it ends the keeper, and the lamp with it."""

    def lamp(self, on: bool) -> int:
        """Switch the lamp; the ns of the monotonic clock when the line had changed."""

    def safelight(self, on: bool) -> None: ...

    def sound(self, cue: int) -> None:
        """Start the sound of ``cue`` (messages.Cue)."""

    def inputs(self) -> Sequence[Any]:
        """What to wait for: files that become readable when ``serve`` has something to do."""

    def pedal_edges(self) -> list[tuple[bool, int]]:
        """Edges of the footswitch since the last call, in order: closed or open, and when (ns)."""

    def close(self) -> None:
        """Lamp off, lines let go. May be called twice."""


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
    import os

    if os.environ.get("GPIOZERO_PIN_FACTORY"):
        from timer.keeper.boards.gpio_factory import FactoryBoard

        return FactoryBoard(config)
    from timer.keeper.boards.gpio_lines import LinesBoard

    return LinesBoard(config)

"""What a keeper says while no run is on, as the screen and the commands take it: pedal, focus light, and that it is lost."""

from dataclasses import dataclass

from timer.keeper.host.client import Heard, Lost
from timer.keeper.wire import messages


@dataclass(frozen=True)
class FootPressed:
    """The keeper's own footswitch went down."""


@dataclass(frozen=True)
class FootHeld:
    """It was held for the set time."""


@dataclass(frozen=True)
class FocusLightLeft:
    """The focus light is on for ``seconds`` more."""

    seconds: float


@dataclass(frozen=True)
class FocusLightOver:
    """The focus light is off."""


@dataclass(frozen=True)
class KeeperLost:
    """There is no keeper any more, or one that gives no light; ``text`` says it to the printer."""

    text: str


Between = FootPressed | FootHeld | FocusLightLeft | FocusLightOver | KeeperLost


def between(event: Heard) -> Between | None:
    """What ``event`` is to whoever runs nothing; None for what concerns a run alone."""
    match event:
        case messages.Pedal(messages.Press.DOWN, _):
            return FootPressed()
        case messages.Pedal(messages.Press.HOLD, _):
            return FootHeld()
        case messages.FocusLightChanged(0, _):
            return FocusLightOver()
        case messages.FocusLightChanged(left_us, _):
            return FocusLightLeft(left_us / 1e6)
        case Lost(text) | messages.Fault(text=text):
            return KeeperLost(text)
    return None

"""The focus light, as far as the screen knows: it ends by itself, and the keeper says when."""

import time

from timer.app.darkroom import Darkroom


class FocusLight:
    """``left`` is 0 when it is off. Times are seconds."""

    def __init__(self, darkroom: Darkroom) -> None:
        self._darkroom = darkroom
        self._until = 0.0

    @property
    def on(self) -> bool:
        """Whether it was begun, and nothing has said since that it is over."""
        return bool(self._until)

    @property
    def left(self) -> float:
        """How long it is still on, by the time it was given."""
        return max(0.0, self._until - time.monotonic())

    def begin(self) -> None:
        """On, for as long as the settings say; LamphouseError when the lamp cannot be had."""
        seconds = self._darkroom.settings.focus_minutes * 60
        self._darkroom.focus(seconds)
        self._until = time.monotonic() + seconds

    def end(self) -> None:
        """Off; LamphouseError when that is not certain."""
        self._darkroom.focus(0)
        self.over()

    def over(self) -> None:
        """It is off already: by its own end, by a dark now, or with its keeper."""
        self._until = 0.0

    def has(self, left_s: float) -> None:
        """The keeper's word on how long it is still on."""
        self._until = time.monotonic() + left_s

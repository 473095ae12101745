"""The command line on a link that loses and doubles frames, by chance and either way, whatever the lamp.

    python -m tests.tools.lossy_frames SEED LOST DOUBLED strip --from 1 ...

LOST and DOUBLED are shares of all frames. A frame that is damaged on the way is a lost one: its check says so.
"""

import random
import sys
from unittest.mock import patch

from timer.cli import main
from timer.keeper.host import controller, local
from timer.keeper.host.client import Ending, Keeper, Link, Listener
from timer.keeper.wire.frames import Decoder, encode

NOTHING = b"\0"
"""An empty answer would mean the end of the link; a zero stands between frames."""


class LossyFrames:
    """``link``, but of the frames that pass it a share is ``lost`` and a share is ``doubled``."""

    def __init__(self, link: Link, chance: random.Random, lost: float, doubled: float) -> None:
        self._link, self._chance, self._lost, self._doubled = link, chance, lost, doubled
        self._decoder = Decoder()

    def _passed(self, frame: bytes) -> bytes:
        fate = self._chance.random()
        return b"" if fate < self._lost else frame * 2 if fate < self._lost + self._doubled else frame

    def fileno(self) -> int:
        return self._link.fileno()

    def recv(self, most: int, /) -> bytes:
        data = self._link.recv(most)
        passed = b"".join(self._passed(encode(frame)) for frame in self._decoder.feed(data))
        return passed or (NOTHING if data else b"")

    def sendall(self, data: bytes, /) -> None:
        """One frame, as the client sends them."""
        if passed := self._passed(data):
            self._link.sendall(passed)

    def shutdown(self, how: int, /) -> None:
        self._link.shutdown(how)

    def close(self) -> None:
        self._link.close()


def _run() -> None:
    seed, lost, doubled, *sys.argv[1:] = sys.argv[1:]
    chance = random.Random(seed)

    def spoilt(link: Link, listen: Listener, ending: Ending) -> Keeper:
        return Keeper(LossyFrames(link, chance, float(lost), float(doubled)), listen, ending)

    with patch.object(local, "Keeper", spoilt), patch.object(controller, "Keeper", spoilt):
        main()


if __name__ == "__main__":
    _run()

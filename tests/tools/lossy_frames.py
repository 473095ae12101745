"""The command line on a link that loses and doubles frames, by chance and either way, whatever the lamp.

    python -m tests.tools.lossy_frames SEED LOST DOUBLED strip --from 1 ...

LOST and DOUBLED are shares of all frames. A frame that is damaged on the way is a lost one: its check says so.
"""

import random
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from unittest.mock import patch

from timer.cli import main
from timer.keeper.host import controller, local
from timer.keeper.host.client import Ending, Keeper, Link, Listener
from timer.keeper.wire.frames import Decoder, Frame, encode

NOTHING = b"\0"
"""An empty answer would mean the end of the link; a zero stands between frames."""
Copies = Callable[[Frame], int]
"""How often a frame arrives: 0 is lost, 2 is doubled."""


class FaultyLink:
    """``link``, but each frame that passes it, either way, arrives so often as ``copies`` says."""

    def __init__(self, link: Link, copies: Copies) -> None:
        self._link, self._copies = link, copies
        self._in, self._out = Decoder(), Decoder()

    def _passed(self, decoder: Decoder, data: bytes) -> bytes:
        return b"".join(encode(frame) * self._copies(frame) for frame in decoder.feed(data))

    def fileno(self) -> int:
        return self._link.fileno()

    def recv(self, most: int, /) -> bytes:
        data = self._link.recv(most)
        return self._passed(self._in, data) or (NOTHING if data else b"")

    def sendall(self, data: bytes, /) -> None:
        if passed := self._passed(self._out, data):
            self._link.sendall(passed)

    def shutdown(self, how: int, /) -> None:
        self._link.shutdown(how)

    def close(self) -> None:
        self._link.close()


@contextmanager
def faulty(copies: Copies) -> Iterator[None]:
    """Every keeper that is opened meanwhile is at the other end of such a link."""

    def spoilt(link: Link, listen: Listener, ending: Ending) -> Keeper:
        return Keeper(FaultyLink(link, copies), listen, ending)

    with patch.object(local, "Keeper", spoilt), patch.object(controller, "Keeper", spoilt):
        yield


def _run() -> None:
    seed, lost, doubled, *sys.argv[1:] = sys.argv[1:]
    chance = random.Random(seed)

    def copies(_: Frame) -> int:
        fate = chance.random()
        return 0 if fate < float(lost) else 2 if fate < float(lost) + float(doubled) else 1

    with faulty(copies):
        main()


if __name__ == "__main__":
    _run()

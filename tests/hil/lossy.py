"""A serial line that drops, flips, splits and repeats, by chance."""

import random

from timer.keeper.host.serial_port import SerialLink

FRAME_BYTES = 40


class LossyLink(SerialLink):
    def __init__(self, port: str, chance: random.Random, rate: float) -> None:
        super().__init__(port)
        self._chance, self._rate = chance, rate
        self.noise = 0

    def _spoilt(self, data: bytes) -> bytes:
        # By the byte, not by the piece: a busy machine reads in crumbs, and the line is no worse for that.
        if self._chance.random() > self._rate * len(data) / FRAME_BYTES:
            return data
        self.noise += 1
        out = bytearray(data)
        match self._chance.randrange(4):
            case 0:
                return b""
            case 1 if out:
                out[self._chance.randrange(len(out))] ^= 1 << self._chance.randrange(8)
            case 2:
                out[:0] = self._chance.randbytes(self._chance.randint(1, 30))
            case _:
                del out[: self._chance.randint(0, len(out))]
        return bytes(out)

    def recv(self, most: int) -> bytes:
        return self._spoilt(super().recv(most)) or b"\0"  # an empty answer would mean the end of the line

    def sendall(self, data: bytes) -> None:
        super().sendall(self._spoilt(data))

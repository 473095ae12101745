"""Frames on the link between host and keeper (docs/protocol.md, "Frames").

A frame is COBS(type u8, number u16, body, CRC-32 of all before it), between zero bytes. Little-endian.
COBS: Cheshire and Baker, "Consistent overhead byte stuffing", IEEE/ACM Trans. Networking 7(2), 1999.
CRC-32: the polynomial of IEEE 802.3, as zlib computes it.
"""

import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

HEAD = struct.Struct("<BH")
CRC = struct.Struct("<I")
MAX_BYTES = 250
"""A frame before stuffing: small enough for a microcontroller's buffer, and for one COBS code byte per run."""


@dataclass(frozen=True)
class Frame:
    """``number`` is the command's own number (0: needs no answer) or, from the keeper, the one answered or counted."""

    kind: int
    number: int
    body: bytes = b""


def encode(frame: Frame) -> bytes:
    """The bytes to send, with a zero at both ends so that a receiver finds the next frame after noise."""
    plain = HEAD.pack(frame.kind, frame.number) + frame.body
    plain += CRC.pack(zlib.crc32(plain))
    if len(plain) > MAX_BYTES:
        raise ValueError(f"a frame of {len(plain)} bytes is over the link's {MAX_BYTES}")
    return b"\0" + stuff(plain) + b"\0"


class Decoder:
    """Turns received bytes into frames, whatever the cuts between them; what fails its check is counted and dropped."""

    def __init__(self) -> None:
        self._held = bytearray()
        self.dropped = 0

    def feed(self, data: bytes) -> Iterator[Frame]:
        """The whole frames that end in ``data``; what is left over is kept for the next call."""
        for byte in data:
            if byte:
                self._held.append(byte)
                if len(self._held) > MAX_BYTES + 2:  # a flood without an end: forget it, wait for the next zero
                    self._held[:] = b"\x01" * (MAX_BYTES + 2)
                continue
            stuffed, self._held = bytes(self._held), bytearray()
            if not stuffed:
                continue
            frame = parse(stuffed)
            if frame is None:
                self.dropped += 1
            else:
                yield frame


def parse(stuffed: bytes) -> Frame | None:
    """The frame in the bytes between two zeros, or None if it is not whole."""
    plain = unstuff(stuffed)
    if plain is None or not HEAD.size + CRC.size <= len(plain) <= MAX_BYTES:
        return None
    head, check = plain[: -CRC.size], plain[-CRC.size :]
    if CRC.unpack(check)[0] != zlib.crc32(head):
        return None
    kind, number = HEAD.unpack_from(head)
    return Frame(kind, number, head[HEAD.size :])


def stuff(plain: bytes) -> bytes:
    """COBS: the same bytes with no zero among them."""
    out = bytearray()
    for run in plain.split(b"\0"):
        while len(run) >= 254:
            out += b"\xff" + run[:254]
            run = run[254:]
        out += bytes([len(run) + 1]) + run
    return bytes(out)


def unstuff(stuffed: bytes) -> bytes | None:
    """Undo ``stuff``; None if the bytes are not COBS."""
    out = bytearray()
    at = 0
    while at < len(stuffed):
        code = stuffed[at]
        run = stuffed[at + 1 : at + code]
        if code == 0 or len(run) != code - 1 or 0 in run:
            return None
        out += run
        at += code
        if code < 255 and at < len(stuffed):
            out.append(0)
    return bytes(out)

"""A PNG of three channels, 8 or 16 bits, some rows at a time: what Pillow only does whole, and of 16 bits only by halves.

A line's filter (W3C PNG, 9.2: none, Sub, Up, Average, Paeth) takes a byte from the same byte of the pixels beside it, so
high and low bytes of 16 bits are two pictures of 8. It is unpacked once; each half goes, as lines of a PNG that are not
compressed, through Pillow's decoder, with the line before as its first.
"""

import io
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import numpy.typing as npt

from timer.measure.ahead import ahead

Bytes = npt.NDArray[np.uint8]
_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_MOST = 2**22
"""Bytes of lines that are unpacked together; some of them are in memory at once."""
_PIECE = 2**18
"""Bytes of the file that are read at once."""


def rows_of_png(path: Path, band: int) -> tuple[Iterator[npt.NDArray[Any]], int] | None:
    """The pixels (rows, width, 3) of such a PNG, ``band`` rows at a time or less, and their bits; None for any other file.

    Of a damaged file, on the way: ValueError, zlib.error, OSError or struct.error.
    """
    with open(path, "rb") as file:
        head = file.read(33)
    if len(head) < 33 or head[:8] != _SIGNATURE or head[12:16] != b"IHDR":
        return None
    width, height, depth, colour, packed, filtered, interlaced = struct.unpack(">IIBBBBB", head[16:29])
    if depth not in (8, 16) or (colour, packed, filtered, interlaced) != (2, 0, 0, 0):
        return None
    band = min(band, max(1, _MOST // (1 + 3 * width * depth // 8)))
    return _rows(path, width, height, depth // 8, band), depth


def _rows(path: Path, width: int, height: int, halves: int, band: int) -> Iterator[npt.NDArray[Any]]:
    before = [np.zeros(3 * width, np.uint8)] * halves
    for lines in ahead(_lines(path, 1 + 3 * width * halves, height, band)):
        parts = [_unfiltered(lines[:, 0], lines[:, 1 + n :: halves], before[n]) for n in range(halves)]
        before = [part[-1].reshape(-1) for part in parts]
        yield parts[0] if halves == 1 else np.stack(parts, axis=-1).view(">u2")[..., 0]


def _lines(path: Path, length: int, height: int, band: int) -> Iterator[Bytes]:
    """Lines of ``length`` bytes, each with its filter in front."""
    with open(path, "rb") as file:
        unpacked = _Unpacked(file)
        for top in range(0, height, band):
            count = min(band, height - top)
            yield np.frombuffer(unpacked.take(count * length), np.uint8).reshape(count, length)
        unpacked.must_end()


class _Unpacked:
    """What the IDAT chunks of ``file`` unpack to, in whatever portions."""

    def __init__(self, file: BinaryIO) -> None:
        self._data = _idat(file)
        self._zlib = zlib.decompressobj()
        self._left = b""

    def take(self, count: int) -> bytearray:
        """The next ``count`` bytes. ValueError where there are none."""
        out = bytearray()
        while len(out) < count:
            if not self._left and (self._zlib.eof or not (piece := next(self._data, b""))):
                raise ValueError("it is cut off")
            out += self._zlib.decompress(self._left or piece, count - len(out))
            self._left = self._zlib.unconsumed_tail
        return out

    def must_end(self) -> None:
        """The sum at the end is right. zlib.error where it is not; ValueError where there is more, or no end."""
        while not self._zlib.eof:
            if not self._left and not (piece := next(self._data, b"")):
                raise ValueError("it is cut off")
            if self._zlib.decompress(self._left or piece, 1):
                raise ValueError("it has more lines than it says")
            self._left = self._zlib.unconsumed_tail


def _idat(file: BinaryIO) -> Iterator[bytes]:
    file.seek(len(_SIGNATURE))
    while len(head := file.read(8)) == 8:
        length, name = struct.unpack(">I4s", head)
        if name == b"IEND":
            return
        if name != b"IDAT":
            file.seek(length + 4, io.SEEK_CUR)
            continue
        while length:
            piece = file.read(min(length, _PIECE))
            if not piece:
                return
            length -= len(piece)
            yield piece
        file.seek(4, io.SEEK_CUR)


def _unfiltered(filters: Bytes, lines: Bytes, before: Bytes) -> npt.NDArray[Any]:
    """Pixels (n, width, 3) of filtered ``lines`` (n, 3 width) after the line ``before``."""
    from PIL import Image

    count, wide = lines.shape
    whole = np.empty((1 + count, 1 + wide), np.uint8)
    whole[0, 0], whole[0, 1:] = 0, before
    whole[1:, 0], whole[1:, 1:] = filters, lines
    image = Image.frombytes("RGB", (wide // 3, 1 + count), zlib.compress(whole.data, 0), "zip", "RGB", 0)
    return np.asarray(image)[1:]

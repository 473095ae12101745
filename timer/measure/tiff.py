"""The rows of a TIFF of 16-bit colours in plain or deflated strips, as most scanners' programs write them."""

import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from PIL.Image import Image

_WIDTH, _HEIGHT, _BITS, _COMPRESSION, _PHOTOMETRIC = 256, 257, 258, 259, 262
_OFFSETS, _CHANNELS, _ROWS, _COUNTS, _PLANAR, _PREDICTOR = 273, 277, 278, 279, 284, 317
_NONE, _DEFLATE = (1,), (8, 32946)
_LARGEST_STRIP = 64 * 2**20
"""Bytes of a deflated strip that is unpacked at once."""


@dataclass(frozen=True)
class _Strips:
    """Where the strips of a 16-bit TIFF are, of ``rows`` lines each; ``channels``: red, green, blue, and what else there
    is. ``differences``: each pixel less the one before."""

    width: int
    height: int
    rows: int
    offsets: tuple[int, ...]
    counts: tuple[int, ...]
    deflated: bool
    differences: bool
    channels: int


def is_planar(image: "Image") -> bool:
    """Whether it is a TIFF of 16 bits that has each colour by itself: Pillow gives noise of it, or the high bits alone."""
    tags: Any = getattr(image, "tag_v2", {})
    return tags.get(_PLANAR) == 2 and max(tags.get(_BITS, (8,))) > 8 and len(tags.get(_BITS, (8,))) > 1


def size_in_file(image: "Image") -> tuple[int, int]:
    """Width and height of the rows, whichever way it is turned to be looked at."""
    tags: Any = getattr(image, "tag_v2", {})
    return int(tags.get(_WIDTH, image.width)), int(tags.get(_HEIGHT, image.height))


def rows_of_tiff(path: Path, image: "Image", band: int) -> Iterator[npt.NDArray[Any]] | None:
    """The pixels (rows, width, 3) of such a TIFF as they lie in the file, ``band`` rows at a time or a strip; None for any
    other file. What it has besides three colours (infrared) is passed over."""
    tags: Any = getattr(image, "tag_v2", None)
    if image.format != "TIFF" or image.mode != "RGB" or tags is None:
        return None
    form, predictor, channels = tags.get(_COMPRESSION, 1), tags.get(_PREDICTOR, 1), tags.get(_CHANNELS, 1)
    plain = form in (*_NONE, *_DEFLATE) and tags.get(_PLANAR, 1) == 1 and tags.get(_PHOTOMETRIC) == 2
    if not plain or channels not in (3, 4) or tags.get(_BITS) != (16,) * channels or not {_OFFSETS, _COUNTS} <= {*tags}:
        return None
    width, height = size_in_file(image)
    rows = min(int(tags.get(_ROWS, height)), height)
    offsets, counts = (each if isinstance(each, tuple) else (each,) for each in (tags[_OFFSETS], tags[_COUNTS]))
    if rows < 1 or not len(offsets) == len(counts) == -(-height // rows):
        return None
    deflated = form in _DEFLATE
    large = rows * width * 2 * channels > _LARGEST_STRIP or max(counts) > 2 * _LARGEST_STRIP
    if deflated and (large or predictor not in (1, 2)):
        return None
    strips = _Strips(width, height, rows, offsets, counts, deflated, deflated and predictor == 2, channels)
    return _rows_of(path, strips, band)


def _rows_of(path: Path, strips: _Strips, band: int) -> Iterator[npt.NDArray[Any]]:
    line = strips.width * 2 * strips.channels
    with open(path, "rb") as file:
        order = "<" if file.read(2) == b"II" else ">"
        tops = range(0, strips.height, strips.rows)
        for top, offset, count in zip(tops, strips.offsets, strips.counts, strict=True):
            rows = min(strips.rows, strips.height - top)
            portion = rows if strips.deflated else band
            for first in range(0, rows, portion):
                some = min(portion, rows - first)
                if strips.deflated:
                    data = _inflated(_exactly(file, offset, count), some * line)
                else:
                    data = _exactly(file, offset + first * line, some * line)
                values = np.frombuffer(data, dtype=f"{order}u2").reshape(some, strips.width, strips.channels)[..., :3]
                yield np.cumsum(values, axis=1, dtype=np.uint16) if strips.differences else values


def _exactly(file: BinaryIO, at: int, count: int) -> bytes:
    file.seek(at)
    data = file.read(count)
    if len(data) < count:
        raise ValueError("it is cut off")
    return data


def _inflated(data: bytes, count: int) -> bytes:
    """``count`` bytes of what ``data`` unpacks to, and no more of it."""
    out = zlib.decompressobj().decompress(data, count)
    if len(out) < count:
        raise ValueError("a strip of it is cut off")
    return out

"""A scan's file as a small picture in numbers, in bounded memory: what patches are found and read on.

Pillow has no mode for three channels of 16 bits and gives their high bytes alone. The low bytes are had by a second
reading with the bytes taken the other way round; a TIFF of plain or deflated strips, and a PNG that is not interlaced, are
read some rows at a time without it.
"""

import sys
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np
import numpy.typing as npt

from timer.documents.picture_file import read_picture
from timer.errors import LamphouseError
from timer.measure.ahead import ahead
from timer.measure.png import rows_of_png

if TYPE_CHECKING:
    from PIL.Image import Image

Array = npt.NDArray[np.floating[Any]]
MAX_BYTES = 800 * 2**20
MAX_PIXELS = 120_000_000
MAX_PROGRESSIVE = 40_000_000
"""Pixels of a progressive JPEG, which is decoded as a whole before its first line is there."""
LONG = 1600
"""Pixels of the longer side that are left, at least, of a larger picture: some 4 to a millimetre of an A4 bed."""
_BAND = 256
_FORMS = ("TIFF", "PNG", "JPEG")


@dataclass(frozen=True, eq=False)
class Picture:
    """``values`` (h, w, 3) 0 to 1 as the file has them, each the mean of a square of ``scale`` pixels' sides.

    ``samples`` (h, w, 3): one pixel of each square as it is, of ``bits`` bits. ``grey``: it has one channel."""

    values: Array
    samples: npt.NDArray[np.uint16]
    scale: float
    bits: int
    grey: bool


def load(path: Path) -> Picture:
    """A TIFF, PNG or JPEG of 8 or 16 bits. LamphouseError in one sentence for what is none, too big or damaged."""

    def judged(image: "Image") -> Picture:
        _judge(path, image)
        return _read(path, image)

    return read_picture(path, judged, most_bytes=MAX_BYTES, too_many=_TOO_MANY, formats=_FORMS)


_TOO_MANY = f"more than {MAX_PIXELS // 10**6} million pixels; scan it with 300 to the inch, or the patches alone"


def _judge(path: Path, image: "Image") -> None:
    if image.width * image.height > MAX_PIXELS:
        raise LamphouseError(f"{path}: {_TOO_MANY}")
    if min(image.size) < 32:
        raise LamphouseError(f"{path}: {image.width} x {image.height} pixels are too few to read patches on")
    if image.mode not in ("RGB", "L", "I;16", "I;16B", "I;16L"):
        raise LamphouseError(f"{path}: a picture of mode {image.mode}; scan it as RGB (or grey) of 8 or 16 bits")
    if image.info.get("progressive") and image.width * image.height > MAX_PROGRESSIVE:
        raise LamphouseError(
            f"{path}: a progressive JPEG of more than {MAX_PROGRESSIVE // 10**6} million pixels; save it plain"
        )


def _read(path: Path, image: "Image") -> Picture:
    width, height = image.size
    if image.format == "JPEG":  # decoded no larger than it is wanted
        share = min(1.0, LONG / max(width, height))
        image.draft("RGB", (max(1, round(width * share)), max(1, round(height * share))))
    squares = _Squares(max(1, max(image.size) // LONG), image.width)
    scale = squares.side * width / image.width
    rows, bits = _plain_tiff(path, image), 16
    if rows is None:
        rows, bits = rows_of_png(path, _BAND) or (None, 0)
    if rows is not None:
        values, samples = squares.of(ahead(rows))
        return Picture(values / np.float32(2**bits - 1), samples, scale, bits, False)
    raw = _raw_mode(image)
    if image.mode == "RGB" and ";16" in raw:
        from PIL import Image as Pillow

        values, samples = squares.of(_bands(image))
        image.close()  # one of the two at a time in memory
        with Pillow.open(path, formats=_FORMS) as again:
            _other_way_round(again)
            low, low_samples = squares.of(_bands(again))
        values *= 256
        values += low
        values /= 65535
        samples *= 256
        samples += low_samples
        return Picture(values, samples, scale, 16, False)
    values, samples = squares.of(_bands(image))
    whole, bits = (65535, 16) if image.mode.startswith("I") else (255, 8)
    grey = values.shape[2] == 1
    if grey:
        values, samples = values.repeat(3, axis=2), samples.repeat(3, axis=2)
    return Picture(values / whole, samples, scale, bits, grey)


class _Squares:
    """Rows of pixels, in whatever portions, into the means and samples of squares."""

    def __init__(self, side: int, width: int) -> None:
        self.side, self._across = side, width // side

    def of(self, bands: Iterator[npt.NDArray[Any]]) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.uint16]]:
        """Means and samples (h, w, channels) of all squares that are whole."""
        means, samples = list[npt.NDArray[np.float32]](), list[npt.NDArray[np.uint16]]()
        left: npt.NDArray[Any] | None = None
        for band in bands:
            rows = band if left is None or not len(left) else np.concatenate([left, band])
            whole = len(rows) // self.side * self.side
            left = rows[whole:].copy()
            if whole:
                mean, sample = self._portion(rows[:whole, : self._across * self.side])
                means.append(mean)
                samples.append(sample)
        return np.concatenate(means), np.concatenate(samples)

    def _portion(self, rows: npt.NDArray[Any]) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.uint16]]:
        side, channels = self.side, rows.shape[2]
        middle = rows[side // 2 :: side, side // 2 :: side].astype(np.uint16)
        down = rows.reshape(-1, side, rows.shape[1] * channels).sum(axis=1, dtype=np.uint32)
        mean = down.reshape(len(down), self._across, side, channels).sum(axis=2, dtype=np.uint32) / np.float32(side * side)
        return mean.astype(np.float32), middle


def _bands(image: "Image") -> Iterator[npt.NDArray[Any]]:
    for top in range(0, image.height, _BAND):
        band = np.asarray(image.crop((0, top, image.width, min(image.height, top + _BAND))))
        yield band if band.ndim == 3 else band[:, :, None]


def _raw_mode(image: Any) -> str:
    args = image.tile[0][3] if getattr(image, "tile", None) else ""
    return str(args if isinstance(args, str) else args[0] if args else "")


def _other_way_round(image: Any) -> None:
    """Have the low bytes of 16-bit channels read as if they were the high ones."""
    native, other = ("L", "B") if sys.byteorder == "little" else ("B", "L")
    turned = {"RGB;16B": "RGB;16L", "RGB;16L": "RGB;16B", "RGB;16N": f"RGB;16{other}", "RGB;16": f"RGB;16{native}"}
    image.tile = [
        tile._replace(args=turned[tile.args] if isinstance(tile.args, str) else (turned[tile.args[0]], *tile.args[1:]))
        for tile in image.tile
    ]


# ── a TIFF of plain or deflated strips, as most scanners' programs write ──────

_BITS, _COMPRESSION, _PHOTOMETRIC, _OFFSETS, _ROWS, _COUNTS, _PLANAR, _PREDICTOR = 258, 259, 262, 273, 278, 279, 284, 317
_NONE, _DEFLATE = (1,), (8, 32946)
_LARGEST_STRIP = 64 * 2**20
"""Bytes of a deflated strip that is unpacked at once."""


@dataclass(frozen=True)
class _Strips:
    """Where the strips of a 16-bit RGB TIFF are, of ``rows`` lines each; ``differences``: each pixel less the one before."""

    width: int
    height: int
    rows: int
    offsets: tuple[int, ...]
    counts: tuple[int, ...]
    deflated: bool
    differences: bool


def _plain_tiff(path: Path, image: "Image") -> Iterator[npt.NDArray[Any]] | None:
    """The rows of such a TIFF; None for any other file."""
    tags: Any = getattr(image, "tag_v2", None)
    if image.format != "TIFF" or tags is None:
        return None
    form, predictor = tags.get(_COMPRESSION, 1), tags.get(_PREDICTOR, 1)
    plain = form in (*_NONE, *_DEFLATE) and tags.get(_PLANAR, 1) == 1 and tags.get(_PHOTOMETRIC) == 2
    if not plain or tags.get(_BITS) != (16, 16, 16) or _OFFSETS not in tags or _COUNTS not in tags:
        return None
    width, height = image.size
    rows = min(int(tags.get(_ROWS, height)), height)
    offsets, counts = (each if isinstance(each, tuple) else (each,) for each in (tags[_OFFSETS], tags[_COUNTS]))
    if rows < 1 or not len(offsets) == len(counts) == -(-height // rows):
        return None
    deflated = form in _DEFLATE
    if deflated and (rows * width * 6 > _LARGEST_STRIP or max(counts) > 2 * _LARGEST_STRIP or predictor not in (1, 2)):
        return None
    return _rows_of(path, _Strips(width, height, rows, offsets, counts, deflated, deflated and predictor == 2))


def _rows_of(path: Path, strips: _Strips) -> Iterator[npt.NDArray[Any]]:
    line = strips.width * 6
    with open(path, "rb") as file:
        order = "<" if file.read(2) == b"II" else ">"
        tops = range(0, strips.height, strips.rows)
        for top, offset, count in zip(tops, strips.offsets, strips.counts, strict=True):
            rows = min(strips.rows, strips.height - top)
            portion = rows if strips.deflated else _BAND
            for first in range(0, rows, portion):
                some = min(portion, rows - first)
                if strips.deflated:
                    data = _inflated(_exactly(file, offset, count), some * line)
                else:
                    data = _exactly(file, offset + first * line, some * line)
                values = np.frombuffer(data, dtype=f"{order}u2").reshape(some, strips.width, 3)
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

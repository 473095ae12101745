"""A scan's file as a small picture in numbers, in bounded memory: what patches are found and read on.

Pillow has no mode for three channels of 16 bits and gives their high bytes alone. The low bytes are had by a second
reading with the bytes taken the other way round; a TIFF of plain or deflated strips, and a PNG that is not interlaced, are
read some rows at a time without it.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import numpy.typing as npt

from timer.documents.picture_file import read_picture
from timer.errors import LamphouseError
from timer.measure.ahead import ahead
from timer.measure.png import rows_of_png
from timer.measure.profile import own_curve
from timer.measure.tiff import is_planar, rows_of_tiff, size_in_file

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
LONGEST = 40
"""How much longer than broad a scan may be: beyond that its squares would be broader than it."""
_FORMS = ("TIFF", "PNG", "JPEG")
_MODES = {
    "1": "black and white alone",
    "P": "colours of a palette",
    "RGBA": "RGB with transparency",
    "LA": "grey with transparency",
    "F": "fractions",
    "I": "numbers below nothing, or of 32 bits",
}
_BITS_OF = {"I;12": 12}
_ORIENTATION = 274
T = TypeVar("T", bound=np.generic)


@dataclass(frozen=True, eq=False)
class Picture:
    """``values`` (h, w, 3) 0 to 1 as the file has them, each the mean of a square of ``scale`` pixels' sides.

    ``samples`` (h, w, 3): one pixel of each square as it is, of ``bits`` bits. ``grey``: it has one channel. ``curve``
    (n, 3): light at n even values, if the file itself says it."""

    values: Array
    samples: npt.NDArray[np.uint16]
    scale: float
    bits: int
    grey: bool
    curve: Array | None = None


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
    if min(image.size) < 32 or max(image.size) > LONGEST * min(image.size):
        raise LamphouseError(f"{path}: {image.width} x {image.height} pixels are too few to read patches on")
    if image.mode not in ("RGB", "L", "I;16", "I;16B", "I;16L"):
        raise LamphouseError(
            f"{path}: a picture in {_MODES.get(image.mode, f'mode {image.mode}')}; scan it as RGB (or grey) of 8 or 16 bits"
        )
    if is_planar(image):
        raise LamphouseError(f"{path}: 16 bits with each colour by itself (planar); save it with its colours interleaved")
    if image.info.get("progressive") and image.width * image.height > MAX_PROGRESSIVE:
        raise LamphouseError(
            f"{path}: a progressive JPEG of more than {MAX_PROGRESSIVE // 10**6} million pixels; save it plain"
        )


def _read(path: Path, image: "Image") -> Picture:
    size, curve, turn = image.size, own_curve(image), _turn(image)
    if image.format == "JPEG":  # decoded no larger than it is wanted
        share = min(1.0, LONG / max(size))
        image.draft("RGB", (max(1, round(size[0] * share)), max(1, round(size[1] * share))))
    rows, bits = rows_of_tiff(path, image, _BAND), 16
    if rows is None:
        rows, bits = rows_of_png(path, _BAND) or (None, 0)
    elif turn is None:
        turn = image.getexif().get(_ORIENTATION)
    squares = _Squares(max(1, max(image.size) // LONG), size_in_file(image)[0] if rows else image.width)
    scale = squares.side * size[0] / image.width
    if rows is not None:
        values, samples = squares.of(ahead(rows))
        values /= np.float32(2**bits - 1)
    elif image.mode == "RGB" and ";16" in _raw_mode(image):
        values, samples, bits = *_by_halves(path, image, squares), 16
    else:
        bits = _BITS_OF.get(_raw_mode(image), 16) if image.mode.startswith("I") else 8
        values, samples = squares.of(_bands(image))
        values /= np.float32(2**bits - 1)
    grey = values.shape[2] == 1
    if grey:
        values, samples = values.repeat(3, axis=2), samples.repeat(3, axis=2)
    return Picture(_upright(values, turn), _upright(samples, turn), scale, bits, grey, curve)


def _by_halves(path: Path, image: "Image", squares: "_Squares") -> tuple[npt.NDArray[np.float32], npt.NDArray[np.uint16]]:
    """Values and samples of 16 bits, of which Pillow gives the high ones, and the low ones of a second reading."""
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
    return values, samples


def _turn(image: "Image") -> int | None:
    """How the file says that it is to be turned to be looked at (Exif's orientation); Pillow turns a TIFF that it reads."""
    said = image.format == "JPEG" or "exif" in image.info  # asked of it, a PNG without would be read as a whole
    return image.getexif().get(_ORIENTATION) if said and image.format != "TIFF" else None


def _upright(pixels: npt.NDArray[T], turn: int | None) -> npt.NDArray[T]:
    """``pixels`` as a viewer shows them, in which a printer finds his boxes."""
    if turn in (5, 6, 7, 8):
        pixels = pixels.transpose(1, 0, 2)
    across, down = turn in (2, 3, 6, 7), turn in (3, 4, 7, 8)
    return np.ascontiguousarray(pixels[:: -1 if down else 1, :: -1 if across else 1])


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
    ends = {"16B": "16L", "16L": "16B", "16N": f"16{other}", "16": f"16{native}"}

    def turned(mode: str) -> str:
        colours, _, end = mode.partition(";")
        return f"{colours};{ends[end]}"

    image.tile = [
        tile._replace(args=turned(tile.args) if isinstance(tile.args, str) else (turned(tile.args[0]), *tile.args[1:]))
        for tile in image.tile
    ]

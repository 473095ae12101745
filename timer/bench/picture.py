"""A picture file read, whatever is in it: of a negative for the bench, or of the printer's own work print."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import numpy.typing as npt

from timer.documents.picture_file import read_picture
from timer.errors import LamphouseError

if TYPE_CHECKING:
    from PIL.Image import Image

T = TypeVar("T")
MAX_BYTES = 200 * 2**20
MAX_PIXELS = 25_000_000
MAX_PIXELS_JPEG = 100_000_000
"""A phone's photo: it is read no larger than it is wanted, so that its pixels are never all in memory."""


def decoded(path: Path, size: tuple[int, int], read: Callable[["Image"], T]) -> T:
    """What ``read`` makes of the picture at ``path``, wanted at about ``size``. LamphouseError in one sentence for what is
    no picture, cannot be read, or is too big.
    """

    def sized(image: "Image") -> T:
        most = MAX_PIXELS_JPEG if image.format == "JPEG" else MAX_PIXELS
        if image.width * image.height > most:
            many = f"{image.width} x {image.height} pixels; {most // 10**6} million are enough: scan it smaller"
            raise LamphouseError(f"{path}: {many}")
        image.draft("RGB", size)
        return read(image)

    too_many = f"more pixels than {MAX_PIXELS // 10**6} million, which are enough: scan it smaller"
    return read_picture(path, sized, most_bytes=MAX_BYTES, too_many=too_many)


def photo(path: Path, longer: int, shape: float) -> npt.NDArray[np.uint8]:
    """The photo or scan of a print, RGB, ``longer`` pixels on its longer side and in proportion ``shape`` (longer over
    shorter side), turned as the camera held it: the whole of it is the whole sheet.
    """

    def read(image: "Image") -> Any:
        from PIL import Image, ImageOps

        turned = ImageOps.exif_transpose(image)
        shorter = max(1, round(longer / shape))
        size = (shorter, longer) if turned.height > turned.width else (longer, shorter)
        deep = turned.mode.startswith(("I", "F"))
        if deep:  # 16 bit grey, which Pillow would cut off at 255
            data = np.asarray(turned, dtype=float)
            turned = Image.fromarray(np.clip(data / 257.0, 0, 255).astype(np.uint8))
        return np.asarray(turned.convert("RGB").resize(size, Image.Resampling.BILINEAR))

    made: npt.NDArray[np.uint8] = decoded(path, (longer, longer), read)
    return made

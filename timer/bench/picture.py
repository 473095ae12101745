"""A picture file read, whatever is in it: of a negative for the bench, or of the printer's own work print."""

import warnings
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import numpy.typing as npt

from timer.documents.files import must_be_plain
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
    from PIL import Image, UnidentifiedImageError

    try:
        if must_be_plain(path).st_size > MAX_BYTES:
            raise LamphouseError(f"{path}: too big: {MAX_BYTES // 2**20} MB at most")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of big pictures: they are judged here
            with Image.open(path) as image:
                most = MAX_PIXELS_JPEG if image.format == "JPEG" else MAX_PIXELS
                if image.width * image.height > most:
                    raise LamphouseError(
                        f"{path}: {image.width} x {image.height} pixels; {most // 10**6} million are enough: scan it smaller"
                    )
                image.draft("RGB", size)
                return read(image)
    except LamphouseError:
        raise
    except UnidentifiedImageError:
        raise LamphouseError(f"{path}: not a picture that can be read; a TIFF, PNG or JPEG would be") from None
    except OSError as error:
        why = error.strerror or str(error)
        raise LamphouseError(f"{path}: cannot be read as a picture: {why.lower()}") from None
    except Exception as error:  # a decoder's own: of a damaged file they are many
        raise LamphouseError(f"{path}: cannot be read as a picture: {str(error).lower()}") from None


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

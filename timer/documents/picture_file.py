"""A picture file opened with Pillow: what it cannot be, in one sentence, whatever its decoder says."""

import ctypes
import warnings
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from timer.documents.files import must_be_plain
from timer.errors import LamphouseError, reason

if TYPE_CHECKING:
    from PIL.Image import Image

T = TypeVar("T")


def read_picture(
    path: Path, read: "Callable[[Image], T]", *, most_bytes: int, too_many: str, formats: tuple[str, ...] | None = None
) -> T:
    """What ``read`` makes of the picture at ``path``, of one of Pillow's ``formats``.

    LamphouseError in one sentence for what is no picture, damaged or too big, as ``read`` may raise it too; ``too_many``:
    what is said of more pixels than Pillow takes.
    """
    from PIL import Image, UnidentifiedImageError

    _quiet_libtiff()
    try:
        if must_be_plain(path).st_size > most_bytes:
            raise LamphouseError(f"{path}: too big: {most_bytes // 2**20} MB at most")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of big pictures: ``read`` judges them
            with Image.open(path, formats=formats) as image:
                return read(image)
    except LamphouseError:
        raise
    except Image.DecompressionBombError:
        raise LamphouseError(f"{path}: {too_many}") from None
    except UnidentifiedImageError:
        says = "not a picture that can be read, or it is cut off; a TIFF, PNG or JPEG of 8 or 16 bits would be right"
        raise LamphouseError(f"{path}: {says}") from None
    except OSError as error:
        says = "it is damaged or cut off; scan or save it again" if "decoder error" in str(error) else reason(error)
        raise LamphouseError(f"{path}: cannot be read as a picture: {says}") from None
    except Exception as error:  # a decoder's own: of a damaged file they are many
        raise LamphouseError(f"{path}: cannot be read as a picture: {str(error).lower()}") from None


@cache
def _quiet_libtiff() -> None:
    """libtiff writes what it finds wrong to the terminal by itself, over the screen too. Pillow's own core leads to it."""
    from PIL import Image

    try:
        core = ctypes.CDLL(Image.core.__file__)  # type: ignore[attr-defined]
        for name in ("TIFFSetErrorHandler", "TIFFSetWarningHandler"):
            handler = getattr(core, name)
            handler.argtypes, handler.restype = [ctypes.c_void_p], ctypes.c_void_p
            handler(None)
    except (AttributeError, OSError):  # no libtiff there that could write
        return

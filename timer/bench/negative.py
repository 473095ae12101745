"""A negative: from a picture file, or our own scene. Transmission of light, 0 to 1, rows from the top."""

import warnings
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from timer.bench.scene import scene
from timer.documents.files import must_be_plain
from timer.errors import LamphouseError

Array = npt.NDArray[np.floating[Any]]
MAX_BYTES = 200 * 2**20
MAX_PIXELS = 25_000_000
DRAWN = 640
"""Pixels of the longer side that the scene is drawn at."""


def develop(luminance: Array, gamma: float = 0.62) -> Array:
    """Transmission of a negative of ``luminance``: density ``gamma`` times log luminance over the deepest shadow's."""
    return np.asarray((np.maximum(luminance, 0.01) / 0.01) ** -gamma)


def own_scene(width: int, height: int) -> Array:
    """The built-in negative, without its orange base. Drawn small and enlarged, as a negative is."""
    from PIL import Image

    share = min(1.0, DRAWN / max(width, height))
    film = develop(scene(max(2, round(width * share)), max(2, round(height * share)))).astype(np.float32)
    if share == 1.0:
        return film
    layers = [Image.fromarray(film[..., n]).resize((width, height), Image.Resampling.BILINEAR) for n in range(3)]
    return np.stack([np.asarray(layer) for layer in layers], axis=-1)


def load(path: Path, width: int, height: int, *, positive: bool = False) -> Array:
    """A picture file as a negative of ``height`` by ``width``, last axis 3.

    8 and 16 bit, grey or colour; read as transmission, linear in the file's numbers after the sRGB curve; ``positive``
    files are photographed onto a negative first. LamphouseError in one sentence for what is no picture.
    """
    from PIL import Image, UnidentifiedImageError

    try:
        if must_be_plain(path).st_size > MAX_BYTES:
            raise LamphouseError(f"{path}: too big: {MAX_BYTES // 2**20} MB at most")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of big pictures: they are judged here
            with Image.open(path) as image:
                if image.width * image.height > MAX_PIXELS:
                    raise LamphouseError(
                        f"{path}: {image.width} x {image.height} pixels; for a preview {MAX_PIXELS // 10**6} million are "
                        "enough: scan it smaller"
                    )
                deep = image.mode.startswith(("I;16", "I", "F"))
                image.draft("RGB", (width, height))  # a JPEG is read no larger than it is wanted
                plain = image if image.mode in ("RGB", "I", "F") else image.convert("I" if deep else "RGB")
                small = plain.resize((width, height), Image.Resampling.BILINEAR)
                data = np.asarray(small, dtype=float)
    except LamphouseError:
        raise
    except UnidentifiedImageError:
        raise LamphouseError(f"{path}: not a picture that can be read; a TIFF, PNG or JPEG would be") from None
    except Exception as error:  # a decoder's own: of a damaged file they are many
        raise LamphouseError(f"{path}: cannot be read as a picture: {str(error).lower()}") from None
    data = data / (65535.0 if deep else 255.0)
    if data.ndim == 2:
        data = np.repeat(data[..., None], 3, axis=-1)
    linear = np.where(data <= 0.04045, data / 12.92, ((data + 0.055) / 1.055) ** 2.4)
    linear = np.clip(linear, 1e-4, 1.0)
    return develop(linear) if positive else linear

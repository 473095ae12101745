"""A negative: from a picture file, or the built-in sample picture. Transmission of light, 0 to 1, rows from the top."""

import warnings
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from timer.documents.files import must_be_plain
from timer.errors import LamphouseError

Array = npt.NDArray[np.floating[Any]]
MAX_BYTES = 200 * 2**20
MAX_PIXELS = 25_000_000
DRAWN = 640
"""Pixels of the longer side that the scene is drawn at."""


def scene(width: int, height: int) -> Array:
    """Luminances of an invented room, colour, last axis 3: a bicycle workshop with a window, a wheel, a bench, a cloth."""
    y, x = np.mgrid[0 : 1 : height * 1j, 0 : 1 : width * 1j]
    from_window = np.exp(-(((x - 0.80) / 0.55) ** 2 + ((y - 0.25) / 0.50) ** 2))
    plaster = 0.97 + 0.03 * np.sin(31 * x + 5 * np.sin(9 * y)) * np.sin(23 * y)
    out = (
        np.stack([0.10 + 0.22 * from_window, 0.10 + 0.21 * from_window, 0.09 + 0.20 * from_window], -1) * plaster[..., None]
    )
    glass = (x > 0.62) & (x < 0.95) & (y > 0.06) & (y < 0.44)
    bars = glass & ((abs(x - 0.785) < 0.008) | (abs(y - 0.25) < 0.008))
    street = np.stack([0.72 + 0.2 * y, 0.76 + 0.2 * y, 0.84 + 0.1 * y], -1) * (0.9 + 0.1 * np.sin(40 * x))[..., None]
    out = np.where(glass[..., None], street, out)
    out[bars] = (0.06, 0.05, 0.04)
    shelf = (x < 0.52) & (abs(y - 0.20) < 0.012)
    jars = (x < 0.50) & (y > 0.11) & (y < 0.19) & (np.sin(80 * x) > 0.2)
    out[shelf] = (0.14, 0.10, 0.07)
    out[jars] = (0.22, 0.25, 0.20)
    grain = np.where((12 * y) % 1 < 0.05, 0.55, 0.94 + 0.06 * np.sin(210 * y + 0.8 * np.sin(9 * x)))
    wood = np.stack([0.34 * grain, 0.25 * grain, 0.17 * grain], -1) * (0.55 + 0.6 * x)[..., None]
    out = np.where((y > 0.70 - 0.04 * x)[..., None], wood, out)
    across, up = (x - 0.30) * 1.25, y - 0.50
    far, turn = np.hypot(across, up), np.arctan2(up, across)
    spokes = (far < 0.19) & (abs(np.sin(6 * turn)) * far < 0.006)
    out[(abs(far - 0.195) < 0.014) | (far < 0.018)] = (0.030, 0.028, 0.028)
    out[spokes] = (0.16, 0.16, 0.17)
    cloth = ((x - 0.80) / 0.10) ** 2 + ((y - 0.82) / 0.06) ** 2 < 1 + 0.2 * np.sin(30 * x)
    out[cloth] = (0.80, 0.76, 0.70)
    return np.asarray(np.clip(out, 0.01, 1.0))


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

"""A negative: from a picture file, or our own scene. Transmission of light, 0 to 1, rows from the top."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from timer.bench.picture import decoded
from timer.bench.scene import scene

if TYPE_CHECKING:
    from PIL.Image import Image

Array = npt.NDArray[np.floating[Any]]
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

    def read(image: "Image") -> tuple[Array, bool]:
        from PIL import Image

        deep = image.mode.startswith(("I;16", "I", "F"))
        plain = image if image.mode in ("RGB", "I", "F") else image.convert("I" if deep else "RGB")
        return np.asarray(plain.resize((width, height), Image.Resampling.BILINEAR), dtype=float), deep

    data, deep = decoded(path, (width, height), read)
    data = data / (65535.0 if deep else 255.0)
    if data.ndim == 2:
        data = np.repeat(data[..., None], 3, axis=-1)
    linear = np.where(data <= 0.04045, data / 12.92, ((data + 0.055) / 1.055) ** 2.4)
    linear = np.clip(linear, 1e-4, 1.0)
    return develop(linear) if positive else linear

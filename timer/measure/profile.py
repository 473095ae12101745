"""The tone curve that a picture's file names itself: its ICC profile's (ICC.1:2010, 10.5 and 10.15), or a PNG's gAMA."""

import struct
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from PIL.Image import Image

Array = npt.NDArray[np.floating[Any]]
PLACES = 1025
"""Evenly spaced values at which the curve is given."""
MOST_TAGS = 100
SRGB_SAME = 0.01
"""Light by which a curve may differ from sRGB's own and be called that."""


def own_curve(image: "Image") -> Array | None:
    """Light, 0 to 1, at ``PLACES`` values from 0 to 1 in red, green and blue (n, 3); None where the file says nothing that
    is a curve: rising, from about 0 to about 1."""
    profile = image.info.get("icc_profile")
    if profile:
        return _sane(_of_profile(profile))
    gamma = image.info.get("gamma") if "srgb" not in image.info else None
    return _sane(np.repeat(_values()[:, None] ** (1 / gamma), 3, axis=1)) if gamma and 0.2 < gamma < 2 else None


def srgb(values: Array) -> Array:
    """Light of ``values`` by IEC 61966-2-1."""
    return np.asarray(np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4))


def is_srgb(curve: Array) -> bool:
    """Whether it is sRGB's, as near as counts."""
    return bool(np.max(np.abs(curve - srgb(_values())[:, None])) < SRGB_SAME)


def _values() -> Array:
    return np.linspace(0, 1, PLACES)


def _sane(curve: Array | None) -> Array | None:
    if curve is None or not np.isfinite(curve).all():
        return None
    rising = (np.diff(curve, axis=0) > -1e-6).all() and (curve[0] < 0.05).all() and (np.abs(curve[-1] - 1) < 0.05).all()
    return np.asarray(np.clip(curve, 0, 1)) if rising else None


def _of_profile(profile: bytes) -> Array | None:
    try:
        tags = _tags(profile)
        names = [name if name in tags else b"kTRC" for name in (b"rTRC", b"gTRC", b"bTRC")]
        return np.column_stack([_curve(profile[slice(*tags[name])]) for name in names])
    except (struct.error, KeyError, ValueError):  # damaged, or a profile of tables, which has no one curve
        return None


def _tags(profile: bytes) -> dict[bytes, tuple[int, int]]:
    """Where each tag's data begin and end."""
    (count,) = struct.unpack_from(">I", profile, 128)
    out = {}
    for n in range(min(count, MOST_TAGS)):
        name, offset, size = struct.unpack_from(">4sII", profile, 132 + 12 * n)
        out[name] = (offset, offset + size)
    return out


def _curve(data: bytes) -> Array:
    kind, values = data[:4], _values()
    if kind == b"curv":
        (count,) = struct.unpack_from(">I", data, 8)
        if count == 0:
            return values
        table = np.frombuffer(data, ">u2", count, 12)
        if count == 1:
            return np.asarray(values ** (int(table[0]) / 256))
        return np.interp(values, np.linspace(0, 1, count), table / 65535)
    if kind == b"para":
        (form,) = struct.unpack_from(">H", data, 8)
        count = (1, 3, 4, 5, 7)[form] if form < 5 else 0
        return _parametric(form, [n / 65536 for n in struct.unpack_from(f">{count}i", data, 12)], values)
    raise ValueError("no curve")


def _parametric(form: int, numbers: list[float], x: Array) -> Array:
    """Table 68 of ICC.1:2010: a power of a line, and from ``d`` down a line or nothing."""
    if form > 4:
        raise ValueError("no curve")
    g, a, b, c, d, e, f = (*numbers, *([0.0] * 7))[:7] if form else (numbers[0], 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    if form in (1, 2):
        if not a:
            raise ValueError("no curve")
        d, e, f, c = -b / a, c, c, 0.0
    return np.asarray(np.where(x >= d, np.maximum(a * x + b, 0) ** g + e, c * x + f))

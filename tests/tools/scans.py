"""Scans of test sheets as numbers: a bed with a lid, a sheet of patches laid askew, a print or a step tablet beside it.

The scanner is invented by us: it sees each colour in part through the others, has flare, a curve and noise.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
White = (0.10, 0.11, 0.12)


@dataclass
class Bed:
    """``wide`` by ``high`` pixels; what is laid on it is in pixels about a middle, askew by degrees."""

    wide: int = 900
    high: int = 640
    lid: float = 0.03
    density: Array = field(init=False)

    def __post_init__(self) -> None:
        self.density = np.full((self.high, self.wide, 3), self.lid)

    def lay(self, x: float, y: float, width: float, height: float, density: Sequence[float] | Array, askew: float = 0.0,
            about: tuple[float, float] | None = None) -> None:  # fmt: skip
        """A rectangle of ``density`` (3) with its middle at ``x``, ``y``, turned with all else about ``about``."""
        mx, my = about or (x, y)
        ys, xs = np.mgrid[0 : self.high, 0 : self.wide]
        c, s = np.cos(np.radians(askew)), np.sin(np.radians(askew))
        u = (xs - mx) * c + (ys - my) * s + mx
        v = -(xs - mx) * s + (ys - my) * c + my
        inside = (np.abs(u - x) <= width / 2) & (np.abs(v - y) <= height / 2)
        self.density[inside] = density

    def sheet(self, patches: Array, x: float, y: float, length: float, breadth: float, *, gap: float = 0.0, askew: float = 0.0,
              upright: bool = False, border: float = 20.0, white: Sequence[float] = White) -> None:  # fmt: skip
        """Patches (n, 3) in a row from the left, or from above, ``gap`` of white between them, on a white sheet."""
        sides = (length + 2 * border, breadth + 2 * border)
        self.lay(x, y, *(sides[::-1] if upright else sides), white, askew)
        unit = length / len(patches)
        for n, each in enumerate(patches):
            at = (n + 0.5) * unit - length / 2
            if upright:
                self.lay(x, y + at, breadth, unit - gap, each, askew, (x, y))
            else:
                self.lay(x + at, y, unit - gap, breadth, each, askew, (x, y))


def scanned(bed: Bed, chance: random.Random, *, noise: float = 0.004, flare: float = 0.004, cross: float = 0.05,
            gamma: float | None = None, light: float = 1.0, stretch: bool = False) -> Array:  # fmt: skip
    """What a scanner makes of it, 0 to 1; ``gamma``: its exponent, or sRGB's own curve. ``light``: its exposure."""
    matrix = np.full((3, 3), cross / 2) + (1 - 1.5 * cross) * np.eye(3)
    seen = 10**-bed.density @ matrix.T
    seen = (seen + flare * seen.mean(axis=(0, 1))) / (1 + flare) * light
    seen = seen + np.random.default_rng(chance.randrange(2**32)).normal(0, noise, seen.shape) * np.sqrt(
        np.maximum(seen, 1e-4)
    )
    seen = np.clip(seen, 0, 1)
    coded = seen ** (1 / gamma) if gamma else np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)
    return np.asarray(np.clip((coded - 0.1) * 1.25, 0, 1) if stretch else coded)


def save(path: Path, values: Array, bits: int = 8, **options: Any) -> Path:
    """As PNG, JPEG or TIFF by its name; 16 bits by writers of our own, since Pillow has none."""
    from PIL import Image

    if bits == 8:
        Image.fromarray(np.rint(values * 255).astype(np.uint8)).save(path, **options)
        return path
    data = np.rint(values * 65535).astype(np.uint16)
    path.write_bytes(png16(data) if path.suffix == ".png" else tiff16(data, **options))
    return path


def png16(data: npt.NDArray[np.uint16], filtered: int = 0) -> bytes:
    """A PNG of 16 bits a channel (h, w, 3); lines unfiltered, or each less the one above it (``filtered`` 2)."""
    import struct
    import zlib

    lines = data.astype(">u2").view(np.uint8).reshape(len(data), -1)
    if filtered == 2:
        lines = np.concatenate([lines[:1], lines[1:] - lines[:-1]])
    raw = np.concatenate([np.full((len(lines), 1), filtered, np.uint8), lines], axis=1).tobytes()

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    header = struct.pack(">IIBBBBB", data.shape[1], data.shape[0], 16, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(raw, 1)) + chunk(b"IEND", b"")


def png_of(data: npt.NDArray[Any], filters: Sequence[int], *, piece: int = 2**30, interlaced: int = 0) -> bytes:
    """A PNG of ``data`` (h, w, 3), 8 or 16 bits, each line through its filter (W3C PNG, 9.2); IDAT chunks of ``piece``."""
    import struct
    import zlib

    step = 3 * data.itemsize
    lines = data.astype(f">u{data.itemsize}").view(np.uint8).reshape(len(data), -1).astype(np.int16)
    up = np.concatenate([np.zeros_like(lines[:1]), lines[:-1]])
    left, corner = (np.concatenate([np.zeros_like(x[:, :step]), x[:, :-step]], axis=1) for x in (lines, up))
    plane = left + up - corner
    near = [abs(plane - x) for x in (left, up, corner)]
    paeth = np.where((near[0] <= near[1]) & (near[0] <= near[2]), left, np.where(near[1] <= near[2], up, corner))
    guesses = [np.zeros_like(lines), left, up, (left + up) // 2, paeth]
    raw = b"".join(
        bytes([kind]) + ((line - guesses[min(kind, 4)][n]) % 256).astype(np.uint8).tobytes()
        for n, (line, kind) in enumerate(zip(lines, filters, strict=True))
    )

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", data.shape[1], data.shape[0], 8 * data.itemsize, 2, 0, 0, interlaced)
    packed = zlib.compress(raw, 6)
    body = b"".join(chunk(b"IDAT", packed[at : at + piece]) for at in range(0, len(packed), piece))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"tEXt", b"a\0b") + body + chunk(b"IEND", b"")


def tiff16(data: npt.NDArray[np.uint16], *, rows: int = 0, order: str = "<", deflate: bool = False, differences: bool = False,
           planar: bool = False, turn: int = 1) -> bytes:  # fmt: skip
    """A TIFF of 16 bits a channel in strips of ``rows`` lines, in either order of bytes, plain or deflated, of values or
    of their ``differences`` along a line (predictor 2); a fourth channel is nobody's (ExtraSamples 0). ``planar``: in one
    strip for each channel. ``turn``: its orientation."""
    import struct
    import zlib

    height, width, channels = data.shape
    rows = rows or height
    if differences:
        data = np.concatenate([data[:, :1], data[:, 1:] - data[:, :-1]], axis=1)
    body = data.astype(f"{order}u2")
    strips = [body[y : y + rows].tobytes() for y in range(0, height, rows)]
    strips = [body[..., n].tobytes() for n in range(channels)] if planar else strips
    strips = [zlib.compress(strip, 1) for strip in strips] if deflate else strips
    count = len(strips)
    at, offsets = 8, list[int]()
    for strip in strips:
        offsets.append(at)
        at += len(strip)
    extra = at
    longs = struct.pack(f"{order}{count}I", *offsets) + struct.pack(f"{order}{count}I", *map(len, strips))
    tail = struct.pack(f"{order}{channels}H", *[16] * channels) + longs
    one, there = count == 1, extra + 2 * channels
    entries = [
        (256, 4, 1, width), (257, 4, 1, height), (258, 3, channels, extra), (259, 3, 1, 8 if deflate else 1), (262, 3, 1, 2),
        (273, 4, count, offsets[0] if one else there), (274, 3, 1, turn), (277, 3, 1, channels), (278, 4, 1, rows),
        (279, 4, count, len(strips[0]) if one else there + 4 * count), (284, 3, 1, 2 if planar else 1),
        (317, 3, 1, 2 if differences else 1), *([(338, 3, 1, 0)] if channels == 4 else []),
    ]  # fmt: skip
    table = struct.pack(f"{order}H", len(entries))
    for tag, kind, number, value in entries:
        packed = struct.pack(f"{order}HH", value, 0) if kind == 3 and number == 1 else struct.pack(f"{order}I", value)
        table += struct.pack(f"{order}HHI", tag, kind, number) + packed
    table += struct.pack(f"{order}I", 0)
    head = (b"II" if order == "<" else b"MM") + struct.pack(f"{order}HI", 42, extra + len(tail))
    return head + b"".join(strips) + tail + table

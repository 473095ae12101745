"""The tone curve that a file names itself, beside the formulas of ICC.1:2010 (10.5, 10.15) and of PNG (11.3.3.2) by hand."""

import struct
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.tools.scans import png16
from timer.measure.picture import Picture, load
from timer.measure.profile import is_srgb
from timer.measure.scan import densities_of, is_linear

DATA = np.random.default_rng(3).integers(0, 65536, (40, 50, 3), dtype=np.uint16)
VALUES = np.asarray([0.02, 0.2, 0.5, 0.8, 1.0])


def profile(*curves: bytes, names: tuple[bytes, ...] = (b"rTRC", b"gTRC", b"bTRC")) -> bytes:
    """A profile of nothing but curves."""
    table, data, at = b"", b"", 128 + 4 + 12 * len(names)
    for name, curve in zip(names, curves, strict=True):
        table += struct.pack(">4sII", name, at + len(data), len(curve))
        data += curve
    return bytes(128) + struct.pack(">I", len(names)) + table + data


def power(g: float) -> bytes:
    return b"curv" + bytes(4) + struct.pack(">IH", 1, round(256 * g))


def table(values: np.ndarray) -> bytes:
    return b"curv" + struct.pack(f">II{len(values)}H", 0, len(values), *(round(65535 * float(one)) for one in values))


def parametric(form: int, *numbers: float) -> bytes:
    return b"para" + bytes(4) + struct.pack(f">HH{len(numbers)}i", form, 0, *[round(65536 * n) for n in numbers])


def saved(path: Path, icc: bytes, form: str = "tif") -> Picture:
    from PIL import Image

    Image.fromarray((DATA >> 8).astype(np.uint8)).save(path / f"a.{form}", icc_profile=icc)
    return load(path / f"a.{form}")


def light(picture: Picture) -> np.ndarray:
    """Of ``VALUES``, what is taken for light, in three colours."""
    values = np.repeat(VALUES[:, None, None], 3, axis=2)
    return np.asarray(10 ** -densities_of(Picture(values, picture.samples, 1, 8, False, picture.curve)))[:, 0]


@pytest.mark.parametrize("form", ["tif", "png", "jpg"])
def test_a_power_for_each_colour(tmp_path: Path, form: str) -> None:
    found = saved(tmp_path, profile(power(1.0), power(1.8), power(2.2)), form)
    powers = np.asarray([1.0, 461 / 256, 563 / 256])
    assert np.allclose(light(found), np.maximum(VALUES[:, None] ** powers, 1e-4), atol=2e-5)


@pytest.mark.parametrize(
    ("curve", "expected"),
    [
        (b"curv" + bytes(8), VALUES),  # no entries: light itself
        (table(np.linspace(0, 1, 4096) ** 1.8), VALUES**1.8),
        (table(np.asarray([0.0, 0.5, 1.0])), VALUES),
        (parametric(0, 2.4), VALUES**2.4),
        (parametric(1, 2.0, 1.25, -0.25), np.maximum(1.25 * VALUES - 0.25, 0) ** 2),
        (parametric(2, 2.0, 1.1, -0.1, 0.01), np.maximum(1.1 * VALUES - 0.1, 0) ** 2 + 0.01),
        (
            parametric(3, 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045),
            np.where(VALUES <= 0.04045, VALUES / 12.92, ((VALUES + 0.055) / 1.055) ** 2.4),
        ),
        (
            parametric(4, 1 / 0.45, 1 / 1.099, 0.099 / 1.099, 1 / 4.5, 0.081, 0.0, 0.0),
            np.where(VALUES < 0.081, VALUES / 4.5, ((VALUES + 0.099) / 1.099) ** (1 / 0.45)),
        ),
    ],
)
def test_every_form_of_a_curve(tmp_path: Path, curve: bytes, expected: np.ndarray) -> None:
    found = saved(tmp_path, profile(curve, curve, curve))
    assert np.allclose(light(found), np.minimum(np.maximum(expected, 1e-4), 1)[:, None], atol=2e-4)


def test_a_grey_profile_has_one(tmp_path: Path) -> None:
    assert np.allclose(light(saved(tmp_path, profile(power(1.0), names=(b"kTRC",)))), VALUES[:, None])


def test_what_it_is_like(tmp_path: Path) -> None:
    linear, srgb = (
        saved(tmp_path, profile(each, each, each))
        for each in (power(1.0), parametric(3, 2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045))
    )
    assert linear.curve is not None and not is_srgb(linear.curve) and is_linear(linear)
    assert srgb.curve is not None and is_srgb(srgb.curve) and not is_linear(srgb)
    assert not is_linear(linear, "srgb") and is_linear(srgb, "linear")
    asked = densities_of(linear, "srgb")  # what the printer says goes before what the file says
    assert np.allclose(asked, densities_of(Picture(linear.values, linear.samples, 1, 8, False), "srgb"))


@pytest.mark.parametrize(("number", "exponent"), [(100000, 1.0), (55556, 1.8), (45455, 2.2)])
def test_a_pngs_gamma(tmp_path: Path, number: int, exponent: float) -> None:
    plain = png16(DATA)
    import zlib

    body = b"gAMA" + struct.pack(">I", number)
    chunk = struct.pack(">I", 4) + body + struct.pack(">I", zlib.crc32(body))
    (tmp_path / "a.png").write_bytes(plain[:33] + chunk + plain[33:])
    assert np.allclose(light(load(tmp_path / "a.png")), np.maximum(VALUES**exponent, 1e-4)[:, None], atol=1e-4)


@pytest.mark.parametrize(
    "icc",
    [
        b"junk" * 60,
        profile(power(0.0), power(2.2), power(2.2)),  # all light at once
        profile(table(np.linspace(1, 0, 9)), power(2.2), power(2.2)),  # falls
        profile(table(np.linspace(0, 0.4, 9)), power(2.2), power(2.2)),  # ends too soon
        profile(parametric(9), power(2.2), power(2.2)),
        profile(b"mft2" + bytes(40), power(2.2), power(2.2)),
        profile(power(2.2), names=(b"rTRC",)),
        profile(power(2.2), power(2.2), power(2.2))[:170],
    ],
)
def test_what_is_no_curve_is_passed_over(tmp_path: Path, icc: bytes) -> None:
    assert saved(tmp_path, icc).curve is None


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_damaged_profile_is_a_curve_or_none(tmp_path: Path, data: st.DataObject) -> None:
    whole = bytearray(profile(table(np.linspace(0, 1, 9)), parametric(4, 2, 1, 0, 1, 0.1, 0, 0), power(2)))
    for _ in range(data.draw(st.integers(1, 6))):
        whole[data.draw(st.integers(128, len(whole) - 1))] = data.draw(st.integers(0, 255))
    found = saved(tmp_path, bytes(whole))
    assert found.curve is None or (found.curve.shape[1] == 3 and (np.diff(found.curve, axis=0) > -1e-5).all())

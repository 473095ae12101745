"""Scans' files of every form that a scanner's program writes, beside the numbers that were put in."""

import random
import warnings
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.tools.scans import png16, save, tiff16
from timer.errors import LamphouseError
from timer.measure import picture, tiff
from timer.measure.picture import load

DATA = np.random.default_rng(3).integers(0, 65536, (97, 133, 3), dtype=np.uint16)


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("plain.png", png16(DATA)),
        ("filtered.png", png16(DATA, 2)),
        ("one.tif", tiff16(DATA)),
        ("strips.tif", tiff16(DATA, rows=7)),
        ("motorola.tif", tiff16(DATA, rows=40, order=">")),
        ("deflated.tif", tiff16(DATA, rows=16, deflate=True)),
        ("differences.tif", tiff16(DATA, rows=16, deflate=True, differences=True)),
        ("differences-motorola.tif", tiff16(DATA, rows=200, order=">", deflate=True, differences=True)),
        ("deflated-motorola.tif", tiff16(DATA, rows=16, order=">", deflate=True)),
    ],
)
def test_sixteen_bits_are_kept(tmp_path: Path, name: str, data: bytes) -> None:
    """Pillow alone would give their high bytes."""
    (tmp_path / name).write_bytes(data)
    found = load(tmp_path / name)
    assert (found.bits, found.scale, found.grey) == (16, 1, False)
    assert np.allclose(found.values, DATA / 65535, atol=1e-6)
    assert (found.samples == DATA).all()


@pytest.mark.parametrize("rows", [7, 200])
def test_what_is_not_read_strip_by_strip_is_read_by_pillow(
    tmp_path: Path, rows: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tiff, "_LARGEST_STRIP", 0)
    for order in ("<", ">"):
        (tmp_path / "a.tif").write_bytes(tiff16(DATA, rows=rows, order=order, deflate=True, differences=True))
        assert np.allclose(load(tmp_path / "a.tif").values, DATA / 65535, atol=1e-6)


@pytest.mark.parametrize("order", "<>")
@pytest.mark.parametrize("deflate", [False, True])
def test_what_is_beside_three_colours_is_passed_over(tmp_path: Path, order: str, deflate: bool) -> None:
    """Infrared, as a fourth channel; some scanners' programs write it."""
    four = np.concatenate([DATA, DATA[..., :1] // 3], axis=2)
    (tmp_path / "a.tif").write_bytes(tiff16(four, rows=20, order=order, deflate=deflate, differences=deflate))
    found = load(tmp_path / "a.tif")
    assert (found.samples == DATA).all() and np.allclose(found.values, DATA / 65535, atol=1e-6)


@pytest.mark.parametrize("deflate", [False, True])
def test_colours_each_by_itself_are_refused(tmp_path: Path, deflate: bool) -> None:
    """Pillow reads noise from the plain one, and the high bits alone from the other."""
    (tmp_path / "a.tif").write_bytes(tiff16(DATA, planar=True, deflate=deflate))
    with pytest.raises(LamphouseError, match=r"planar.*interleaved"):
        load(tmp_path / "a.tif")


UPRIGHT = {1: DATA, 2: DATA[:, ::-1], 3: DATA[::-1, ::-1], 4: DATA[::-1], 5: DATA.transpose(1, 0, 2),
           6: DATA.transpose(1, 0, 2)[:, ::-1], 7: DATA[::-1, ::-1].transpose(1, 0, 2), 8: DATA.transpose(1, 0, 2)[::-1]}  # fmt: skip
"""TIFF 6.0, p. 36: where the first row and the first column of the file are to be seen."""


@pytest.mark.parametrize("turn", UPRIGHT)
@pytest.mark.parametrize("rows", [0, 7])
@pytest.mark.parametrize("strips", [True, False])
def test_a_tiff_is_turned_as_it_says(
    tmp_path: Path, turn: int, rows: int, strips: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So that boxes are where a viewer shows them, whichever way the file is read."""
    if not strips:
        monkeypatch.setattr(tiff, "_LARGEST_STRIP", 0)
    (tmp_path / "a.tif").write_bytes(tiff16(DATA, rows=rows, turn=turn, deflate=not strips))
    assert (load(tmp_path / "a.tif").samples == UPRIGHT[turn]).all()


@pytest.mark.parametrize("turn", UPRIGHT)
def test_a_jpeg_and_a_png_are_turned_as_they_say(tmp_path: Path, turn: int) -> None:
    from PIL import Image

    said = Image.Exif()
    said[274] = turn
    smooth = np.add.outer(np.arange(97), np.arange(133)).astype(np.uint8)  # little for JPEG to lose
    image = Image.fromarray(np.stack([smooth, smooth // 2, 255 - smooth], axis=-1))
    for name in ("a.jpg", "a.png"):
        image.save(tmp_path / name, exif=said, quality=95, subsampling=0)
        back = {1: 1, 2: 2, 3: 3, 4: 4, 5: 5, 6: 8, 7: 7, 8: 6}[turn]  # what undoes it
        seen = picture._upright(load(tmp_path / name).samples, back)
        assert np.abs(seen.astype(int) - np.asarray(image)).max() < 12, name


def test_a_long_thin_picture_is_refused(tmp_path: Path) -> None:
    """Its squares would be broader than it is."""
    (tmp_path / "a.png").write_bytes(png16(np.zeros((40, 200_000, 3), np.uint16)))
    with pytest.raises(LamphouseError, match="too few to read patches on"):
        load(tmp_path / "a.png")


@pytest.mark.parametrize(("name", "mode"), [("a.png", "RGB"), ("a.tif", "RGB"), ("a.png", "L"), ("a.tif", "I;16")])
def test_other_forms(tmp_path: Path, name: str, mode: str) -> None:
    from PIL import Image

    data = DATA[..., 0] if mode == "I;16" else (DATA >> 8).astype(np.uint8)
    data = data[..., 0] if mode == "L" else data
    Image.fromarray(data).save(tmp_path / name)
    found = load(tmp_path / name)
    assert found.grey == (mode != "RGB")
    whole = 65535 if mode == "I;16" else 255
    assert np.allclose(found.values[..., 0], (data if data.ndim == 2 else data[..., 0]) / whole, atol=1e-6)


@pytest.mark.parametrize("bits", [8, 16])
def test_a_large_one_is_the_means_of_squares(tmp_path: Path, bits: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(picture, "LONG", 40)
    monkeypatch.setattr(picture, "_BAND", 10)  # squares of 3 lie across the bands
    found = load(save(tmp_path / "a.tif", DATA / 65535, bits))
    assert found.scale == 3 and found.values.shape == (32, 44, 3)
    assert found.values[5, 7] == pytest.approx((DATA[15:18, 21:24] / 65535).mean(axis=(0, 1)), abs=0.002)
    assert found.samples[5, 7] == pytest.approx(DATA[16, 22] * (255 / 65535 if bits == 8 else 1), abs=1)


def test_a_jpeg_is_decoded_no_larger_than_wanted(tmp_path: Path) -> None:
    smooth = np.full((1300, 3400, 3), 0.5)
    found = load(save(tmp_path / "a.jpg", smooth))
    assert found.scale == 2 and found.values.shape[:2] == (650, 1700)
    assert float(np.abs(found.values - 0.5).max()) < 0.01


def says(path: Path) -> str:
    with pytest.raises(LamphouseError, match=str(path)) as error:
        load(path)
    return str(error.value)


def test_what_is_no_scan_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from PIL import Image

    assert "no such file" in says(tmp_path / "none.png")
    assert "a folder" in says(tmp_path)
    (tmp_path / "a.txt").write_text("CGATS.17")
    assert "not a picture" in says(tmp_path / "a.txt")
    Image.new("CMYK", (99, 99)).save(tmp_path / "c.tif")
    assert "mode CMYK" in says(tmp_path / "c.tif")
    Image.new("RGB", (20, 99)).save(tmp_path / "s.png")
    assert "too few" in says(tmp_path / "s.png")
    (tmp_path / "cut.tif").write_bytes(tiff16(DATA)[:40_000])
    assert "or it is cut off" in says(tmp_path / "cut.tif")
    (tmp_path / "cut.png").write_bytes(png16(DATA)[:20_000])
    assert "cannot be read" in says(tmp_path / "cut.png")
    save(tmp_path / "p.jpg", DATA / 65535, progressive=True)
    monkeypatch.setattr(picture, "MAX_PROGRESSIVE", 5000)
    assert "progressive" in says(tmp_path / "p.jpg")
    monkeypatch.setattr(picture, "MAX_PIXELS", 5000)
    assert "million pixels" in says(tmp_path / "p.jpg")


@pytest.mark.parametrize("cut", [False, True])
def test_a_damaged_tiff_is_one_sentence_and_its_library_says_nothing(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], cut: bool
) -> None:
    """libtiff itself would write "Using code not yet in table" to the terminal."""
    from PIL import Image

    Image.fromarray((DATA >> 8).astype(np.uint8)).save(tmp_path / "a.tif", compression="tiff_lzw")
    data = bytearray((tmp_path / "a.tif").read_bytes())
    data[2000:2400] = b"\xff" * 400
    (tmp_path / "b.tif").write_bytes(data[: len(data) // 2] if cut else data)
    assert "cut off" in says(tmp_path / "b.tif")
    assert capfd.readouterr() == ("", "")


def test_a_bomb_is_not_unpacked(tmp_path: Path) -> None:
    """A header of 60,000 by 60,000 pixels."""
    data = bytearray(png16(DATA))
    data[16:24] = (60_000).to_bytes(4, "big") * 2
    import zlib

    data[29:33] = zlib.crc32(bytes(data[12:29])).to_bytes(4, "big")
    (tmp_path / "b.png").write_bytes(data)
    assert "million pixels" in says(tmp_path / "b.png")


FILES = [png16(DATA[:40, :40]), tiff16(DATA[:40, :40], rows=9), tiff16(DATA[:40, :40], rows=9, deflate=True)]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(which=st.integers(0, 2), seed=st.integers(0, 2**32), cut=st.booleans())
def test_a_damaged_file_is_a_picture_or_one_sentence(tmp_path: Path, which: int, seed: int, cut: bool) -> None:
    chance = random.Random(seed)
    data = bytearray(FILES[which])
    for _ in range(chance.randint(1, 8)):
        at = chance.choice([chance.randrange(len(data)), chance.randrange(60), len(data) - 1 - chance.randrange(200)])
        data[at] = chance.randrange(256)
    (tmp_path / "d").write_bytes(data[: chance.randrange(len(data))] if cut else data)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            found = load(tmp_path / "d")
        except LamphouseError as error:
            assert "\n" not in str(error)
        else:
            assert np.isfinite(found.values).all() and found.values.max() <= 1

"""A PNG read some rows at a time, beside the numbers put in and beside Pillow, which reads it whole."""

import io
import random
import zlib
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.tools.scans import png_of
from timer.errors import LamphouseError
from timer.measure.picture import load
from timer.measure.png import rows_of_png

DATA = np.random.default_rng(4).integers(0, 65536, (61, 47, 3), dtype=np.uint16)
DATA[10:40, 5:30] = np.linspace(20_000, 50_000, 25).astype(np.uint16)[None, :, None]  # smooth: what filters are for


def read(data: bytes, path: Path, band: int = 7) -> npt.NDArray[np.uint16]:
    path.write_bytes(data)
    found = rows_of_png(path, band)
    assert found
    return np.concatenate(list(found[0])).astype(np.uint16)


@pytest.mark.parametrize("kind", range(5))
@pytest.mark.parametrize("band", [1, 7, 61, 500])
def test_every_filter(tmp_path: Path, kind: int, band: int) -> None:
    assert (read(png_of(DATA, [kind] * len(DATA)), tmp_path / "a.png", band) == DATA).all()


@given(seed=st.integers(0, 2**32), band=st.integers(1, 70), piece=st.integers(1, 4000), deep=st.booleans())
def test_filters_in_any_order_and_chunks_of_any_size(
    tmp_path_factory: pytest.TempPathFactory, seed: int, band: int, piece: int, deep: bool
) -> None:
    chance = random.Random(seed)
    data = DATA if deep else (DATA >> 8).astype(np.uint8)
    made = png_of(data, [chance.randrange(5) for _ in data], piece=piece)
    path = tmp_path_factory.mktemp("png") / "a.png"
    assert (read(made, path, band) == data).all()
    from PIL import Image

    with Image.open(io.BytesIO(made)) as image:  # of 16 bits it gives the high bytes
        assert (np.asarray(image) == (data >> 8 if deep else data)).all()


def test_what_is_left_to_pillow(tmp_path: Path) -> None:
    (tmp_path / "a.png").write_bytes(png_of(DATA, [0] * len(DATA), interlaced=1))
    assert rows_of_png(tmp_path / "a.png", 7) is None
    (tmp_path / "a.txt").write_text("CGATS.17")
    assert rows_of_png(tmp_path / "a.txt", 7) is None


def test_damage_is_one_sentence(tmp_path: Path) -> None:
    def says(data: bytes) -> str:
        (tmp_path / "a.png").write_bytes(data)
        with pytest.raises(LamphouseError, match="cannot be read as a picture") as error:
            load(tmp_path / "a.png")
        return str(error.value)

    good = png_of(DATA, [4] * len(DATA))
    assert "cut off" in says(good[: len(good) // 2])
    assert "cut off" in says(good[:-20])  # all lines are there, and not the sum that says they are right
    assert says(png_of(DATA, [7] * len(DATA)))
    fewer = bytearray(good)
    fewer[20:24] = (40).to_bytes(4, "big")
    fewer[29:33] = zlib.crc32(bytes(fewer[12:29])).to_bytes(4, "big")
    assert "more lines" in says(bytes(fewer))
    wrong = bytearray(good)
    at = good.index(b"IDAT") + 4
    wrong[at + 2000] ^= 0x40
    assert says(bytes(wrong))

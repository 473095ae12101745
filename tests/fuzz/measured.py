"""What is read on sheets: scans damaged or made to hurt, instruments' files, and solving from what came of them."""

import random
import struct
import zlib
from functools import cache
from pathlib import Path

import numpy as np

from tests.fuzz.files import BITS, CGATS_BOMBS, Lines, damaged, damaged_bytes
from tests.tools.scans import Bed, png_of, scanned, tiff16
from timer.craft.filters import Pack
from timer.documents.recipe_file import parse_recipe
from timer.notebook.rows import ExposureRow
from timer.notebook.store import Notebook
from timer.plans.first_sheet import first_sheet_plan
from timer.plans.print import print_plan

READINGS = """CGATS.17
ORIGINATOR "a densitometer"
NUMBER_OF_FIELDS 4
BEGIN_DATA_FORMAT
SAMPLE_ID D_RED D_GREEN D_BLUE
END_DATA_FORMAT
NUMBER_OF_SETS 6
BEGIN_DATA
1 0.93 0.85 0.80
2 0.62 0.55 0.52
3 1.28 1.17 1.10
4 0.92 0.62 0.79
5 0.93 0.84 0.58
aim 0.76 0.74 0.72
END_DATA
"""
LAB = READINGS.replace("D_RED D_GREEN D_BLUE", "LAB_L LAB_A LAB_B").replace("0.", "4").replace("1.", "3")
QUAY = """recipe = 1
title = "Quay"
base_s = 12.0
[paper]
kind = "ra4"
[filters]
m = 60
y = 50
head = "dichroic"
[[burn]]
area = "sky"
stops = "1/2"
"""
NUMBERS = [
    "0.74",
    "-1",
    "5",
    "nan",
    "inf",
    "1e-300",
    "1e300",
    "0",
    "4",
    "0.76 0.74 0.72",
    "0.1",
    "2.2",
    "",
    "x",
    "0.7,",
    "\u0663",
]
PACKS = ["10G", "20M", "0", "green", "999M", "-5C", "10G 10M 10C", "1e9Y", "\x1b[?5h"]


def colour_book(path: Path) -> None:
    """A first sheet and a print, with all their light known."""
    with Notebook(path) as book:
        for plan, text in (
            (first_sheet_plan(Pack(0, 60, 50), 10.0, "dichroic"), ""),
            (print_plan(parse_recipe(QUAY)), QUAY),
        ):
            run = book.begin_run(plan, recipe=text, lamp="simulated")
            lit = [(n, step) for n, step in enumerate(plan.steps) if step.do == "expose"]
            for number, (n, step) in enumerate(lit):
                us = round(step.seconds * 1e6)
                book.intend(ExposureRow(run, number, n, step.say, step.seconds, us, bytes(16), True, 0, None, None, None))
                book.fact(run, number, us, us, "complete")
            book.end_run(run, "finished", "finished")
        book.settle()


@cache
def _scans() -> tuple[bytes, ...]:
    """One small sheet in every form."""
    from io import BytesIO

    from PIL import Image

    bed = Bed(300, 220)
    patches = np.asarray(
        [[0.93, 0.85, 0.80], [0.62, 0.55, 0.52], [1.28, 1.17, 1.10], [0.92, 0.62, 0.79], [0.93, 0.84, 0.58]]
    )
    bed.sheet(patches, 150, 70, 230, 50, askew=1.0)
    bed.lay(220, 160, 60, 50, (0.76, 0.74, 0.72))
    values = scanned(bed, random.Random(1))
    deep, flat = np.rint(values * 65535).astype(np.uint16), np.rint(values * 255).astype(np.uint8)
    out = [png_of(deep, [n % 5 for n in range(len(deep))], piece=8192), png_of(flat, [2] * len(flat))]
    out += [tiff16(deep, rows=16), tiff16(deep, rows=16, deflate=True, differences=True), tiff16(deep, order=">")]
    for form, options in (("JPEG", {"quality": 90}), ("JPEG", {"progressive": True}), ("TIFF", {"compression": "tiff_lzw"})):
        file = BytesIO()
        Image.fromarray(flat).save(file, form, **options)
        out.append(file.getvalue())
    return tuple(out)


def _chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def _png(width: int, height: int, depth: int, packed: bytes) -> bytes:
    head = struct.pack(">IIBBBBB", width, height, depth, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", head) + _chunk(b"IDAT", packed) + _chunk(b"IEND", b"")


@cache
def _hostile() -> tuple[bytes, ...]:
    zeros = zlib.compress(bytes(60_000_000), 9)
    deep = np.zeros((40, 40, 3), np.uint16)
    tiff = bytearray(tiff16(deep, rows=2))
    table = struct.unpack("<I", tiff[4:8])[0]
    loop = tiff.copy()
    loop[-4:] = struct.pack("<I", table)  # the next directory is this one again
    many = tiff.replace(struct.pack("<HHIHH", 278, 4, 1, 2, 0), struct.pack("<HHIHH", 278, 4, 1, 0, 0))
    return (
        _png(60_000, 60_000, 16, zeros),
        _png(4_000_000_000, 40, 8, zeros),
        _png(40, 4_000_000_000, 8, zeros),
        _png(10_900, 10_900, 16, zeros),  # as many pixels as may be, and cut off
        _png(40, 40, 16, zeros),  # far more lines than it says
        _png(40, 40, 16, b""),
        _png(0, 0, 8, zlib.compress(b"")),
        _png(120_000_000, 1, 8, zlib.compress(b"")),
        _png(40, 40, 16, zlib.compress(bytes([9]) + bytes(240)) * 2),
        b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 2**31 - 1) + b"IHDR" + bytes(40),
        b"\x89PNG\r\n\x1a\n" + _chunk(b"tEXt", b"a\0" + bytes(3_000_000)) * 3,
        bytes(loop), bytes(many), bytes(tiff[:table]), bytes(tiff[: table + 7]),
        b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", 65535) + bytes(300),
        b"MM\0*" + bytes(4), b"\xff\xd8\xff", b"\xff\xd8" + b"\xff\xc0\x00\x11\x08\xff\xff\xff\xff\x03" + bytes(60),
        b"GIF89a" + bytes(40), b"", b"\0" * 5000, b"<svg/>", b"%PDF-1.4",
    )  # fmt: skip


def measured_case(number: int, seed: int, folder: Path) -> Lines:
    """Files of case ``number`` in ``folder``, the printer's home with a ``colour_book`` in it; the commands on them."""
    chance = random.Random(f"measured-{seed}-{number}")
    if number % 3 == 0:
        data = chance.choice(_scans())
        match chance.randrange(5):
            case 0:
                data = chance.choice(_hostile())
            case 1:
                data = data[: chance.randrange(len(data))]
            case 2 | 3:
                data = damaged_bytes(data, chance)
        path = folder / f"scan{chance.choice(('.png', '.tif', '.jpg', ''))}"
        path.write_bytes(data)
        return [
            ["scan", "1", str(path), *_scan_options(chance, folder)],
            ["solve", "1", *_solve_options(chance, folder, number)],
        ]
    if number % 3 == 1:
        text = chance.choice(CGATS_BOMBS) if chance.random() < 0.05 else damaged(chance.choice((READINGS, LAB)), chance)
        path = folder / "readings.txt"
        path.write_bytes(text.encode("utf-8", "surrogatepass"))
        return [
            ["notebook", "readings", "1", str(path)],
            ["solve", "1", "--aim", "0.74"],
            ["solve", "1", *_solve_options(chance, folder, number)],
        ]
    rows = [
        (n, *(round(chance.choice((chance.uniform(0, 2.4), 0.74, 0.0, 6.0, chance.uniform(-1, 6))), 3) for _ in range(3)))
        for n in chance.sample((1, 2, 3, 4, 5, "aim", "2 by eye"), chance.randint(1, 6))
    ]
    body = "\n".join(" ".join(str(part).replace(" ", "_") for part in row) for row in rows)
    head = "CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID D_RED D_GREEN D_BLUE\nEND_DATA_FORMAT\nBEGIN_DATA\n"
    (folder / "readings.txt").write_text(f"{head}{body}\nEND_DATA\n")
    runs = chance.choice((["1"], ["1", "2"], ["2"], ["2", "1"], ["1", "1"], ["9"], ["1", "x"]))
    lines = [["notebook", "readings", "1", str(folder / "readings.txt")]]
    return [*lines, *(["solve", *runs, *_solve_options(chance, folder, 10 * number + n)] for n in range(3))]


def _scan_options(chance: random.Random, folder: Path) -> list[str]:
    ways = [
        ["--take"], ["--json"], ["--reversal"], ["--curve", chance.choice(("srgb", "linear", "1.8", "9", "x", "nan"))],
        ["--tablet", chance.choice(("0.05 0.2 0.4 0.6", "1", "0.2 0.1 0.3", "nan nan nan", "0 4", "0 0 0 0 0"))],
        ["--box", chance.choice(("aim=10,10,20,20", "3=0,0,0,0", "3=999999,0,9,9", "9=1,1,9,9", "aim=1,1,1,1", "x", "grey=1"))],
        ["-o", str(folder / f"o{chance.randrange(3)}.png")],
    ]  # fmt: skip
    return [word for way in ways if chance.random() < 0.3 for word in way]


def _solve_options(chance: random.Random, folder: Path, number: int) -> list[str]:
    ways = [
        ["--aim", chance.choice(NUMBERS)], ["--darker", chance.choice(NUMBERS)], ["--through", chance.choice((*PACKS, *BITS))],
        ["--patch", chance.choice(("1", "3", "5", "6", "0", "99", "x"))], ["--reversal"], ["--json"], ["--table"],
        ["--read-with", chance.choice(("scan", "eye", "densitometer", "nose"))],
        ["--picture", str(folder / f"p{number}.png")], ["-o", str(folder / f"n{number}.toml")],
        ["--head", chance.choice(("cp", "dichroic", "additive", "tricolour", "x"))],
        ["--top", chance.choice(("1", "60", "100", "10000", "0"))], ["--per-stop", chance.choice(("1", "30", "1000", "nan"))],
    ]  # fmt: skip
    return [word for way in ways if chance.random() < 0.3 for word in way]

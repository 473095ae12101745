"""Files of every kind that is read, damaged by chance or made to hurt; each with the commands that read it."""

import io
import json
import random
from collections.abc import Callable
from importlib.resources import files as package_files
from pathlib import Path

from tests.documents.test_cgats import COLORD, WEDGE
from timer.documents.files import MAX_BYTES
from timer.documents.recipe_file import parse_recipe
from timer.plans.print import print_plan
from timer.plans.stored import plan_json

EXAMPLE = (package_files("timer") / "documents" / "example.toml").read_text(encoding="utf-8")
FULL = """recipe = 1
title = "Quay, low water"
base_s = 16.0 # from strip 41
changeover_s = 0.5
dry_down_percent = 8
dodging = "run-through"
order = ["crane", "sky"]
notes = \"\"\"
two lines
of notes\"\"\"
[paper]
kind = "bw"
speed = 200
range = 105
[enlargement]
frame = "6x7"
sheet = "30x40cm"
aperture = 8
lens_mm = 80
border_mm = 5
[filters]
grade = "2 1/2"
[[dodge]]
area = "wall"
stops = "1/3"
together = "crane"
tool = "card"
motion = "slowly"
outline = { ellipse = [0.3, 0.5, 0.1, 0.1] }
[[dodge]]
area = "crane"
stops = "1/6"
[[burn]]
area = "sky"
stops = "2/3"
outline = { polygon = [[0.0, 0.0], [1.0, 0.0], [0.5, 0.4]] }
[[burn]]
area = "mud"
seconds = 3.5
filters = { grade = "00" }
[edges]
stops = "1/4"
which = ["top", "left"]
tool = "mat"
[flash]
seconds = 0.5
when = "before"
"""
SETTINGS = """lamp = "simulated"
ceiling_s = 90.0
mains_hz = 60
sound = "quiet"
[pins]
lamp = 17
[lamp_response]
delay_ms = 40.0
rise_ms = 120.0
[lamp_response.soft]
delay_ms = 50.0
"""
CORRECTIONS = """[heads.condenser]
exponent = 0.8
note = "x 2.1"
[boxes.spring]
time = 1.08
pack = "-5M"
"""
CURVES = """[[curve]]
paper = "Pearl"
grade = "2 1/2"
log_exposure = [-0.3, 0.0, 0.3, 0.6, 0.9, 1.2]
density = [0.06, 0.08, 0.3, 1.1, 1.9, 2.0]
base = 0.05
darkest = 2.05
set_up = "tablet, 18x24cm, f/8"
sheets = [12]
read_on = "2026-11-30"
error = 0.03
"""
PROCESS = """process = 1
title = "Mine"
source = "the leaflet"
vessel = "drum"
drain = "inside"
ml_per_8x10 = 60
[[bath]]
name = "developer"
table = [[24.0, 120.0], [33.0, 60.0]]
[[bath]]
name = "blix"
seconds = 60
light = true
"""
TRACE = "s,light\n" + "\n".join(f"{n / 100},{min(1.0, n / 30)}" for n in range(120)) + "\n"
PLAN = json.dumps(plan_json(print_plan(parse_recipe(EXAMPLE))))
STRIP_PLAN = PLAN.replace('"area": "base"', '"area": "patch 1"')

BITS = [
    "\n", "=", "[", "]", "{", "}", '"', "'", '"""', "'''", ".", ",", "-", "#", " ", "\t", "\r", "\0", "0", "9", "1e9", "-1",
    "nan", "inf", "true", "é", "½", "漢", "\x1b[?5h", "\x9b", "\u202e", "\ufeff", "\\u001b", "\\ud800", "1/3", "1/0", "a.b.c",
    "1e-9", "99999999999999999999", "=cmd|x", "1979-05-27", "0x", "_", "BEGIN_DATA", "END_DATA", "<b>", "%PDF",
]  # fmt: skip


def damaged(text: str, chance: random.Random) -> str:
    """``text`` with one to six pieces put in, taken out, doubled or moved."""
    data = text
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(len(data) + 1)
        to = min(len(data), at + chance.choice((0, 1, 1, 2, 5, 20, 200)))
        match chance.randrange(4):
            case 0:
                data = data[:at] + chance.choice(BITS) * chance.choice((1, 1, 1, 3, 40)) + data[to:]
            case 1:
                data = data[:at] + data[to:]
            case 2:
                data = data[:to] + data[at:to] + data[to:]
            case _:
                lines = data.split("\n")
                chance.shuffle(lines)
                data = "\n".join(lines)
    return data


def damaged_bytes(data: bytes, chance: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(chance.randint(1, 12)):
        if out:
            out[chance.randrange(len(out))] = chance.randrange(256)
    return bytes(out[: chance.randrange(len(out) + 1)] if chance.random() < 0.2 else out)


def _bombs() -> list[str]:
    """TOML that costs a careless parser minutes or gigabytes, just short enough to be read at all."""
    most = MAX_BYTES - 64
    return [
        "a." * (most // 2 - 4) + "b=1",
        "[" + "a." * (most // 2 - 4) + "b]",
        "x=" + "[" * most,
        "x=" + "{a=" * (most // 3),
        "x = 1" + "0" * 5000,
        "x = 0x" + "f" * most,
        "x = " + "1" * most + ".5",
        "x = [" + "1," * (most // 2) + "]",
        "x = [" + "{}," * (most // 3) + "]",
        'x = ["""y"""", {' + "b." * (most // 2) + "b=1}]",
        "".join(f"[a.b.c.d.e.f.g{n}]\n" for n in range(11_000))[:most],
        "[a.b.c.d.e.f.g]\n" + "".join(f"a.b.c.d.e.f.g{n}=1\n" for n in range(12_000))[:most],
        "[[a]]\n[[a.b]]\n[[a.b.c]]\n" * (most // 24),
        '"' * most,
        "'" * most,
        '"""' + '\\"""' * (most // 4),
        "#" + "x" * most,
        "\n" * most,
        " " * most,
        'title="' + "\\n" * (most // 2) + '"',
        "k" * most + "=1",
        FULL + "".join(f'[[burn]]\narea = "a{n}"\nstops = 1\n' for n in range(3000)),
        FULL.replace("order = [", "order = [" + '"x",' * 60_000),
        FULL.replace("two lines", "x" * 200_000),
        FULL.replace("[0.0, 0.0],", "[0.0, 0.0]," * 15_000),
        FULL.replace("Quay", "A\\u001b[?5hB"),
        FULL.replace("Quay", "A\\u202eB"),
        FULL.replace("16.0", "1e-9"),
        FULL.replace("16.0", "1e300"),
        FULL.replace("changeover_s = 0.5", "changeover_s = 20"),
        FULL.replace('"1/3"', '"1/99999999"'),
        "x" * (MAX_BYTES + 1),
    ]


BOMBS = _bombs()
CGATS_BOMBS = [
    WEDGE.replace("1\t0.05", "\n".join(f"s{n}\t1\t1\t1\t1" for n in range(12_000)) + "\n1\t0.05"),
    WEDGE.replace("0.07", "1" * 200_000 + "x"),
    WEDGE.replace("END_DATA\n", "1 2\n" * 50_000),
    "CGATS.17\n" + ("x" + " " * 5) * 40_000 + '"',
    "CGATS.17\n" + '"' * 250_000,
    "CGATS.17\nBEGIN_DATA_FORMAT\n" + "A\n" * 100_000,
    WEDGE.replace("example", "\x1b]11;#fff\x07"),
    WEDGE.replace("\n2\t", "\n=HYPERLINK(1)\t"),
]
PLAN_BOMBS = [
    "[" * 200_000, '{"a":' * 40_000, PLAN.replace('"title":', '"zz":' + "[" * 100_000 + ',"title":'),
    PLAN.replace('"seconds":', '"seconds":1e400,"x":'), PLAN.replace('"area": "base"', '"area": "fence edge"'),
    PLAN.replace("wait", "wait\\u001b[2J"), STRIP_PLAN, "{}", '{"kind":"strip","title":"x","steps":[]}',
]  # fmt: skip


def picture(chance: random.Random) -> bytes:
    """A small picture of one of the forms that are read."""
    from PIL import Image

    out = io.BytesIO()
    mode, form = chance.choice(
        (("RGB", "PNG"), ("L", "PNG"), ("RGB", "JPEG"), ("I;16", "TIFF"), ("RGB", "TIFF"), ("P", "GIF"))
    )
    Image.new(mode, (chance.randint(1, 60), chance.randint(1, 60))).save(out, form)
    return out.getvalue()


Lines = list[list[str]]


def file_case(number: int, seed: int, folder: Path) -> Lines:
    """Write the files of case ``number`` into ``folder``, which is the printer's home too; the commands that read them."""
    chance = random.Random(f"{seed}-{number}")
    kind = number % 20
    path = folder / f"f{number}.toml"
    bomb = chance.random() < 0.02

    def put(name: str, text: str, bombs: list[str]) -> Path:
        data = chance.choice(bombs) if bomb else damaged(text, chance)
        target = folder / name
        target.write_bytes(
            data.encode("utf-8", "surrogatepass") if chance.random() < 0.9 else damaged_bytes(data.encode(), chance)
        )
        return target

    if kind < 8:
        put(path.name, chance.choice((EXAMPLE, FULL, FULL)), BOMBS)
        return [["check", str(path)], chance.choice(_RECIPE_COMMANDS)(str(path))]
    if kind < 10:
        put("settings.toml", SETTINGS, BOMBS)
        return [["strip", "--from", "8", "--show"]]
    if kind < 11:
        put("paper-curves.toml", CURVES, BOMBS)
        (folder / "good.toml").write_text(FULL.replace('kind = "bw"', 'kind = "bw"\nname = "Pearl"'))
        more = ["resize", str(folder / "good.toml"), "--grade", "4"]
        drying = ["drydown", "--wet", "0.4 1.0", "--dry", "0.43 1.05", "--paper", "Pearl", "--grade", "2 1/2"]
        return [more, drying, ["grade", "Pearl", "--range", "1.1"], ["calibrations", "list"]]
    if kind < 12:
        put("corrections.toml", CORRECTIONS, BOMBS)
        (folder / "good.toml").write_text(FULL)
        return [["resize", str(folder / "good.toml"), "--head", "condenser", "--aperture", "11"], ["calibrations", "list"]]
    if kind < 14:
        (folder / "processes").mkdir(exist_ok=True)
        put("processes/mine.toml", PROCESS, BOMBS)
        return [["bath", "list"], ["bath", "show", "mine"]]
    if kind < 17:
        put("readings.txt", chance.choice((WEDGE, WEDGE, COLORD)), CGATS_BOMBS)
        return [["notebook", "readings", "1", str(folder / "readings.txt")]]
    if kind < 18:
        put("plan.json", chance.choice((PLAN, STRIP_PLAN)), PLAN_BOMBS)
        return [["preview", str(folder / "plan.json"), "--terminal", "--size", "32x24"]]
    if kind < 19:
        put("long.csv", TRACE, [TRACE * 200, "1," + "9" * 200_000, '"' * 200_000, "nan,nan\n" * 100, "1e308,1e308\n" * 9])
        (folder / "short.csv").write_text(TRACE)
        return [
            ["calibrate", "trace", str(folder / "long.csv"), str(folder / "short.csv"), "--on", "8", "--short-on", "0.25"]
        ]
    (folder / "negative").write_bytes(damaged_bytes(picture(chance), chance))
    (folder / "good.toml").write_text(EXAMPLE)
    return [["preview", str(folder / "good.toml"), "--negative", str(folder / "negative"), "--terminal", "--size", "32x24"]]


_RECIPE_COMMANDS: list[Callable[[str], list[str]]] = [
    lambda path: ["print", path, "--show"],
    lambda path: ["print", path, "--show", "--json"],
    lambda path: ["check", path, "--json"],
    lambda path: ["resize", path, "--sheet", "18x24cm", "--aperture", "5.6"],
    lambda path: ["resize", path, "--grade", "4"],
    lambda path: ["bath", "show", path],
]

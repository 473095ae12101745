"""Signs in blocks: a font of square pixels, two to a cell, that is read across the room."""

_DRAWN = """
0 ### #.# #.# #.# ###
1 .#. ##. .#. .#. ###
2 ### ..# ### #.. ###
3 ### ..# .## ..# ###
4 #.# #.# ### ..# ..#
5 ### #.. ### ..# ###
6 ### #.. ### #.# ###
7 ### ..# ..# .#. .#.
8 ### #.# ### #.# ###
9 ### #.# ### ..# ###
A .#. #.# ### #.# #.#
B ##. #.# ##. #.# ##.
C .## #.. #.. #.. .##
D ##. #.# #.# #.# ##.
E ### #.. ##. #.. ###
F ### #.. ##. #.. #..
G .## #.. #.# #.# .##
H #.# #.# ### #.# #.#
I ### .#. .#. .#. ###
J ..# ..# ..# #.# .#.
K #.# #.# ##. #.# #.#
L #.. #.. #.. #.. ###
M #...# ##.## #.#.# #...# #...#
N #..# ##.# #.## #..# #..#
O .#. #.# #.# #.# .#.
P ##. #.# ##. #.. #..
Q .##. #..# #..# #.#. .#.#
R ##. #.# ##. #.# #.#
S .## #.. .#. ..# ##.
T ### .#. .#. .#. .#.
U #.# #.# #.# #.# ###
V #.# #.# #.# #.# .#.
W #...# #...# #.#.# ##.## #...#
X #.# #.# .#. #.# #.#
Y #.# #.# .#. .#. .#.
Z ### ..# .#. #.. ###
+ ... .#. ### .#. ...
- ... ... ### ... ...
/ ..# ..# .#. #.. #..
. . . . . #
, .. .. .. .# #.
: . # . # .
"""
FONT = {row[0]: tuple(row[2:].split()) for row in _DRAWN.splitlines() if row}
SPACE = ("...",) * 5
HIGH = 5
"""Pixels of a sign; ``(HIGH + 1) // 2`` rows of cells at scale 1."""


def pixels(text: str, scale: int = 1) -> list[str]:
    """``text`` in rows of ``#`` and ``.``, each pixel ``scale`` wide and high; a sign that has no form is left blank."""
    signs = [FONT.get(sign, SPACE) for sign in text]
    rows = [("." * scale).join("".join(pixel * scale for pixel in sign[row]) for sign in signs) for row in range(HIGH)]
    return [row for row in rows for _ in range(scale)]


def cells(rows: list[str]) -> list[str]:
    """Rows of pixels as half as many rows of cells, in half blocks."""
    if len(rows) % 2:
        rows = [*rows, "." * len(rows[0])]
    halves = {"##": "█", "#.": "▀", ".#": "▄", "..": " "}
    return ["".join(halves[u + d] for u, d in zip(*pair, strict=True)) for pair in zip(rows[::2], rows[1::2], strict=True)]


def big_words(text: str, width: int) -> list[str]:
    """``text`` in three rows of capitals; nothing where it is too long for ``width``, or has a sign without a form."""
    text = text.upper().replace("−", "-")
    if not text or any(sign not in FONT and sign != " " for sign in text):
        return []
    rows = cells(pixels(text))
    return rows if len(rows[0]) <= width else []

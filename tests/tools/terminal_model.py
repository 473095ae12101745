"""A terminal, as far as light goes: what every cell shows at every moment of what is written to it, and its cursor.

Own parser (ECMA-48, xterm's control sequences, console_codes(4)), for pages, colours, palette and cursor. The page that the
program was called from is there too, full of a shell's white. Nothing is taken for granted of a theme: text is black on
white, "red" is a light one, "black" is grey.
"""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field

RGB = tuple[int, int, int]
Cell = tuple[str, RGB | int | None, RGB | int | None]  # colours: as named, an entry of the table, or the terminal's own
THEME: list[RGB] = [
    (40, 44, 52), (224, 108, 117), (152, 195, 121), (229, 192, 123), (97, 175, 239), (198, 120, 221), (86, 182, 194),
    (220, 223, 228), (90, 99, 116), (240, 140, 150), (170, 220, 140), (240, 210, 140), (130, 190, 250), (220, 150, 240),
    (110, 200, 210), (255, 255, 255),
]  # fmt: skip
TOKEN = re.compile(
    r"\x1b\[(?P<csi>[0-?]*[ -/]*[@-~])"
    r"|\x1b\](?P<linux>P[0-9A-Fa-f]{7}|R)"
    r"|\x1b\](?P<osc>[^\x07\x1b]*)(?:\x07|\x1b\\)"
    r"|\x1bP[^\x1b]*\x1b\\"
    r"|\x1b[ -/]*[0-~]"
    r"|(?P<control>[\x00-\x1f\x7f])"
    r"|(?P<text>[^\x00-\x1f\x7f]+)"
)
LINUX = re.compile(r"\x1b\](?:R|P[0-9A-Fa-f]{7})")
UNFINISHED = re.compile(r"\x1b(?:\[[0-?]*[ -/]*|\][^\x07\x1b]*\x1b?|P[^\x1b]*\x1b?|[ -/]*)?\Z")


def table(n: int) -> RGB:
    """xterm's entries 16 to 255."""
    if n >= 232:
        return (8 + 10 * (n - 232),) * 3
    steps = (0, 95, 135, 175, 215, 255)
    n -= 16
    return steps[n // 36], steps[n // 6 % 6], steps[n % 6]


@dataclass
class Page:
    cells: list[list[Cell]]
    x: int = 0
    y: int = 0


@dataclass
class Model:
    """``linux``: the console, which has one page. ``knows_osc``: it can be told its own colours."""

    width: int = 80
    height: int = 24
    linux: bool = False
    knows_osc: bool = True
    room: str = ""  # what may be seen now: "red", "none", or anything
    faults: list[str] = field(default_factory=list)
    bells: int = 0
    cursor_on: bool = True

    def __post_init__(self) -> None:
        self.front: RGB = (0, 0, 0)
        self.back: RGB = (255, 255, 255)
        self.cursor: RGB | None = None
        self.palette = list(THEME)
        self._sgr: tuple[RGB | int | None, RGB | int | None, bool] = (None, None, False)
        # What a shell has left: text in colours of its own, in a theme's, and in the table's.
        shell: list[Cell] = [("x", None, None), ("y", 2, 15), ("z", (200, 255, 200), (30, 60, 30)), ("t", 120, 236)]
        row = (shell * self.width)[: self.width]
        self._under = Page([list(row) for _ in range(self.height)])
        self._over = Page([[(" ", None, None)] * self.width for _ in range(self.height)])
        self.page = self._under
        self._held = ""

    # ── what is seen ─────────────────────────────────────────────────────────

    def colour(self, value: RGB | int | None, own: RGB) -> RGB:
        if value is None:
            return own
        if isinstance(value, int):
            return self.palette[value] if value < 16 else table(value)
        return value

    def seen(self) -> Iterator[tuple[str, RGB, RGB]]:
        """Every cell of the page that shows, the cursor's last."""
        for row in self.page.cells:
            for char, front, back in row:
                yield char, self.colour(front, self.front), self.colour(back, self.back)
        if self.cursor_on:
            yield "cursor", self.cursor or (255, 255, 255), self.cursor or (255, 255, 255)

    @property
    def text(self) -> str:
        return "\n".join("".join(cell[0] for cell in row).rstrip() for row in self.page.cells)

    def is_dark(self, room: str) -> bool:
        return not any(_bad(room, *cell) for cell in self.seen())

    def must_be(self, room: str) -> None:
        """From now on nothing else may be seen."""
        self.room = room
        self._judge(self.seen(), "as it stood")

    def _judge(self, cells: Iterator[tuple[str, RGB, RGB]], after: str) -> None:
        if not self.room or len(self.faults) > 20:
            return
        for char, front, back in cells:
            if why := _bad(self.room, char, front, back):
                self.faults.append(f"{why} after {after[:60]!r}")
                return

    # ── what is written ──────────────────────────────────────────────────────

    def feed(self, data: str) -> None:
        data = self._held + data
        cut = UNFINISHED.search(data)
        if cut and self.linux and LINUX.fullmatch(cut[0]):
            cut = None
        data, self._held = (data[: cut.start()], data[cut.start() :]) if cut else (data, "")
        for found in TOKEN.finditer(data):
            kind = found.lastgroup
            if kind == "text":
                self._write(found[0])
            elif kind == "csi":
                self._csi(found["csi"], found[0])
            elif kind == "osc" and self.knows_osc and not self.linux:
                self._osc(found["osc"])
                self._judge(self.seen(), found[0])
            elif kind == "linux" and self.linux:
                self._linux(found["linux"])
                self._judge(self.seen(), found[0])
            elif kind == "control":
                self._control(found[0])

    def _write(self, text: str) -> None:
        front, back, reverse = self._sgr
        made = (back, front) if reverse else (front, back)
        row = self.page.cells[self.page.y]
        wrote = []
        for char in text:
            wide = 2 if unicodedata.east_asian_width(char) in "WF" else 1
            for part in (char, "")[:wide]:
                if self.page.x < self.width:
                    row[self.page.x] = (part, *made)
                    wrote.append((part, self.colour(made[0], self._own(made, 0)), self.colour(made[1], self._own(made, 1))))
                self.page.x += 1
        self._judge(iter(wrote), text)

    def _own(self, made: tuple[object, object], n: int) -> RGB:
        return (self.front, self.back)[n]

    def _control(self, char: str) -> None:
        if char == "\x07":
            self.bells += 1
        elif char == "\r":
            self.page.x = 0
        elif char == "\n":
            self.page.y = min(self.height - 1, self.page.y + 1)

    def _csi(self, body: str, whole: str) -> None:
        end, arguments = body[-1], body[:-1]
        numbers = [int(n) if n.isdigit() else 0 for n in arguments.lstrip("?").split(";")] if arguments else [0]
        first = numbers[0]
        match end:
            case "m":
                self._colours(numbers)
            case "H" | "f":
                self.page.y = min(self.height, max(1, first)) - 1
                self.page.x = min(self.width, max(1, numbers[1] if len(numbers) > 1 else 1)) - 1
            case "A" | "B":
                self.page.y = min(self.height - 1, max(0, self.page.y + max(1, first) * (1 if end == "B" else -1)))
            case "C" | "D":
                self.page.x = min(self.width - 1, max(0, self.page.x + max(1, first) * (1 if end == "C" else -1)))
            case "J" if first == 2:
                self._erase(range(self.height))
            case "J" if first == 0:
                self._erase(range(self.page.y + 1, self.height))
                self._erase_row(self.page.y, self.page.x)
            case "K":
                self._erase_row(self.page.y, self.page.x)
            case "h" | "l" if arguments.startswith("?"):
                self._mode(numbers, on=end == "h")
            case _:
                return
        if end != "m":
            self._judge(self.seen(), whole)

    def _mode(self, numbers: list[int], *, on: bool) -> None:
        if 25 in numbers:
            self.cursor_on = on
        if 1049 in numbers and not self.linux:
            self.page = self._over if on else self._under
            if on:
                self._erase(range(self.height))

    def _erase(self, rows: range) -> None:
        for y in rows:
            self._erase_row(y, 0)

    def _erase_row(self, y: int, x: int) -> None:
        """In the colours that are set, as xterm and the console erase."""
        front, back, _ = self._sgr
        self.page.cells[y][x:] = [(" ", front, back)] * (self.width - x)

    def _colours(self, codes: list[int]) -> None:
        front, back, reverse = self._sgr
        codes = list(codes)
        while codes:
            code = codes.pop(0)
            match code:
                case 0:
                    front, back, reverse = None, None, False
                case 7 | 27:
                    reverse = code == 7
                case 38 | 48:
                    if codes[:1] == [2]:
                        value: RGB | int = (codes[1], codes[2], codes[3])
                        codes = codes[4:]
                    else:
                        value, codes = codes[1], codes[2:]
                    front, back = (value, back) if code == 38 else (front, value)
                case 39:
                    front = None
                case 49:
                    back = None
                case _ if 30 <= code <= 37 or 90 <= code <= 97:
                    front = code - 30 if code < 90 else code - 82
                case _ if 40 <= code <= 47 or 100 <= code <= 107:
                    back = code - 40 if code < 100 else code - 92
                case _:
                    pass
        self._sgr = front, back, reverse

    def _osc(self, body: str) -> None:
        code, _, rest = body.partition(";")
        match code:
            case "10":
                self.front = _rgb(rest)
            case "11":
                self.back = _rgb(rest)
            case "12":
                self.cursor = _rgb(rest)
            case "4":
                parts = rest.split(";")
                for n, value in zip(parts[::2], parts[1::2], strict=True):
                    self.palette[int(n)] = _rgb(value)
            case "104":
                self.palette = list(THEME)
            case "110":
                self.front = (0, 0, 0)
            case "111":
                self.back = (255, 255, 255)
            case "112":
                self.cursor = None

    def _linux(self, body: str) -> None:
        if body == "R":
            self.palette = list(THEME)
        else:
            n, value = int(body[1], 16), body[2:]
            self.palette[n] = _rgb("#" + value)
        # The console's own colours are entries 7 and 0 of its palette.
        self.front, self.back = self.palette[7], self.palette[0]


def _rgb(text: str) -> RGB:
    value = text.removeprefix("#")
    return int(value[:2], 16), int(value[2:4], 16), int(value[4:6], 16)


def _bad(room: str, char: str, front: RGB, back: RGB) -> str:
    """What of a cell is no light for ``room``; the front of an empty one does not show."""
    shows = [back] if char in (" ", "") else [back, front]
    for colour in shows:
        if room == "red" and (colour[1] or colour[2]):
            return f"{char!r} in {colour}"
        if room == "none" and any(colour):
            return f"{char!r} in {colour}"
    return ""

"""A sheet's scan: chosen from the files that lie there, or made now; its boxes seen on it, its readings taken with one key.

What is imported within a function is for the start-up time: the page is known to the screen from the first moment.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import Static

from timer.app import scan_sheet
from timer.app.jobs import Job
from timer.app.scan_sheet import CURVES, HowToRead, ScanRead
from timer.documents.recipe import Outline
from timer.errors import LamphouseError
from tui.page import first_shown
from tui.typing_page import TypingPage
from tui.widgets.canvas import framed, size

WIDE = 60
"""From this width on the scan is drawn beside its numbers; below it in their place."""
LONGEST_NAME = 300
CURVE_KEYS = tuple(CURVES)
Taken = Callable[[tuple[str, ...]], None]


class Came(Message):
    """From the thread that read ``path``, or scanned into it: what is on it, or why there is nothing."""

    def __init__(
        self, path: Path | None, how: HowToRead, read: ScanRead | None, notes: tuple[str, ...] = (), fault: str = ""
    ) -> None:
        super().__init__()
        self.path, self.how, self.read, self.notes, self.fault = path, how, read, notes, fault


class ScanPage(TypingPage):
    """Sheet ``run``, which is the test or print ``job``; ``taken`` is told the samples whose readings were kept."""

    phase = "SCAN"

    def __init__(self, job: Job, run: int, taken: Taken = lambda samples: None) -> None:
        super().__init__()
        self.run, self._plan, self._taken_is_told = run, job.plan, taken
        self.files = scan_sheet.files()
        self.at = 0
        self.path: Path | None = None
        self.how = HowToRead()
        self.read: ScanRead | None = None
        self.notes: tuple[str, ...] = ()
        self.fault = ""
        self.busy = ""
        self.drawn = True

    def body(self) -> ComposeResult:
        yield Static(id="choice", markup=False)
        with Horizontal(id="columns"):
            yield Static(id="picture", markup=False)
            yield Static(id="list", markup=False)

    def begin(self) -> None:
        self.call_after_refresh(self._draw)

    def on_resize(self) -> None:
        super().on_resize()
        self.call_after_refresh(self._draw)

    @property
    def unwritten(self) -> bool:
        """As of every page: readings that are not taken."""
        return self.read is not None

    # ── how it looks ─────────────────────────────────────────────────────────

    def _draw(self) -> None:
        if not self.is_attached:
            return
        name = self.path.name if self.path else "which file is its scan?"
        curve = f"   {CURVES[self.how.curve]}" if self.path and self.size.width >= WIDE else ""
        self.query_one("#choice", Static).update(f"sheet {self.run}: {self._plan.title}\n{name}{curve}")
        picture, table = self.query_one("#picture", Static), self.query_one("#list", Static)
        there = self.read is not None and not self.context.paper_out
        picture.display = there and (self.size.width >= WIDE or self.drawn)
        table.display = self.size.width >= WIDE or not picture.display
        table.update("\n".join(self._rows()))
        if picture.display:
            self.call_after_refresh(self._picture)
        self._foot()

    def _picture(self) -> None:
        """The scan with its boxes, each with its name."""
        picture = self.query_one("#picture", Static)
        if self.read and self.is_attached and picture.display:
            room = self.query_one("#columns").size  # its own it has not yet, when it has just come to be shown
            wide = room.width // 2 if self.query_one("#list").display else room.width
            picture.update(_with_boxes(self.read, wide, room.height))

    def _rows(self) -> list[str]:
        """The files there are; or what was read, and what is odd of it."""
        if self.busy:
            return [self.busy]
        if self.read:
            return [*self.read.rows(), "", *(f"- {_here(note)}" for note in (*self.notes, *self.read.scan.notes))]
        if self.fault:
            return [_here(self.fault)]
        if not self.files:
            return ["No picture lies here or beside the recipes.", "n: type the name of one   s: scan the sheet now"]
        room = max(3, self.query_one("#list").size.height or self.size.height - 7)
        first = first_shown(self.at, len(self.files), room)
        return [
            f"{'>' if n == self.at else ' '} {path.name}" for n, path in enumerate(self.files) if first <= n < first + room
        ]

    def _foot(self) -> None:
        if self.entry:
            return self.next_action(self.entry_foot())
        if self.context.paper_out:
            return self.next_action("PAPER IS OUT: to be read only, nothing is read in\nq: back")
        if self.busy:
            return self.next_action("wait\nq: leave it")
        if self.leaving:
            return self.next_action("Not taken yet. q again: leave it so\nEnter: take   any other key: go on")
        if not self.path:
            enter = "Enter: read this file   up down: choose" if self.files else "no file to choose"
            return self.next_action(f"{enter}\nn: type its name   s: scan it now   q: back")
        wide = self.size.width >= WIDE
        more = "b: a box  k: curve  t: tablet  o: other file  q: back" if wide else "i turn  b box  k t  o file  q back"
        if not self.read:
            return self.next_action(f"nothing is read; mend it, or another file\n{more}")
        count = len(self.read.scan.patches)
        enter = (
            f"Enter: take these {count} readings, if the boxes lie right" if wide else f"boxes right? Enter: take {count}"
        )
        return self.next_action(f"{enter}\n{more}")

    # ── keys ─────────────────────────────────────────────────────────────────

    def _act(self, key: str) -> bool:
        if self.context.paper_out:
            if key != "enter":
                return False
            self.context.report("paper is out: cover it first")
        elif self.busy:
            return False
        elif not self.path:
            return self._file_key(key)
        else:
            return self._read_key(key)
        return True

    def _file_key(self, key: str) -> bool:
        match key:
            case "up" | "down" if self.files:
                self.at = (self.at + (1 if key == "down" else -1)) % len(self.files)
            case "enter" if self.files:
                self._read(self.files[self.at])
            case "n":
                self.ask("its file", self._typed_file, most=LONGEST_NAME)
            case "s":
                self._scan()
            case _:
                return False
        return True

    def _read_key(self, key: str) -> bool:
        assert self.path
        match key:
            case "enter" if self.read:
                self._take(self.read)
            case "o":
                self.path, self.read, self.fault, self.notes, self.how = None, None, "", (), HowToRead()
                self.files = scan_sheet.files()
            case "b":
                self.ask("box, like aim=1200,800,150,150", self._boxed)
            case "k":
                at = (CURVE_KEYS.index(self.how.curve) + 1) % len(CURVE_KEYS)
                self._read(self.path, replace(self.how, curve=CURVE_KEYS[at]))
            case "t":
                self.ask("tablet, like 0.05_0.20_0.35", self._tablet, most=LONGEST_NAME)
            case "i" if self.size.width < WIDE:
                self.drawn = not self.drawn
            case _:
                return False
        return True

    def _typed_file(self, text: str) -> None:
        if text:
            self._read(scan_sheet.file_named(text))

    def _boxed(self, text: str) -> None:
        assert self.path
        if text:
            name, corners = scan_sheet.parse_box(text)
            self._read(self.path, replace(self.how, boxes={**self.how.boxes, name: corners}))

    def _tablet(self, text: str) -> None:
        assert self.path
        self._read(self.path, replace(self.how, tablet=scan_sheet.parse_tablet(text)))

    # ── what takes its time ──────────────────────────────────────────────────

    def _read(self, path: Path, how: HowToRead | None = None) -> None:
        """Read it, on a thread: of a large file it takes some seconds."""
        self.path, self.how = path, how or self.how
        self._begin("reading")
        how = self.how

        def work() -> Came:
            return Came(path, how, scan_sheet.read(path, self.run, self._plan, how))

        self._on_a_thread(work)

    def _scan(self) -> None:
        """Scan into a new file, and read that."""
        self._begin("the scanner is at work; this takes a minute or two")
        run, how = self.run, replace(self.how, curve="linear")

        def work() -> Came:
            path, notes = scan_sheet.scan_now(run)
            try:
                return Came(path, how, scan_sheet.read(path, self.run, self._plan, how), notes)
            except LamphouseError as error:  # the file is there, and may be mended
                return Came(path, how, None, notes, str(error))

        self._on_a_thread(work)

    def _begin(self, says: str) -> None:
        self.busy, self.read, self.fault, self.notes = says, None, "", ()

    def _on_a_thread(self, work: Callable[[], Came]) -> None:
        def run() -> None:
            try:
                came = work()
            except LamphouseError as error:
                came = Came(self.path, self.how, None, (), str(error))
            self.post_message(came)

        self.run_worker(run, thread=True, exit_on_error=False)

    def on_came(self, message: Came) -> None:
        self.path, self.how, self.read = message.path, message.how, message.read
        self.notes, self.fault, self.busy = message.notes, message.fault, ""
        if self.fault and not self.path:
            self.context.report(self.fault)
            self.fault = ""
        self._draw()

    def _take(self, read: ScanRead) -> None:
        readings = read.readings()
        try:
            self.context.darkroom.archive.take_readings(self.run, readings)
        except LamphouseError as error:
            return self.context.report(str(error))
        self._taken_is_told(tuple(each.sample for each in readings))
        return self.context.go_back()


def _here(text: str) -> str:
    """What the command line would say, with this page's keys."""
    for said, key in (("--box ", "b: "), ("say --tablet", "say t:"), ("(another --curve,", "(another curve, k,")):
        text = text.replace(said, key)
    return text


def _with_boxes(read: ScanRead, width: int, height: int) -> Text:
    """The scan as large as there is room for, in cells of two pixels."""
    outlines = {
        name: Outline(polygon=((x, y), (right, y), (right, low), (x, low)))
        for name, (x, y, right, low) in read.places().items()
    }
    high, wide = read.picture.values.shape[:2]
    pixels = read.pixels(lambda shape: size(shape, width, height))
    return framed(outlines, {name: name for name in outlines}, wide / high, width, height, pixels)

"""Solve: pack and time for the next sheet, from what was read on this one and from looks at it; written with one key.

What is imported within a function is for the start-up time: the page is known to the screen from the first moment.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.widgets import Static

from timer.app.jobs import Job
from timer.app.writing import beside
from timer.craft.filters import parse_pack
from timer.craft.heads import text_of
from timer.craft.stops import digits
from timer.documents.settings import Head
from timer.errors import LamphouseError
from tui.page import TALL
from tui.typing_page import TypingPage

if TYPE_CHECKING:
    from timer.app.solving import Solved
    from timer.documents.reading import Reading
    from timer.measure.sheet import Aim

NUDGE, MOST = 0.05, 1.0
"""Density: how much darker or lighter than right a look says at a time, and at most."""
WIDE, WIDEST = 76, 100
"""From the first width on the readings stand as a table; no scale is wider than the second."""
THROUGH, AIM = "right through, like 10G", "aim, like 0.75 or 0.76_0.74_0.72"
AGAIN_S = 2.0
"""Readings come from other programs too: seconds between two looks for them."""


class Solve(TypingPage):
    """A sheet ``run`` of the notebook: a test, or the print ``job``. What is chosen of a look is kept when it is taken.

    ``looks``: samples of those that were kept just before, to be taken back with ``u``; so is a scan that is taken here.
    """

    phase = "SOLVE"
    guarded = frozenset({"p"})

    def __init__(self, job: Job, run: int, looks: tuple[str, ...] = ()) -> None:
        super().__init__()
        self.job, self.run, self._plan = job, run, job.plan
        self.patch = 1 if self._plan.patches else 0
        self.seen: dict[int, tuple[int, str]] = {}  # by patch: steps darker, and what it is right through
        self.changed = False
        self.aim: Aim | None = None
        self.found: Solved | None = None
        self.says = ""
        self.read: list[Reading] = []
        self._taken = [(look,) for look in looks]

    @property
    def unwritten(self) -> bool:
        """As of every page: a look that is not taken."""
        return self.changed

    @property
    def darker(self) -> int:
        """How many steps darker than right the patch at hand is said to be."""
        return self.seen.get(self.patch, (0, ""))[0]

    @property
    def through(self) -> str:
        """The viewing filter that the patch at hand looks right through."""
        return self.seen.get(self.patch, (0, ""))[1]

    @property
    def _print(self) -> Job | None:
        """The print that this is of."""
        return self.job.made_for if self._plan.patches else self.job

    @property
    def _text(self) -> str:
        return self._print.text if self._print else ""

    @property
    def _head(self) -> Head:
        from timer.app.solving import head_for

        return head_for(self._text, self.context.darkroom.settings.head)

    def body(self) -> ComposeResult:
        yield Static(id="choice", markup=False)
        yield Static(id="says", markup=False)
        yield Static(id="look", markup=False)
        yield Static(id="rows", markup=False)

    def begin(self) -> None:
        if not hasattr(self, "_again"):
            self._again = self.set_interval(AGAIN_S, self._see)
        self._solve()
        self.call_after_refresh(self._draw)

    def on_resize(self) -> None:
        super().on_resize()
        self.call_after_refresh(self._draw)

    def _see(self) -> None:
        """Whether readings have come in since."""
        if self.app.screen is not self or self.context.paper_out:
            return
        try:
            there = self.context.darkroom.archive.readings(self.run)
        except LamphouseError:
            return
        if there != self.read:
            self._solve()
            self._draw()

    def _solve(self) -> None:
        archive = self.context.darkroom.archive
        self.found, self.says = None, ""
        try:
            self.read = archive.readings(self.run)
            self.found = archive.solved(self.run, self._head, self.aim, self._text)
        except LamphouseError as error:
            self.says = str(error)

    # ── how it looks ─────────────────────────────────────────────────────────

    def _draw(self) -> None:
        if not self.is_attached:
            return
        target = self._print
        made_for = f"\nmade for: {target.plan.title if target else 'no print'}" if self._plan.patches else ""
        others = sorted({each.sheet for each in self.found.readings} - {self.run}) if self.found else []
        beside = f", with {', '.join(map(str, others))}" if others else ""
        self.query_one("#choice", Static).update(f"sheet {self.run}{beside}: {self._plan.title}{made_for}")
        self.query_one("#says", Static).update("\n".join(self._sentences()))
        look = f"by eye: {self._look()}" if self._takes_look and not self.context.paper_out else ""
        self.query_one("#look", Static).update(f"\n{look}" if look and self.size.height >= TALL else look)
        self.query_one("#rows", Static).update("\n".join(self._rows()))
        self._foot()

    def _sentences(self) -> list[str]:
        space = [""] if self.size.height >= TALL else []
        if self.found:
            return [*space, self.found.says, *(f"- {note}" for note in self.found.advice.notes)]
        if not self._own:
            return [*space, "no readings yet: read its scan, r, or say by eye how it looks"]
        return [*space, "what is aimed at? a: its density, like 0.75" if "aimed at" in self.says else self.says]

    @property
    def _own(self) -> list[Reading]:
        return [each for each in self.read if each.sample.lower() != "aim"]

    def _look(self) -> str:
        """The look as it would be taken."""
        where = f"patch {self.patch}" if self.patch else "the print"
        way = "darker than " if self.darker > 0 else "lighter than " if self.darker < 0 else ""
        how = f"{abs(self.darker) * NUDGE:.2f} {way}" if way else ""
        return f"{where} is {how}right{f' through {self.through}' if self.through else ''}"

    def _rows(self) -> list[str]:
        """What was read, as far as there is room: a table, or how many by what, and a scale of each colour."""
        if not self.found:
            return []
        found = self.found
        height, width = self.query_one("#rows").size.height, min(self.size.width, WIDEST)
        if self.size.width >= WIDE:
            head, *lines = found.table()
            room = max(3, height - 2)
            drawn = found.scales(width) if room >= len(lines) + 4 else []
            return ["", head, *lines[-room:], *drawn]  # the newest, aim and next sheet are last
        kinds = [each.kind or "densitometer" for each in self._own]
        counted = ", ".join(f"{kinds.count(kind)} by {kind}" for kind in dict.fromkeys(kinds))
        aim = " ".join(f"{d:.2f}" for d in found.advice.aim)
        drawn = found.scales(width)[1:] if height >= 5 else []
        return [f"read: {counted}", f"aim {aim}" + (": A; next ( )" if drawn else ""), *drawn]

    def _foot(self) -> None:
        if self.entry:
            return self.next_action(self.entry_foot())
        if self.context.paper_out:
            return self.next_action("PAPER IS OUT: to be read only, nothing is written\nq: back")
        if self.leaving:
            return self.next_action("Look not taken. q again: leave it so\nEnter: take it   any other key: go on")
        long, short = self._what()
        what = long if len(long) + 7 <= self.size.width else short
        return self.next_action(f"Enter: {what[: self.size.width - 7]}\n{self._keys()}")

    def _keys(self) -> str:
        """Those of a look come first; ``p`` and ``u`` only where they do something."""
        several = len(self._plan.patches) > 1
        strip, undo = self._brackets and not self._takes_look, bool(self.changed or self._taken)
        patch = "left right: patch  " if several else ""
        more = ("p: no strip  " if strip else "") + ("u: undo  " if undo else "")
        keys = f"{patch}up down: darker  t: filter  r: scan  a: aim  {more}"
        few = "arrows  " if several else "up down  "
        middle = f"arrows: a look  t: filter  r: scan  a: aim  {more}q: back"
        short = f"{few}t filter r scan a aim{' p print' if strip else ' u undo' if undo else ''}"
        return next((each for each in (f"{keys}q: back", keys.rstrip(), middle) if len(each) <= self.size.width), short)

    @property
    def _brackets(self) -> bool:
        """Whether a strip is to be made first."""
        return bool(self.found and self.found.advice.strip and not self.found.advice.right)

    @property
    def _takes_look(self) -> bool:
        return self.changed or not self._own

    def _what(self) -> tuple[str, str]:
        """What Enter does, in words and in few."""
        from timer.app.solving import is_as_printed

        if self._takes_look:
            return f"take this look: {self._look()}", "take this look"
        if not self.found:
            return "say what is aimed at", "say what is aimed at"
        advice = self.found.advice
        if is_as_printed(self.found):
            return "it is right; on to the print", "it is right; on"
        given = advice.now if advice.right else None
        pack = text_of(given.setting if given else advice.setting)
        seconds = digits(given.seconds if given else advice.then.seconds)
        if self._brackets:
            return f"write {pack}, {seconds} s, and a strip around it", f"{pack}, {seconds} s, and a strip"
        where = f" {beside(self._print)}" if self._print and self._print.text else ""
        return f"write {pack}, {seconds} s{where}", f"write {pack}, {seconds} s"

    # ── keys ─────────────────────────────────────────────────────────────────

    def _act(self, key: str) -> bool:
        last = len(self._plan.patches)
        match key:
            case "left" | "right" if last:
                self._looking(patch=max(1, min(last, self.patch + (1 if key == "right" else -1))))
            case _ if key.isdigit() and 1 <= int(key) <= last:
                self._looking(patch=int(key))
            case "up" | "down":
                most = round(MOST / NUDGE)
                self._looking(darker=max(-most, min(most, self.darker + (1 if key == "up" else -1))))
            case "t" | "a" | "r" | "u" | "p" | "enter" if self.context.paper_out:
                self.context.report("paper is out: cover it first")
            case "t":
                self.ask(THROUGH, self._through, self.through)
            case "a":
                self.ask(AIM, self._aimed)
            case "r":
                self.context.show("scan", Job(self._plan), self.run, self._taken.append)
            case "u":
                self._undo()
            case "p" if self._brackets and not self._takes_look:
                self._write(strip=False)
            case "enter":
                self._next()
            case _:
                return False
        return True

    def _looking(self, patch: int | None = None, darker: int | None = None) -> None:
        self.patch = self.patch if patch is None else patch
        if darker is not None:
            self.seen[self.patch] = (darker, self.through)
        self.changed = True

    def _through(self, text: str) -> None:
        parse_pack(text or "0")
        self.seen[self.patch], self.changed = (self.darker, text), True

    def _aimed(self, text: str) -> None:
        from timer.measure.sheet import parse_aim

        self.aim = parse_aim(text) if text else None
        self._solve()

    def _next(self) -> None:
        from timer.app.solving import is_as_printed

        if self._takes_look:
            self._take_look()
        elif not self.found:
            self.ask(AIM, self._aimed)
        elif is_as_printed(self.found):
            self._on(self.job)
        else:
            self._write(strip=self._brackets)

    def _take_look(self) -> None:
        archive = self.context.darkroom.archive
        try:
            viewing, patch = parse_pack(self.through or "0"), self.patch or None
            sample = archive.looked_at(self.run, viewing, self.darker * NUDGE, patch, self._head.per_stop)
        except LamphouseError as error:
            self.context.report(str(error))
            return
        self._taken.append((sample,))
        self.changed = False
        self._solve()

    def _undo(self) -> None:
        """What is said of a look and not taken is forgotten; else what was taken last, look or scan, is taken back."""
        if self.changed:
            self.seen, self.changed = {}, False
            return
        if not self._taken:
            self.context.report("nothing was taken here that could be taken back")
            return
        try:
            for sample in self._taken.pop():
                self.context.darkroom.archive.forget_reading(self.run, sample)
        except LamphouseError as error:
            self.context.report(str(error))
        self._solve()

    def _write(self, *, strip: bool) -> None:
        from timer.app.solving import bracket, next_of

        assert self.found
        context = self.context
        try:
            recipe, says = next_of(self.found, self._head)
            made = context.darkroom.book.take_solved(recipe, self._print, self.run if self._plan.patches else 0)
            job = bracket(self.found, made) if strip else None
        except (LamphouseError, ValueError) as error:
            context.report(str(error))
            return
        if says:
            context.tell(says, "warn")
        if job is None:
            self._on(made)
            return
        context.chosen = made
        context.expose(job)

    def _on(self, job: Job) -> None:
        self.context.chosen, self.context.to_chosen = job, True
        self.context.go_back()

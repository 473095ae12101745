"""What every screen has: how things stand, an alarm's own line, a body, the next action at the foot, the same few keys."""

from __future__ import annotations

import time
from typing import cast

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.widgets import Static

from tui.context import Context
from tui.driver import DARK_KEYS
from tui.keys import GUARDED, REPEATABLE
from tui.widgets.lines import write
from tui.widgets.sheet import Sheet

TALL = 20
"""Rows from which on there are large words and a line kept for alarms."""
LEAVE = ("q", "escape")
NOT_WRITTEN = "Not written yet. q again: leave it so\nEnter: write it   any other key: go on"
HELP = "KEYS"
"""The phase of the page of keys."""
KEYS_HELP = (
    ("Enter, pedal", "the next thing, as the foot of the screen says"),
    ("Space, pedal held", "DARK NOW, wherever you are"),
    ("c, pedal held (dark)", "the paper to its box, for a look; then: it is covered"),
    ("q, Esc", "leave; on the first page q alone, which ends it"),
    ("up down left right", "choose, change"),
    ("d", "red screen: brighter step by step, then black"),
    ("v", "sound: loud, quiet, off"),
    ("f", "focus light; it ends by itself"),
    ("e", "edit a print's recipe; on a strip, begin a new one"),
    ("m, b", "m: another size, paper, grade   b: correct a print"),
    ("o", "where the areas of a print lie on its sheet"),
    ("s, t", "for the print shown   s: a strip   t: a test sheet"),
    ("u", "undo what was written last"),
    ("i", "a picture of the sheet as it will look"),
    ("/", "list of negatives; again: find one by words"),
    ("n, z", "n: notebook   z: baths and their clocks"),
    ("a", "tests to read; looking back   a: an area   s: solve"),
    ("r", "unfinished sheets: finish one, or give it up"),
    ("l", "lights check: what else may shine"),
    ("?", "this page"),
)


def first_shown(at: int, count: int, room: int) -> int:
    """The first of ``count`` rows to show where there is ``room`` for some; row ``at`` in the middle if it can be."""
    return max(0, min(at - room // 2, count - room))


class Page(Screen[None]):
    """``keys`` are handled in ``pressed``; what it does not take goes to the app's common keys.

    ``sure``: the press in hand is certainly one, and no repeat of a key that was held; light needs that.
    """

    phase = ""
    typing = False
    refused = ""
    """Why what was typed cannot stand."""
    leaving = False
    """Whether it was asked to leave with something unwritten, and the next q does."""
    sure = True
    guarded: frozenset[str] = frozenset()
    """Keys of its own that write or begin something, so that they count after a rest alone (``tui.keys.GUARDED``)."""
    hears_clocks = False
    """Whether it advances the clocks of the baths itself."""

    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (72, "-wide")]  # noqa: RUF012  Textual's own
    VERTICAL_BREAKPOINTS = [(0, "-short"), (TALL, "-tall")]  # noqa: RUF012

    def compose(self) -> ComposeResult:
        yield Static(id="title", markup=False)
        yield Static(id="alarm", markup=False)
        with Vertical(id="body"):
            yield from self.body()
        yield Static(id="news", markup=False)
        yield Static(id="clocks", markup=False)
        yield Static(id="next", markup=False)

    def body(self) -> ComposeResult:
        """The page's own widgets, between its title and its foot."""
        yield from ()

    @property
    def under_way(self) -> bool:
        """Whether light is being given from this page: then it alone says when the paper is covered."""
        return False

    @property
    def context(self) -> Context:
        """The application."""
        return cast(Context, self.app)

    def on_mount(self) -> None:
        self.title_line()
        self.clock_line()
        self.begin()

    def begin(self) -> None:
        """Called once the screen is there, and again when it is shown anew."""

    def on_resize(self) -> None:
        self.title_line()

    def title_line(self) -> None:
        """How things stand; below, in a line that is kept free for it where there is room, what is wrong; and news."""
        width = self.size.width or 80
        for title in self.query("#title").results(Static):  # none yet, on a page that is just coming
            stands = self.context.standing(width - len(self.phase) - 3)
            title.update(f"{self.phase}   {stands.rjust(width - len(self.phase) - 3)}", layout=width < 72)
        for alarm in self.query("#alarm").results(Static):
            text = "\n".join(f"!! {trouble}" for trouble in self.context.said.troubles)
            alarm.display = bool(text) or self.size.height >= TALL
            if alarm.content != text:
                alarm.update(text)
        for line in self.query("#news").results(Static):
            news = self.refused or self.context.said.news
            line.display = bool(news)
            if line.content != news:
                line.update(news)

    def clock_line(self) -> None:
        """Each running bath and its next call, in a row above the foot; none where none runs, or the page has its own."""
        text = "" if self.hears_clocks else self.context.clocks.standing(time.monotonic(), self.size.width or 80)
        for line in self.query("#clocks").results(Static):
            line.display = bool(text)
            line.update(text)

    def next_action(self, text: str) -> None:
        """Show at the foot what Enter does next."""
        self.write("next", text)

    def write(self, name: str, text: str) -> None:
        """``text`` into one of the lines that keep their size; nothing is drawn for what stands there already."""
        write(self, name, text)

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        if event.key in DARK_KEYS:  # even while words are typed: these keys have one meaning
            self.context.dark_now()
            if event.key != "space":
                self.context.leave_now()
        elif self.app.screen is not self:
            return  # it was meant for a page that has just been left
        else:
            self.context.keys.settle(event.key)
            page = self.app.screen  # another one, if what was in question has left this
            if isinstance(page, Page):
                page.came(event.key, event.time)

    def came(self, key: str, at: float) -> None:
        """``key`` came at ``at`` of the monotonic clock: what chooses, opens or is typed acts at once, the rest if sure."""
        keys = self.context.keys
        if keys.is_press(key):
            if self.typing and keys.ends_line(at):
                return self.counts(key, sure=False)
        else:
            if self.typing:
                return self.counts(key, sure=True) if keys.typed(key, at) else None
            if key in REPEATABLE:
                return self.counts(key, sure=True)
            if key not in GUARDED | self.guarded:
                return self.counts(key, sure=False) if keys.tapped(key, at) else None
        return keys.came(self, key, at)

    def counts(self, key: str, *, sure: bool) -> None:
        """``key`` was pressed, and is not just held."""
        if self.app.screen is not self:
            return
        self.sure = sure
        if self.leaving and key not in LEAVE:
            self.leaving = False
            self._draw()
        context, page, said = self.context, self.app.screen, self.context.said.times
        acts = self.press() if context.keys.is_press(key) else self.pressed(key)
        if not acts and not context.keys.is_press(key):
            context.common_key(key)
            acts = self.app.screen is not page
        if acts and context.said.times == said:
            context.works()

    def pressed(self, key: str) -> bool:
        """Act on a key that is this screen's own; whether it was."""
        return False

    def dark(self) -> None:
        """Dark now: the key was pressed, or the pedal held. Never the way to more light."""

    def held(self) -> None:
        """The pedal was held: dark now, but for a page where all is dark and over already."""
        self.context.dark_now()

    def press(self) -> bool:
        """Enter, or the pedal: the next thing; whether there was one."""
        return self.pressed("enter")

    @property
    def unwritten(self) -> bool:
        """Whether something would be lost by leaving."""
        return False

    def leave(self) -> None:
        """Leave, as q does; what would be lost is asked about once."""
        if self.unwritten and not self.leaving and not self.context.paper_out:
            self.leaving = True
            self._draw()
        else:
            self.context.go_back()

    def _draw(self) -> None:
        """Show the page as it is now."""


class LeafPage(Page):
    """A page to read, with no next thing of its own: Enter leads back."""

    def pressed(self, key: str) -> bool:
        if key == "enter":
            self.context.go_back()
            return True
        return False


class PlanPage(Page):
    """A choice, its plan, and the sheet as it will be exposed."""

    def body(self) -> ComposeResult:
        yield Static(id="choice", markup=False)
        with Horizontal(id="columns"):
            yield Sheet(id="sheet", markup=False)
            yield Static(id="plan", markup=False)

"""What every screen has: a title line, a body, the next action in words at the foot, and the same few keys."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.widgets import Static

from tui.widgets.sheet import Sheet

if TYPE_CHECKING:
    from tui.app import LamphouseApp

KEYS_HELP = (
    ("Enter, pedal", "the next thing, as the foot of the screen says"),
    ("Space, pedal held", "DARK NOW, wherever you are"),
    ("c, pedal held (dark)", "the paper is covered, or in the lidded drum"),
    ("q, Esc", "leave; the rest can be given later"),
    ("up down left right", "choose, change"),
    ("d", "screen dimmer, round again to bright"),
    ("v", "sound: loud, quiet, off"),
    ("f", "focus light, with an end"),
    ("m, b", "a print to another size, paper, grade; a print corrected"),
    ("t", "test sheets for a print: ring, ladders, dry-down"),
    ("i", "a picture of the sheet as it will look"),
    ("n, z", "notebook; baths and their clocks"),
    ("r", "the rest of a broken-off sheet"),
    ("l", "lights check: what else may shine"),
    ("?", "this page"),
)


class Page(Screen[None]):
    """``keys`` are handled in ``pressed``; what it does not take goes to the app's common keys."""

    phase = ""

    def compose(self) -> ComposeResult:
        yield Static(id="title", markup=False)
        with Vertical(id="body"):
            yield from self.body()
        yield Static(id="next", markup=False)

    def body(self) -> ComposeResult:
        yield from ()

    @property
    def house(self) -> LamphouseApp:
        from tui.app import LamphouseApp

        assert isinstance(self.app, LamphouseApp)
        return self.app

    def on_mount(self) -> None:
        self.title_line()
        self.begin()

    def begin(self) -> None:
        """Called once the screen is there, and again when it is shown anew."""

    def title_line(self) -> None:
        house = self.house
        out = "PAPER OUT" if house.paper_out else "paper covered"
        trouble = f"   !! {house.trouble}" if house.trouble else ""
        self.query_one("#title", Static).update(
            f"{self.phase}   {house.room.value} light   {out}   sound {house.sound.level}{trouble}"
        )

    def next_action(self, text: str) -> None:
        self.query_one("#next", Static).update(text)

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        if self.app.screen is not self and event.key != "space":
            return  # it was meant for a page that has just been left
        if event.key == "space":
            self.house.dark_now()  # even while words are typed: this key has one meaning
        elif not self.pressed(event.key):
            self.house.common_key(event.key)

    def pressed(self, key: str) -> bool:
        """Act on a key that is this screen's own; whether it was."""
        return False

    def dark(self) -> None:
        """Dark now: the key was pressed, or the pedal held. Never the way to more light."""

    def held(self) -> None:
        """The pedal was held: dark now, but for a page where all is dark and over already."""
        self.dark()

    def press(self) -> None:
        """The pedal, short: as Enter."""
        self.pressed("enter")


class LeafPage(Page):
    """A page to read, with no next thing of its own: Enter leads back."""

    def pressed(self, key: str) -> bool:
        if key == "enter":
            self.house.go_back()
            return True
        return False


class PlanPage(Page):
    """A choice, its plan, and the sheet as it will be exposed."""

    def body(self) -> ComposeResult:
        yield Static(id="choice", markup=False)
        with Horizontal(id="columns"):
            yield Static(id="plan", markup=False)
            yield Sheet(id="sheet", markup=False)

"""Lights check: what else may shine, to be covered or switched off before a box is opened; and how to test the panel."""

import os

from textual.app import ComposeResult
from textual.widgets import Static

from tui import terminal
from tui.page import LeafPage

THINGS = (
    "this panel: black and red pixels glow too; test it as below; for colour paper covered or off",
    "around the terminal: window frame, tabs, status line, pointer, notifications: full screen, all off",
    "the terminal's bell: some flash instead of sounding; ours rings only if the settings say bell = true",
    "phone, watch: off or out of the room",
    "cooker, fridge, boiler, washing machine: displays taped",
    "power and network LEDs of this machine and its plugs",
    "other monitors and their standby lamps, keyboard lights",
    "drum motor, heaters, chargers, fan switch",
    "gap under the door, window edges",
    "fluorescent lamps: off until dark-adapted eyes see no glow; five minutes or more",
    "then: all off, ten minutes for your eyes to adapt, and look again",
)
COIN_TEST = (
    "The panel's coin test, for each kind of paper, screen as dim as you work with it, at the distance you work at:",
    "expose a strip of paper under the enlarger to a light grey; lay a coin on it where your paper lies",
    "after 2 minutes move the coin along; again after 4 and after 8; develop with the screen covered",
    "no edge of a coin may show at twice the longest time that your paper lies out; else cover the screen",
)


class Lights(LeafPage):
    """What shines here besides the page, a line each."""

    phase = "LIGHTS CHECK"
    first = 0

    def body(self) -> ComposeResult:
        yield Static(id="list", markup=False)

    def begin(self) -> None:
        self._draw()

    def _lines(self) -> list[str]:
        context = self.context
        ours = context.light.shine.lights()
        found = [f"this machine's own: {', '.join(ours)}" if ours else "this machine reports no lights of its own"]
        if ours and not context.light.shine.can_put_out_panel:
            found.append("Lamphouse may not switch the backlight off: cover the panel for colour paper")
        if not terminal.can_dim(os.environ):
            found.append("this terminal has its own 16 colours: its red cannot be dimmed, only made black (d)")
        heard = ", ".join(context.sound.ways) or "NOTHING: no voice, tones, tone pin or bell"
        return [*(f"- {thing}" for thing in (*THINGS, *found)), f"- in the dark is heard: {heard}", "", *COIN_TEST]

    def _draw(self) -> None:
        self.query_one("#list", Static).update("\n".join(self._lines()[self.first :]))
        self.next_action("Enter: back\nup down: more")

    def pressed(self, key: str) -> bool:
        if key in ("up", "down"):
            self.first = max(0, min(len(self._lines()) - 3, self.first + (1 if key == "down" else -1)))
            self._draw()
            return True
        return super().pressed(key)

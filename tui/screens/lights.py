"""Lights check: what else may shine, to be covered or switched off before a box is opened."""

from textual.app import ComposeResult
from textual.widgets import Static

from tui.page import LeafPage

THINGS = (
    "phone, watch: off or out of the room",
    "cooker, fridge, boiler, washing machine: displays taped",
    "power and network LEDs of this machine and its plugs",
    "monitor standby lamp, keyboard lights",
    "drum motor, heaters, chargers, fan switch",
    "gap under the door, window edges",
    "fluorescent lamps: off until no glow is seen, five minutes at the least",
    "then: all off, ten minutes, and look again",
)


class Lights(LeafPage):
    phase = "LIGHTS CHECK"

    def body(self) -> ComposeResult:
        yield Static(id="list", markup=False)

    def begin(self) -> None:
        ours = self.house.shine.lights()
        here = f"this machine's own: {', '.join(ours)}" if ours else "this machine names no light of its own"
        self.query_one("#list", Static).update("\n".join(f"- {thing}" for thing in (*THINGS, here)))
        self.next_action("Enter: back")

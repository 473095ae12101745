"""What a keeper needs to know of its lamp."""

import json
import os
from dataclasses import asdict, dataclass
from hashlib import sha256
from pathlib import Path


@dataclass(frozen=True)
class Config:
    """Pins are BCM numbers, 0 for none. ``state_dir`` is where its log goes; nothing there is touched while it runs.

    ``asked_ns``: since when the lamp is wanted (CLOCK_BOOTTIME): not if it was told to be off later; 0: whatever was said.
    """

    state_dir: str
    lamp: str = "simulated"
    ceiling_us: int = 120_000_000
    hold_us: int = 800_000
    speed_permille: int = 1000
    lamp_pin: int = 17
    safelight_pin: int = 0
    footswitch_pin: int = 27
    buzzer_pin: int = 0
    buzzer_tonal: bool = False
    chip: str = ""
    wire: str = ""
    port: str = ""
    counts_per_s: float = 0.0
    mains_half_cycle_us: int = 10_000
    bulb: str = ""
    asked_ns: int = 0

    def as_argument(self) -> str:
        """As JSON, for the command line of the keeper's process."""
        return json.dumps(asdict(self))

    @property
    def screen_key(self) -> str:
        """The name under which one screen has this lamp for itself."""
        return f"screen-{self.lamp_key}"

    @property
    def lamp_key(self) -> str:
        """Which lamp this is, on this machine: one pin or one port is one lamp, whichever folder asks for it."""
        if self.lamp == "gpio":
            return f"gpio-{self.lamp_pin}"
        if self.lamp == "controller":
            return f"controller-{Path(self.port).resolve().name}" if self.port else "controller"
        return f"{self.lamp}-{sha256(os.path.realpath(self.state_dir).encode()).hexdigest()[:12]}"

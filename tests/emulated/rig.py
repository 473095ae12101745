"""A board that is up, with Lamphouse in it: light it, hit it, see from outside what the lamp did."""

import json
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.emulated.emulator import Emulator
from tests.emulated.guest_link import Guest, GuestError, Said
from tests.emulated.image import Image
from tests.emulated.models import Model
from tests.emulated.table import Row, judge, judge_ms
from tests.emulated.trace import Bcm2835, Pl061, Witness

HOME = "/tmp/home"
BOOT_S = 240.0
LIT_S = 60.0
FEW_MS = 30.0
"""What the outside may see of a light beyond what is booked: the emulator's processors share those of this machine."""


@dataclass(frozen=True)
class Lit:
    """A lamp that was lit: when, by the outside, and the processes at it."""

    at: float
    keeper: int
    guard: int
    app: int

    def processes(self, names: Sequence[str]) -> list[int]:
        return [{"keeper": self.keeper, "guard": self.guard, "app": self.app}[name] for name in names]


@dataclass(frozen=True)
class Booked:
    """What the notebook says of an exposure, in seconds of lamp-on time; ``high`` None: nobody knows."""

    low: float | None
    high: float | None
    why: str | None

    def holds(self, seen: float, tolerance: float) -> bool:
        """Whether the light ``seen`` lies in it."""
        if self.low is None:
            return False
        return self.low - tolerance <= seen and (self.high is None or seen <= self.high + tolerance)

    def __str__(self) -> str:
        if self.low is None:
            return f"nothing ({self.why})"
        high = "open" if self.high is None else f"{self.high:.3f}"
        return f"{self.low:.3f} to {high} s ({self.why})" if self.high != self.low else f"{self.low:.3f} s ({self.why})"


class Rig:
    """``name`` is what the table calls the board."""

    def __init__(
        self, name: str, model: Model, image: Image, folder: Path, *, init: str = "/init", append: str = ""
    ) -> None:
        self.name, self.model = name, model
        self._image, self._folder, self._init, self._append = image, folder, init, append
        self.boots = 0
        self.case = ""
        self.boot()

    # ── the machine ──────────────────────────────────────────────────────────

    def boot(self) -> None:
        """Start it, or start it anew, and wait until it takes orders."""
        self.boots += 1
        folder = self._folder / str(self.boots)
        self._said = folder / "programs"
        self._emulator = Emulator(self.model, self._image, folder, init=self._init, append=self._append)
        pins = (self.model.lamp, self.model.marker, self.model.buzzer)
        decoder = Pl061() if self.model.kind == "virt" else Bcm2835(pins)
        self.witness = Witness(self._emulator.trace, decoder)
        self.pulls = decoder.pulls if isinstance(decoder, Bcm2835) else {}
        try:
            if self.model.inputs:
                self._emulator.drive(self.model.footswitch, True)  # open, held up by the switch's own resistor
            self.guest = Guest(self._emulator.console, folder / "console")
            self.guest.wait_ready(BOOT_S)
            self.boot_s = time.time() - self._emulator.began
            if not self._image.bare:
                self.chip: str = self.guest.do("marker", offset=self.model.marker, patience=60)
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        self._emulator.stop()
        self.witness.close()

    def drive(self, pin: int, high: bool) -> float:
        return self._emulator.drive(pin, high)

    # ── Lamphouse in it ──────────────────────────────────────────────────────

    @property
    def lamp(self) -> int:
        return self.model.lamp

    @property
    def key(self) -> str:
        """The lamp's name among the keepers."""
        return f"gpio-{self.lamp}"

    def fresh(self, *, footswitch: bool = False, **pins: int) -> None:
        """Nothing runs, nothing is lit, no notebook; settings for this board."""
        self.sweep()
        if self.witness.high(self.lamp):
            self.off()
        self.guest.run(f"umount -l {HOME} 2>/dev/null; rm -rf {HOME}; mkdir -p {HOME}")
        self.settings(HOME, footswitch=footswitch, **pins)

    def sweep(self) -> None:
        """End what a case has left, and write down what it said."""
        said = self.guest.do("sweep", home=HOME, patience=60)
        with self._said.open("a") as file:
            file.write(f"── {self.case} {time.time():.3f}\n{said}\n")

    def fresh_home(self) -> None:
        """The same in a home folder that stays where it is."""
        self.sweep()
        self.guest.run(f"rm -rf {HOME}/*")
        self.settings(HOME)

    def settings(self, folder: str, *, footswitch: bool = False, **pins: int) -> None:
        """Settings for this board's pins."""
        pins = {"lamp": self.lamp, "footswitch": self.model.footswitch if footswitch else 0, **pins}
        lines = "".join(f"{name} = {pin}\n" for name, pin in pins.items())
        self.guest.do("put", path=f"{folder}/settings.toml", text=f'lamp = "gpio"\nspeech = false\n[pins]\n{lines}')

    def off(self, *, user: str = "root", lamp: str = "") -> Said:
        """``lamphouse lamp off``."""
        return self.guest.run(f"lamphouse lamp off {lamp}", user=user)

    def recipe(self, seconds: float) -> None:
        """A print of one exposure, ``one.toml``."""
        text = f'recipe = 1\ntitle = "One"\nbase_s = {seconds}\n\n[paper]\nkind = "bw"\n'
        self.guest.do("put", path=f"{HOME}/one.toml", text=text)

    def light(self, seconds: float, *, focus: bool = False, user: str = "root", cwd: str = "", **environ: str) -> Lit:
        """Start an app that lights the lamp for ``seconds``, and wait for the light. GuestError if none comes."""
        began = time.time()
        if focus:
            command = f"lamphouse lamp view --minutes {seconds / 60}"
        else:
            self.recipe(seconds)
            command = f"lamphouse print {HOME}/one.toml --advance auto --pause 0"
        self.guest.start("app", command, user=user, cwd=cwd, environ=environ)
        return self.lit(began)

    def lit(self, since: float, *, name: str = "app", seconds: float = LIT_S) -> Lit:
        """Wait for the light of an app that was started; who is at the lamp."""
        edge = self.witness.wait(self.lamp, True, since, seconds)
        if not edge:
            raise GuestError(f"no light within {seconds:g} s: {self.guest.wait(name, 1).text[-300:]!r}")
        return Lit(edge.at, **self.who())

    def said(self, name: str, text: str, seconds: float) -> bool:
        """Wait until a program that was started says ``text``."""
        end = time.monotonic() + seconds
        while text not in self.guest.wait(name, 0).text:
            if time.monotonic() > end:
                return False
            time.sleep(0.1)
        return True

    def wait_for_keeper(self, seconds: float) -> bool:
        """Wait until a guarded keeper is at the lamp."""
        end = time.monotonic() + seconds
        while not all(self.who().values()):
            if time.monotonic() > end:
                return False
            time.sleep(0.3)
        return True

    def who(self) -> dict[str, int]:
        """The processes at the lamp now, by the keeper's memory."""
        told: dict[str, Any] = self.guest.do("who", key=self.key)
        return {name: int(told[name]) for name in ("keeper", "guard", "app")}

    def hit(self, processes: Sequence[int], signal: str) -> float:
        """Send the signal; the moment, by the marker's edge outside."""
        before = time.time()
        there = self.guest.do("hit", processes=list(processes), name=signal)
        if len(there) != len(processes):
            raise GuestError(f"not hit: {processes} with {signal}, there were {there}")
        return self._marked(before)

    def freeze(self, processes: Sequence[int]) -> float:
        """Make them hang; the moment, by the marker's edge outside."""
        before = time.time()
        self.guest.do("freeze", processes=list(processes))
        return self._marked(before)

    def _marked(self, since: float) -> float:
        edge = self.witness.wait(self.model.marker, True, since, 5)
        if not edge:
            raise GuestError("the marker was not seen")
        return edge.at

    @staticmethod
    def now() -> float:
        """The clock of all edges."""
        return time.time()

    def until(self, at: float) -> None:
        """Wait until the host's clock says ``at``."""
        time.sleep(max(0.0, at - time.time()))

    def dark_ms(self, since: float, watch: float, *, may_be_dark: bool = False) -> float | None:
        """From ``since`` to the dark, in ms; None if it did not come within ``watch`` seconds.

        GuestError if it was dark at ``since``, for then nothing was tried; 0 where it ``may_be_dark``.
        """
        if not any(begin <= since < end for begin, end in self.witness.lights(self.lamp)):
            if may_be_dark:
                return 0.0
            raise GuestError("it was not lit any more")
        edge = self.witness.wait(self.lamp, False, since, max(0.0, since + watch - time.time()))
        return None if edge is None else (edge.at - since) * 1000

    def lights(self, since: float) -> list[float]:
        """How long each light from ``since`` on was, in seconds."""
        return [end - begin for begin, end in self.witness.lights(self.lamp, since)]

    def booked(self) -> list[Booked]:
        """Every exposure of the notebook's last run."""
        rows = self.guest.do("book", path=f"{HOME}/notebook.db")
        return [Booked(_seconds(low), _seconds(high), why) for low, high, why in rows]

    def json(self, command: str, **options: Any) -> Any:
        """What a command of Lamphouse says with --json; GuestError if that is none."""
        said = self.guest.run(f"{command} 2>/dev/null", **options)
        try:
            return json.loads(said.text)
        except ValueError:
            raise GuestError(f"{command}: exit {said.code}, {said.text[-300:]!r}") from None

    # ── rows ─────────────────────────────────────────────────────────────────

    def row(self, what: str, holds: bool, figure: str) -> Row:
        return judge(self.name, self.case, what, holds, figure)

    def row_ms(self, what: str, ms: float | None, bar_ms: float) -> Row:
        return judge_ms(self.name, self.case, what, ms, bar_ms)

    def told(self, what: str, figure: str) -> Row:
        return Row(self.name, self.case, what, "told", figure)


def _seconds(us: int | None) -> float | None:
    return None if us is None else us / 1e6

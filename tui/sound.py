"""By ear: a sound of its own for everything the printer must know in the dark, and words where speech is installed.

Tones come from the machine's sound card; the terminal's bell rings only where the settings say that it can be heard and
does not flash. The keeper sounds its own tone pin through an exposure.
"""

import re
import shutil
import subprocess
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

from timer.text import one_line
from tui.tones import Tones

LEVELS = ("loud", "quiet", "off")
RING_S, PAUSE_S = 0.09, 0.3
"""From one ring of the bell to the next; and where a rhythm has a pause."""


@dataclass(frozen=True)
class Cue:
    """``notes`` as ``tui.tones`` plays them. ``rings``: the bell has one pitch, so it is told by rhythm, "." a ring."""

    notes: str
    rings: str


CUES = {
    "tick": Cue("a", "."),
    "warn": Cue("bb", ".."),
    "change": Cue("C", "..."),
    "end": Cue("A", "...."),  # of this light
    "box": Cue("abc", ". . ."),  # the screen is dark: open the box
    "cover": Cue("A cba", ".... ..."),  # this light is over: the sheet into its box, for a look
    "easel": Cue("bc", ". .."),  # taken: the paper is in the easel
    "ready": Cue("cc", ".. ."),  # the next press gives light
    "finished": Cue("CBA", "... ..."),
    "interrupted": Cue("Aa", ".... ."),
    "refused": Cue("aa", ". . . ."),
    "silent": Cue("cacaca", "......"),  # the lamp's keeper is not heard, or has not heard us
}


class Sound:
    """``bell`` rings the terminal once; None where it must not. Quiet leaves the ticks out and is softer.

    ``heard`` is told of everything that sounds, as text: ``tone ready``, ``say window over patch 2``.
    """

    def __init__(
        self, bell: Callable[[], None] | None, level: str, speech: bool, *, pin: bool = False, tones: Tones | None = None
    ) -> None:
        self._bell, self._pin = bell, pin
        self.level = level
        self._tones = Tones() if tones is None else tones
        self._voice = shutil.which("espeak-ng") if speech else None
        self._speaking: subprocess.Popen[bytes] | None = None
        self.heard: Callable[[str], None] = lambda text: None

    @property
    def has_voice(self) -> bool:
        """Whether speech is wanted and installed."""
        return self._voice is not None

    def try_out(self) -> None:
        """Find out what works, without a sound."""
        self._tones.try_out()

    @property
    def ways(self) -> list[str]:
        """What can be heard in the dark, in words; nothing when the sound is off, but the keeper's own pin."""
        if self.level == "off":
            return ["tone pin"] if self._pin else []
        found = {"voice": self.has_voice, "tones": self._tones.works, "tone pin": self._pin, "bell": self._bell is not None}
        return [way for way, works in found.items() if works]

    def cue(self, name: str) -> None:
        """Sound ``name``, one of CUES, as loud as is set; comes back at once. KeyError for another name."""
        cue = CUES[name]
        if self.level == "off" or (self.level == "quiet" and name == "tick"):
            return
        self.heard(f"tone {name}")
        self._tones.play(cue.notes, 0.6 if self.level == "loud" else 0.15)
        if self._bell and cue.rings == ".":
            self._bell()
        elif self._bell:
            threading.Thread(target=self._ring, args=(self._bell, cue.rings), name="bell", daemon=True).start()

    def _ring(self, bell: Callable[[], None], rings: str) -> None:
        for sign in rings:
            if sign == ".":
                bell()
            time.sleep(RING_S if sign == "." else PAUSE_S)

    def say(self, text: str) -> None:
        """Speak, cutting short what is still being said: what is next matters more."""
        if self.level == "off" or not text:
            return
        words = spoken(text)
        self.heard(f"say {words}")
        if not self._voice:
            return
        self._hush()
        loudness = "160" if self.level == "loud" else "50"
        try:
            self._speaking = subprocess.Popen(
                [self._voice, "-a", loudness, "--", words],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
        except OSError:
            self._voice = None
            return
        threading.Thread(target=self._wait_for, args=(self._speaking,), name="voice", daemon=True).start()

    def _wait_for(self, speaking: subprocess.Popen[bytes]) -> None:
        """A voice that has ended is let go of; one that could not speak is none."""
        if speaking.wait() > 0:
            self._voice = None

    def _hush(self) -> None:
        if self._speaking and self._speaking.poll() is None:
            self._speaking.kill()
            self._speaking.wait()

    def close(self) -> None:
        """Silent; what is being said is cut off."""
        self._hush()


# ── as it is said ────────────────────────────────────────────────────────────

_HALVES = {2: "half", 3: "third", 4: "quarter", 5: "fifth", 6: "sixth", 8: "eighth", 12: "twelfth", 24: "twenty-fourth"}
_SMALL = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]
_FRACTION = re.compile(
    r"(?<![\w/.])(?P<sign>[+-]?)(?:(?P<whole>\d+) )?(?P<top>\d+)/(?P<bottom>\d+)(?P<stops> stops?\b)?(?![\w/])"
)


def spoken(text: str) -> str:
    """``text`` as a printer says it: "a third of a stop", "grade two and a half", "f 8"."""
    text = re.sub(r"\bf/(\d)", r"f \1", one_line(text))
    text = re.sub(r"(?<=\d)x(?=\d)", " by ", text)
    return _FRACTION.sub(_said, text).replace(" / ", ", ")


def _said(found: re.Match[str]) -> str:
    top, bottom = int(found["top"]), int(found["bottom"])
    if bottom not in _HALVES or not top or top >= bottom:
        return f"{found[0].replace('/', ' of ')}"  # "2/5" of a sheet's exposures
    name = _HALVES[bottom]
    part = f"{'an' if name == 'eighth' else 'a'} {name}" if top == 1 else f"{_number(top)} {name}s"
    sign = {"+": "plus ", "-": "minus ", "": ""}[found["sign"]]
    if found["whole"]:
        return f"{sign}{_number(int(found['whole']))} and {part}{' stops' if found['stops'] else ''}"
    if not found["stops"]:
        return f"{sign}{part}"
    return f"{sign}half a stop" if (top, bottom) == (1, 2) else f"{sign}{part} of a stop"


def _number(value: int) -> str:
    return _SMALL[value] if 0 < value < len(_SMALL) else str(value)

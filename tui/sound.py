"""By ear: a tick a second, another sound before a change, another at the end; names spoken where speech is installed.

The keeper times the cues and sounds its own buzzer; this is the desktop's bell and the voice.
"""

import shutil
import subprocess
import threading
import time
from collections.abc import Callable

from timer.text import one_line

LEVELS = ("loud", "quiet", "off")
_RINGS = {"tick": 1, "warn": 2, "change": 3, "end": 4}
GAP_S = 0.09


class Sound:
    """``bell`` rings the terminal once. Quiet leaves the ticks out and speaks softly."""

    def __init__(self, bell: Callable[[], None], level: str, speech: bool) -> None:
        self._bell = bell
        self.level = level
        self._voice = shutil.which("espeak-ng") if speech else None
        self._speaking: subprocess.Popen[bytes] | None = None

    @property
    def has_voice(self) -> bool:
        return self._voice is not None

    def cue(self, name: str) -> None:
        if self.level == "off" or (self.level == "quiet" and name == "tick"):
            return
        if _RINGS[name] == 1:
            self._bell()
        else:
            threading.Thread(target=self._ring, args=(_RINGS[name],), daemon=True).start()

    def _ring(self, times: int) -> None:
        for n in range(times):
            if n:
                time.sleep(GAP_S)
            self._bell()

    def say(self, text: str) -> None:
        """Speak, cutting short what is still being said: what is next matters more."""
        if not self._voice or self.level == "off" or not text:
            return
        if self._speaking and self._speaking.poll() is None:
            self._speaking.kill()
            self._speaking.wait()
        loudness = "160" if self.level == "loud" else "50"
        try:
            self._speaking = subprocess.Popen(
                [self._voice, "-a", loudness, "--", one_line(text.replace("/", " over "))],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
        except OSError:
            self._voice = None

    def close(self) -> None:
        if self._speaking:
            self._speaking.kill()
            self._speaking.wait()

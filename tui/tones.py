"""Tones from the machine's own sound: made here, played by ``aplay`` (alsa-utils); nothing where that is not installed."""

import math
import shutil
import struct
import subprocess
import threading
from functools import lru_cache

RATE = 22_050
PITCHES = {"a": 500.0, "b": 750.0, "c": 1100.0}
"""Hz of a note: in the middle, where a fan or a running tap hides them least (common practice)."""
SHORT_S, LONG_S, GAP_S = 0.08, 0.3, 0.06
_FADE_S = 0.005


def seconds_of(notes: str) -> float:
    """How long ``notes`` sound, gaps included."""
    return sum((LONG_S if note.isupper() else SHORT_S) + GAP_S for note in notes)


@lru_cache(64)
def samples(notes: str, loudness: float) -> bytes:
    """16-bit samples of ``notes``: each letter is a note, a lower than b; a capital is a long note, a blank a long rest."""
    out = bytearray()
    for note in notes:
        count = round(RATE * (LONG_S if note.isupper() or note == " " else SHORT_S))
        hertz = PITCHES.get(note.lower(), 0.0)
        for n in range(count):
            edge = min(1.0, n / (RATE * _FADE_S), (count - n) / (RATE * _FADE_S))  # a tone cut off square clicks
            level = loudness * edge * math.sin(2 * math.pi * hertz * n / RATE) if hertz else 0.0
            out += struct.pack("<h", round(32_767 * level))
        out += bytes(2 * round(RATE * GAP_S))
    return bytes(out)


class Tones:
    """``works`` until a player says otherwise: no sound card is only found out by playing."""

    def __init__(self) -> None:
        self._player = shutil.which("aplay")
        self.works = self._player is not None

    def play(self, notes: str, loudness: float) -> None:
        """At once, and beside whatever still sounds."""
        if self.works:
            threading.Thread(target=self._play, args=(samples(notes, loudness),), name="tone", daemon=True).start()

    def try_out(self) -> None:
        """Play nothing, for as long as a tick: whether there is a sound card at all."""
        if self.works:
            self._play(bytes(2 * round(RATE * SHORT_S)))

    def _play(self, data: bytes) -> None:
        assert self._player
        try:
            done = subprocess.run(
                [self._player, "-q", "-t", "raw", "-f", "S16_LE", "-c", "1", "-r", str(RATE), "-"],
                input=data,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                timeout=10,
                check=False,
            )
            self.works = done.returncode == 0
        except (OSError, subprocess.TimeoutExpired):
            self.works = False

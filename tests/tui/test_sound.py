"""Sounds, as text: each thing has its own, in tones, by the bell and in words; and words as a printer says them."""

import threading
import time
from pathlib import Path

import pytest

from tui import tones
from tui.sound import CUES, Sound, spoken
from tui.tones import Tones


class Silent(Tones):
    """No player; what would be played is noted."""

    def __init__(self) -> None:
        super().__init__()
        self.played: list[tuple[str, float]] = []
        self.works = True

    def play(self, notes: str, loudness: float) -> None:
        self.played.append((notes, loudness))


@pytest.fixture
def no_player(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("shutil.which", lambda name: None)


def test_everything_that_must_be_told_apart_is() -> None:
    wanted = {
        "ready",
        "easel",
        "warn",
        "change",
        "finished",
        "interrupted",
        "refused",
        "silent",
        "tick",
        "end",
        "box",
        "cover",
    }
    assert set(CUES) == wanted
    assert len({cue.notes for cue in CUES.values()}) == len(CUES)
    assert len({cue.rings for cue in CUES.values()}) == len(CUES)
    # A keeper's own tick is the shortest; nothing that is no tick may be taken for one.
    assert tones.seconds_of(CUES["tick"].notes) == min(tones.seconds_of(cue.notes) for cue in CUES.values())


@pytest.mark.parametrize(
    ("level", "expected"),
    [("loud", [("a", 0.6), ("bb", 0.6)]), ("quiet", [("bb", 0.15)]), ("off", [])],
)
def test_levels(level: str, expected: list[tuple[str, float]]) -> None:
    player = Silent()
    heard: list[str] = []
    made = Sound(None, level, speech=False, tones=player)
    made.heard = heard.append
    made.cue("tick")
    made.cue("warn")
    made.say("window over patch 2")
    assert player.played == expected
    assert len(heard) == len(expected) + (level != "off")


def test_the_bell_rings_only_where_it_may(no_player: None) -> None:
    rung: list[float] = []
    Sound(None, "loud", speech=False).cue("warn")
    Sound(lambda: rung.append(time.monotonic()), "loud", speech=False).cue("easel")
    end = time.monotonic() + 3
    while len(rung) < 3 and time.monotonic() < end:
        time.sleep(0.01)
    assert len(rung) == 3
    assert rung[1] - rung[0] > rung[2] - rung[1]  # by rhythm: one, a pause, two


def test_what_can_be_heard(no_player: None) -> None:
    assert Sound(None, "loud", speech=True).ways == []
    assert Sound(lambda: None, "loud", speech=True).ways == ["bell"]
    assert Sound(None, "loud", speech=False, pin=True).ways == ["tone pin"]
    assert Sound(lambda: None, "off", speech=False, pin=True).ways == ["tone pin"]
    assert Sound(None, "loud", speech=False, tones=Silent()).ways == ["tones"]


def _fake(folder: Path, name: str, script: str, monkeypatch: pytest.MonkeyPatch) -> None:
    path = folder / name
    path.write_text(f"#!/bin/sh\n{script}\n")
    path.chmod(0o755)
    monkeypatch.setenv("PATH", f"{folder}:/usr/bin:/bin")


def test_the_voice_says_names_and_is_cut_short_by_the_next(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    said = tmp_path / "said"
    _fake(tmp_path, "espeak-ng", f'echo "$@" >> {said}\nexec sleep 5', monkeypatch)
    made = Sound(None, "loud", speech=True, tones=Silent())
    assert made.has_voice
    for text in ("hold back gate", "all clear"):
        made.say(text)
        for _ in range(200):
            if said.exists() and text in said.read_text():
                break
            time.sleep(0.01)
    assert said.read_text().splitlines() == ["-a 160 -- hold back gate", "-a 160 -- all clear"]
    made.level = "off"
    made.say("never")
    made.close()
    assert "never" not in said.read_text()


def test_a_voice_that_has_ended_is_gone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _fake(tmp_path, "espeak-ng", "exit 0", monkeypatch)
    made = Sound(None, "loud", speech=True, tones=Silent())
    made.say("all clear")
    assert made._speaking
    process = made._speaking.pid
    end = time.monotonic() + 5
    while Path(f"/proc/{process}").exists():
        assert time.monotonic() < end, Path(f"/proc/{process}/stat").read_text()
        time.sleep(0.01)
    assert made.has_voice


@pytest.mark.parametrize(("player", "works"), [("cat > /dev/null", True), ("cat > /dev/null; exit 1", False)])
def test_a_voice_or_a_player_that_fails_is_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, player: str, works: bool
) -> None:
    _fake(tmp_path, "aplay", player, monkeypatch)
    _fake(tmp_path, "espeak-ng", "exit 1", monkeypatch)
    made = Sound(None, "loud", speech=True)
    made.try_out()
    assert made.ways == (["voice", "tones"] if works else ["voice"])
    made.say("all clear")
    end = time.monotonic() + 5
    while made.has_voice and time.monotonic() < end:
        time.sleep(0.01)
    assert not made.has_voice


def test_no_voice_is_no_trouble(no_player: None) -> None:
    made = Sound(None, "loud", speech=True)
    assert not made.has_voice
    made.say("anything")
    made.cue("ready")
    made.close()


def test_tones_are_as_long_and_as_high_as_they_are_said_to_be() -> None:
    import numpy as np

    data = np.frombuffer(tones.samples("Ab", 0.5), dtype="<i2").astype(float)
    assert len(data) / tones.RATE == pytest.approx(tones.seconds_of("Ab"), abs=0.001)
    long = data[: round(tones.LONG_S * tones.RATE)]
    spectrum = np.abs(np.fft.rfft(long))
    assert spectrum.argmax() * tones.RATE / len(long) == pytest.approx(tones.PITCHES["a"], abs=4)
    assert abs(data).max() == pytest.approx(0.5 * 32_767, rel=0.02)
    assert abs(data[0]) < 100 and abs(long[-1]) < 500  # no click


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("strip, 5 patches, 1/3 stop, from 8 s", "strip, 5 patches, a third of a stop, from 8 s"),
        ("burn sky +2/3 stop", "burn sky plus two thirds of a stop"),
        ("-1/2 stop", "minus half a stop"),
        ("1 1/3 stops", "one and a third stops"),
        ("grade 2 1/2 in?", "grade two and a half in?"),
        ("grade 1/2", "grade a half"),
        ("1/8 stop", "an eighth of a stop"),
        ("lens set to f/8?", "lens set to f 8?"),
        ("f/5.6", "f 5.6"),
        ("18x24cm", "18 by 24cm"),
        ("3/40", "3 of 40"),
        ("cover patch 2 with the card: 2 of 5 covered", "cover patch 2 with the card: 2 of 5 covered"),
        ("12.5 s", "12.5 s"),
    ],
)
def test_words_are_as_a_printer_says_them(written: str, said: str) -> None:
    assert spoken(written) == said


def test_no_thread_stays() -> None:
    before = threading.active_count()
    made = Sound(lambda: None, "loud", speech=False, tones=Silent())
    for name in CUES:
        made.cue(name)
    end = time.monotonic() + 6
    while threading.active_count() > before and time.monotonic() < end:
        time.sleep(0.05)
    assert threading.active_count() <= before

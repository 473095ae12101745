import time
from pathlib import Path

import pytest

from tui.sound import Sound


def rings(level: str, cue: str) -> int:
    heard: list[float] = []
    Sound(lambda: heard.append(time.monotonic()), level, speech=False).cue(cue)
    time.sleep(0.5)
    return len(heard)


@pytest.mark.parametrize(("level", "expected"), [("loud", [1, 2, 3, 4]), ("quiet", [0, 2, 3, 4]), ("off", [0, 0, 0, 0])])
def test_each_cue_has_its_own_sound(level: str, expected: list[int]) -> None:
    assert [rings(level, cue) for cue in ("tick", "warn", "change", "end")] == expected


def test_the_voice_says_names_and_is_cut_short_by_the_next(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    said = tmp_path / "said"
    fake = tmp_path / "espeak-ng"
    fake.write_text(f'#!/bin/sh\necho "$@" >> {said}\nexec sleep 5\n')
    fake.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:/usr/bin:/bin")
    sound = Sound(lambda: None, "loud", speech=True)
    assert sound.has_voice
    for text in ("hold back gate", "all clear"):
        sound.say(text)
        for _ in range(200):
            if said.exists() and text in said.read_text():
                break
            time.sleep(0.01)
    assert said.read_text().splitlines() == ["-a 160 -- hold back gate", "-a 160 -- all clear"]
    sound.level = "off"
    sound.say("never")
    sound.close()
    assert "never" not in said.read_text()


def test_no_voice_is_no_trouble(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    sound = Sound(lambda: None, "loud", speech=True)
    assert not sound.has_voice
    sound.say("anything")
    sound.close()

"""A lamp calibrated as its owner would: by sensor, by print, into the settings."""

import json
import math
from pathlib import Path

import pytest

from tests.conftest import Run
from timer.app.keep_lamp import keep_response
from timer.app.lamp import response
from timer.bench import lamps
from timer.craft.lamp_response import LampResponse, shortening
from timer.documents.settings import Response, Settings, UseResponse, layers, response_for
from timer.documents.settings_file import load_settings
from timer.plans.lamp_calibration import calibration_plan, long_exposure, rungs
from timer.plans.strip import strip_plan


def traced(lamphouse: Run, folder: Path, lamp: str, band: str, *extra: str) -> "dict[str, float]":
    for file, lights in (
        ("long", ("--on", "8")),
        ("short", ("--on", "0.25")),
        ("again", ("--on", "2", "--rests", "0.5,1,3,8")),
    ):
        (folder / f"{file}.csv").unlink(missing_ok=True)
        lamphouse("bench", "trace", "--lamp", lamp, "--band", band, *lights, "-o", str(folder / f"{file}.csv"))
    files = (str(folder / "long.csv"), str(folder / "short.csv"), "--again", str(folder / "again.csv"))
    made: dict[str, float] = json.loads(lamphouse("calibrate", "trace", *files, *extra, "--json").stdout)
    return made


@pytest.mark.parametrize("lamp", ["halogen-24v-250w", "halogen-12v-100w-transformer"])
def test_by_sensor_into_the_settings(lamphouse: Run, home: Path, tmp_path: Path, lamp: str) -> None:
    (home / "settings.toml").write_text('sound = "quiet"  # the baby sleeps\n\n[pins]\nlamp = 22\n')
    for band in ("graded", "red", "green", "blue"):
        traced(lamphouse, tmp_path, lamp, band, "--use", band, "--keep")
    kept = load_settings()
    assert (kept.sound, kept.pins.lamp) == ("quiet", 22)
    assert "# the baby sleeps" in (home / "settings.toml").read_text()
    for use, found in (("graded", response(kept)), *zip(("red", "green", "blue"), layers(kept) or (), strict=True)):
        whole = lamps.response_of(lamp, use)
        assert found.lag == pytest.approx(whole.lag, abs=0.001)
        for rest in (0.5, 1.0, 2.0, 5.0, 30.0):
            assert shortening(found, rest) == pytest.approx(shortening(whole, rest), abs=0.003), (use, rest)
    # once more: replaced, not doubled
    traced(lamphouse, tmp_path, lamp, "graded", "--keep")
    assert (home / "settings.toml").read_text().count("[lamp_response]") == 1
    assert load_settings() == kept


def test_by_print(lamphouse: Run, home: Path) -> None:
    # 64 and 96 ms: of 0.5 s u = 436 ms give u - 96 (1 - exp(-u / 96)) = 341.023; eight are 2728.183, and 160 ms more on
    # the long one. 28 ms sooner u = 464 give 368.764, so 341.023 + 7 x 368.764 + 160 = 3082.371 are the warm one.
    lag = 0.160
    made = lamphouse("calibrate", "match", "--long", "2.888183", "--keep", "--json").stdout
    assert json.loads(made)["delay_ms"] + json.loads(made)["rise_ms"] == pytest.approx(160, abs=0.2)
    said = lamphouse("calibrate", "match", "--long", "3.082371", "--rest", "1", "--keep").stdout
    # 3.082371 x 0.029302 / 7 = 0.012903 s more; log2(0.512903 / 0.5), log2(5.012903 / 5)
    assert "1/24 stop: here that is 0.0368 stop in exposures of 0.5 s, 0.00372 in those of 5 s" in said
    kept = response(load_settings())
    assert shortening(kept, 1.0) == pytest.approx(0.028, abs=0.0005)
    assert kept.lag == pytest.approx(lag, abs=0.0002)


def test_by_print_from_its_sheet(lamphouse: Run, home: Path) -> None:
    run = ("--advance", "auto", "--pause", "0", "--speed", "100")
    lamphouse("calibrate", "print", *run)
    plan = calibration_plan(8, 0.5)
    longs = [patch.seconds for patch in plan.patches]
    for patch, long in ((2, longs[1]), (5, longs[4]), (5.5, (longs[4] + longs[5]) / 2), (9, longs[8])):
        made = json.loads(lamphouse("calibrate", "match", "--run", "1", "--patch", f"{patch}", "--json").stdout)
        by_hand = json.loads(lamphouse("calibrate", "match", "--long", f"{long}", "--json").stdout)
        assert made == by_hand
    assert "patches 2 to 9, not 10" in lamphouse("calibrate", "match", "--run", "1", "--patch", "10", check=1).stderr
    assert "--run and --patch" in lamphouse("calibrate", "match", "--run", "1", check=2).stderr
    lamphouse("strip", "--from", "1", *run)
    assert "no calibration sheet" in lamphouse("calibrate", "match", "--run", "2", "--patch", "3", check=1).stderr


def test_an_led_is_instant(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    made = traced(lamphouse, tmp_path, "led", "graded")
    assert [made[key] for key in ("delay_ms", "rise_ms", "less_ms", "recovery_s")] == [0, 0, 0, 0]


def test_what_does_not_fit(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    assert "make that sheet first" in lamphouse("calibrate", "match", "--long", "3", "--rest", "1", check=1).stderr
    lamphouse("calibrate", "match", "--long", "2.9", "--keep")
    for length in ("1", "3.8"):
        assert "measure again" in lamphouse("calibrate", "match", "--long", length, "--rest", "1", check=1).stderr
    assert "cannot match" in lamphouse("calibrate", "match", "--long", "4.1", check=1).stderr
    assert "cannot match" in lamphouse("calibrate", "print", "--near", "4.2", "--show", check=1).stderr
    assert "no lamp makes them match" in lamphouse("calibrate", "print", "--near", "0.5", "--show", check=1).stderr
    assert "no lamp gives" in lamphouse("calibrate", "match", "--long", "0.5", check=1).stderr
    long, short = tmp_path / "long.csv", tmp_path / "short.csv"
    lamphouse("bench", "trace", "--on", "8", "-o", str(long))
    lamphouse("bench", "trace", "--on", "0.25", "-o", str(short))
    says = lamphouse("calibrate", "trace", str(long), str(short), "--on", "5", check=1).stderr
    assert "is 7.8" in says
    assert "does not fit 5 s" in says
    assert "only one light" in lamphouse("calibrate", "trace", str(long), str(short), "--again", str(long), check=1).stderr
    short.write_text("0,0\n0.1,inf\n")
    assert "line 2: wants two numbers" in lamphouse("calibrate", "trace", str(long), str(short), check=1).stderr
    assert "no steady light" in lamphouse("bench", "trace", "--lamp", "cold-light", check=1).stderr
    assert "like 0.5,1,3" in lamphouse("bench", "trace", "--rests", "a", check=2).stderr


def test_real_recordings(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    """Some megabytes, in which nothing is lost; what is longer is refused in one sentence."""
    files = [str(tmp_path / f"{name}.csv") for name in ("long", "short", "again")]
    for file, lights in zip(files, (("--on", "30"), ("--on", "0.25"), ("--on", "2", "--rests", "0.5,1,3,8")), strict=True):
        lamphouse("bench", "trace", *lights, "--step", "0.0005", "-o", file)
    assert Path(files[0]).stat().st_size > 900_000
    made = json.loads(lamphouse("calibrate", "trace", *files[:2], "--again", files[2], "--on", "30", "--json").stdout)
    whole = lamps.response_of("halogen-24v-250w", "graded")
    assert made["delay_ms"] + made["rise_ms"] == pytest.approx(whole.lag * 1000, abs=1)
    assert made["notes"] == []
    short, hostile = files[1], tmp_path / "hostile.csv"
    for text, says in (
        ("0,0\n" * 3_000_000, "hostile.csv: too long: 8 MB at most"),
        ("0,0\n" * 600_000, "hostile.csv: more than 500,000 readings; record less often, every 2 ms does"),
        ("\n" * 2_000_000 + "a,b", "hostile.csv, line 2000001: wants two numbers"),
        ("1" * 3_000_000, "hostile.csv: not a table of two columns: field larger than"),
    ):
        hostile.write_text(text)
        error = lamphouse("calibrate", "trace", str(hostile), short, check=1).stderr
        assert says in error
        assert error.count("\n") == 1


def recorded(path: Path, lamp: LampResponse, on: float, step: float) -> str:
    """A trace with a hard edge, as of a lamp that is off at once."""
    rows = []
    for n in range(round((on + 2.5) / step)):
        t = n * step - 0.5
        light = 1 - math.exp(-(t - lamp.delay) / lamp.rise) if lamp.delay <= t <= on + 1e-9 else 0.0
        rows.append(f"{t:.4f},{light:.6f}\n")
    path.write_text("".join(rows))
    return str(path)


def test_readings_that_are_too_far_apart(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    """60 and 100 ms with a reading every 20 ms. The light goes at 8 s, a reading, and is half as much till 8.02 s in the
    trapezoid: 10 ms too many, 150 for 160 ms. The short one goes at 0.25 s, between two, which is just right. So by them a
    short light loses 5 ms less, not 15, and tau is 64 ms; 100 lies in the range that is said."""
    lamp = LampResponse(0.06, 0.1)
    long, short = (recorded(tmp_path / f"{on}.csv", lamp, on, 0.02) for on in (8.0, 0.25))
    made = json.loads(lamphouse("calibrate", "trace", long, short, "--json").stdout)
    assert made["delay_ms"] + made["rise_ms"] == pytest.approx(150, abs=1.5)
    assert made["rise_ms"] == pytest.approx(64, abs=4)
    said = lamphouse("calibrate", "trace", long, short).stdout
    assert made["notes"][0] in said
    assert "anything from 0 to 1" in said
    assert "readings 20 ms apart; delay and rise together are known to 1" in said
    assert "record every 2 ms" in said
    fine, shorter = (recorded(tmp_path / f"{on}-fine.csv", lamp, on, 0.0005) for on in (8.0, 0.25))
    made = json.loads(lamphouse("calibrate", "trace", fine, shorter, "--json").stdout)
    assert (made["delay_ms"], made["rise_ms"]) == (pytest.approx(60, abs=2), pytest.approx(100, abs=2))
    assert made["notes"] == []


def test_a_short_light_that_is_long(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    lamp = LampResponse(0.06, 0.1)
    long, short = (recorded(tmp_path / f"{on}.csv", lamp, on, 0.002) for on in (8.0, 3.0))
    says = lamphouse("calibrate", "trace", long, short, "--short-on", "3", "--keep", check=1).stderr
    assert "3.0.csv: a light of 3 s is too long to show the rise" in says
    assert not (home / "settings.toml").exists()


def test_a_lamp_that_gives_more_than_its_time(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    """On for 8.3 s and said to be 8: 8.3 - 0.16 = 8.14 s of full light, more than a time offset can mean."""
    lamp = LampResponse(0.06, 0.1)
    long, short = (recorded(tmp_path / f"{on}.csv", lamp, on, 0.002) for on in (8.3, 0.25))
    says = lamphouse("calibrate", "trace", long, short, check=1).stderr
    assert "8.3.csv: the light gave 8.14 s of its steady light in 8 s: is --on the time it was on?" in says


def test_options_that_would_do_nothing(lamphouse: Run, home: Path, tmp_path: Path) -> None:
    assert "with --again" in lamphouse("calibrate", "trace", "a.csv", "b.csv", "--again-on", "3", check=2).stderr
    run = ("--advance", "auto", "--pause", "0", "--speed", "100")
    lamphouse("calibrate", "print", "--warm", *run)
    lamphouse("calibrate", "print", *run)
    match = ("calibrate", "match", "--patch", "4", "--run")
    assert "leave --bursts and --seconds away" in lamphouse(*match, "2", "--bursts", "8", check=2).stderr
    assert "run 1 was made with --warm: say --rest" in lamphouse(*match, "1", check=1).stderr
    assert "run 2 was made cold" in lamphouse(*match, "2", "--rest", "1", check=1).stderr


@pytest.mark.parametrize(("bursts", "seconds"), [(8, 0.5), (8, 1.0), (4, 0.5), (16, 0.5), (12, 2.0)])
def test_the_first_sheet_covers_every_lamp(bursts: int, seconds: float) -> None:
    covered = rungs(bursts, seconds)
    assert covered[0] == 0
    assert covered[-1] >= 0.3
    plan = calibration_plan(bursts, seconds)
    longs = [patch.seconds for patch in plan.patches[1:]]
    assert longs == sorted(longs, reverse=True)
    assert longs == pytest.approx([long_exposure(bursts, seconds, lost) for lost in covered])
    # the finer sheet about any of them steps by a fifth of that
    fine = rungs(bursts, seconds, longs[3])
    assert fine[3] == pytest.approx(covered[3])
    assert fine[1] - fine[0] == pytest.approx((covered[1] - covered[0]) / 5)


@pytest.mark.parametrize(
    ("near", "apart", "short", "long"),
    [
        # 7 x 50 ms of the middle one, 2.6 s at 200 ms: log2(2.95 / 2.6); log2(0.55 / 0.5); log2(5.05 / 5)
        (None, "0.182", "0.138", "0.0144"),
        (1.0, "0.0976", "0.0286", "0.00288"),  # log2(1.07), log2(0.51 / 0.5), log2(5.01 / 5)
        (2.85, "0.0350", "0.0286", "0.00288"),  # log2(2.92 / 2.85)
    ],
)
def test_the_sheet_says_what_its_rungs_come_to(near: float | None, apart: str, short: str, long: str) -> None:
    told = next(note for note in calibration_plan(8, 0.5, near=near).notes if "from patch to patch" in note)
    assert f"start, {apart} stop" in told
    assert f"exposures of 0.5 s would be off by {short} stop, those of 5 s by {long}" in told


def test_a_sheet_on_which_nothing_can_be_seen() -> None:
    """Four of 60 s: 240 s, and 240 - 3 x 0.35 = 238.95 s at the most of loss: log2(240 / 238.95) = 0.00633 stop."""
    notes = calibration_plan(4, 60.0).notes
    assert "all the long ones lie within 0.00633 stop, too little for the eye: shorter bursts show more" in notes
    for near in (None, 1.0, 2.85):
        assert not any("too little for the eye" in note for note in calibration_plan(8, 0.5, near=near).notes)


def test_guided_lights_and_sheets(lamphouse: Run, home: Path) -> None:
    plan = json.loads(lamphouse("calibrate", "print", "--show", "--json").stdout)
    assert sum(step["do"] == "expose" for step in plan["steps"]) == 8 + 8
    assert "press a second after" in lamphouse("calibrate", "print", "--warm", "--show").stdout
    assert "stop" in next(note for note in plan["notes"] if "from patch to patch" in note)
    run = json.loads(
        lamphouse("calibrate", "lights", "--advance", "auto", "--pause", "0.1", "--speed", "50", "--json").stdout
    )
    assert run["state"] == "finished"
    assert [row["asked_s"] for row in run["exposures"]] == [8.0, 0.25, 2.0, 2.0, 2.0, 2.0, 2.0]


def test_a_response_for_each_use() -> None:
    own = Response(60, 100, 240, 2.2, soft=UseResponse(50, 90), green=UseResponse(45, 90, 200, 2.5))
    settings = Settings(lamp_response=own)
    assert response(settings) == LampResponse(0.06, 0.1, 0.24, 2.2)
    assert response(settings, strip_plan(8, 1, 3, "cover", paper="ra4")) == LampResponse(0.045, 0.09, 0.2, 2.5)  # type: ignore[arg-type]
    assert response_for(settings, "soft") == LampResponse(0.05, 0.09)
    assert response_for(settings, "hard") == response(settings)
    assert layers(settings) is None


def test_settings_that_no_lamp_has(lamphouse: Run, home: Path) -> None:
    (home / "settings.toml").write_text("[lamp_response.red]\ndelay_ms = 10\nless_ms = 500\nrecovery_s = 3\n")
    says = lamphouse("strip", "--from", "8", "--advance", "auto", "--pause", "0", "--speed", "100", check=1).stderr
    assert "lamp_response.red: after 0.2 s of rest" in says


@pytest.mark.parametrize("text", ["lamp_response = { delay_ms = 5 }\n", "lamp_response.delay_ms = 5\n"])
def test_a_table_written_another_way_is_left_alone(home: Path, text: str) -> None:
    from timer.errors import LamphouseError

    (home / "settings.toml").write_text(text)
    with pytest.raises(LamphouseError, match="by hand"):
        keep_response(LampResponse(0.06, 0.1))
    assert (home / "settings.toml").read_text() == text

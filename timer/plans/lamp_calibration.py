"""The guided sheets that calibrate a lamp: short bursts on one patch, long exposures to match them on the others; and
the lights that a sensor's traces are made of."""

from timer.craft.lamp_calibrate import stops_of_error
from timer.craft.stops import digits, stops_between
from timer.plans.cue_points import marks
from timer.plans.model import Plan, PlanPatch, Step

COARSE_S, MAX_S = 0.05, 0.35
"""Steps of the first sheet, and the largest loss at a start that it covers: seconds a burst."""
FINE_S, AROUND = 0.01, 3
TOLD = 1 / 12
"""Stops: what the eye must be shown at the least, twice what it places a match to."""
COLD_S = 15
"""Dark before a start that counts as cold: what then is left of a slow lamp's warmth is half a millisecond."""


def calibration_plan(bursts: int, seconds: float, *, near: float | None = None, warm: bool = False) -> Plan:
    """Patch 1 gets ``bursts`` of ``seconds``; each next one a long exposure. No negative in, the lens stopped down.

    The long ones are what the bursts give if 0, 50, 100 ... 350 ms are lost at every start but the first; or finer, by
    10 ms, about the one of ``near`` seconds that matched on a sheet before. ``warm``: the bursts follow closely.
    """
    steps: list[Step] = []
    for n in range(bursts):
        hands = "negative out; window over patch 1, all else covered; lamp dark for 15 s"
        if n:
            hands = (
                "leave all as it is; press a second after the light went out" if warm else "leave all as it is; wait 15 s"
            )
        steps += [
            Step("wait", hands, "patch 1"),
            Step("expose", f"burst {n + 1} of {bursts}", "patch 1", seconds, "", marks(seconds)),
        ]
    patches = [PlanPatch(1, 0.0, bursts * seconds)]
    step = COARSE_S if near is None else FINE_S
    losses = rungs(bursts, seconds, near)
    for number, lost in enumerate(losses, 2):
        long = long_exposure(bursts, seconds, lost)
        steps += [
            Step("wait", f"window over patch {number}, all else covered; wait 15 s", f"patch {number}"),
            Step(
                "expose",
                f"one long exposure: {lost * 1000:.0f} ms lost at each start",
                f"patch {number}",
                long,
                marks=marks(long),
            ),
        ]
        patches.append(PlanPatch(number, stops_between(bursts * seconds, long), long))
    middle = losses[len(losses) // 2]
    apart = abs(stops_between(long_exposure(bursts, seconds, middle), long_exposure(bursts, seconds, middle - step)))
    off, off_5 = (digits(stops_of_error(step, each)) for each in (seconds, 5))
    kind = "warm" if warm else "cold"
    notes: tuple[str, ...] = (
        "look for the patch that matches patch 1 (a middle grey shows it best), then `lamphouse calibrate match`",
        f"from patch to patch {step * 1000:.0f} ms more are lost at each start, {digits(apart)} stop: with the patch beside "
        f"the right one, exposures of {seconds:g} s would be off by {off} stop, those of 5 s by {off_5}",
    )
    reach = abs(stops_between(patches[1].seconds, patches[-1].seconds))
    if reach < TOLD:
        notes += (f"all the long ones lie within {digits(reach)} stop, too little for the eye: shorter bursts show more",)
    return Plan("strip", f"lamp calibration, {kind}, {bursts} x {seconds:g} s", tuple(steps), tuple(patches), notes, "bw")


def rungs(bursts: int, seconds: float, near: float | None = None) -> list[float]:
    """Seconds lost at each start that the long exposures stand for, growing. ValueError for a ``near`` that cannot be."""
    if near is None:
        losses = [n * COARSE_S for n in range(round(MAX_S / COARSE_S) + 1)]
    else:
        middle = (bursts * seconds - near) / (bursts - 1)
        if middle < -FINE_S:
            raise ValueError(f"{bursts} bursts of {seconds:g} s cannot match one of {near:g} s: bursts lose light")
        if near <= seconds:
            raise ValueError(f"{bursts} bursts of {seconds:g} s give more than one of {near:g} s: no lamp makes them match")
        losses = [middle + n * FINE_S for n in range(-AROUND, AROUND + 1)]
        losses = [lost - min(0.0, losses[0]) for lost in losses]
    return [lost for lost in losses if long_exposure(bursts, seconds, lost) > seconds]


def long_exposure(bursts: int, seconds: float, lost: float) -> float:
    """The one exposure that ``bursts`` match when every start loses ``lost`` seconds: N t - (N - 1) lost."""
    return bursts * seconds - (bursts - 1) * lost


def sensor_plan(on: float = 8.0, short_on: float = 0.25, again_on: float = 2.0) -> Plan:
    """The lights that `lamphouse calibrate trace` wants traces of: a long one, a short one, and some close together."""
    steps = []
    for file, seconds, say in (
        ("long.csv", on, "sensor in place of paper, negative out; lamp dark for a minute; recording"),
        ("short.csv", short_on, "save long.csv; lamp dark for a minute; new recording"),
        ("again.csv", again_on, "save short.csv; lamp dark for a minute; new recording"),
    ):
        steps += [Step("wait", say, "sensor"), Step("expose", file, "sensor", seconds, "", marks(seconds))]
    for pause in ("again at once", "one second after it went out", "3 s after it went out", "8 s after it went out"):
        again = (
            Step("wait", f"press {pause}", "sensor"),
            Step("expose", "again.csv", "sensor", again_on, "", marks(again_on)),
        )
        steps += again
    notes = (
        "each recording: half a second of dark before its first light, 2 s after its last (4 s if that was cut short)",
        f"then `lamphouse calibrate trace long.csv short.csv --again again.csv --on {on:g} --short-on {short_on:g} "
        f"--again-on {again_on:g}`",
    )
    return Plan("strip", "lamp calibration by sensor, no paper out", tuple(steps), (), notes, "")

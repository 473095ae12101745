"""The guided print that calibrates a lamp: short bursts on one patch, long exposures to match them on the others."""

from timer.craft.stops import stops_between
from timer.plan import Plan, PlanPatch, Step, marks

RUNGS = (1.00, 0.975, 0.95, 0.925, 0.90, 0.875, 0.85)
"""Long exposures as shares of the bursts' sum: an instant lamp matches the first, slow ones further down."""


def calibration_plan(bursts: int, seconds: float) -> Plan:
    """Patch 1 gets ``bursts`` of ``seconds``; each next one long exposure. No negative in, the lens stopped down."""
    steps: list[Step] = []
    for n in range(bursts):
        hands = "negative out; window over patch 1, all else covered" if n == 0 else "leave all as it is; wait 5 s"
        steps += [
            Step("wait", hands, "patch 1"),
            Step("expose", f"burst {n + 1} of {bursts}", "patch 1", seconds, "", marks(seconds)),
        ]
    patches = [PlanPatch(1, 0.0, bursts * seconds)]
    for number, share in enumerate(RUNGS, 2):
        long = bursts * seconds * share
        steps += [
            Step("wait", f"window over patch {number}, all else covered; wait 5 s", f"patch {number}"),
            Step("expose", "one long exposure", f"patch {number}", long, "", marks(long)),
        ]
        patches.append(PlanPatch(number, stops_between(bursts * seconds, long), long))
    note = "a middle grey is best: which patch matches patch 1? then `lamphouse calibrate match`"
    return Plan("strip", f"lamp calibration, {bursts} x {seconds:g} s", tuple(steps), tuple(patches), (note,), "silver")

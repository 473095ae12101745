"""The plan: frozen steps in full-light seconds, made from a strip or a recipe before any light.

A plan can be listed, totalled, hashed, stored and checked without a lamp; a run carries it out.
"""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Literal

import msgspec

from timer.craft.dodge_burn import SMALLEST_S as SMALLEST_S
from timer.craft.dodge_burn import Segment
from timer.craft.lamp_response import INSTANT, LampResponse, on_time
from timer.craft.paper import grade_of_range
from timer.craft.stops import digits, format_stops
from timer.craft.strip import Burst, Patch, Way, bursts, patches
from timer.errors import LamphouseError, Refused
from timer.recipe import (
    Burn,
    Pass,
    Recipe,
    burn_light,
    edge_light,
    in_order,
    laid_out,
    own_filters,
    passes,
    printed_base,
)
from timer.text import UNFIT, plain

Cue = Literal["warn", "change", "end"]
WARN_S = 2.0
"""How long before a change the ear is warned; less in a stretch too short for it."""
MOST_MARKS = 40
"""Cues that one exposure can carry on the link (docs/protocol.md)."""


@dataclass(frozen=True)
class Mark:
    """A cue ``at`` full-light seconds into an exposure, and what the voice says."""

    at: float
    cue: Cue
    say: str = ""


@dataclass(frozen=True)
class Step:
    """``expose``: light of ``seconds`` on ``area``. ``wait``: dark, for the printer to do what ``say`` says."""

    do: Literal["expose", "wait"]
    say: str
    area: str = ""
    seconds: float = 0.0
    filters: str = ""
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True)
class PlanPatch:
    """A strip's patch as a plan lists it: stops from the time that was given, full-light seconds."""

    patch: int
    stops: float
    seconds: float
    filters: str = ""


@dataclass(frozen=True)
class Plan:
    """``kind`` is strip, print or rest (what an interrupted sheet still lacks)."""

    kind: Literal["strip", "print", "rest"]
    title: str
    steps: tuple[Step, ...]
    patches: tuple[PlanPatch, ...] = ()
    notes: tuple[str, ...] = ()
    paper: str = ""

    @property
    def total_light_s(self) -> float:
        """Full-light seconds of all exposures together."""
        return sum(step.seconds for step in self.steps)


def plan_json(plan: Plan) -> dict[str, Any]:
    """The plan as plain data for ``--json``: the dataclass, and its total."""
    data: dict[str, Any] = msgspec.to_builtins(plan)
    data["total_light_s"] = plan.total_light_s
    return data


def encode_plan(plan: Plan) -> bytes:
    return msgspec.json.encode(plan)


MOST_STEPS = 1000
MOST_LETTERS = 4 * 2**20
LONGEST_S = 36_000.0


def decode_plan(data: bytes | str) -> Plan:
    """The plan in ``data``, its text plain. msgspec.DecodeError for anything that no plan of ours is."""
    if len(data) > MOST_LETTERS:
        raise msgspec.DecodeError(f"{len(data)} letters are too many for a plan")
    try:
        plan = msgspec.json.decode(data, type=Plan)
    except (RecursionError, UnicodeError) as error:
        raise msgspec.DecodeError(str(error)) from None
    fault = _unsound(plan)
    if fault:
        raise msgspec.ValidationError(fault)
    text = data if isinstance(data, str) else data.decode()
    # What acts stands there as it is, or as one of JSON's escapes.
    return _plain(plan) if "\\u" in text or UNFIT.search(text) else plan


def _unsound(plan: Plan) -> str:
    """What no plan of ours has, in words; empty when all is sound."""
    if len(plan.steps) > MOST_STEPS or len(plan.patches) > MOST_STEPS:
        return f"more than {MOST_STEPS} steps"
    exposes = False
    for n, step in enumerate(plan.steps):
        if step.do == "expose":
            exposes = True
            if not 0 < step.seconds <= LONGEST_S:
                return f"step {n} exposes for {step.seconds:g} s"
        if len(step.marks) > MOST_STEPS:
            return f"step {n} has too many cues"
        for mark in step.marks:
            if not 0 <= mark.at <= LONGEST_S:
                return f"step {n} has a cue at {mark.at:g} s"
    for patch in plan.patches:
        if not (0 < patch.seconds <= LONGEST_S and abs(patch.stops) <= 100):
            return f"patch {patch.patch} has seconds or stops that cannot be"
    return "" if exposes else "it exposes nothing"


def _plain(plan: Plan) -> Plan:
    """``plan`` with replacement signs for what would act on a terminal."""
    steps = tuple(
        replace(
            step,
            say=plain(step.say),
            area=plain(step.area),
            filters=plain(step.filters),
            marks=tuple(replace(mark, say=plain(mark.say)) for mark in step.marks),
        )
        for step in plan.steps
    )
    patches = tuple(replace(patch, filters=plain(patch.filters)) for patch in plan.patches)
    notes = tuple(plain(note) for note in plan.notes)
    return Plan(plan.kind, plain(plan.title), steps, patches, notes, plain(plan.paper))


def plan_hash(plan: Plan) -> str:
    """SHA-256 of the stored form; two runs of one plan share it."""
    return hashlib.sha256(encode_plan(plan)).hexdigest()


SHORT_BURST_S = 0.5
"""Light shorter than this is warned of while the lamp is not calibrated; a filament takes a good part of it to come up."""


def short_light(plan: Plan, lamp: LampResponse) -> tuple[str, ...]:
    """A warning of exposures that end before ``lamp`` is fully up (not calibrated: that are shorter than SHORT_BURST_S)."""
    exposures = [step for step in plan.steps if step.do == "expose"]
    calibrated = bool(lamp.delay or lamp.rise)
    # After three time constants a rise is 95 % done.
    up = lamp.delay + 3 * lamp.rise if calibrated else SHORT_BURST_S
    short = [step for step in exposures if step.seconds < up]
    if not short:
        return ()
    least = min(short, key=lambda step: step.seconds)
    many = f"{len(short)} of {len(exposures)} exposures are" if len(short) > 1 else f"the exposure of {least.area} is"
    lamp_says = f"the {digits(up)} s that this lamp takes to come up" if calibrated else f"{SHORT_BURST_S:g} s"
    ways = "a smaller aperture makes them longer" + (", and so does a window" if plan.kind == "strip" else "")
    return (
        f"{many} shorter than {lamp_says} (the shortest {digits(least.seconds)} s): what they give is less sure; {ways}",
    )


def check_limits(plan: Plan, ceiling_s: float, response: LampResponse = INSTANT) -> None:
    """Refuse, before any light, a plan that the keeper would refuse in the middle: by lamp-on time, as the keeper counts."""
    for step in plan.steps:
        if step.do == "expose" and step.seconds < SMALLEST_S:
            raise Refused(
                f"{step.area}: {step.seconds:.1g} s of light cannot be given, {SMALLEST_S:g} s is the least; take a longer "
                "time, or larger steps"
            )
        on_s = on_time(step.seconds, response)
        if on_s > ceiling_s:
            raise Refused(
                f"{step.area}: {on_s:.1f} s is over the {ceiling_s:g} s that the lamp may stay on at once; "
                "open the lens, split the burn in two, or raise ceiling_s in the settings"
            )
        if len(step.marks) > MOST_MARKS:
            raise Refused(f"{step.area}: {len(step.marks)} changes in one exposure are too many; use stop-start dodging")


# ── strips ───────────────────────────────────────────────────────────────────


def strip_plan(
    seconds: float,
    step: Fraction,
    count: int,
    way: Way,
    *,
    around: bool = False,
    paper: str = "",
    parts: tuple[Pass, ...] = (Pass(""),),
) -> Plan:
    """The plan of a test strip; ValueError as ``craft.strip.patches`` raises it.

    ``parts`` are the filters that it is made through, with their shares of the time: one, or three in turn.
    """
    strip = patches(seconds, step, count, around=around)
    made = bursts(strip, way)
    steps: list[Step] = []
    for part in parts:
        for n, burst in enumerate(made):
            move = _move(way, burst, n, count)
            hands = f"{_change(part.filters)}; {move}" if part.filters and n == 0 else move
            steps.append(Step("wait", hands, filters=part.filters))
            say = "paper is bare" if (burst.first, burst.last) == (1, count) else _named(burst)
            time = burst.seconds * part.share
            steps.append(Step("expose", say, _named(burst), time, part.filters, marks(time)))
    middle = strip[0].seconds if not around else seconds
    title = f"strip, {count} patches, {format_stops(step)} stop, {'around' if around else 'from'} {middle:g} s, {way}"
    return Plan("strip", title, tuple(steps), _listed(strip), (_darkest(way, count),), paper)


def _listed(strip: Iterable[Patch]) -> tuple[PlanPatch, ...]:
    return tuple(PlanPatch(p.patch, float(p.stops), p.seconds) for p in strip)


def _named(burst: Burst) -> str:
    return f"patch {burst.first}" if burst.first == burst.last else f"patches {burst.first} to {burst.last}"


def _move(way: Way, burst: Burst, n: int, count: int) -> str:
    if way == "window":
        return f"window over patch {burst.first}, all else covered"
    if way == "cover":
        return "nothing covered: the whole strip bare" if n == 0 else f"card on, over patch {n}: {n} of {count} covered"
    if n == 0:
        return f"card over all but patch {count}"
    bare = f"{n + 1} of {count} bare"
    return f"card off patch {burst.first}: {bare}" + (", nothing covered" if burst.first == 1 else "")


def _darkest(way: Way, count: int) -> str:
    light, dark = {
        "cover": ("covered first", "never covered"),
        "uncover": ("uncovered last", "uncovered first"),
        "window": ("exposed first", "exposed last"),
    }[way]
    return f"darkest: patch {count}, the end {dark}; lightest: patch 1, {light}"


# ── prints ───────────────────────────────────────────────────────────────────


def print_plan(recipe: Recipe) -> Plan:
    """The plan of a print: flash, base with its dodges, burns, edges. Dry-down shortens all but the flash.

    Through a tricolour head each of base, burns and edges is given once for each colour.
    """
    main = passes(recipe.filters)
    steps: list[Step] = []
    if recipe.flash and recipe.flash.when == "before":
        steps += _flash(recipe)
        ready = "negative in, lens and filters set for the print"
    else:
        ready = "paper in the easel, lens stopped down"
    for n, part in enumerate(main):
        steps.append(Step("wait", _change(part.filters) if n else _with(ready, part.filters), filters=part.filters))
        steps += _base(recipe, part)
    now = main[-1].filters
    for burn in in_order(recipe, recipe.burn):
        for part in _turned(passes(own_filters(recipe, burn)), now):
            steps += _burn(burn, burn_light(recipe, burn) * part.share, now, part.filters)
            now = part.filters
    if recipe.edges:
        for part in _turned(main, now):
            for edge in recipe.edges.which:
                hands = f"{edge} edge bare, card over the rest"
                hands = hands if now == part.filters else f"{_change(part.filters)}; {hands}"
                steps += _timed(hands, f"{edge} edge", edge_light(recipe) * part.share, part.filters)
                now = part.filters
    if recipe.flash and recipe.flash.when == "after":
        steps += _flash(recipe)
    return Plan("print", recipe.title, tuple(steps), notes=_notes(recipe), paper=recipe.paper.kind)


def _turned(parts: tuple[Pass, ...], now: str) -> tuple[Pass, ...]:
    """``parts`` from the filter that is in already, where the last of them is: a change less for the hands."""
    return tuple(reversed(parts)) if parts[-1].filters == now else parts


def _timed(hands: str, area: str, seconds: float, filters: str) -> list[Step]:
    now = hands.split("; ")[-1]  # a filter change is over by the time there is light
    return [Step("wait", hands, area, filters=filters), Step("expose", now, area, seconds, filters, marks(seconds))]


def _flash(recipe: Recipe) -> list[Step]:
    assert recipe.flash
    return _timed(f"flash: {recipe.flash.source}", "flash", recipe.flash.seconds, "")


def _base(recipe: Recipe, part: Pass) -> list[Step]:
    laid = laid_out(recipe, part.share)
    if recipe.dodging == "run-through" or len(laid) == 1:
        base = printed_base(recipe) * part.share
        changes = [Mark(s.start, "change", _hands(recipe, s)) for s in laid[1:]]
        return [Step("expose", f"base: {_hands(recipe, laid[0])}", "base", base, part.filters, marks(base, changes))]
    steps: list[Step] = []
    for n, segment in enumerate(laid):
        hands = _hands(recipe, segment)
        if n:
            steps.append(Step("wait", hands, "base", filters=part.filters))
        seconds = segment.end - segment.start
        steps.append(Step("expose", f"base: {hands}", "base", seconds, part.filters, marks(seconds)))
    return steps


def _hands(recipe: Recipe, segment: Segment) -> str:
    if not segment.held:
        return "all clear"
    tools = {d.area: ", ".join(t for t in (d.tool, d.motion) if t) for d in recipe.dodge}
    return "hold back " + " and ".join(f"{a} ({tools[a]})" if tools[a] else a for a in segment.held)


def _burn(burn: Burn, seconds: float, now: str, filters: str) -> list[Step]:
    tool = ", ".join(t for t in (burn.tool, burn.motion) if t)
    hands = f"burn {burn.area}" + (f" ({tool})" if tool else "")
    if filters != now or (burn.filters and not filters):
        hands = f"{_change(filters)}; {hands}"
    return _timed(hands, burn.area, seconds, filters)


def _change(filters: str) -> str:
    return f"filters to {filters}" if filters else "filters out"


def _with(hands: str, filters: str) -> str:
    return f"{hands}, {filters} in" if filters else hands


def _notes(recipe: Recipe) -> tuple[str, ...]:
    notes = []
    if recipe.dry_down_percent:
        notes.append(f"dry-down: everything but a flash is {recipe.dry_down_percent:g} % shorter than the recipe says")
    if recipe.paper.range:
        notes.append(f"paper of R{recipe.paper.range:g}: {_grade_words(recipe.paper.range)}")
    parts = passes(recipe.filters)
    if recipe.paper.kind == "ra4":
        outside = [part for part in parts if not 5 <= recipe.base_s * part.share <= 45]
        for part in outside[:1]:
            through = f" through {part.filters}" if len(parts) > 1 else ""
            seconds = digits(recipe.base_s * part.share)
            notes.append(f"a base of {seconds} s{through} is outside 5 to 45 s, where colour paper keeps its balance")
    if recipe.dodge:
        held = [s for part in parts for s in laid_out(recipe, part.share) if s.held]
        shortest = min(s.end - s.start for s in held)
        if shortest < 2:
            notes.append(f"the shortest dodge is {digits(shortest)} s; a smaller aperture makes it easier to do well")
    return tuple(notes)


def _grade_words(r: float) -> str:
    try:
        return f"a grade {grade_of_range(r)}"
    except ValueError as error:
        return str(error)


def marks(seconds: float, changes: Iterable[Mark] = ()) -> tuple[Mark, ...]:
    """``changes`` and the end of an exposure of ``seconds``, in order of time, each with its warning before it."""
    made: list[Mark] = []
    before = 0.0
    for mark in (*changes, Mark(seconds, "end", "off")):
        lead = min(WARN_S, (mark.at - before) / 2)
        if lead >= 0.25:
            made.append(Mark(mark.at - lead, "warn", mark.say))
        made.append(mark)
        before = mark.at
    return tuple(made)


# ── what an interrupted sheet still lacks ────────────────────────────────────


def rest_of(plan: Plan, given: dict[int, float]) -> Plan:
    """What is left of ``plan`` when step n (an index of ``steps``) has had ``given[n]`` full-light seconds.

    Steps before the last one given are done; that one is shortened by its light, its marks moved with it.
    LamphouseError when nothing is left.
    """
    if not given:
        return replace(plan, kind="rest")
    at = max(given)
    left: list[Step] = []
    for n, step in enumerate(plan.steps):
        missing = step.seconds - given.get(n, 0.0)
        if step.do == "expose" and n <= at and missing >= SMALLEST_S:
            if n < at:
                raise LamphouseError(f"step {n + 1} ({step.area}) lacks {missing:.3f} s but later steps were given")
            hands = _before(plan, n)
            left.append(Step("wait", f"as it was, nothing moved: {hands}", step.area, filters=step.filters))
            left.append(_shortened(step, given[n]))
        elif n > at:
            left.append(step)
    if not any(step.do == "expose" for step in left):
        raise LamphouseError("nothing is missing: every exposure of this sheet was given in full")
    return replace(plan, kind="rest", steps=tuple(left))


def _before(plan: Plan, n: int) -> str:
    waits = [step.say for step in plan.steps[:n] if step.do == "wait"]
    return waits[-1] if waits else plan.steps[n].say


def _shortened(step: Step, given: float) -> Step:
    held = [m for m in step.marks if m.cue == "change" and m.at <= given]
    say = f"base: {held[-1].say}" if held and step.area == "base" else step.say
    marks = tuple(replace(m, at=m.at - given) for m in step.marks if m.at > given)
    return replace(step, say=say, seconds=step.seconds - given, marks=marks)

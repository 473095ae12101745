"""The plan: frozen steps in full-light seconds, made from a strip or a recipe before any light.

A plan can be listed, totalled, hashed, stored and checked without a lamp; a run carries it out.
"""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Literal

import msgspec

from timer.craft.dodge_burn import Segment, burn_seconds, segments
from timer.craft.paper import grade_of_range
from timer.craft.stops import format_stops
from timer.craft.strip import Burst, Patch, Way, bursts, patches
from timer.errors import LamphouseError, Refused
from timer.recipe import Burn, Recipe, craft_dodges, filters_text, in_order
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


def check_limits(plan: Plan, ceiling_s: float) -> None:
    """Refuse, before any light, a plan that the keeper would refuse in the middle."""
    for step in plan.steps:
        if step.seconds > ceiling_s:
            raise Refused(
                f"{step.area}: {step.seconds:.1f} s is over the {ceiling_s:g} s that the lamp may stay on at once; "
                "open the lens, split the burn in two, or raise ceiling_s in the settings"
            )
        if len(step.marks) > MOST_MARKS:
            raise Refused(f"{step.area}: {len(step.marks)} changes in one exposure are too many; use stop-start dodging")


# ── strips ───────────────────────────────────────────────────────────────────


def strip_plan(seconds: float, step: Fraction, count: int, way: Way, *, around: bool = False, paper: str = "") -> Plan:
    """The plan of a test strip; ValueError as ``craft.strip.patches`` raises it."""
    strip = patches(seconds, step, count, around=around)
    made = bursts(strip, way)
    steps: list[Step] = []
    for n, burst in enumerate(made):
        steps.append(Step("wait", _move(way, burst, n, count)))
        say = "paper is bare" if (burst.first, burst.last) == (1, count) else _named(burst)
        end = Mark(burst.seconds, "end", "off")
        steps.append(Step("expose", say, _named(burst), burst.seconds, marks=_marks([], end)))
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
    """The plan of a print: flash, base with its dodges, burns, edges. Dry-down shortens all but the flash."""
    dry = 1 - recipe.dry_down_percent / 100
    base = recipe.base_s * dry
    main = filters_text(recipe.filters)
    steps: list[Step] = []
    if recipe.flash and recipe.flash.when == "before":
        steps += _flash(recipe)
        steps.append(Step("wait", _with("negative in, lens and filters set for the print", main), filters=main))
    else:
        steps.append(Step("wait", _with("paper in the easel, lens stopped down", main), filters=main))
    steps += _base(recipe, base, main)
    now = main
    for burn in in_order(recipe, recipe.burn):
        steps += _burn(burn, base, dry, now, main)
        now = filters_text(burn.filters) if burn.filters else main
    if recipe.edges:
        seconds = burn_seconds(base, recipe.edges.stops)
        for n, edge in enumerate(recipe.edges.which):
            hands = f"{edge} edge bare, card over the rest"
            if n == 0 and now != main:
                hands = f"{_change(main)}; {hands}"
            steps += _timed(hands, f"{edge} edge", seconds, main)
    if recipe.flash and recipe.flash.when == "after":
        steps += _flash(recipe)
    return Plan("print", recipe.title, tuple(steps), notes=_notes(recipe), paper=recipe.paper.kind)


def _timed(hands: str, area: str, seconds: float, filters: str) -> list[Step]:
    marks = _marks([], Mark(seconds, "end", "off"))
    now = hands.split("; ")[-1]  # a filter change is over by the time there is light
    return [Step("wait", hands, area, filters=filters), Step("expose", now, area, seconds, filters, marks)]


def _flash(recipe: Recipe) -> list[Step]:
    assert recipe.flash
    return _timed(f"flash: {recipe.flash.source}", "flash", recipe.flash.seconds, "")


def _base(recipe: Recipe, base: float, filters: str) -> list[Step]:
    laid = segments(base, craft_dodges(recipe), recipe.changeover_s)
    if recipe.dodging == "run-through" or len(laid) == 1:
        changes = [Mark(s.start, "change", _hands(recipe, s)) for s in laid[1:]]
        marks = _marks(changes, Mark(base, "end", "off"))
        return [Step("expose", f"base: {_hands(recipe, laid[0])}", "base", base, filters, marks)]
    steps: list[Step] = []
    for n, segment in enumerate(laid):
        hands = _hands(recipe, segment)
        if n:
            steps.append(Step("wait", hands, "base", filters=filters))
        seconds = segment.end - segment.start
        steps.append(Step("expose", f"base: {hands}", "base", seconds, filters, _marks([], Mark(seconds, "end", "off"))))
    return steps


def _hands(recipe: Recipe, segment: Segment) -> str:
    if not segment.held:
        return "all clear"
    tools = {d.area: ", ".join(t for t in (d.tool, d.motion) if t) for d in recipe.dodge}
    return "hold back " + " and ".join(f"{a} ({tools[a]})" if tools[a] else a for a in segment.held)


def _burn(burn: Burn, base: float, dry: float, now: str, main: str) -> list[Step]:
    own = filters_text(burn.filters) if burn.filters else main
    seconds = burn.seconds * dry if burn.seconds is not None else burn_seconds(base, burn.stops or 0)
    tool = ", ".join(t for t in (burn.tool, burn.motion) if t)
    hands = f"burn {burn.area}" + (f" ({tool})" if tool else "")
    if own != now or (burn.filters and not own):
        hands = f"{_change(own)}; {hands}"
    return _timed(hands, burn.area, seconds, own)


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
    if recipe.paper.kind == "ra4" and not 5 <= recipe.base_s <= 45:
        notes.append(f"a base of {recipe.base_s:g} s is outside 5 to 45 s, where colour paper keeps its balance")
    if recipe.dodge:
        shortest = min(s.end - s.start for s in segments(recipe.base_s, craft_dodges(recipe)) if s.held)
        if shortest < 2:
            notes.append(f"the shortest dodge is {shortest:.1f} s; a smaller aperture makes it easier to do well")
    return tuple(notes)


def _grade_words(r: float) -> str:
    try:
        return f"a grade {grade_of_range(r)}"
    except ValueError as error:
        return str(error)


def _marks(changes: list[Mark], end: Mark) -> tuple[Mark, ...]:
    """``changes`` and ``end`` in order of time, each with its warning before it."""
    marks: list[Mark] = []
    before = 0.0
    for mark in (*changes, end):
        lead = min(WARN_S, (mark.at - before) / 2)
        if lead >= 0.25:
            marks.append(Mark(mark.at - lead, "warn", mark.say))
        marks.append(mark)
        before = mark.at
    return tuple(marks)


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


SMALLEST_S = 0.005
"""Light shorter than this is not worth an exposure: five thousandths of a second."""


def _before(plan: Plan, n: int) -> str:
    waits = [step.say for step in plan.steps[:n] if step.do == "wait"]
    return waits[-1] if waits else plan.steps[n].say


def _shortened(step: Step, given: float) -> Step:
    held = [m for m in step.marks if m.cue == "change" and m.at <= given]
    say = f"base: {held[-1].say}" if held and step.area == "base" else step.say
    marks = tuple(replace(m, at=m.at - given) for m in step.marks if m.at > given)
    return replace(step, say=say, seconds=step.seconds - given, marks=marks)

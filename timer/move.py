"""A print taken to another size, aperture, paper or filter pack: the whole recipe, derived, with a sentence a factor.

Dodges and burns in stops need nothing; the base and burns in seconds are multiplied. A flash belongs to the paper's
threshold and to its own set-up: it follows the paper's speed and nothing else. What comes out is written and read again
before it is given back, so a derived recipe is always one that can be made.
"""

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import msgspec

from timer.craft import enlargement as e
from timer.craft import filters as f
from timer.craft import heads
from timer.craft.lights import Lights
from timer.craft.paper import grade_factor, speed_factor
from timer.craft.stops import digits, format_stops, stops_between
from timer.craft.stops import factor as stops_factor
from timer.errors import LamphouseError, Refused
from timer.recipe import (
    Burn,
    Derived,
    Enlargement,
    Filters,
    Recipe,
    filters_text,
    laid_out,
    parse_recipe,
    passes,
    recipe_toml,
    setting_of,
    with_setting,
)

COLOUR_S = (5.0, 45.0)
"""Seconds in which colour paper keeps its balance. US Army SS0514 p. 3-11."""
SHORT_DODGE_S = 2.0


@dataclass(frozen=True)
class Box:
    """A new box against the old one, by the standard negative: measured ``time`` ratio, with its change of ``pack``."""

    name: str
    time: float
    pack: f.Pack


@dataclass(frozen=True)
class Target:
    """What is to change; None and empty: stays.

    ``pack`` is a setting to go to, ``correct`` a change of pack in CC (a cast taken out); both are for the recipe's head.
    ``top`` is where that head ends; 0: not known.
    """

    sheet: str = ""
    frame: str = ""
    fill: bool | None = None
    border_mm: float | None = None
    detail_print_mm: float | None = None
    distances_mm: tuple[float, float] | None = None
    aperture: float | None = None
    lens_mm: float | None = None
    paper: str = ""
    speed: float | None = None
    grade: str = ""
    pack: heads.Setting | None = None
    correct: f.Pack | None = None
    head: str = ""
    top: float = 0.0
    box: Box | None = None
    exponent: float = 1.0
    exponent_of: str = ""
    column_mm: float | None = None
    stops: Fraction = Fraction(0)  # a correction of density, as seen on the print


@dataclass(frozen=True)
class Moved:
    """The derived recipe, the factors, and what to say of each; ``advice`` is for the printer to take or leave."""

    recipe: Recipe
    size: float
    aperture: float
    paper: float
    filters: float
    density: float
    magnification: tuple[float | None, float | None]
    lens_to_paper_mm: float | None
    negative_to_paper_mm: float | None
    says: tuple[str, ...]
    advice: tuple[str, ...]
    strip: str

    @property
    def factor(self) -> float:
        return self.size * self.aperture * self.paper * self.filters * self.density

    @property
    def stops(self) -> float:
        return stops_between(1.0, self.factor)


def moved_json(moved: Moved) -> dict[str, Any]:
    return {
        "factors": {"size": moved.size, "aperture": moved.aperture, "paper": moved.paper, "filters": moved.filters},
        "factor": moved.factor,
        "stops": moved.stops,
        "base_s": moved.recipe.base_s,
        "magnification": list(moved.magnification),
        "lens_to_paper_mm": moved.lens_to_paper_mm,
        "negative_to_paper_mm": moved.negative_to_paper_mm,
        "says": list(moved.says),
        "advice": list(moved.advice),
        "strip": moved.strip,
    }


def move(recipe: Recipe, target: Target, *, file: str = "", sha256: str = "") -> Moved:
    """Derive ``recipe`` for ``target``. Refused in one sentence when something needed is not known, or when what comes
    out could not be made."""
    try:
        return _move(recipe, target, file, sha256)
    except ValueError as error:
        raise Refused(str(error)) from None


def _move(recipe: Recipe, target: Target, file: str, sha256: str) -> Moved:
    says: list[str] = []
    old_m, new_m, size = _size(recipe.enlargement, target, says)
    placed = _placed(recipe.enlargement, target, old_m, new_m)
    aperture = _aperture(recipe.enlargement.aperture, target.aperture, says)
    speed, grade, paper_speed = _paper(recipe, target, says)
    box = target.box.time if target.box else 1.0
    if target.box:
        says.append(f"box {target.box.name}: time {times(box)} as measured, its pack change included")
    filters, change = _filters(recipe, target, says)
    density = stops_factor(target.stops)
    if target.stops:
        how = "darker" if target.stops > 0 else "lighter"
        says.append(f"print {how} by {format_stops(abs(target.stops))} stop: {times(density)}")
    light = size * aperture * speed * box * density
    factor = light * grade * change
    base = recipe.base_s * factor
    changed = msgspec.structs.replace(
        recipe,
        base_s=_kept(base),
        enlargement=placed,
        filters=_in_seconds(filters, base),
        paper=msgspec.structs.replace(recipe.paper, name=target.paper or recipe.paper.name, speed=paper_speed),
        burn=tuple(_burn(recipe, burn, target, light, says) for burn in recipe.burn),
        flash=_flash(recipe, speed * box, says),
    )
    says.append(f"base {recipe.base_s:g} s {times(factor)} = {digits(base)} s ({stops_between(1, factor):+.2f} stop)")
    last = _last_change(recipe, target, filters)
    derived = Derived(recipe.title, file, sha256, float(f"{factor:.6g}"), tuple(says), *last)
    changed = _read_again(msgspec.structs.replace(changed, derived=derived))
    focal = placed.lens_mm
    to_paper = e.lens_to_paper(focal, new_m) if focal and new_m else placed.lens_to_paper_mm
    whole = e.negative_to_paper(focal, new_m) if focal and new_m else None
    advice = _advice(recipe, changed, target, new_m, whole, size * aperture)
    strip = f"lamphouse strip --around {digits(base)} --step 1/6 --patches 3"
    if filters.head == "tricolour":
        strip += f" --pack '{setting_of(changed.filters)}' --head tricolour"
    factors = (size, aperture, speed * box, grade * change, density)
    return Moved(changed, *factors, (old_m, new_m), to_paper, whole, tuple(says), tuple(advice), strip)


def times(factor: float) -> str:
    """A factor as it is said."""
    return f"x {factor:.3f}" if factor >= 0.1 else f"x {factor:.3g}"


def _kept(seconds: float) -> float:
    """Rounded to milliseconds, or to four digits where these are finer."""
    return round(seconds, 3) if seconds >= 1 else float(f"{seconds:.4g}")


def _read_again(recipe: Recipe) -> Recipe:
    """``recipe`` as it is read from what is written of it. ValueError with a sentence when it could not be read."""
    if recipe.base_s > 3600:
        raise ValueError(
            f"the base would be {recipe.base_s:.0f} s, and a recipe holds 3600 s at most: open the lens, or print smaller"
        )
    try:
        return parse_recipe(recipe_toml(recipe), "the new recipe")
    except LamphouseError as error:
        raise ValueError(f"this cannot be made: {error}") from None


# ── size ─────────────────────────────────────────────────────────────────────


def _placed(old: Enlargement, target: Target, old_m: float | None, new_m: float | None) -> Enlargement:
    """The new place; what was measured on the old print is brought to the new magnification, or left out."""
    place = _asked_place(old, target)
    if target.distances_mm and not target.detail_print_mm and old.detail_print_mm and old_m and new_m:
        place = msgspec.structs.replace(place, detail_print_mm=_kept(old.detail_print_mm * new_m / old_m))
    if place.lens_to_paper_mm and not target.distances_mm and place.lens_mm != old.lens_mm and place.lens_mm and new_m:
        # Another lens for the same magnification stands elsewhere.
        place = msgspec.structs.replace(place, lens_to_paper_mm=_kept(e.lens_to_paper(place.lens_mm, new_m)))
    return place


def _asked_place(old: Enlargement, target: Target) -> Enlargement:
    resized = _resized(target)
    detail = target.detail_print_mm if target.detail_print_mm is not None else old.detail_print_mm
    if resized and target.detail_print_mm is None:
        detail = None  # measured on the old print; the new one has not been measured yet
    distance = target.distances_mm[1] if target.distances_mm else old.lens_to_paper_mm
    if (resized or target.detail_print_mm is not None) and not target.distances_mm:
        distance = None
    return msgspec.structs.replace(
        old,
        sheet=target.sheet or old.sheet,
        frame=target.frame or old.frame,
        fill=old.fill if target.fill is None else target.fill,
        border_mm=old.border_mm if target.border_mm is None else target.border_mm,
        aperture=target.aperture or old.aperture,
        lens_mm=target.lens_mm or old.lens_mm,
        detail_print_mm=detail,
        lens_to_paper_mm=distance,
    )


def _resized(target: Target) -> bool:
    return bool(target.sheet or target.frame or target.fill is not None or target.border_mm is not None)


def by_sides(place: Enlargement) -> float | None:
    """Magnification from frame and sheet; None when one is not known."""
    if not (place.frame and place.sheet):
        return None
    sheet = e.parse_sheet(place.sheet).inside(place.border_mm)
    return e.magnification(e.parse_frame(place.frame), sheet, fill=place.fill)


def by_measure(place: Enlargement) -> float | None:
    """Magnification from one detail measured on negative and print, or from the distance of lens and paper."""
    if place.detail_negative_mm and place.detail_print_mm:
        return place.detail_print_mm / place.detail_negative_mm
    if place.lens_mm and place.lens_to_paper_mm:
        return e.magnification_at(place.lens_mm, place.lens_to_paper_mm)
    return None


def magnification_of(place: Enlargement) -> float | None:
    """As measured, or from the sides; None when neither is known, or a distance was measured through a lens unknown."""
    measured = by_measure(place)
    return measured if measured or place.lens_to_paper_mm else by_sides(place)


def _new_magnification(old: Enlargement, new: Enlargement) -> float | None:
    """Measured on the new print if it was; else the measured old one grown as the sides grow, so the crop stays."""
    measured, sides_old, sides_new = by_measure(old), by_sides(old), by_sides(new)
    if by_measure(new) is None and measured and sides_old and sides_new:
        return measured * sides_new / sides_old
    return magnification_of(new)


def _size(old: Enlargement, target: Target, says: list[str]) -> tuple[float | None, float | None, float]:
    new = _asked_place(old, target)
    if target.distances_mm:
        return _by_distances(old, new.lens_mm, target.distances_mm, target, says)
    if not (_resized(target) or target.detail_print_mm):
        m = magnification_of(old)
        return m, m, 1.0
    old_m, new_m = magnification_of(old), _new_magnification(old, new)
    if old_m is None or new_m is None:
        raise ValueError(
            "the old and the new magnification must be known: give frame and sheet in the recipe's [enlargement], or "
            "one detail measured on negative and prints (detail_negative_mm, detail_print_mm, --detail-print)"
        )
    factor = e.size_factor(old_m, new_m, target.exponent)
    rule = f"magnification {digits(old_m)} to {digits(new_m)}: (({digits(new_m)}+1)/({digits(old_m)}+1))^2"
    says.append(f"{rule}{_bent(target)}, {times(factor)}")
    return old_m, new_m, factor


def _by_distances(
    old: Enlargement, new_lens: float | None, distances: tuple[float, float], target: Target, says: list[str]
) -> tuple[float | None, float | None, float]:
    """The old distance through the old lens, the new one through the new; a lens that nobody said is the same one."""
    before, after = distances
    old_lens = old.lens_mm or new_lens
    if not (old_lens and new_lens):
        factor = e.distance_factor(before, after) ** target.exponent
        says.append(f"lens to paper {before:g} to {after:g} mm: inverse square{_bent(target)}, {times(factor)}")
        old_m = magnification_of(old)
        new_m = (old_m + 1) * after / before - 1 if old_m else None
        if new_m is not None and new_m <= 0:
            raise ValueError(f"lens to paper {before:g} to {after:g} mm: no picture is that small; check both distances")
        return old_m, new_m, factor
    old_m, new_m = e.magnification_at(old_lens, before), e.magnification_at(new_lens, after)
    factor = e.size_factor(old_m, new_m, target.exponent)
    if old_lens == new_lens:
        says.append(f"lens to paper {before:g} to {after:g} mm: inverse square{_bent(target)}, {times(factor)}")
    else:
        says.append(
            f"lens to paper {before:g} mm through {old_lens:g} mm to {after:g} mm through {new_lens:g} mm: magnification "
            f"{digits(old_m)} to {digits(new_m)}{_bent(target)}, {times(factor)}"
        )
    return old_m, new_m, factor


def _bent(target: Target) -> str:
    return f", to the power {target.exponent:.3f} as measured on {target.exponent_of}" if target.exponent != 1 else ""


def _aperture(old: float | None, new: float | None, says: list[str]) -> float:
    if new is None or new == old:
        return 1.0
    if old is None:
        raise ValueError("the recipe does not say its aperture; add aperture = 8 (what it was) to [enlargement]")
    factor = e.aperture_factor(old, new)
    says.append(f"f/{old:g} to f/{new:g}: {stops_between(1, factor):+.2f} stop by the marks, {times(factor)}")
    return factor


# ── paper and filters ────────────────────────────────────────────────────────


def _paper(recipe: Recipe, target: Target, says: list[str]) -> tuple[float, float, float | None]:
    """(factor of the paper's own speed, factor of the contrast filter, the speed P through that filter).

    A speed P is through a filter: when both change, the two speeds say it all, and the filter's part of it is only told
    apart because neither a flash nor a burn through its own filter shares it.
    """
    old, new = recipe.paper.speed, target.speed
    grade = _grade(recipe.filters, target)
    if new is not None and target.box:
        raise ValueError("a measured box has its speed in its time already: give the box or a speed, not both")
    if new is not None and old is None:
        raise ValueError("the recipe does not say its paper's speed P; add speed = 200 (what it was) to [paper]")
    if new is None or old is None:
        if target.grade:
            says.append(f"grade {recipe.filters.grade} to {target.grade}: x {grade:g} (00 to 3 1/2 alike, 4 to 5 double)")
        return 1.0, grade, old / grade if old else None
    whole = speed_factor(old, new)
    if target.grade and target.grade != recipe.filters.grade:
        says.append(
            f"paper P{old:g} through grade {recipe.filters.grade} to P{new:g} through grade {target.grade}: {times(whole)} "
            f"for both (the grades alone: x {grade:g})"
        )
    elif new != old:
        says.append(
            f"paper P{old:g} to P{new:g}: {times(whole)}, which holds the middle tone of D = 0.6; highlights and shadows "
            "may move"
        )
    return whole / grade, grade, new


def _grade(now: Filters, target: Target) -> float:
    if not target.grade:
        return 1.0
    if target.pack is not None or target.correct is not None:
        raise ValueError("give a grade or a pack, not both")
    if not now.grade:
        raise ValueError("the recipe has no grade to change from; add [filters] grade to it")
    return grade_factor(now.grade, target.grade)


def _filters(recipe: Recipe, target: Target, says: list[str]) -> tuple[Filters, float]:
    """The new filters, and the factor of the change of pack in them."""
    now = recipe.filters
    colour = target.pack is not None or target.correct is not None
    if now.grade:
        if colour:
            raise ValueError("the recipe prints through a contrast grade; give --grade, not a colour pack")
        if target.box and target.box.pack != f.Pack():
            raise ValueError(
                f"box {target.box.name} was measured with a change of pack, and the recipe prints through a contrast grade"
            )
        return msgspec.structs.replace(now, grade=target.grade or now.grade), 1.0
    head = _head(now, target, colour)
    setting, change = setting_of(now), 1.0
    if colour:
        wanted = _wanted(setting, target)
        change, how = setting_change(setting, wanted, head)
        what = "lights" if isinstance(wanted, Lights) else "pack"
        says.append(f"{what} {heads.text_of(setting)} to {heads.text_of(wanted)} ({head}): {times(change)}{how}")
        setting = wanted
    if target.box and target.box.pack != f.Pack():
        setting, neutral = _boxed(setting, target.box, head, target.top, says)
        change *= neutral
    new = msgspec.structs.replace(with_setting(now, setting), head=head)
    return new, change * _longest(new) / _longest(now)


def _longest(filters: Filters) -> float:
    """What base_s stands for among the lights of a tricolour head."""
    return max(filters.red, filters.green, filters.blue) if filters.head == "tricolour" else 1.0


def _in_seconds(filters: Filters, longest: float) -> Filters:
    """Tricolour lights as the seconds they come to; all others as they are."""
    scale = longest / _longest(filters)
    if filters.head != "tricolour":
        return filters
    red, green, blue = (_kept(amount * scale) if amount else 0.0 for amount in (filters.red, filters.green, filters.blue))
    return msgspec.structs.replace(filters, red=red, green=green, blue=blue)


def _wanted(setting: heads.Setting, target: Target) -> heads.Setting:
    """The setting that is asked for; a pack without its neutral density, one filter a colour."""
    if target.correct is not None:
        return heads.shifted(setting, target.correct, target.top)
    if isinstance(target.pack, Lights):
        return target.pack
    return f.within(f.resolve(heads.pack(target.pack or ()))[0], target.top or f.MOST)


def _head(now: Filters, target: Target, colour: bool) -> str:
    """The head that the recipe is for. ValueError when a pack would go from one kind of head to another."""
    if target.head and now.head and target.head != now.head and setting_of(now) != f.Pack():
        raise ValueError(
            f"the recipe's pack is for {heads.HEADS[now.head]} ({now.head}); what it is on {heads.HEADS[target.head]} "
            f"({target.head}) only a test there can say"
        )
    if colour and target.head in heads.THREE_LIGHTS and now.head != target.head:
        raise ValueError("the recipe has no lights to change from; write its red, green and blue into [filters]")
    return target.head or now.head


def _boxed(
    setting: heads.Setting, box: Box, head: str, top: float, says: list[str], of: str = "pack"
) -> tuple[heads.Setting, float]:
    """``setting`` with the box's change, and the time for what neutral density that leaves to take out.

    The box's time ratio was measured with its pack change in: no filter rule on top of it, but for the neutral.
    """
    if isinstance(setting, Lights):
        after: heads.Setting = heads.shifted(setting, box.pack, top)
        asked = heads.shifted(setting, box.pack)
        change = heads.time_change(asked, after, head)[0]
        says.append(f"box {box.name}: {of} {setting} to {after}" + (f", {times(change)}" if change != 1 else ""))
        return after, change
    raw = heads.pack(setting) + box.pack
    resolved, neutral = f.resolve(raw)
    f.within(resolved, top or f.MOST)
    change, how = setting_change(raw, resolved, head) if neutral else (1.0, "")
    moved = f", {abs(neutral):g} neutral {'out' if neutral > 0 else 'in'} on {head}: {times(change)}{how}" if neutral else ""
    says.append(f"box {box.name}: {of} {heads.text_of(setting)} to {resolved}{moved}")
    return resolved, change


def _burn(recipe: Recipe, burn: Burn, target: Target, light: float, says: list[str]) -> Burn:
    """A burn in seconds follows the light, and one through a pack of its own a new box too."""
    if burn.seconds is None:
        return burn
    filters, seconds = burn.filters, burn.seconds * light
    if target.box and target.box.pack != f.Pack() and filters and not filters.grade and setting_of(filters) != f.Pack():
        head = filters.head or target.head or recipe.filters.head
        setting, change = _boxed(setting_of(filters), target.box, head, 0.0, says, f"burn of {burn.area}, pack")
        new = with_setting(filters, setting)
        filters, seconds = new, seconds * change * _longest(new) / _longest(filters)
    filters = _in_seconds(filters, seconds) if filters else None
    return msgspec.structs.replace(burn, seconds=_kept(seconds), filters=filters)


def _flash(recipe: Recipe, paper: float, says: list[str]) -> Any:
    """A flash just short of the threshold stays so: it follows the paper's speed, and nothing else."""
    if recipe.flash is None or paper == 1:
        return recipe.flash
    seconds = recipe.flash.seconds * paper
    says.append(f"flash {recipe.flash.seconds:g} s {times(paper)} = {digits(seconds)} s: the threshold moves with the speed")
    return msgspec.structs.replace(recipe.flash, seconds=_kept(seconds))


def setting_change(old: heads.Setting, new: heads.Setting, head: str) -> tuple[float, str]:
    """Time factor of a change of setting on ``head``, and what to say of it. ValueError when the head is not known."""
    factor, between = heads.time_change(old, new, head)
    return factor, ", interpolated between published rows" if between else ""


def _last_change(old: Recipe, target: Target, new: Filters) -> tuple[Fraction | None, tuple[float, float, float] | None]:
    """The corrections that this one and those before it asked for, the last of density and the last of colour; the next
    correction of the same print has to know its direction. Another print (size, paper) begins anew."""
    corrects = Target(stops=target.stops, pack=target.pack, correct=target.correct, head=target.head, top=target.top)
    before = old.derived if old.derived and corrects == target else None
    stops = target.stops or (before.stops if before else None)
    change = target.correct
    if target.pack is not None:
        change = heads.pack(setting_of(new)) - heads.pack(setting_of(old.filters))
    if change is None:
        return stops, before.change if before else None
    grey = min(change.c, change.m, change.y, key=abs)  # what all three have is density, no colour
    c, m, y = (max(-500.0, min(500.0, round(part - grey, 3))) for part in (change.c, change.m, change.y))
    return stops, (c, m, y)


# ── advice ───────────────────────────────────────────────────────────────────


def _advice(old: Recipe, new: Recipe, target: Target, m: float | None, whole: float | None, place: float) -> list[str]:
    advice: list[str] = []
    if new.paper.kind == "ra4":
        rows = [_colour_time(new.base_s * part.share, new.enlargement.aperture) for part in passes(new.filters)]
        advice += next((row for row in rows if row), [])
    if new.dodge:
        laid = [s for part in passes(new.filters) for s in laid_out(new, part.share) if s.held]
        short = min(laid, key=lambda s: s.end - s.start)
        if short.end - short.start < SHORT_DODGE_S:
            advice.append(
                f"the dodge of {' and '.join(short.held)} is {digits(short.end - short.start)} s, too short to do well: "
                "a smaller aperture gives it time"
            )
    advice += _blades(new.enlargement, m) if _resized(target) or target.detail_print_mm or target.distances_mm else []
    if whole and target.column_mm and whole > target.column_mm:
        advice.append(
            f"the column reaches {target.column_mm:g} mm from negative to paper and {whole:.0f} mm are needed: "
            "a shorter lens, the wall or the floor"
        )
    if target.grade:
        advice.append("the curve has changed with the grade: judge dodges and burns anew")
    if old.flash and place != 1:
        advice.append("the flash is left as it was: at the paper it must stay the same, so check its own set-up")
    if old.flash and (target.speed or target.grade or target.box or target.paper):
        advice.append("the flash is a guess on this paper: find its threshold anew")
    if (target.pack is not None or target.correct is not None) and any(b.filters for b in new.burn):
        areas = ", ".join(b.area for b in new.burn if b.filters)
        advice.append(f"filters of their own are left as they were (burn of {areas}): change them too if they are to follow")
    return advice


def _blades(place: Enlargement, m: float | None) -> list[str]:
    if not (m and place.frame and place.sheet):
        return []
    sheet = e.parse_sheet(place.sheet)
    image = e.image_on(e.parse_frame(place.frame), sheet.inside(place.border_mm), m)
    along_short, along_long = e.blades(sheet, image)
    return [
        f"easel blades for even borders: image {image.short:.0f} x {image.long:.0f} mm, so {along_short:.0f} mm of "
        f"white at each end of the short side and {along_long:.0f} mm at each end of the long side"
    ]


def _colour_time(seconds: float, aperture: float | None) -> list[str]:
    """Opening or closing the lens by whole stops brings a time outside of colour paper's range back into it."""
    low, high = COLOUR_S
    if low <= seconds <= high:
        return []
    stops = math.ceil(stops_between(high, seconds)) if seconds > high else math.ceil(stops_between(seconds, low))
    way, time = ("open", seconds / 2**stops) if seconds > high else ("close", seconds * 2**stops)
    lens = f" from f/{aperture:g}" if aperture else ""
    return [
        f"{digits(seconds)} s is outside {low:g} to {high:g} s, where colour paper keeps its balance: {way} the lens by "
        f"{stops} stop{'s' if stops > 1 else ''}{lens}, for {digits(time)} s"
    ]


def described(recipe: Recipe) -> str:
    """One line on how a recipe stands: sheet, aperture, filters, base."""
    place = recipe.enlargement
    parts = [place.sheet, f"f/{place.aperture:g}" if place.aperture else "", filters_text(recipe.filters)]
    return ", ".join([*(p for p in parts if p), f"{digits(recipe.base_s)} s"])

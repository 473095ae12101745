"""A print taken to another size, aperture, paper or filter pack: the whole recipe, derived, with a sentence a factor.

Dodges and burns in stops need nothing; the base and burns in seconds are multiplied. The flash stays: it belongs to the
paper's threshold and to its own set-up.
"""

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import msgspec

from timer.craft import enlargement as e
from timer.craft import filters as f
from timer.craft.dodge_burn import segments
from timer.craft.paper import grade_factor, speed_factor
from timer.craft.stops import factor as stops_factor
from timer.craft.stops import format_stops, stops_between
from timer.errors import Refused
from timer.recipe import Derived, Enlargement, Filters, Recipe, craft_dodges, filters_text

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
    """What is to change; None and empty: stays."""

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
    pack: f.Pack | None = None
    head: str = ""
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
    """Derive ``recipe`` for ``target``. Refused in one sentence when something needed is not known."""
    try:
        return _move(recipe, target, file, sha256)
    except ValueError as error:
        raise Refused(str(error)) from None


def _move(recipe: Recipe, target: Target, file: str, sha256: str) -> Moved:
    says: list[str] = []
    placed = _placed(recipe.enlargement, target)
    old_m, new_m, size = _size(recipe.enlargement, placed, target, says)
    aperture = _aperture(recipe.enlargement.aperture, target.aperture, says)
    paper = _paper(recipe, target, says)
    filters, change = _filters(recipe, target, says)
    density = stops_factor(target.stops)
    if target.stops:
        how = "darker" if target.stops > 0 else "lighter"
        says.append(f"print {how} by {format_stops(abs(target.stops))} stop: x {density:.3f}")
    light = size * aperture * paper * density
    base = recipe.base_s * light * change
    changed = msgspec.structs.replace(
        recipe,
        base_s=round(base, 3),
        enlargement=placed,
        filters=filters,
        paper=msgspec.structs.replace(
            recipe.paper, name=target.paper or recipe.paper.name, speed=target.speed or recipe.paper.speed
        ),
        burn=tuple(
            msgspec.structs.replace(b, seconds=round(b.seconds * light, 3)) if b.seconds is not None else b
            for b in recipe.burn
        ),
    )
    factor = light * change
    says.append(f"base {recipe.base_s:g} s x {factor:.3f} = {base:.1f} s ({stops_between(1, factor):+.2f} stop)")
    changed = msgspec.structs.replace(changed, derived=Derived(recipe.title, file, sha256, round(factor, 6), tuple(says)))
    focal = placed.lens_mm
    to_paper = e.lens_to_paper(focal, new_m) if focal and new_m else None
    whole = e.negative_to_paper(focal, new_m) if focal and new_m else None
    advice = _advice(recipe, changed, target, new_m, whole, light)
    strip = f"lamphouse strip --around {base:.1f} --step 1/6 --patches 3"
    factors = (size, aperture, paper, change, density)
    return Moved(changed, *factors, (old_m, new_m), to_paper, whole, tuple(says), tuple(advice), strip)


def _placed(old: Enlargement, target: Target) -> Enlargement:
    resized = bool(target.sheet or target.frame or target.fill is not None or target.border_mm is not None)
    detail = target.detail_print_mm if target.detail_print_mm is not None else old.detail_print_mm
    if resized and target.detail_print_mm is None:
        detail = None  # measured on the old print; the new one has not been measured yet
    return msgspec.structs.replace(
        old,
        sheet=target.sheet or old.sheet,
        frame=target.frame or old.frame,
        fill=old.fill if target.fill is None else target.fill,
        border_mm=old.border_mm if target.border_mm is None else target.border_mm,
        aperture=target.aperture or old.aperture,
        lens_mm=target.lens_mm or old.lens_mm,
        detail_print_mm=detail,
    )


def by_sides(place: Enlargement) -> float | None:
    """Magnification from frame and sheet; None when one is not known."""
    if not (place.frame and place.sheet):
        return None
    sheet = e.parse_sheet(place.sheet).inside(place.border_mm)
    return e.magnification(e.parse_frame(place.frame), sheet, fill=place.fill)


def by_detail(place: Enlargement) -> float | None:
    """Magnification from one detail measured on negative and print."""
    if place.detail_negative_mm and place.detail_print_mm:
        return place.detail_print_mm / place.detail_negative_mm
    return None


def magnification_of(place: Enlargement) -> float | None:
    """Of a recipe: a measured detail wins over frame and sheet; None when neither is known."""
    return by_detail(place) or by_sides(place)


def _new_magnification(old: Enlargement, new: Enlargement) -> float | None:
    """Measured on the new print if it was; else the measured old one grown as the sides grow, so the crop stays."""
    measured, sides_old, sides_new = by_detail(old), by_sides(old), by_sides(new)
    if by_detail(new) is None and measured and sides_old and sides_new:
        return measured * sides_new / sides_old
    return magnification_of(new)


def _size(old: Enlargement, new: Enlargement, target: Target, says: list[str]) -> tuple[float | None, float | None, float]:
    if target.distances_mm:
        before, after = target.distances_mm
        factor = e.distance_factor(before, after)
        says.append(f"lens to paper {before:g} to {after:g} mm: inverse square, x {factor:.3f}")
        focal = new.lens_mm
        if focal:
            return e.magnification_at(focal, before), e.magnification_at(focal, after), factor
        return None, None, factor
    asked = target.sheet or target.frame or target.detail_print_mm or target.fill is not None
    if not asked and target.border_mm is None:
        m = magnification_of(old)
        return m, m, 1.0
    old_m, new_m = magnification_of(old), _new_magnification(old, new)
    if old_m is None or new_m is None:
        raise ValueError(
            "the old and the new magnification must be known: give frame and sheet in the recipe's [enlargement], or "
            "one detail measured on negative and prints (detail_negative_mm, detail_print_mm, --detail-print)"
        )
    factor = e.size_factor(old_m, new_m, target.exponent)
    how = f", to the power {target.exponent:.3f} as measured on {target.exponent_of}" if target.exponent != 1 else ""
    says.append(f"magnification {old_m:.2f} to {new_m:.2f}: (({new_m:.2f}+1)/({old_m:.2f}+1))^2{how}, x {factor:.3f}")
    return old_m, new_m, factor


def _aperture(old: float | None, new: float | None, says: list[str]) -> float:
    if new is None or new == old:
        return 1.0
    if old is None:
        raise ValueError("the recipe does not say its aperture; add aperture = 8 (what it was) to [enlargement]")
    factor = e.aperture_factor(old, new)
    says.append(f"f/{old:g} to f/{new:g}: {stops_between(1, factor):+.2f} stop by the marks, x {factor:.3f}")
    return factor


def _paper(recipe: Recipe, target: Target, says: list[str]) -> float:
    factor = 1.0
    if target.speed is not None and target.speed != recipe.paper.speed:
        if recipe.paper.speed is None:
            raise ValueError("the recipe does not say its paper's speed P; add speed = 200 (what it was) to [paper]")
        factor = speed_factor(recipe.paper.speed, target.speed)
        says.append(
            f"paper P{recipe.paper.speed:g} to P{target.speed:g}: x {factor:.3f}, which holds the middle tone of "
            "D = 0.6; highlights and shadows may move"
        )
    if target.box:
        factor *= target.box.time
        says.append(f"box {target.box.name}: time x {target.box.time:.3f} as measured, its pack change included")
    return factor


def _filters(recipe: Recipe, target: Target, says: list[str]) -> tuple[Filters, float]:
    now = recipe.filters
    if target.grade:
        if target.pack is not None:
            raise ValueError("give a grade or a pack, not both")
        if not now.grade:
            raise ValueError("the recipe has no grade to change from; add [filters] grade to it")
        change = grade_factor(now.grade, target.grade)
        says.append(f"grade {now.grade} to {target.grade}: x {change:g} (00 to 3 1/2 alike, 4 to 5 double)")
        return msgspec.structs.replace(now, grade=target.grade), change
    pack, change = f.Pack(now.c, now.m, now.y), 1.0
    if target.pack is not None:
        if now.grade:
            raise ValueError("the recipe prints through a contrast grade; give --grade, not a colour pack")
        head = target.head or now.head
        wanted, _ = f.resolve(target.pack)
        change, how = pack_change(pack, wanted, head)
        says.append(f"pack {pack} to {wanted} ({head}): x {change:.3f}{how}")
        pack = wanted
    if target.box and target.box.pack != f.Pack():
        # The box's time ratio was measured with its pack change in: no filter rule on top of it.
        after, neutral = f.resolve(pack + target.box.pack)
        says.append(f"box {target.box.name}: pack {pack} to {after}" + (f", {neutral:g} neutral out" if neutral else ""))
        pack = after
    new = msgspec.structs.replace(now, c=pack.c, m=pack.m, y=pack.y)
    return (msgspec.structs.replace(new, head=target.head) if target.head in ("gel", "dial") else new), change


def pack_change(old: f.Pack, new: f.Pack, head: str) -> tuple[float, str]:
    """Time factor of a change of pack on ``head``, and what to say of it. ValueError when the head is not known."""
    if head == "gel":
        factor, between = f.gel_change(f.as_sheets(old), f.as_sheets(new))
    elif head == "dial":
        factor, between = f.dial_change(old, new)
    else:
        raise ValueError("say which head it is: --head gel (filter sheets) or --head dial (dichroic); they differ a lot")
    return factor, ", interpolated between published rows" if between else ""


def _advice(old: Recipe, new: Recipe, target: Target, m: float | None, whole: float | None, light: float) -> list[str]:
    advice = []
    if new.paper.kind == "ra4":
        advice += _colour_time(new.base_s, new.enlargement.aperture)
    if new.dodge:
        laid = [s for s in segments(new.base_s, craft_dodges(new), new.changeover_s) if s.held]
        short = min(laid, key=lambda s: s.end - s.start)
        if short.end - short.start < SHORT_DODGE_S:
            advice.append(
                f"the dodge of {' and '.join(short.held)} is {short.end - short.start:.1f} s, too short to do well: "
                "a smaller aperture gives it time"
            )
    if target.sheet and new.enlargement.frame and m:
        sheet = e.parse_sheet(new.enlargement.sheet)
        image = e.image_on(e.parse_frame(new.enlargement.frame), sheet, m)
        along_short, along_long = e.blades(sheet, image)
        advice.append(
            f"easel blades for even borders: image {image.short:.0f} x {image.long:.0f} mm, so {along_short:.0f} mm of "
            f"white at each end of the short side and {along_long:.0f} mm at each end of the long side"
        )
    if whole and target.column_mm and whole > target.column_mm:
        advice.append(
            f"the column reaches {target.column_mm:g} mm from negative to paper and {whole:.0f} mm are needed: "
            "a shorter lens, the wall or the floor"
        )
    if target.grade:
        advice.append("the curve has changed with the grade: judge dodges and burns anew")
    if old.flash and light != 1:
        advice.append("the flash is left as it was: at the paper it must stay the same, so check its own set-up")
    return advice


def _colour_time(seconds: float, aperture: float | None) -> list[str]:
    """Opening or closing the lens by whole stops brings a time outside of colour paper's range back into it."""
    low, high = COLOUR_S
    if low <= seconds <= high:
        return []
    stops = math.ceil(stops_between(high, seconds)) if seconds > high else math.ceil(stops_between(seconds, low))
    way, time = ("open", seconds / 2**stops) if seconds > high else ("close", seconds * 2**stops)
    lens = f" from f/{aperture:g}" if aperture else ""
    return [
        f"{seconds:.1f} s is outside {low:g} to {high:g} s, where colour paper keeps its balance: {way} the lens by "
        f"{stops} stop{'s' if stops > 1 else ''}{lens}, for {time:.1f} s"
    ]


def described(recipe: Recipe) -> str:
    """One line on how a recipe stands: sheet, aperture, filters, base."""
    place = recipe.enlargement
    parts = [place.sheet, f"f/{place.aperture:g}" if place.aperture else "", filters_text(recipe.filters)]
    return ", ".join([*(p for p in parts if p), f"{recipe.base_s:.1f} s"])

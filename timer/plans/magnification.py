"""The magnification of a print, old and new, and the light that the change of size takes."""

import msgspec

from timer.craft import enlargement
from timer.craft.stops import digits
from timer.documents.recipe import Enlargement
from timer.plans.recipe_change import RecipeChange, times


def kept(seconds: float) -> float:
    """Rounded to milliseconds, or to four digits where these are finer."""
    return round(seconds, 3) if seconds >= 1 else float(f"{seconds:.4g}")


def placed_anew(old: Enlargement, target: RecipeChange, old_m: float | None, new_m: float | None) -> Enlargement:
    """The new place; what was measured on the old print is brought to the new magnification, so that the way to a size
    does not matter, or left out where a magnification is not known."""
    place = _asked_place(old, target)
    if not (old_m and new_m):
        return place
    if old.detail_print_mm and target.detail_print_mm is None:
        grown = old.detail_print_mm if new_m == old_m else kept(old.detail_print_mm * new_m / old_m)
        place = msgspec.structs.replace(place, detail_print_mm=grown)
    if old.lens_to_paper_mm and not target.distances_mm:
        place = msgspec.structs.replace(place, lens_to_paper_mm=_moved_lens(old, place.lens_mm, old_m, new_m))
    return place


def _moved_lens(old: Enlargement, lens_mm: float | None, old_m: float, new_m: float) -> float | None:
    """Its distance to the paper grows as M + 1; another lens for the same magnification stands elsewhere. None where the
    old distance, beside a measured detail, was none of this lens."""
    assert old.lens_to_paper_mm
    if lens_mm and lens_mm != old.lens_mm:
        return kept(enlargement.lens_to_paper(lens_mm, new_m))
    if new_m == old_m:
        return old.lens_to_paper_mm
    moved = kept(old.lens_to_paper_mm * (new_m + 1) / (old_m + 1))
    return None if lens_mm and moved <= lens_mm else moved


def _asked_place(old: Enlargement, target: RecipeChange) -> Enlargement:
    new_sides = resized(target)
    detail = target.detail_print_mm if target.detail_print_mm is not None else old.detail_print_mm
    if new_sides and target.detail_print_mm is None:
        detail = None  # measured on the old print; the new one has not been measured yet
    distance = target.distances_mm[1] if target.distances_mm else old.lens_to_paper_mm
    if (new_sides or target.detail_print_mm is not None) and not target.distances_mm:
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


def resized(target: RecipeChange) -> bool:
    """Whether the sheet, the frame or how one is fitted to the other changes."""
    return bool(target.sheet or target.frame or target.fill is not None or target.border_mm is not None)


def by_sides(place: Enlargement) -> float | None:
    """Magnification from frame and sheet; None when one is not known."""
    if not (place.frame and place.sheet):
        return None
    sheet = enlargement.parse_sheet(place.sheet).inside(place.border_mm)
    return enlargement.magnification(enlargement.parse_frame(place.frame), sheet, fill=place.fill)


def by_measure(place: Enlargement) -> float | None:
    """Magnification from one detail measured on negative and print, or from the distance of lens and paper."""
    if place.detail_negative_mm and place.detail_print_mm:
        return place.detail_print_mm / place.detail_negative_mm
    if place.lens_mm and place.lens_to_paper_mm:
        return enlargement.magnification_at(place.lens_mm, place.lens_to_paper_mm)
    return None


def magnification_of(place: Enlargement) -> float | None:
    """As measured, or from the sides; None when neither is known, or a distance was measured through a lens unknown."""
    measured = by_measure(place)
    return measured if measured or place.lens_to_paper_mm else by_sides(place)


def picture_on(place: Enlargement) -> enlargement.Size | None:
    """The part of the sheet that the picture covers, mm; None when the sheet is not known."""
    if not place.sheet:
        return None
    window = enlargement.parse_sheet(place.sheet).inside(place.border_mm)
    m = magnification_of(place) or by_sides(place)
    return enlargement.image_on(enlargement.parse_frame(place.frame), window, m) if place.frame and m else window


def blades_of(place: Enlargement) -> tuple[float, float] | None:
    """What an easel's blades are set to: mm of white along each long side, and along each short side; None as above."""
    picture = picture_on(place)
    return enlargement.blades(enlargement.parse_sheet(place.sheet), picture) if picture else None


def _new_magnification(old: Enlargement, new: Enlargement) -> float | None:
    """Measured on the new print if it was; else the measured old one grown as the sides grow, so the crop stays."""
    measured, sides_old, sides_new = by_measure(old), by_sides(old), by_sides(new)
    if by_measure(new) is None and measured and sides_old and sides_new:
        return measured * sides_new / sides_old
    return magnification_of(new)


def size_change(old: Enlargement, target: RecipeChange, says: list[str]) -> tuple[float | None, float | None, float]:
    """The old and the new magnification (None when not known), and the factor of time between them; each rule used is added
    to ``says``. ValueError when the size changes and one is not known."""
    new = _asked_place(old, target)
    if target.distances_mm:
        return _by_distances(old, new.lens_mm, target.distances_mm, target, says)
    if not (resized(target) or target.detail_print_mm):
        m = magnification_of(old)
        return m, m, 1.0
    if target.detail_print_mm and not old.detail_negative_mm:
        raise ValueError(
            "the recipe does not say how large that detail is on the negative; add detail_negative_mm to [enlargement], and "
            "detail_print_mm, the same detail on the print that it has the time of"
        )
    old_m, new_m = magnification_of(old), _new_magnification(old, new)
    if old_m is None or new_m is None:
        raise ValueError(_not_known(old))
    factor = enlargement.size_factor(old_m, new_m, target.exponent)
    rule = f"magnification {digits(old_m)} to {digits(new_m)}: (({digits(new_m)}+1)/({digits(old_m)}+1))^2"
    says.append(f"{rule}{_bent(target)}, {times(factor)}")
    return old_m, new_m, factor


def _not_known(old: Enlargement) -> str:
    if old.lens_to_paper_mm and not old.lens_mm:
        return (
            f"the recipe's lens to paper of {old.lens_to_paper_mm:g} mm says its size only with the lens; add lens_mm, the "
            "focal length it was measured with, to [enlargement]"
        )
    return (
        "the recipe does not say the size of its negative and its sheet: on the screen type both into its row sheet; "
        "in the file give frame and sheet in [enlargement], or one detail measured on negative and print "
        "(detail_negative_mm and detail_print_mm) and then on the new print"
    )


def _by_distances(
    old: Enlargement, new_lens: float | None, distances: tuple[float, float], target: RecipeChange, says: list[str]
) -> tuple[float | None, float | None, float]:
    """The old distance through the old lens, the new one through the new; a lens that nobody said is the same one."""
    before, after = distances
    old_lens = old.lens_mm or new_lens
    if not (old_lens and new_lens):
        factor = enlargement.distance_factor(before, after) ** target.exponent
        says.append(f"lens to paper {before:g} to {after:g} mm: inverse square{_bent(target)}, {times(factor)}")
        old_m = magnification_of(old)
        new_m = (old_m + 1) * after / before - 1 if old_m else None
        if new_m is not None and new_m <= 0:
            raise ValueError(f"lens to paper {before:g} to {after:g} mm: no picture is that small; check both distances")
        return old_m, new_m, factor
    old_m, new_m = enlargement.magnification_at(old_lens, before), enlargement.magnification_at(new_lens, after)
    factor = enlargement.size_factor(old_m, new_m, target.exponent)
    if old_lens == new_lens:
        says.append(f"lens to paper {before:g} to {after:g} mm: inverse square{_bent(target)}, {times(factor)}")
    else:
        says.append(
            f"lens to paper {before:g} mm through {old_lens:g} mm to {after:g} mm through {new_lens:g} mm: magnification "
            f"{digits(old_m)} to {digits(new_m)}{_bent(target)}, {times(factor)}"
        )
    return old_m, new_m, factor


def _bent(target: RecipeChange) -> str:
    return f", to the power {target.exponent:.3f} as measured on {target.exponent_of}" if target.exponent != 1 else ""

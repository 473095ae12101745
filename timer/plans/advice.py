"""Advice on a derived recipe, for the printer to take or leave."""

import math

from timer.craft.paper import COLOUR_S
from timer.craft.stops import digits, stops_between
from timer.documents.recipe import Enlargement, Recipe
from timer.documents.recipe_light import passes
from timer.plans.hands import too_fast
from timer.plans.magnification import blades_of, picture_on, resized
from timer.plans.recipe_change import RecipeChange


def advise(old: Recipe, new: Recipe, target: RecipeChange, whole: float | None, place: float) -> list[str]:
    """Lines on recipe ``new``: its times, dodges, blades and column. ``whole`` is the way from negative to paper (mm),
    None when not known; ``place`` the factor of size and aperture together."""
    advice: list[str] = []
    if new.paper.kind == "ra4":
        rows = [_colour_time(new.base_s * part.share, new.enlargement.aperture) for part in passes(new.filters)]
        advice += next((row for row in rows if row), [])
    if fast := too_fast(new):
        advice.append(fast)
    advice += _blades(new.enlargement) if resized(target) or target.detail_print_mm or target.distances_mm else []
    if whole and target.column_mm and whole > target.column_mm:
        advice.append(
            f"the column reaches {target.column_mm:g} mm from negative to paper and {whole:.0f} mm are needed: "
            "a shorter lens, the wall or the floor"
        )
    if target.paper not in ("", old.paper.name) and target.speed is None and target.box is None:
        was = old.paper.name or "the old paper"
        advice.append(
            f"the time is still that of {was}: with the speeds P of both papers, or a box that you have measured, it goes "
            "to the new one; else make a strip"
        )
    if target.grade:
        advice.append("the curve has changed with the grade: judge dodges and burns again")
    if old.flash and place != 1:
        advice.append(
            "the flash does not follow size and aperture: at the paper it must stay the same, so check its own set-up"
        )
    if old.flash and (target.speed or target.grade or target.box or target.paper):
        advice.append("the flash is a guess on this paper: find its threshold again")
    if (target.pack is not None or target.correct is not None) and any(b.filters for b in new.burn):
        areas = ", ".join(b.area for b in new.burn if b.filters)
        advice.append(f"filters of their own are left as they were (burn of {areas}): change them too if they are to follow")
    return advice


def _blades(place: Enlargement) -> list[str]:
    image, white = picture_on(place), blades_of(place)
    if not (image and white and place.frame):
        return []
    return [
        f"easel blades for even borders: image {image.short:.0f} x {image.long:.0f} mm, so {white[0]:.0f} mm of "
        f"white along each long side and {white[1]:.0f} mm along each short side"
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

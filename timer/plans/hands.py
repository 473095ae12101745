"""What the hands are asked to do too fast while they dodge."""

from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise

from timer.craft.dodge_burn import MIN_CHANGE_S, Segment
from timer.craft.stops import digits
from timer.documents.recipe import Recipe
from timer.documents.recipe_light import burn_laid_out, laid_out, own_filters, passes


def too_fast(recipe: Recipe) -> str:
    """A sentence on the shortest dodge, or on the end of two that overlap, where it is shorter than MIN_CHANGE_S; nothing
    where none is."""
    laid = [laid_out(recipe, part.share) for part in passes(recipe.filters)] if recipe.dodge else []
    for burn in recipe.burn:
        laid += [burn_laid_out(recipe, burn, part.share) for part in passes(own_filters(recipe, burn)) if burn.dodge]
    found = [short for stretches in laid for short in _short(stretches)]
    return min(found)[1] if found else ""


def _short(stretches: Sequence[Segment]) -> list[tuple[float, str]]:
    held: dict[str, float] = defaultdict(float)
    for stretch in stretches:
        for area in stretch.held:
            held[area] += stretch.end - stretch.start
    out = [
        (seconds, f"the dodge of {area} is {digits(seconds)} s, too short to do well: a smaller aperture gives it time")
        for area, seconds in held.items()
        if seconds < MIN_CHANGE_S
    ]
    for before, stretch in pairwise(stretches):
        apart = stretch.end - stretch.start
        if len(before.held) == 2 and len(stretch.held) == 1 and apart < MIN_CHANGE_S:
            longer = stretch.held[0]
            shorter = next(area for area in before.held if area != longer)
            if held[shorter] >= MIN_CHANGE_S:
                both = f"{digits(held[shorter])} and {digits(held[longer])} s"
                says = (
                    f"the dodges of {shorter} and {longer} ({both}) end {digits(apart)} s apart, a change of hands too "
                    "short to do well: a smaller aperture gives it time"
                )
                out.append((apart, says))
    return out

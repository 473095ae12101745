"""A recipe's paper, grade and filters changed: the new ones, and the time that they take."""

from typing import Any

import msgspec

from timer.craft import filters as colour_filters
from timer.craft import heads
from timer.craft.lights import Lights
from timer.craft.paper import grade_factor, speed_factor
from timer.craft.stops import digits
from timer.documents.calibrations import Box
from timer.documents.recipe import Burn, Filters, Paper, Recipe
from timer.documents.recipe_light import setting_of, with_setting
from timer.plans.magnification import kept
from timer.plans.recipe_change import RecipeChange, times


def paper_change(recipe: Recipe, target: RecipeChange, says: list[str]) -> tuple[float, float, float | None]:
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
            how = "as you measured it" if target.grade_time else "00 to 3 1/2 alike, 4 to 5 double"
            says.append(f"grade {recipe.filters.grade} to {target.grade}: x {grade:.4g} ({how})")
        known = named_paper(recipe.paper, target.paper).speed
        return 1.0, grade, known / grade if known else None
    whole = speed_factor(old, new)
    if target.grade and target.grade != recipe.filters.grade:
        says.append(
            f"paper P{old:g} through grade {recipe.filters.grade} to P{new:g} through grade {target.grade}: {times(whole)} "
            f"for both (the grades alone: x {grade:.4g})"
        )
    elif new != old:
        says.append(
            f"paper P{old:g} to P{new:g}: {times(whole)}, which holds the middle tone of D = 0.6; highlights and shadows "
            "may move"
        )
    return whole / grade, grade, new


def named_paper(now: Paper, name: str) -> Paper:
    """``now``, or where ``name`` is that of another paper, that one: its P and R are not known until they are said."""
    return now if name in ("", now.name) else Paper(now.kind, name)


def through_grade(recipe: Recipe, filters: Filters) -> Recipe:
    """``recipe`` through other ``filters``, its times as they were: P goes with its contrast grade, by the usual factor."""
    before, after, speed = recipe.filters.grade, filters.grade, recipe.paper.speed
    if speed and before and after:
        speed = speed / grade_factor(before, after)
    return msgspec.structs.replace(recipe, filters=filters, paper=msgspec.structs.replace(recipe.paper, speed=speed))


def _grade(now: Filters, target: RecipeChange) -> float:
    if not target.grade:
        return 1.0
    if target.pack is not None or target.correct is not None:
        raise ValueError("give a grade or a pack, not both")
    if not now.grade:
        raise ValueError("the recipe has no grade to change from; add [filters] grade to it")
    return target.grade_time or grade_factor(now.grade, target.grade)


def filters_change(recipe: Recipe, target: RecipeChange, says: list[str]) -> tuple[Filters, float]:
    """The new filters, and the factor of the change of pack in them."""
    now = recipe.filters
    colour = target.pack is not None or target.correct is not None
    if now.grade:
        if colour:
            raise ValueError("the recipe prints through a contrast grade; give --grade, not a colour pack")
        if target.box and target.box.pack != colour_filters.Pack():
            raise ValueError(
                f"box {target.box.name} was measured with a change of pack, and the recipe prints through a contrast grade"
            )
        return msgspec.structs.replace(now, grade=target.grade or now.grade), 1.0
    if target.pack is not None and target.correct is not None:
        raise ValueError("give a pack to go to, or a change of the pack, not both")
    head = _head(now, target, colour)
    setting, change = setting_of(now), 1.0
    if colour:
        wanted = _wanted(setting, target, head)
        change, how = setting_change(setting, wanted, head)
        what = "lights" if isinstance(wanted, Lights) else "pack"
        says.append(f"{what} {heads.text_of(setting)} to {heads.text_of(wanted)} ({head}): {times(change)}{how}")
        setting = wanted
    if target.box and target.box.pack != colour_filters.Pack():
        setting, neutral = _boxed(setting, target.box, head, target.top, says)
        change *= neutral
    new = msgspec.structs.replace(with_setting(now, setting), head=head)
    return new, change * _longest(new) / _longest(now)


def _longest(filters: Filters) -> float:
    """What base_s stands for among the lights of a tricolour head."""
    return max(filters.red, filters.green, filters.blue) if filters.head == "tricolour" else 1.0


def in_seconds(filters: Filters, longest: float) -> Filters:
    """Tricolour lights as the seconds they come to; all others as they are."""
    if filters.head != "tricolour" or not longest:
        return filters
    scale = longest / _longest(filters)
    red, green, blue = (kept(amount * scale) if amount else 0.0 for amount in (filters.red, filters.green, filters.blue))
    return msgspec.structs.replace(filters, red=red, green=green, blue=blue)


def _wanted(setting: heads.Setting, target: RecipeChange, head: str) -> heads.Setting:
    """The setting that is asked for; a pack without its neutral density, one filter a colour."""
    if target.correct is not None:
        return heads.shifted(setting, target.correct, target.top)
    if isinstance(target.pack, Lights):
        return heads.within(target.pack, head, target.top)
    return heads.within(colour_filters.resolve(heads.pack(target.pack or ()))[0], head, target.top)


def _head(now: Filters, target: RecipeChange, colour: bool) -> str:
    """The head that the recipe is for. ValueError when a pack would go from one kind of head to another."""
    if target.head and now.head and target.head != now.head and setting_of(now) != colour_filters.Pack():
        raise ValueError(
            f"the recipe's pack is for {heads.HEADS[now.head]} ({now.head}); what it is on {heads.HEADS[target.head]} "
            f"({target.head}) only a test there can say"
        )
    if target.head in heads.THREE_LIGHTS and now.head != target.head:
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
    resolved, neutral = colour_filters.resolve(raw)
    colour_filters.within(resolved, top or colour_filters.MOST)
    change, how = setting_change(raw, resolved, head) if neutral else (1.0, "")
    moved = f", {abs(neutral):g} neutral {'out' if neutral > 0 else 'in'} on {head}: {times(change)}{how}" if neutral else ""
    says.append(f"box {box.name}: {of} {heads.text_of(setting)} to {resolved}{moved}")
    return resolved, change


def burn_change(recipe: Recipe, burn: Burn, target: RecipeChange, light: float, says: list[str]) -> Burn:
    """A burn in seconds follows the light, and one through a pack of its own a new box too."""
    if burn.seconds is None:
        return burn
    filters, seconds = burn.filters, burn.seconds * light
    if (
        target.box
        and target.box.pack != colour_filters.Pack()
        and filters
        and not filters.grade
        and setting_of(filters) != colour_filters.Pack()
    ):
        head = filters.head or target.head or recipe.filters.head
        setting, change = _boxed(setting_of(filters), target.box, head, 0.0, says, f"burn of {burn.area}, pack")
        new = with_setting(filters, setting)
        filters, seconds = new, seconds * change * _longest(new) / _longest(filters)
    filters = in_seconds(filters, seconds) if filters else None
    return msgspec.structs.replace(burn, seconds=kept(seconds), filters=filters)


def flash_change(recipe: Recipe, paper: float, says: list[str]) -> Any:
    """A flash just short of the threshold stays so: it follows the paper's speed, and nothing else."""
    if recipe.flash is None or paper == 1:
        return recipe.flash
    seconds = recipe.flash.seconds * paper
    says.append(
        f"flash {recipe.flash.seconds:g} s {times(paper)} = {digits(seconds)} s: the paper's threshold moves with its speed"
    )
    return msgspec.structs.replace(recipe.flash, seconds=kept(seconds))


def setting_change(old: heads.Setting, new: heads.Setting, head: str) -> tuple[float, str]:
    """Time factor of a change of setting on ``head``, and what to say of it. ValueError when the head is not known."""
    factor, between = heads.time_change(old, new, head)
    return factor, ", interpolated between published rows" if between else ""

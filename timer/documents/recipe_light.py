"""The light of a recipe, area by area, and the filters that each is given through."""

from dataclasses import dataclass

import msgspec

from timer.craft import heads
from timer.craft.dodge_burn import Dodge as CraftDodge
from timer.craft.dodge_burn import Segment, burn_seconds, segments
from timer.craft.filters import Pack
from timer.craft.lights import Lights, amounts
from timer.documents.recipe import Burn, Filters, Local, Recipe


def craft_dodges(recipe: Recipe) -> list[CraftDodge]:
    """The dodges in the order they are done, sizes positive."""
    return [CraftDodge(d.area, abs(d.stops), d.together) for d in in_order(recipe, recipe.dodge)]


def in_order(recipe: Recipe, items: tuple[Local, ...]) -> list[Local]:
    """``items`` as the recipe's ``order`` puts them; areas it does not name keep their place after those it does."""
    rank = {area: n for n, area in enumerate(recipe.order)}
    return sorted(items, key=lambda item: rank.get(item.area, len(rank)))


def dry_factor(recipe: Recipe) -> float:
    """The factor that dry-down puts on every exposure except the flash."""
    return 1 - recipe.dry_down_percent / 100


def printed_base(recipe: Recipe) -> float:
    """The base as it is exposed, in full-light seconds; of a tricolour head the longest of the three."""
    return recipe.base_s * dry_factor(recipe)


def dry_note(recipe: Recipe) -> tuple[str, ...]:
    """What to know when a test for ``recipe`` is read: it has the light that the recipe says, the print has less."""
    if not recipe.dry_down_percent:
        return ()
    return (f"read it wet: the print will have {recipe.dry_down_percent:g} % less, so that it dries to what is seen now",)


def laid_out(recipe: Recipe, share: float = 1.0) -> tuple[Segment, ...]:
    """The base in stretches, with the dodges in them; of its ``share`` for one colour. ValueError as ``segments``."""
    return segments(printed_base(recipe) * share, craft_dodges(recipe), recipe.changeover_s)


def burn_laid_out(recipe: Recipe, burn: Burn, share: float = 1.0) -> tuple[Segment, ...]:
    """A burn in stretches, with its own dodges in them, as ``laid_out``."""
    dodges = [CraftDodge(d.area, abs(d.stops), d.together) for d in burn.dodge]
    return segments(burn_light(recipe, burn) * share, dodges, recipe.changeover_s)


def burn_light(recipe: Recipe, burn: Burn) -> float:
    """Full-light seconds of a burn; through a tricolour head the longest of the three."""
    if burn.seconds is not None:
        return burn.seconds * dry_factor(recipe)
    return burn_seconds(printed_base(recipe), burn.stops or 0)


def edge_light(recipe: Recipe) -> float:
    """Full-light seconds of each edge burn."""
    return burn_seconds(printed_base(recipe), recipe.edges.stops if recipe.edges else 0)


@dataclass(frozen=True)
class Pass:
    """One exposure of the one, or the three, that a filter setting takes: what is in, and its share of the longest."""

    filters: str
    share: float = 1.0


def passes(filters: Filters) -> tuple[Pass, ...]:
    """One, or of a tricolour head one for each colour that has light."""
    if filters.head != "tricolour":
        return (Pass(filters_text(filters)),)
    lights = [("red", filters.red), ("green", filters.green), ("blue", filters.blue)]
    longest = max(amount for _, amount in lights)
    return tuple(Pass(name, amount / longest) for name, amount in lights if amount)


def own_filters(recipe: Recipe, burn: Burn) -> Filters:
    """What is in for a burn: its own filters, or the recipe's."""
    return recipe.filters if burn.filters is None else burn.filters


def setting_of(filters: Filters) -> heads.Setting:
    """The colour setting, for the arithmetic of heads."""
    if filters.head in heads.THREE_LIGHTS:
        return Lights(filters.red, filters.green, filters.blue, filters.per_stop)
    return Pack(filters.c, filters.m, filters.y)


def with_setting(filters: Filters, setting: heads.Setting) -> Filters:
    """``filters`` set to ``setting``, which belongs to the same head."""
    if isinstance(setting, Lights):
        red, green, blue = amounts(setting)
        return msgspec.structs.replace(filters, red=red, green=green, blue=blue, per_stop=setting.per_stop)
    pack = heads.pack(setting)
    return msgspec.structs.replace(filters, c=pack.c, m=pack.m, y=pack.y)


def filters_text(filters: Filters) -> str:
    """``grade 2 1/2``, ``60M 45Y``, ``R80 G60 B50``, or nothing for no filter."""
    if filters.grade:
        return f"grade {filters.grade}"
    if filters.head in heads.THREE_LIGHTS:
        return str(setting_of(filters)) + (" in turn" if filters.head == "tricolour" else "")
    pack = [(filters.c, "C"), (filters.m, "M"), (filters.y, "Y")]
    return " ".join(f"{amount:g}{ink}" for amount, ink in pack if amount)

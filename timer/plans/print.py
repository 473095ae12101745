"""The plan of a print: flash, base with its dodges, burns, edges."""

from timer.craft.dodge_burn import SMALLEST_S as SMALLEST_S
from timer.craft.dodge_burn import Segment
from timer.craft.paper import COLOUR_S, grade_of_range
from timer.craft.stops import digits
from timer.documents.recipe import Burn, Dodge, Recipe
from timer.documents.recipe_light import Pass, burn_laid_out, burn_light, edge_light, in_order, laid_out, own_filters, passes
from timer.plans.cue_points import marks
from timer.plans.hands import too_fast
from timer.plans.model import Mark, Plan, Step

ALL_CLEAR = "all clear"


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
        base = _base(recipe, part)
        hands = filter_change(part.filters) if n else _with(ready, part.filters)
        first = base[0].say.removeprefix("base: ")
        hands = f"{hands}; {first}" if recipe.dodge and first != ALL_CLEAR else hands  # the card is up before the light is
        steps += [Step("wait", hands, filters=part.filters), *base]
    now = main[-1].filters
    for item in _grouped(recipe):
        if item is None:
            made, now = _edges(recipe, now)
            steps += made
            continue
        for part in _turned(passes(own_filters(recipe, item)), now):
            steps += _burn(recipe, item, part, now)
            now = part.filters
    if recipe.flash and recipe.flash.when == "after":
        steps += _flash(recipe)
    return Plan("print", recipe.title, tuple(steps), notes=_notes(recipe), paper=recipe.paper.kind)


def _grouped(recipe: Recipe) -> list[Burn | None]:
    """The burns, and None for the edges, so that a filter goes in once: what is given through the base's filters comes
    first, the edges with it, then one filter after another. The recipe's own ``order`` goes before that."""
    burns: list[Burn | None] = [*in_order(recipe, recipe.burn)]
    if recipe.edges:
        burns.append(None)
    if recipe.order:
        return burns
    filters = [own_filters(recipe, burn) if burn else recipe.filters for burn in burns]
    turn = [recipe.filters, *filters]
    return [burns[n] for n in sorted(range(len(burns)), key=lambda n: turn.index(filters[n]))]


def _edges(recipe: Recipe, now: str) -> tuple[list[Step], str]:
    """The edge burns with ``now`` in, and what is in after them."""
    steps: list[Step] = []
    for part in _turned(passes(recipe.filters), now):
        for edge in recipe.edges.which if recipe.edges else ():
            hands = f"uncover the {edge} edge, card over everything else"
            hands = hands if now == part.filters else f"{filter_change(part.filters)}; {hands}"
            steps += _timed(hands, f"{edge} edge", edge_light(recipe) * part.share, part.filters)
            now = part.filters
    return steps, now


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
    return _dodged(recipe, laid_out(recipe, part.share), recipe.dodge, "base", part.filters)


def _dodged(recipe: Recipe, laid: tuple[Segment, ...], dodges: tuple[Dodge, ...], area: str, filters: str) -> list[Step]:
    """An exposure of ``area`` in the stretches that are ``laid`` out: one light with changes of the hands, or many."""
    if recipe.dodging == "run-through" or len(laid) == 1:
        whole = laid[-1].end
        changes = [Mark(s.start, "change", _hands(dodges, s)) for s in laid[1:]]
        return [Step("expose", f"{area}: {_hands(dodges, laid[0])}", area, whole, filters, marks(whole, changes))]
    steps: list[Step] = []
    for n, segment in enumerate(laid):
        hands = _hands(dodges, segment)
        if n:
            steps.append(Step("wait", hands, area, filters=filters))
        seconds = segment.end - segment.start
        steps.append(Step("expose", f"{area}: {hands}", area, seconds, filters, marks(seconds)))
    return steps


def _hands(dodges: tuple[Dodge, ...], segment: Segment) -> str:
    if not segment.held:
        return ALL_CLEAR
    tools = {d.area: ", ".join(t for t in (d.tool, d.motion) if t) for d in dodges}
    return "hold back " + " and ".join(f"{a} ({tools[a]})" if tools[a] else a for a in segment.held)


def _burn(recipe: Recipe, burn: Burn, part: Pass, now: str) -> list[Step]:
    filters = part.filters
    tool = ", ".join(t for t in (burn.tool, burn.motion) if t)
    hands = f"burn {burn.area}" + (f" ({tool})" if tool else "")
    if filters != now or (burn.filters and not filters):
        hands = f"{filter_change(filters)}; {hands}"
    if not burn.dodge:
        return _timed(hands, burn.area, burn_light(recipe, burn) * part.share, filters)
    laid = burn_laid_out(recipe, burn, part.share)
    first = f"{hands}, {_hands(burn.dodge, laid[0])}"
    return [Step("wait", first, burn.area, filters=filters), *_dodged(recipe, laid, burn.dodge, burn.area, filters)]


def filter_change(filters: str) -> str:
    """What the hands do, in words; no ``filters`` means that they come out."""
    return f"filters to {filters}" if filters else "filters out"


def _with(hands: str, filters: str) -> str:
    return f"{hands}, {filters} in" if filters else hands


def _notes(recipe: Recipe) -> tuple[str, ...]:
    notes = _places(recipe)
    if recipe.dry_down_percent:
        notes.append(f"dry-down: everything but a flash is {recipe.dry_down_percent:g} % shorter than the recipe says")
    if recipe.paper.range and not recipe.filters.grade:  # through a contrast filter it is another R
        notes.append(f"paper of R{recipe.paper.range:g}: {_grade_words(recipe.paper.range)}")
    parts = passes(recipe.filters)
    if recipe.paper.kind == "ra4":
        low, high = COLOUR_S
        outside = [part for part in parts if not low <= recipe.base_s * part.share <= high]
        for part in outside[:1]:
            through = f" through {part.filters}" if len(parts) > 1 else ""
            seconds = digits(recipe.base_s * part.share)
            span = f"{low:g} to {high:g} s"
            notes.append(f"a base of {seconds} s{through} is outside {span}, where colour paper keeps its balance")
    if fast := too_fast(recipe):
        notes.append(fast)
    return tuple(notes)


def _places(recipe: Recipe) -> list[str]:
    """What the easel and the lens are set to, so that two sizes of one print are told apart."""
    place = recipe.enlargement
    of = f" from {place.frame}" if place.frame else ""
    parts = [f"sheet {place.sheet}{of}" if place.sheet else "", f"lens at f/{place.aperture:g}" if place.aperture else ""]
    said = ", ".join(part for part in parts if part)
    return [said] if said else []


def _grade_words(r: float) -> str:
    try:
        return f"a grade {grade_of_range(r)}"
    except ValueError as error:
        return str(error)

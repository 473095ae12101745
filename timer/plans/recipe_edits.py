"""A recipe with one of its rows changed: nudged by a key, typed, added, removed, moved.

ValueError in one sentence for what cannot stand in a row. What is on the way to a recipe may be one that cannot be made
yet: ``recipe_rows.fault`` says so.
"""

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Any, Literal, get_args

from msgspec.structs import replace

from timer.craft.heads import THREE_LIGHTS, parse_setting
from timer.craft.stops import LIMIT, digits, factor, hundredths, parse_stops, stops_between
from timer.documents.recipe import GRADES, Burn, Dodge, Edge, Edges, Enlargement, Filters, Flash, Recipe
from timer.documents.recipe_light import burn_light, dry_factor, printed_base, with_setting
from timer.plans.other_paper import in_seconds, through_grade
from timer.plans.recipe_rows import PAPER_KINDS, Field, Row, kept, row_fault
from timer.plans.split_grade import WHOLE

TWELFTH = Fraction(1, 12)
FIRST = Fraction(1, 3)
"""Stops of a new dodge or burn until others are given: a change that is just seen."""
_FLASH_S = 1.0
_INKS = re.compile(r"\d\s*[CMYRGB]|[CMYRGB]\s*\d|\d\s*[-/]\s*\d+\s*[-/]\s*\d|^0$", re.IGNORECASE)
"""What is meant as a pack, right or wrong: an amount with its ink, or dials."""
_MOST_DRY = 40.0
_EDGES: tuple[Edge, ...] = get_args(Edge)
_LENGTH = r"(\d+(?:\.\d+)?)mm"
_MEASURED = {
    "lens": (re.compile(f"lens{_LENGTH}"), ("lens_mm",)),
    "border": (re.compile(f"border{_LENGTH}"), ("border_mm",)),
    "distance": (re.compile(f"distance{_LENGTH}"), ("lens_to_paper_mm",)),
    "detail": (re.compile(rf"detail(\d+(?:\.\d+)?):{_LENGTH}"), ("detail_negative_mm", "detail_print_mm")),
}
"""Words of the sheet's row, by how each begins, and where its numbers go; 0 takes it away."""
MEASURED_LIKE = "lens50mm border5mm fill detail10:80mm distance450mm"


def nudged(recipe: Recipe, row: Row, by: int) -> Recipe:
    """One step more, or less: a twelfth of a stop of light; of paper and grade the next one there is."""
    match row.kind:
        case "paper":
            kind = PAPER_KINDS[(PAPER_KINDS.index(recipe.paper.kind) + by) % len(PAPER_KINDS)]
            return replace(recipe, paper=replace(recipe.paper, kind=kind))
        case "filters":
            now = GRADES.index(recipe.filters.grade) + by if recipe.filters.grade in GRADES else GRADES.index("2")
            return through_grade(recipe, Filters(grade=GRADES[max(0, min(len(GRADES) - 1, now))]))
        case "base":
            return _based(recipe, kept(recipe.base_s * factor(by * TWELFTH)))
        case "dodge" | "burn" if _stops(recipe, row) is None:
            return _burnt(recipe, row, kept((recipe.burn[row.at].seconds or 0) * factor(by * TWELFTH)))
        case "dodge" | "burn":
            return _amounted(recipe, row, _past_nothing(_stops(recipe, row) or Fraction(0), by))
        case "edges":
            stops = (recipe.edges.stops if recipe.edges else Fraction(0)) + by * TWELFTH
            return _edged(recipe, stops)
        case "flash":
            flash = recipe.flash or Flash(_FLASH_S)
            seconds = kept(flash.seconds * factor(by * TWELFTH)) if recipe.flash else _FLASH_S
            return replace(recipe, flash=replace(flash, seconds=seconds))
        case "dry-down":
            return replace(recipe, dry_down_percent=max(0.0, min(_MOST_DRY, recipe.dry_down_percent + by)))
        case _:
            return recipe


def typed(recipe: Recipe, row: Row, field: Field, text: str) -> Recipe:
    """``row`` with ``text`` in its ``field``. ValueError in one sentence when it cannot stand there."""
    made = _typed(recipe, row, field, text.strip())
    if wrong := row_fault(made, row):
        raise ValueError(wrong)
    return made


def _typed(recipe: Recipe, row: Row, field: Field, text: str) -> Recipe:
    match row.kind, field:
        case "title", _:
            if not text:
                raise ValueError("a print needs a name, the negative's for example")
            return replace(recipe, title=text)
        case "paper", _:
            return replace(recipe, paper=replace(recipe.paper, name=text.removeprefix(recipe.paper.kind).strip()))
        case "sheet", _:
            return _placed(recipe, text)
        case "filters", _:
            return through_grade(recipe, read_filters(text, recipe.filters))
        case "base", _:
            return _based(recipe, _light(text, recipe.base_s, recipe))
        case (("dodge" | "burn"), "amount"):
            return _amount_typed(recipe, row, text)
        case "dodge", "name":
            old = _dodges(recipe, row)[row.at].area
            _must_be_free(text, row.kind, [d.area for d in _dodges(recipe, row) if d.area != old])
            dodges = tuple(replace(d, together=text) if d.together == old else d for d in _dodges(recipe, row))
            return _area(_with_dodges(recipe, row, dodges), row, area=text)
        case "burn", "name":
            _must_be_free(text, row.kind, [b.area for b in recipe.burn if b.area != row.name])
            return _area(recipe, row, area=text)
        case (("dodge" | "burn"), ("tool" | "motion")):
            return _area(recipe, row, **{field: text})
        case "burn", "filters":
            return _through(recipe, row, text)
        case "dodge", "filters":
            raise ValueError("a dodge is made through the filter of its exposure; another grade or pack is for burns")
        case "edges", "tool":
            return replace(recipe, edges=replace(recipe.edges or Edges(Fraction(1, 6)), tool=text))
        case "edges", "name":
            return _edges_named(recipe, text)
        case "edges", _:
            return _edged(recipe, parse_stops(text))
        case "flash", ("name" | "tool"):
            return replace(recipe, flash=_flash_named(recipe.flash or Flash(_FLASH_S), field, text))
        case "dry-down", _:
            return replace(recipe, dry_down_percent=_percent(text))
        case "picture", _:
            return replace(recipe, picture=text)
        case "notes", _:
            return replace(recipe, notes=text)
        case "flash", _:
            seconds = _seconds(text)
            flash = recipe.flash or Flash(_FLASH_S)
            return replace(recipe, flash=replace(flash, seconds=seconds) if seconds else None)
        case _:
            raise ValueError(f"{row.kind} has no {field}")


def exposure_of(recipe: Recipe, row: Row) -> int | None:
    """Which burn an area is held back in that is added at ``row``: a second exposure, through filters of its own; else
    None, the base."""
    if row.kind == "burn" and recipe.burn[row.at].seconds is not None:
        return row.at
    return row.within


def added(recipe: Recipe, kind: Literal["dodge", "burn"], text: str, within: int | None = None) -> Recipe:
    """A dodge or a burn more, by its name; ``wall-1/4`` and ``sky+1/2`` say its size, and which of the two, as well.

    ``within``: a dodge is made in that burn, as ``exposure_of`` says; None: in the base.
    """
    name, amount = _name_and_amount(text)
    stops = amount if amount is not None else FIRST if kind == "burn" else -FIRST
    if stops == 0:
        raise ValueError("an area of 0 stops is as the base; give a size like +1/3")
    if stops > 0:
        _must_be_free(name, "burn", [b.area for b in recipe.burn])
        return replace(recipe, burn=(*recipe.burn, Burn(name, stops)))
    place = Row("dodge", within=within)
    _must_be_free(name, "dodge", [d.area for d in _dodges(recipe, place)])
    return _with_dodges(recipe, place, (*_dodges(recipe, place), Dodge(name, stops)))


def second_added(recipe: Recipe, text: str) -> Recipe:
    """A second exposure of the whole sheet, through the grade or pack ``text``; half of the base until it is said.

    It comes last: what is burnt in through the filter of the base needs no change before it.
    """
    seconds = kept(recipe.base_s / 2)
    filters = in_seconds(read_filters(text, recipe.filters), seconds)
    taken = {burn.area for burn in recipe.burn}
    name = next(name for n in range(1, len(taken) + 2) if (name := WHOLE if n == 1 else f"{WHOLE} {n}") not in taken)
    return replace(recipe, burn=(*recipe.burn, Burn(name, seconds=seconds, filters=filters)))


def removed(recipe: Recipe, row: Row) -> Recipe:
    """Without that dodge or burn, edges or flash; what every print has stays."""
    match row.kind:
        case "dodge":
            gone = _dodges(recipe, row)[row.at].area
            left = [d for n, d in enumerate(_dodges(recipe, row)) if n != row.at]
            alone = tuple(replace(d, together="") if d.together == gone else d for d in left)
            return _with_dodges(recipe, row, alone)
        case "burn":
            return replace(recipe, burn=tuple(b for n, b in enumerate(recipe.burn) if n != row.at))
        case "edges":
            return replace(recipe, edges=None)
        case "flash":
            return replace(recipe, flash=None)
        case "dry-down":
            return replace(recipe, dry_down_percent=0.0)
        case "picture":
            return replace(recipe, picture="")
        case "notes":
            return replace(recipe, notes="")
        case _:
            return recipe


def moved(recipe: Recipe, row: Row, by: int) -> tuple[Recipe, int]:
    """``row`` done earlier or later among its kind, and its place then."""
    if row.kind not in ("dodge", "burn"):
        return recipe, row.at
    there: list[Any] = list(_areas(recipe, row))
    to = max(0, min(len(there) - 1, row.at + by))
    there.insert(to, there.pop(row.at))
    return _with_areas(recipe, row, there), to


def overlapped(recipe: Recipe, row: Row) -> Recipe:
    """A dodge made together with the next other one, and after the last of them alone again."""
    if row.kind != "dodge":
        return recipe
    there = _dodges(recipe, row)
    this = there[row.at]
    free = [d.area for d in there if d.area != this.area and d.together in ("", this.area)]
    others = ["", *free]
    at = others.index(this.together) if this.together in others else 0
    chosen = others[(at + 1) % len(others)]
    dodges = tuple(replace(d, together="") if d.together == this.area else d for d in there)
    return _area(_with_dodges(recipe, row, dodges), row, together=chosen)


def read_filters(text: str, now: Filters) -> Filters:
    """``2 1/2`` or ``grade 2 1/2`` as a contrast grade, ``60M 45Y`` as a pack, nothing as no filter."""
    word = text.strip().removeprefix("grade").strip()
    for sign, plain in (("½", " 1/2"), (".5", " 1/2")):
        word = word.replace(sign, plain).strip()
    word = "1/2" if word == "0 1/2" else word
    if word in GRADES:
        return Filters(grade=word)
    if not word or word in ("none", "out"):
        return Filters(head=now.head)
    if now.head not in THREE_LIGHTS and not _INKS.search(word):
        raise ValueError(
            f"{text.strip()!r} is no grade ({GRADES[0]} to {GRADES[-1]}, like 2 1/2) and no pack (like 60M 45Y)"
        )
    return with_setting(replace(now, grade=""), parse_setting(text, now.head, now.per_stop))


def _must_be_free(name: str, kind: str, taken: Sequence[str]) -> None:
    """ValueError for a name that is none, or that another area of its kind has: it could not be told from that."""
    if not name:
        raise ValueError("an area needs a name, like wall or sky")
    if name in taken:
        raise ValueError(f"there is a {kind} named {name} already: give this one another name")


def _based(recipe: Recipe, seconds: float) -> Recipe:
    """With a base of ``seconds``; three exposures in turn are named by the seconds that they come to."""
    return replace(recipe, base_s=seconds, filters=in_seconds(recipe.filters, seconds))


def _burnt(recipe: Recipe, row: Row, seconds: float) -> Recipe:
    """The same of a burn through filters of its own."""
    through = recipe.burn[row.at].filters
    return _area(recipe, row, seconds=seconds, filters=in_seconds(through, seconds) if through else None)


def _area(recipe: Recipe, row: Row, **changes: Any) -> Recipe:
    there: list[Any] = list(_areas(recipe, row))
    there[row.at] = replace(there[row.at], **changes)
    return _with_areas(recipe, row, there)


def _areas(recipe: Recipe, row: Row) -> tuple[Any, ...]:
    """All of the kind of ``row``, where that row is."""
    return _dodges(recipe, row) if row.kind == "dodge" else recipe.burn


def _with_areas(recipe: Recipe, row: Row, areas: Sequence[Any]) -> Recipe:
    return _with_dodges(recipe, row, tuple(areas)) if row.kind == "dodge" else replace(recipe, burn=tuple(areas))


def _dodges(recipe: Recipe, row: Row) -> tuple[Dodge, ...]:
    """The dodges of the exposure that ``row`` is made in."""
    return recipe.dodge if row.within is None else recipe.burn[row.within].dodge


def _with_dodges(recipe: Recipe, row: Row, dodges: tuple[Dodge, ...]) -> Recipe:
    if row.within is None:
        return replace(recipe, dodge=dodges)
    burns = (replace(b, dodge=dodges) if n == row.within else b for n, b in enumerate(recipe.burn))
    return replace(recipe, burn=tuple(burns))


def _stops(recipe: Recipe, row: Row) -> Fraction | None:
    """Of an area, below 0 when it is held back; None of a burn in seconds."""
    if row.kind == "dodge":
        return -abs(_dodges(recipe, row)[row.at].stops)
    return recipe.burn[row.at].stops


def _past_nothing(stops: Fraction, by: int) -> Fraction:
    """The next twelfth, but never 0: from -1/12 to +1/12."""
    new = stops + by * TWELFTH
    new = by * TWELFTH if new == 0 else new
    return max(Fraction(-LIMIT), min(Fraction(LIMIT), new))


def _amounted(recipe: Recipe, row: Row, stops: Fraction) -> Recipe:
    """``row`` with ``stops``; from a dodge to a burn and back when the sign turns: its tool, motion and place stay."""
    if (stops > 0) == (row.kind == "burn"):
        return _area(recipe, row, stops=stops)
    if row.within is not None:
        raise ValueError("in a second exposure an area is held back; for more light there b makes a burn, and g its grade")
    known = _areas(recipe, row)[row.at]
    kept = {"tool": known.tool, "motion": known.motion, "outline": known.outline}
    left = removed(recipe, row)
    turned = left.burn if stops > 0 else left.dodge
    _must_be_free(known.area, "burn" if stops > 0 else "dodge", [each.area for each in turned])
    if stops > 0:
        return replace(left, burn=(*left.burn, Burn(known.area, stops, **kept)))
    return replace(left, dodge=(*left.dodge, Dodge(known.area, stops, **kept)))


def _amount_typed(recipe: Recipe, row: Row, text: str) -> Recipe:
    """Stops (a fraction, or any number with a sign), or full-light seconds (``9.4``, ``9.4 s``): the light of the area.

    Through a filter of its own a burn is in seconds; else seconds are turned into the stops that give them.
    """
    bare = text[:1] not in "+-−"
    if _stops(recipe, row) is None:
        now = recipe.burn[row.at].seconds or 0
        return _burnt(recipe, row, _light(text, now, recipe))
    if bare and "/" not in text and not any(sign in text for sign in "½⅓⅔¼¾"):
        return _amounted(recipe, row, _stops_of(recipe, row, _seconds(text)))
    stops = parse_stops(text)
    if not stops:
        raise ValueError("an area of 0 stops is as the base; x removes it")
    if bare and row.kind == "dodge":
        stops = -stops
    return _amounted(recipe, row, stops)


def _stops_of(recipe: Recipe, row: Row, seconds: float) -> Fraction:
    """The stops that burn, or hold back, so many full-light seconds; to a hundredth."""
    base = printed_base(recipe) if row.within is None else burn_light(recipe, recipe.burn[row.within])
    of = "base" if row.within is None else "exposure"
    if row.kind == "dodge" and seconds >= base:
        raise ValueError(f"{seconds:g} s cannot be held back: the {of} is {digits(base)} s")
    left = base + seconds if row.kind == "burn" else base - seconds
    stops = hundredths(stops_between(base, left))
    if not stops:
        raise ValueError(f"{seconds:g} s is nothing beside the {of} of {digits(base)} s")
    return stops


def _through(recipe: Recipe, row: Row, text: str) -> Recipe:
    """A burn through a grade or pack of its own, in the seconds that it had; with none, in stops of the base again."""
    burn = recipe.burn[row.at]
    light = burn_light(recipe, burn) / (printed_base(recipe) / recipe.base_s)
    if text.strip():
        filters = in_seconds(read_filters(text, recipe.filters), kept(light))
        return _area(recipe, row, stops=None, seconds=kept(light), filters=filters)
    if burn.dodge:
        raise ValueError(f"{burn.dodge[0].area} is held back in this exposure; x on its row removes that first")
    stops = Fraction(round(stops_between(recipe.base_s, recipe.base_s + light) * 12), 12)
    return _area(recipe, row, stops=max(TWELFTH, stops), seconds=None, filters=None)


def _edged(recipe: Recipe, stops: Fraction) -> Recipe:
    if stops <= 0:
        return replace(recipe, edges=None)
    return replace(recipe, edges=replace(recipe.edges, stops=stops) if recipe.edges else Edges(stops))


def _placed(recipe: Recipe, text: str) -> Recipe:
    """``24x36mm 18x24cm f/8``: the negative's frame, the sheet, the aperture; one size alone is the sheet. Then what was
    measured, as ``recipe_rows.measured`` has it; ``lens0mm`` and the like, and ``nofill``, take it away."""
    place = recipe.enlargement
    if not text:
        return replace(recipe, enlargement=Enlargement())
    more = [word for word in text.split() if word in ("fill", "nofill") or word.startswith(tuple(_MEASURED))]
    sizes = [word for word in text.split() if not word.startswith("f/") and word not in more]
    if len(sizes) > 2:
        raise ValueError(f"{text!r} has more than two sizes; write the negative and the sheet, like 24x36mm 18x24cm f/8")
    for word in text.split():
        if word.startswith("f/"):
            place = replace(place, aperture=_number(word.removeprefix("f/"), "an aperture, like f/8"))
    if sizes:
        frame = sizes[0] if len(sizes) == 2 else place.frame
        if (sizes[-1], frame) != (place.sheet, place.frame):  # what was measured belongs to another column height
            place = replace(place, detail_print_mm=None, lens_to_paper_mm=None)
        place = replace(place, sheet=sizes[-1], frame=frame)
    for word in more:
        place = _measured(place, word)
    return replace(recipe, enlargement=place)


def _measured(place: Enlargement, word: str) -> Enlargement:
    if word in ("fill", "nofill"):
        return replace(place, fill=word == "fill")
    pattern, names = next(known for begin, known in _MEASURED.items() if word.startswith(begin))
    found = pattern.fullmatch(word)
    if not found:
        raise ValueError(f"{word!r} is not understood; what is measured is written like {MEASURED_LIKE}")
    lengths = [float(number) for number in found.groups()]
    for name, mm in zip(names, lengths, strict=True):
        place = replace(place, **{name: mm if mm or name == "border_mm" else None})
    return place


def _edges_named(recipe: Recipe, text: str) -> Recipe:
    """``top left`` burns those alone, ``all`` each of the four."""
    named = text.replace(",", " ").split()
    which = _EDGES if named in ([], ["all"]) else tuple(edge for edge in _EDGES if edge in named)
    if len(which) < len(named) and named != ["all"]:
        raise ValueError(f"{text!r} names no edges; the edges are {', '.join(_EDGES)}, or all")
    return replace(recipe, edges=replace(recipe.edges or Edges(Fraction(1, 6)), which=which))


def _flash_named(flash: Flash, field: Field, text: str) -> Flash:
    if field == "tool":
        return replace(flash, source=text)
    if text not in ("before", "after"):
        raise ValueError(f"{text!r} is no time for a flash: before the print's exposures, or after them")
    return replace(flash, when=text)


def _percent(text: str) -> float:
    percent = _number(text.removesuffix("%").strip() or "0", "a share in per cent, like 8")
    if not 0 <= percent <= _MOST_DRY:
        raise ValueError(f"{percent:g} % is no dry-down; it is between 0 and {_MOST_DRY:g} %")
    return percent


def _light(text: str, now: float, recipe: Recipe) -> float:
    """Seconds as the rows show them, those of the print, or with a sign stops more or less than ``now``; as the recipe has
    them, before dry-down."""
    if text[:1] in "+-−" and text:
        return kept(now * factor(parse_stops(text)))
    return kept(_seconds(text) / dry_factor(recipe)) if recipe.dry_down_percent else _seconds(text)


def _seconds(text: str) -> float:
    seconds = _number(text.removesuffix("s").strip(), "a time in seconds, like 12.5")
    if not 0 <= seconds <= 3600:
        raise ValueError(f"{seconds:g} s is no time of light; an hour, 3600 s, is the most")
    return seconds


def _number(text: str, what: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise ValueError(f"{text!r} is not {what}") from None


def _name_and_amount(text: str) -> tuple[str, Fraction | None]:
    """``wall-1/4`` is wall and -1/4; a dash within a name, as in ``side-light``, begins no amount."""
    for n, char in enumerate(text):
        if char in "+-−" and text[n + 1 : n + 2] and text[n + 1] in "0123456789.½⅓⅔¼¾":
            return text[:n].strip(), parse_stops(text[n:])
    return text.strip(), None

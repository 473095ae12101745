"""Hypothesis strategies for recipes: every field of every struct, by its own type and bounds, all of them together.

A field that is added to the recipe is drawn here without a line: its annotation says how. Wild documents are left as they
fall, most of them to be refused; of printable ones what contradicts itself is taken out, and nearly all can be printed.
"""

import types
import typing
from fractions import Fraction
from typing import Any

import msgspec
from hypothesis import strategies as st

from timer.documents.recipe import GRADES, Recipe
from timer.text import unfit

AREAS = ("sky", "hut", "water", "post", "hand")
STOPS = ("1/3", "-1/2", "1/4", "1 1/2", "1/99999999", "2", "-12", "12", "0.1", "1/12", "0", "1/7", "11/13")
TEXTS = ("", "a", "roll 14, frame 22", 'with "quotes" \\ and\nlines\t', "ümläut ½ 🎞", "\r\n", "# not a comment", "'''")
FRAMES = ("", "24x36mm", "6x7", "35mm", "10x10mm", "56x56mm", "nonsense")
SHEETS = ("", "8x10in", "30x40cm", "5x7", "10x12mm", "nonsense")


KINDS = ("tricolour", "additive", "grade", "dichroic", "cp", "")
"""What a recipe's light goes through."""
PLAIN = tuple(text for text in TEXTS if not unfit(text))


def documents() -> st.SearchStrategy[dict[str, Any]]:
    """Recipes as TOML data: one in four is wild, the others can nearly all be printed."""
    wild, plain = _struct(Recipe, wild=True), printable()
    return st.sampled_from((plain, plain, plain, wild)).flatmap(lambda some: some)


def printable() -> st.SearchStrategy[dict[str, Any]]:
    """Those that nothing contradicts, as many of each kind of light."""
    return st.tuples(_struct(Recipe, wild=False), st.sampled_from(KINDS)).map(lambda drawn: _mended(*drawn))


def _struct(kind: type[msgspec.Struct], *, wild: bool) -> st.SearchStrategy[dict[str, Any]]:
    hints = typing.get_type_hints(kind, include_extras=True)
    needed: dict[str, st.SearchStrategy[Any]] = {}
    free: dict[str, st.SearchStrategy[Any]] = {}
    for field in msgspec.structs.fields(kind):
        drawn = _value(hints[field.name], field.name, wild=wild)
        (needed if field.required else free)[field.encode_name] = drawn
    return st.fixed_dictionaries(needed, optional=free)


def _value(kind: Any, name: str, meta: tuple[msgspec.Meta, ...] = (), *, wild: bool) -> st.SearchStrategy[Any]:
    origin, inside = typing.get_origin(kind), typing.get_args(kind)
    if origin is typing.Annotated:
        return _value(inside[0], name, (*meta, *(m for m in inside[1:] if isinstance(m, msgspec.Meta))), wild=wild)
    if origin in (types.UnionType, typing.Union):
        return st.one_of(*(_value(option, name, meta, wild=wild) for option in inside if option is not type(None)))
    if origin is typing.Literal:
        return st.sampled_from(inside)
    if origin is tuple:
        if inside[-1] is Ellipsis:
            return st.lists(_value(inside[0], name, wild=wild), max_size=4)
        return st.tuples(*(_value(part, name, wild=wild) for part in inside)).map(list)
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        return _struct(kind, wild=wild)
    if kind is Fraction:
        return st.one_of(st.sampled_from(STOPS), st.floats(-3, 3).map(lambda v: round(v, 3)))
    if kind is float:
        return _number(meta, wild=wild)
    if kind is bool:
        return st.booleans()
    if kind is str:
        return _text(name, meta, wild=wild)
    raise AssertionError(f"{name}: no strategy for {kind}")


def _number(meta: tuple[msgspec.Meta, ...], *, wild: bool) -> st.SearchStrategy[float]:
    """In its bounds, at them, and close to the lower one; ``wild``: also at a bound that is out of them."""
    low = next((float(bound) for m in meta for bound in (m.ge, m.gt) if bound is not None), -1e6)
    high = next((float(m.le) for m in meta if m.le is not None), 1e6)
    open_below = any(m.gt is not None for m in meta)
    least = low + 0.001 if open_below and not wild else low
    ends = [least, high, *(end for end in (1e-9, 0.004, 0.1, 8.0) if wild or least <= end <= high)]
    return st.one_of(
        st.floats(least, min(high, low + 40)).map(lambda v: round(v, 3)),
        st.floats(least, high),
        st.sampled_from(ends),
    )


def _text(name: str, meta: tuple[msgspec.Meta, ...], *, wild: bool) -> st.SearchStrategy[str]:
    choices: dict[str, tuple[str, ...]] = {
        "area": AREAS, "together": ("", "", *AREAS), "order": AREAS, "grade": ("", "", *GRADES, "7"), "frame": FRAMES,
        "sheet": SHEETS,
    }  # fmt: skip
    if name in choices:
        return st.sampled_from(choices[name])
    longest = min(next((m.max_length for m in meta if m.max_length), 30), 30)
    if wild:
        every = st.characters(codec="utf-8", exclude_characters="\0")
        return st.one_of(st.sampled_from(TEXTS), st.text(every, max_size=longest))
    shown = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), max_size=longest)
    return st.one_of(st.sampled_from(PLAIN), shown)


# ── what contradicts itself, taken out ───────────────────────────────────────


def _mended(data: dict[str, Any], light: str) -> dict[str, Any]:
    """``data`` with ``light``, one of ``KINDS``, and nothing against it."""
    data = dict(data)
    data["title"] = data["title"] or "-"
    data["base_s"] = max(data["base_s"], 0.5)
    if light == "grade":
        data["paper"] = {**data["paper"], "kind": "bw"}
    kind = data["paper"]["kind"]
    if kind == "ra4":
        data.pop("dry_down_percent", None)
    data["filters"] = _one_kind(data.get("filters", {}), light)
    data["dodge"] = _apart([d for d in data.get("dodge", []) if d["stops"] not in ("0", 0)])
    for n, dodge in enumerate(data["dodge"]):
        size = ("1/4", "1/7", "-1/12", 0.3)[n % 4]
        data["dodge"][n] = {**dodge, "stops": size, "outline": _outline(dodge)}
        paired = n == 0 and len(data["dodge"]) > 1 and bool(dodge.get("together"))
        data["dodge"][n]["together"] = data["dodge"][1]["area"] if paired else ""
    changeover = min(data.get("changeover_s", 0), data["base_s"] / 100)
    data["changeover_s"] = changeover if changeover > 0.02 else 0.0
    data["burn"] = [_burn(burn, kind) for burn in _apart(data.get("burn", []))]
    areas = {item["area"] for item in (*data["dodge"], *data["burn"])}
    data["order"] = [area for area in data.get("order", []) if area in areas]
    if data.get("edges"):
        which = list(dict.fromkeys(data["edges"].get("which", ["top"]))) or ["left"]
        data["edges"] = {**data["edges"], "stops": "1/6", "which": which}
    if data.get("flash"):
        data["flash"] = {**data["flash"], "seconds": max(data["flash"]["seconds"], 0.5)}
    place = dict(data.get("enlargement", {}))
    for key in ("frame", "sheet"):
        if place.get(key) == "nonsense":
            del place[key]
    place.pop("border_mm", None)
    place.pop("lens_to_paper_mm", None)
    data["enlargement"] = place
    return data


def _apart(items: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return list({item["area"] or "-": {**item, "area": item["area"] or "-"} for item in items}.values())


def _one_kind(filters: dict[str, Any], light: str) -> dict[str, Any]:
    lights = {key: max(filters.get(key, 0), 1.0) for key in ("red", "green", "blue")}
    if light == "tricolour":
        return {"head": light, **{key: max(amount, max(lights.values()) / 30) for key, amount in lights.items()}}
    if light == "additive":
        per_stop = filters.get("per_stop", 0.0) and max(1.0, filters["per_stop"])
        return {"head": light, **{key: min(lights[key], 30 * per_stop or 1e4) for key in lights}, "per_stop": per_stop}
    if light == "grade":
        return {"grade": filters["grade"] if filters.get("grade") in GRADES else "2"}
    return {**{key: filters[key] for key in ("c", "m", "y") if key in filters}, "head": light}


def _light_of(filters: dict[str, Any], kind: str) -> str:
    """The kind of light that a burn's own filters were drawn for."""
    return "grade" if kind == "bw" and filters.get("grade") in GRADES else str(filters.get("head", ""))


def _burn(burn: dict[str, Any], kind: str) -> dict[str, Any]:
    burn = {**burn, "outline": _outline(burn)}
    if burn.get("filters") is not None:
        burn.pop("stops", None)
        held = _apart(list(burn.get("dodge", [])))[:3]
        own, light = burn["filters"], _light_of(burn["filters"], kind)
        burn["dodge"] = [{**d, "stops": "1/12", "together": "", "outline": _outline(d)} for d in held]
        return {**burn, "seconds": max(burn.get("seconds", 3.0), 3.0), "filters": _one_kind(own, light)}
    burn.pop("seconds", None)
    burn.pop("dodge", None)
    return {**burn, "stops": "1/2"}


def _outline(item: dict[str, Any]) -> dict[str, Any]:
    return {"edge": "top", "depth": 0.4} if item.get("outline") is not None else {"ellipse": [0.5, 0.5, 0.1, 0.1]}

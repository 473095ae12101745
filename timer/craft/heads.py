"""Any head's colour setting: filter sheets, dials, or three lights. One set of functions for all four kinds of head.

A setting and its time belong together: ``time_change`` is always asked from the setting that stood in the head, as it
stood there, to the one that will.
"""

from typing import Literal, TypeAlias

from timer.craft import filters as colour_filters
from timer.craft.filters import Pack, Sheet
from timer.craft.lights import Lights, as_pack, lights_change, parse_lights
from timer.craft.lights import shifted as lights_shifted
from timer.craft.lights import turned as lights_turned
from timer.craft.lights import within as lights_within

Head = Literal["cp", "dichroic", "additive", "tricolour"]
HEADS: dict[str, str] = {
    "cp": "CP filters",
    "dichroic": "a dichroic head",
    "additive": "a three-light head",
    "tricolour": "red, green and blue in turn",
}
THREE_LIGHTS = ("additive", "tricolour")
WHICH = (
    "say which head it is: --head cp (CP filters in a drawer), dichroic (dials), additive (three lights at once, by levels) "
    "or tricolour (three exposures in turn, in seconds); they differ a lot"
)

Setting: TypeAlias = Pack | tuple[Sheet, ...] | Lights
"""A pack; sheets as they are stacked, R, G and B among them; or three lights."""


def parse_setting(text: str, head: str, per_stop: float = 0.0) -> Setting:
    """What ``text`` sets ``head`` to. ValueError with a sentence, also when the head is not known."""
    if head in THREE_LIGHTS:
        return parse_lights(text, per_stop if head == "additive" else 0.0)
    sheets = colour_filters.parse_sheets(text)
    colour_filters.within(colour_filters.pack_of(sheets))
    if head == "cp" and all(sheet.amount >= 0 for sheet in sheets):
        return sheets
    return colour_filters.pack_of(sheets)


def pack(setting: Setting) -> Pack:
    """``setting`` as C, M and Y, neutral density and all; of lights, what filters would leave of equal ones."""
    if isinstance(setting, Pack):
        return setting
    return as_pack(setting) if isinstance(setting, Lights) else colour_filters.pack_of(setting)


def text_of(setting: Setting) -> str:
    """As it is written: ``60M 50Y``, ``20R 10Y``, ``R80 G60 B50``."""
    if isinstance(setting, tuple):
        return " ".join(f"{sheet.amount:g}{sheet.ink}" for sheet in setting if sheet.amount) or "0"
    return str(setting)


def plain(setting: Setting) -> tuple[Setting, float]:
    """The same colour through two filters at most, and the CC of neutral density that this takes out (below zero: puts
    in). Lights, and sheets of two inks at most, stay as they are."""
    if isinstance(setting, Lights):
        return setting, 0.0
    resolved, neutral = colour_filters.resolve(pack(setting))
    return (resolved, neutral) if neutral or isinstance(setting, Pack) else (setting, 0.0)


def time_change(old: Setting, new: Setting, head: str) -> tuple[float, bool]:
    """Time at ``new`` over that at ``old`` for a print as dark, and whether it stands between published rows.

    ValueError when the head is not known, or a light is off.
    """
    if isinstance(old, Lights) and isinstance(new, Lights):
        return lights_change(old, new), False
    if head in ("cp", "dichroic") and old == new:
        return 1.0, False
    if head == "cp":
        return colour_filters.gel_change(_sheets(old), _sheets(new))
    if head == "dichroic":
        return colour_filters.dial_change(pack(old), pack(new))
    raise ValueError(WHICH)


def _sheets(setting: Setting) -> tuple[Sheet, ...]:
    return setting if isinstance(setting, tuple) else colour_filters.as_sheets(colour_filters.lifted(pack(setting)))


def shifted(setting: Setting, change: Pack, top: float = 0.0) -> Setting:
    """``setting`` with a ``change`` of pack, nothing neutral in it. ValueError when the head ends before (at ``top``; 0:
    not known)."""
    if isinstance(setting, Lights):
        return lights_shifted(setting, change, top)
    if change == Pack():
        return setting
    return colour_filters.within(colour_filters.resolve(pack(setting) + change)[0], top or colour_filters.MOST)


def turned(setting: Setting, ink: str, amount: float, head: str, top: float = 0.0) -> Setting:
    """``setting`` with ``amount`` CC more (below 0: less) of one ``ink``, C, M or Y, and nothing else touched: the neutral
    density that is in it, or comes of it, stays in. ValueError when ``head`` has no room for that."""
    change = colour_filters.pack_of((Sheet(ink, amount),))
    if isinstance(setting, Lights):
        return lights_turned(setting, change, 0.0 if head == "tricolour" else top)
    if isinstance(setting, Pack):
        after: Setting = setting + change
    elif any(sheet.ink == ink for sheet in setting):
        first = next(n for n, sheet in enumerate(setting) if sheet.ink == ink)
        after = tuple(Sheet(s.ink, s.amount + amount) if n == first else s for n, s in enumerate(setting))
    else:
        after = (*setting, Sheet(ink, amount))
    left = [sheet.amount for sheet in after] if isinstance(after, tuple) else colour_filters.cmy(pack(after))
    if min(left) < 0:
        raise ValueError(f"that needs {-amount:g}{ink} less, and {text_of(setting)} has not so much of it")
    return within(after, head, top)


def within(setting: Setting, head: str, top: float = 0.0) -> Setting:
    """``setting``, if ``head``, whose dials or levels end at ``top`` (0: not known), has it. ValueError otherwise."""
    if isinstance(setting, Lights):
        return lights_within(setting, 0.0 if head == "tricolour" else top)  # in turn they are seconds: no dial ends them
    colour_filters.within(pack(setting), top or colour_filters.MOST)
    return setting


def ring(setting: Setting, size: float, top: float = 0.0) -> list[tuple[str, Setting]]:
    """A ring-around: the setting as it is, then one print each with a cast of ``size`` CC towards every colour."""
    # A print towards red is what one "too red" is corrected from: the opposite change.
    return [("as it is", setting)] + [
        (f"towards {cast}", shifted(setting, colour_filters.correction(cast, -size), top)) for cast in colour_filters.CASTS
    ]


def ladder(setting: Setting, ink: str, amounts: tuple[float, ...], top: float = 0.0) -> list[tuple[str, Setting]]:
    """Several amounts of one ``ink`` more or less, in CC of a filter pack; 0 is the setting as it is."""
    return [
        (f"{amount:+g}{ink}" if amount else "as it is", shifted(setting, colour_filters.pack_of((Sheet(ink, amount),)), top))
        for amount in amounts
    ]

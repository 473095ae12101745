"""Typed TOML with messages a person can act on: the path of the fault, and the near word for a misspelt key."""

import math
import re
import tomllib
import types
import typing
from difflib import get_close_matches
from fractions import Fraction
from typing import Any, TypeVar

import msgspec

from timer.craft.stops import parse_stops
from timer.errors import LamphouseError
from timer.text import unfit

T = TypeVar("T")
MAX_DEEP = 8
"""Parts of a dotted name, and brackets in brackets; the deepest document here has four."""
SEVERAL_LINES = ("notes",)
"""Keys whose text may have several lines; all other text is shown in rows."""


def decode_toml(text: str, kind: type[T], where: str) -> T:
    """Read ``text`` as a ``kind`` (a msgspec Struct); ``where`` names the document in messages.

    Raises LamphouseError with one sentence for bad TOML, an unknown key, a missing one or a wrong value. Text of any
    form is read in time and memory that grow with its length alone.
    """
    data = load_toml(text, where)
    _check_keys(data, kind, "", where)
    try:
        return msgspec.convert(data, kind, dec_hook=_hook)
    except (msgspec.ValidationError, ValueError, OverflowError) as error:
        raise LamphouseError(f"{where}: {_plain(str(error), kind)}") from None


def load_toml(text: str, where: str) -> dict[str, Any]:
    """``text`` as plain data, with nothing in it that cannot be shown; LamphouseError in one sentence otherwise."""
    try:
        _check_depth(text)
        data = tomllib.loads(text)
        _check_values(data, "")
    except tomllib.TOMLDecodeError as error:
        says = str(error).replace(r"Illegal character '\n'", "a line ends within quotes")
        raise LamphouseError(f"{where}: not valid TOML: {says}") from None
    except _Unfit as error:
        raise LamphouseError(f"{where}: {error}") from None
    except (ValueError, RecursionError):  # of a whole number with thousands of digits
        raise LamphouseError(f"{where}: not valid TOML: a number too big for anything here") from None
    return data


class _Unfit(Exception):
    """Valid TOML that is not a document of ours."""


LEXEME = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*+(?:"""(?:"{0,2})|\Z)|'
    r"'''(?:[^']|'(?!''))*+(?:'''(?:'{0,2})|\Z)|"
    r'"(?:[^"\\\n]|\\.)*+(?:"|$|\Z)|'
    r"'[^'\n]*+(?:'|$|\Z)|"
    r"#[^\n]*+|"
    r"(?P<dot>\.)|(?P<open>[\[{])|(?P<shut>[\]}])|(?P<end>[=,\n])|"
    r"[^\"'#.\[\]{}=,\n]++",
    re.DOTALL | re.MULTILINE,
)
"""A piece of TOML: a string or comment, whole, closed or not (so nothing is looked at twice); a sign; what is between."""


def _check_depth(text: str) -> None:
    """Refuse names and nestings deeper than ``MAX_DEEP``: a parser's time and memory grow with the square of them."""
    dots = depth = 0
    for found in LEXEME.finditer(text):
        match found.lastgroup:
            case "dot":
                dots += 1
            case "open":
                dots, depth = 0, depth + 1
            case "shut":
                dots, depth = 0, max(0, depth - 1)
            case "end":
                dots = 0
        if dots > MAX_DEEP or depth > MAX_DEEP:
            line = text.count("\n", 0, found.start()) + 1
            raise _Unfit(f"line {line}: names and brackets go more than {MAX_DEEP} deep; no document here needs that")


def _check_values(value: Any, path: str) -> None:
    """Refuse what cannot be shown, and numbers that are no plain ones, all the way down."""
    match value:
        case dict():
            for key, item in value.items():
                _check_text(key, f"{path or 'the document'}: a key", lines=False)
                _check_values(item, f"{path}.{key}" if path else key)
        case list():
            for n, item in enumerate(value):
                _check_values(item, f"{path}[{n}]")
        case str():
            _check_text(value, path, lines=path.rpartition(".")[2] in SEVERAL_LINES)
        case int() if not -(2**63) <= value < 2**63:
            raise _Unfit(f"{place(path)}: a number too big for anything here")
        case float() if not math.isfinite(value):
            raise _Unfit(f"{place(path)}: must be a plain number, not {value}")


def _check_text(text: str, path: str, *, lines: bool) -> None:
    found = unfit(text, lines=lines)
    if found:
        raise _Unfit(f"{place(path)}: has {found}; write it on one line of plain text")


def _hook(kind: type, value: Any) -> Any:
    if kind is Fraction and isinstance(value, str | int | float):
        return parse_stops(value)
    raise ValueError(f"an amount in stops is written like 1/3, 1 1/2 or 0.25, not {value!r}")


def place(path: str) -> str:
    """``burn[0].filters.grade`` as people count: ``burn 1, filters.grade``."""
    return re.sub(r"\[(\d+)\]\.?", lambda found: f" {int(found[1]) + 1}, ", path).rstrip(", ").replace("[...]", "")


_EXPECTED = re.compile(r"Expected `(?P<kinds>[^`]+)`(?P<bound>.*?)(?:, got `?(?P<got>[^`]+)`?)?")
_KINDS = {
    "str": "text in quotes", "int": "a whole number", "float": "a number", "bool": "true or false", "null": "nothing",
    "array": "a list in [ ]", "object": "a table of keys",
}  # fmt: skip
_GOT = {
    "str": "text",
    "int": "a whole number",
    "float": "a number with decimals",
    "bool": "true or false",
    "array": "a list",
    "object": "a table",
}


def _plain(message: str, kind: Any) -> str:
    """msgspec's message as people write: the place first, then what is wrong there, and what would be right."""
    what, _, path = message.partition(" - at `")
    path = path.rstrip("`").removeprefix("$").removeprefix(".")
    if missing := re.fullmatch(r"Object missing required field `(.+)`", what):
        what = f"the key {missing[1]} is missing"
    elif wrong := re.fullmatch(r"Invalid enum value (.+)", what):
        choices = ", ".join(str(choice) for choice in _choices(kind, path) if choice != "")
        what = f"{wrong[1]} is not one of {choices}" if "," in choices else f"{wrong[1]} is wrong here; it must be {choices}"
    elif wrong := _EXPECTED.fullmatch(what):
        kinds = [_KINDS.get(name.strip(), name.strip()) for name in wrong["kinds"].split("|")]
        wanted = " or ".join(name for name in dict.fromkeys(kinds) if name != "nothing")
        got = f", not {_GOT.get(wrong['got'], wrong['got'])}" if wrong["got"] else ""
        what = f"must be {wanted}{_bound(wrong['bound'], kinds[0])}{got}"
    else:
        what = what[:1].lower() + what[1:]
    return f"{place(path)}: {what}" if path else what


def _bound(bound: str, kind: str) -> str:
    """msgspec's `` >= 0.0`` or `` of length <= 60`` in words."""
    found = re.fullmatch(r" (?:of length )?(>=|<=|>|<)? ?(-?[\d.e+]+)", bound)
    if not found:
        return bound
    number = f"{float(found[2]):g}"
    words = {">=": f"{number} or more", "<=": f"{number} at most", ">": f"more than {number}", "<": f"less than {number}"}
    many = words.get(found[1], number)
    if "length" not in bound:
        return f", {many}"
    return f" of {many} letters" if kind.startswith("text") else f" of {many} entries"


def _choices(kind: Any, path: str) -> tuple[Any, ...]:
    """The words that may stand at ``path`` of a document of ``kind``."""
    for part in re.sub(r"\[.*?\]", ".*", path).split("."):
        options = _structs_in(kind)
        if part == "*":
            kind = next(
                (typing.get_args(o)[-1 if typing.get_origin(o) is dict else 0] for o in options if typing.get_args(o)), None
            )
        else:
            structs = [o for o in options if isinstance(o, type) and issubclass(o, msgspec.Struct)]
            kind = next((f.type for s in structs for f in msgspec.structs.fields(s) if f.encode_name == part), None)
    return tuple(word for o in _structs_in(kind) if typing.get_origin(o) is typing.Literal for word in typing.get_args(o))


def _check_keys(data: Any, kind: Any, path: str, where: str) -> None:
    """Refuse keys that ``kind`` does not have, all the way down, before types are looked at."""
    for option in _structs_in(kind):
        if typing.get_origin(option) is tuple or typing.get_origin(option) is list:
            if isinstance(data, list):
                for n, item in enumerate(data):
                    _check_keys(item, typing.get_args(option)[0], f"{path}[{n}]", where)
        elif isinstance(option, type) and issubclass(option, msgspec.Struct) and isinstance(data, dict):
            fields = {f.encode_name: f.type for f in msgspec.structs.fields(option)}
            for key, value in data.items():
                at = f"{path}.{key}" if path else key
                if key not in fields:
                    near = get_close_matches(key, fields, n=1, cutoff=0.5)
                    hint = f"did you mean {near[0]!r}?" if near else f"the keys here are {', '.join(sorted(fields))}"
                    raise LamphouseError(f"{where}: {place(at)}: unknown key; {hint}")
                _check_keys(value, fields[key], at, where)


def _structs_in(kind: Any) -> tuple[Any, ...]:
    if typing.get_origin(kind) in (types.UnionType, typing.Union):
        return typing.get_args(kind)
    if typing.get_origin(kind) is typing.Annotated:
        return _structs_in(typing.get_args(kind)[0])
    return (kind,)

"""Typed TOML with messages a person can act on: the path of the fault, and the near word for a misspelt key."""

import tomllib
import types
import typing
from difflib import get_close_matches
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from timer.craft.stops import parse_stops
from timer.errors import LamphouseError

T = TypeVar("T")


def decode_toml(text: str, kind: type[T], where: str) -> T:
    """Read ``text`` as a ``kind`` (a msgspec Struct); ``where`` names the document in messages.

    Raises LamphouseError with one sentence for bad TOML, an unknown key, a missing one or a wrong value.
    """
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise LamphouseError(f"{where}: not valid TOML: {error}") from None
    _check_keys(data, kind, "", where)
    try:
        return msgspec.convert(data, kind, dec_hook=_hook)
    except msgspec.ValidationError as error:
        raise LamphouseError(f"{where}: {_plain(str(error))}") from None


def read_text(path: Path) -> str:
    """The UTF-8 text of ``path``; LamphouseError in one sentence when it cannot be read."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise LamphouseError(f"{path}: not a text file in UTF-8") from None
    except OSError as error:
        raise LamphouseError(f"{path}: cannot be read: {(error.strerror or str(error)).lower()}") from None


def _hook(kind: type, value: Any) -> Any:
    if kind is Fraction and isinstance(value, str | int | float):
        return parse_stops(value)
    raise ValueError(f"an amount in stops is written like 1/3, 1 1/2 or 0.25, not {value!r}")


def _plain(message: str) -> str:
    """msgspec's message, with the path first and without its dollar."""
    what, _, path = message.partition(" - at `")
    path = path.rstrip("`").removeprefix("$").removeprefix(".")
    what = what[:1].lower() + what[1:].replace("Object missing", "missing")
    what = what.replace("object missing required field", "missing the required key")
    return f"{path}: {what}" if path else what


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
                    raise LamphouseError(f"{where}: {at}: unknown key; {hint}")
                _check_keys(value, fields[key], at, where)


def _structs_in(kind: Any) -> tuple[Any, ...]:
    if typing.get_origin(kind) in (types.UnionType, typing.Union):
        return typing.get_args(kind)
    if typing.get_origin(kind) is typing.Annotated:
        return _structs_in(typing.get_args(kind)[0])
    return (kind,)


def replace_text(path: Path, text: str) -> None:
    """Write ``text`` in the place of what ``path`` had: all of it, or LamphouseError and nothing."""
    import os
    import tempfile

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile("w", dir=path.parent, suffix=".new", delete=False, encoding="utf-8") as new:
            new.write(text)
            new.flush()
            os.fsync(new.fileno())
        os.replace(new.name, path)
    except OSError as error:
        raise LamphouseError(f"{path}: cannot be written: {error.strerror or error}") from None

"""A recipe read from TOML, and written."""

from fractions import Fraction
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct

from timer.craft.stops import exact_stops
from timer.documents.files import read_text
from timer.documents.recipe import Recipe
from timer.documents.recipe_checks import validate
from timer.documents.toml_io import decode_toml
from timer.errors import LamphouseError


def parse_recipe(text: str, where: str = "recipe") -> Recipe:
    """A valid recipe from TOML text; LamphouseError with one sentence and the path of the fault otherwise."""
    recipe = decode_toml(text, Recipe, where)
    try:
        validate(recipe)
    except ValueError as error:
        raise LamphouseError(f"{where}: {error}") from None
    return recipe


def load_recipe(path: Path) -> Recipe:
    """Read and check the recipe at ``path``."""
    return parse_recipe(read_text(path), str(path))


def recipe_toml(recipe: Recipe) -> str:
    """``recipe`` as TOML text that ``parse_recipe`` reads back as it was; what has its default is left out."""
    import tomli_w  # only what writes needs it

    return tomli_w.dumps(_plain(recipe))


def _plain(value: Any) -> Any:
    """``value`` as TOML has it; of a struct the fields that have not their default."""
    if isinstance(value, Struct):
        fields = [(f, getattr(value, f.name)) for f in msgspec.structs.fields(value)]
        return {f.name: _plain(v) for f, v in fields if f.required or v != f.default}
    if isinstance(value, Fraction):
        return exact_stops(value)
    return [_plain(item) for item in value] if isinstance(value, tuple) else value

"""The form of a recipe as JSON Schema."""

from typing import Any

import msgspec

from timer.documents.recipe import Recipe


def recipe_schema() -> dict[str, Any]:
    """JSON Schema of the recipe, for editors."""
    stops = {"description": "stops, like 1/3, 1 1/2 or 0.25", "type": ["string", "number"]}
    return msgspec.json.schema(Recipe, schema_hook=lambda kind: stops)

"""The printer's own picture of a print, a photo or scan of the work print, found by the path that its recipe names."""

from pathlib import Path

from timer.documents.files import is_there
from timer.documents.folders import folder
from timer.documents.recipe import Recipe
from timer.errors import LamphouseError


def picture_path(recipe: Recipe, beside: Path | None = None) -> Path | None:
    """The file of its ``picture``: from the folder of the recipe's file ``beside``, or from the recipes folder.

    None where the recipe names none. LamphouseError in one sentence where there is no such file.
    """
    if not recipe.picture:
        return None
    named = Path(recipe.picture).expanduser() if recipe.picture.startswith("~") else Path(recipe.picture)
    places = [*([beside.absolute().parent] if beside else []), folder("data") / "recipes"]
    for place in places:
        if is_there(place / named):  # an absolute path stays what it is
            return place / named
    raise LamphouseError(f"{places[0] / named}: no such file; picture names the photo or scan of the print")

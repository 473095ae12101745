"""The print card: one page with all that makes the print again, as HTML, PDF and plain text.

What is imported within a function is for the start-up time: pictures are drawn on few cards.
"""

import base64
import html
import io
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from timer.craft.stops import format_stops, listed
from timer.documents.own_picture import picture_path
from timer.documents.recipe import Recipe
from timer.documents.recipe_file import parse_recipe
from timer.documents.recipe_light import filters_text
from timer.errors import LamphouseError
from timer.notebook import sheets, to_read
from timer.notebook.light import given_text
from timer.notebook.rows import ExposureRow, RunRow
from timer.notebook.sheets import SheetRow
from timer.notebook.store import Notebook
from timer.plans import outlines
from timer.plans.model import Plan
from timer.plans.recipe_change import described

MAX_PARTS = 100
"""Runs that one sheet can have been interrupted in; a longer chain is a loop in a damaged notebook."""


@dataclass(frozen=True)
class Card:
    """Everything on the page, as (name, value) rows and a table of exposures."""

    title: str
    facts: tuple[tuple[str, str], ...]
    exposures: tuple[tuple[str, str, str, str], ...]  # where, filters, asked, given
    areas: tuple[tuple[str, str, str], ...]  # area, amount, tool and motion
    recipe: Recipe | None
    plan: Plan
    picture: Path | None = None  # the printer's own, for the map to lie over


def card_of(notebook: Notebook, number: int) -> Card:
    """The card of sheet ``number``: all the light it had, of the runs that it was interrupted in too."""
    run = notebook.run(number)
    parts = [(run, notebook.exposures(number))]
    while (before := parts[0][0].continues) is not None and len(parts) < MAX_PARTS:
        parts.insert(0, (notebook.run(before), notebook.exposures(before)))
    return card(run, sheets.sheet(notebook, number), parts, to_read.find(notebook, number).recipe)


def card(
    run: RunRow,
    sheet: SheetRow,
    parts: list[tuple[RunRow, list[ExposureRow]]],
    made_for: Recipe | None = None,
) -> Card:
    """The card of a sheet, from the notebook's rows; ``parts``: each run that gave it light, with its exposures.

    ``made_for`` is the print that a test was made for.
    """
    recipe, trouble = _recipe_of(run)
    facts = [("sheet", str(run.id)), ("made", run.begun[:16].replace("T", " ")), ("state", run.state)]
    facts += [("negative", sheet.negative), ("paper", " ".join(p for p in (sheet.paper, sheet.box, sheet.batch) if p))]
    if made_for:
        facts += [("made for", f"{made_for.title}, {described(made_for)}")]
    if recipe:
        place = recipe.enlargement
        facts += [
            ("size", " from ".join(p for p in (place.sheet, place.frame) if p)),
            ("lens", " ".join(p for p in (_if(place.lens_mm, "{:g} mm"), _if(place.aperture, "f/{:g}")) if p)),
            ("filters", filters_text(recipe.filters) or "none"),
            ("base", f"{recipe.base_s:g} s of full light"),
            ("dry-down", f"{recipe.dry_down_percent:g} %" if recipe.dry_down_percent else ""),
            ("recipe's notes", recipe.notes),
        ]
    picture, no_picture = _picture_of(recipe)
    facts += [("recipe", trouble), ("picture", no_picture)]
    facts += [("process", sheet.process), ("notes", sheet.notes), ("rating", f"{sheet.rating} of 5" if sheet.rating else "")]
    rows = [
        (
            e.label,
            part.plan.steps[e.step].filters or "-",
            f"{listed(e.asked_s)} s",
            given_text(e, part.response),
        )
        for part, exposures in parts
        for e in exposures
    ]
    return Card(
        run.title, tuple((k, v) for k, v in facts if v), tuple(rows), tuple(_areas(recipe)), recipe, run.plan, picture
    )


def _recipe_of(run: RunRow) -> tuple[Recipe | None, str]:
    """The recipe that ``run`` was made from; or why it cannot be read, if an older Lamphouse took what this one does not."""
    try:
        return (parse_recipe(run.recipe) if run.recipe else None), ""
    except LamphouseError as error:
        return None, f"cannot be read any more: {error}"


def _picture_of(recipe: Recipe | None) -> tuple[Path | None, str]:
    """The printer's own picture of it; or why it is not on the card: a card is made all the same."""
    try:
        path = picture_path(recipe) if recipe else None
        if path:
            from timer.bench.picture import photo

            photo(path, 16, 1.0)
        return path, ""
    except LamphouseError as error:
        return None, str(error)


def _if(value: float | None, form: str) -> str:
    return form.format(value) if value else ""


def _areas(recipe: Recipe | None) -> list[tuple[str, str, str]]:
    if recipe is None:
        return []
    hands = [
        (d.area, f"dodge {format_stops(abs(d.stops))} stop", ", ".join(t for t in (d.tool, d.motion) if t))
        for d in recipe.dodge
    ]
    for b in recipe.burn:
        amount = f"burn {format_stops(b.stops)} stop" if b.stops is not None else f"burn {b.seconds:g} s"
        own = f", {filters_text(b.filters) or 'no filter'}" if b.filters else ""
        hands.append((b.area, amount + own, _both(b.tool, b.motion)))
        hands += [(d.area, f"dodge {format_stops(abs(d.stops))} stop in {b.area}", _both(d.tool, d.motion)) for d in b.dodge]
    if recipe.edges:
        hands.append(
            (", ".join(recipe.edges.which) + " edges", f"burn {format_stops(recipe.edges.stops)} stop", recipe.edges.tool)
        )
    if recipe.flash:
        hands.append(("whole sheet", f"flash {recipe.flash.seconds:g} s {recipe.flash.when}", recipe.flash.source))
    return hands


def _both(tool: str, motion: str) -> str:
    return ", ".join(text for text in (tool, motion) if text)


def as_text(card: Card) -> str:
    """The card as plain text."""
    lines = [card.title, "=" * len(card.title), ""]
    lines += [f"{name + ':':16} {value}" for name, value in card.facts]
    if card.areas:
        lines += ["", "Areas"]
        lines += [f"  {area:20} {amount:26} {hands}".rstrip() for area, amount, hands in card.areas]
    lines += ["", "Exposures (seconds of full light, asked and given)"]
    lines += [f"  {where:24} {filters:16} {asked:>10} {given:>10}" for where, filters, asked, given in card.exposures]
    return "\n".join(lines) + "\n"


def as_html(card: Card) -> str:
    """One page that prints on A4, its map inside it."""
    e = html.escape
    facts = "".join(f"<tr><th>{e(name)}</th><td>{e(value)}</td></tr>" for name, value in card.facts)
    areas = "".join(f"<tr><td>{e(a)}</td><td>{e(b)}</td><td>{e(c)}</td></tr>" for a, b, c in card.areas)
    light = "".join("<tr>" + "".join(f"<td>{e(cell)}</td>" for cell in row) + "</tr>" for row in card.exposures)
    picture = base64.b64encode(png).decode() if (png := drawing_png(card)) else ""
    drawn = f'<img alt="printing map" src="data:image/png;base64,{picture}">' if picture else ""
    worked = f"<h2>Areas</h2><table>{areas}</table>" if areas else ""
    return f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>{e(card.title)}</title><style>
@page {{ size: A4; margin: 15mm }} body {{ font: 11pt/1.35 sans-serif; max-width: 180mm; margin: auto }}
h1 {{ font-size: 16pt }} h2 {{ font-size: 12pt; margin: 4mm 0 1mm }} img {{ width: 110mm; border: 1px solid #888 }}
table {{ border-collapse: collapse }} td, th {{ text-align: left; padding: 0.6mm 4mm 0.6mm 0; vertical-align: top }}
</style></head><body><h1>{e(card.title)}</h1><table>{facts}</table>{drawn}{worked}
<h2>Exposures: seconds of full light, asked and given</h2><table>{light}</table></body></html>
"""


def drawing_png(card: Card) -> bytes:
    """The sheet as it was printed, PNG: a print's map with its areas, a test with its patches named; empty for neither."""
    from PIL import Image

    drawn = _drawing(card, 880)
    out = io.BytesIO()
    if drawn is not None:
        Image.fromarray(drawn).save(out, "PNG")
    return out.getvalue()


def _drawing(card: Card, longer: int) -> Any:
    """A print in its sheet's proportion: its areas over the printer's own picture, or on an empty sheet."""
    import numpy as np

    from timer.bench import negative, picture, sheet

    if card.plan.patches:
        film = negative.own_scene(longer, round(longer / outlines.USUAL))
        return sheet.named_patches(sheet.render(card.plan, None, film), card.plan)
    if card.recipe is None:
        return None
    shape = outlines.proportion(card.recipe)
    empty = np.full((round(longer / shape), longer, 3), 255, dtype=np.uint8)
    seen = picture.photo(card.picture, longer, shape) if card.picture else empty
    return sheet.printing_map(seen, card.recipe, outlines.labels(card.recipe))

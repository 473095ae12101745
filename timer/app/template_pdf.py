"""The true-size template as a PDF: a page that says how to use it, then the drawing, page by page, to be cut and joined."""

from pathlib import Path

from fpdf import FPDF

from timer.app.jobs import Job
from timer.app.recipes import recipes_folder
from timer.app.writing import make_folder
from timer.craft.enlargement import parse_sheet
from timer.craft.template import FOOT, MARGIN, OVERLAP, PAGES, PLAY, Box, Template, Tile, Tiling, template, tiling
from timer.documents.files import free_name, must_be_free, write_new
from timer.documents.pdf_text import pdf_text
from timer.documents.recipe import Recipe
from timer.errors import LamphouseError
from timer.plans.magnification import picture_on

RULER = 100.0
"""Millimetres of the ruler on every page, by which the printer's scale is checked."""


def template_of(recipe: Recipe) -> Template:
    """The template of a recipe's sheet and picture. ValueError when its sheet is not known."""
    place = recipe.enlargement
    picture = picture_on(place)
    if picture is None:
        raise ValueError('the recipe does not say its sheet; add sheet = "18x24cm" to [enlargement]')
    return template(parse_sheet(place.sheet), picture)


def as_pdf(recipe: Recipe, page: str = "a4") -> bytes:
    """The PDF, on paper ``page`` of PAGES. ValueError as ``template_of`` and ``tiling``."""
    made = template_of(recipe)
    pages = tiling(made, page)
    pdf = FPDF(unit="mm", format=PAGES[page])
    pdf.set_auto_page_break(False)
    pdf.set_margin(MARGIN)
    pdf.set_title(pdf_text(f"Template: {recipe.title}"))
    pdf.set_creator("Lamphouse")
    _cover(pdf, recipe, made, pages)
    for tile in pages.tiles:
        pdf.add_page(orientation="landscape" if pages.width > pages.height else "portrait")
        _tile(pdf, made, pages, tile)
        _foot(pdf, f"{recipe.title}: row {tile.row}, column {tile.column} of {pages.rows} x {pages.columns}")
    return bytes(pdf.output())


def write(job: Job, page: str = "a4") -> tuple[Path, int]:
    """Write the template of a print beside its recipe; its file, and how many pages there are to join.

    LamphouseError in one sentence, and nothing written, where the recipe does not say its sheet, or it cannot be made.
    """
    if not job.recipe or not job.recipe.enlargement.sheet:
        raise LamphouseError("a template needs the sheet's size: e, then n in the row sheet")
    try:
        data, pages = as_pdf(job.recipe, page), tiling(template_of(job.recipe), page)
    except ValueError as error:
        raise LamphouseError(str(error)) from None
    place = job.path.parent if job.path else recipes_folder()
    make_folder(place)
    path, _ = free_name(place, f"{Path(job.name).stem}-template", ".pdf")
    write_new(path, data)
    return path, len(pages.tiles)


def write_at(output: Path, recipe: Recipe, page: str = "a4") -> None:
    """Write the template of ``recipe`` as the file that a command names. LamphouseError, and no file, where the name is
    taken; ValueError as ``as_pdf``."""
    must_be_free(output)
    write_new(output, as_pdf(recipe, page))


def settings(made: Template) -> list[tuple[str, str]]:
    """What to set the blades of an easel to, or to measure out, in mm; (name, value)."""
    along_long, along_short = made.white
    return [
        ("sheet", f"{made.sheet.width:.1f} x {made.sheet.height:.1f} mm"),
        ("picture", f"{made.picture.width:.1f} x {made.picture.height:.1f} mm"),
        ("blades, long sides", f"{along_long:.1f} mm of white each"),
        ("blades, short sides", f"{along_short:.1f} mm of white each"),
    ]


def _cover(pdf: FPDF, recipe: Recipe, made: Template, pages: Tiling) -> None:
    pdf.add_page(orientation="portrait")
    pdf.set_font("Helvetica", "B", 20)
    pdf.multi_cell(0, 10, pdf_text(recipe.title), new_x="LMARGIN", new_y="NEXT")
    pdf.set_font("Helvetica", "", 12)
    for name, value in settings(made):
        pdf.cell(55, 8, pdf_text(name))
        pdf.cell(0, 8, pdf_text(value), new_x="LMARGIN", new_y="NEXT")
    pdf.ln(4)
    for n, line in enumerate(
        (
            "Print at actual size (100 %), never 'fit to page'. Measure the ruler at the foot of each page: 100 mm.",
            f"Cut each page along its frame; neighbours share {OVERLAP:g} mm. Lay cross on cross, tape them on a board.",
            "Glue strips of card, as thick as three sheets of paper, on the grey corner stops. They are felt in the dark.",
            "Put the board under the lens and bring the picture's frame and the projected picture together; fix the board.",
            "In the dark, slide a sheet in from the open corner, at the lower right, against the stops at the top and the "
            f"left; those at the right leave it {PLAY:g} mm of play, so that it does not bow.",
        ),
        1,
    ):
        pdf.multi_cell(0, 7, pdf_text(f"{n}. {line}"), align="L", new_x="LMARGIN", new_y="NEXT")
    pdf.ln(6)
    _overview(pdf, made, pages)
    _foot(pdf, f"{recipe.title}: {len(pages.tiles)} pages to join, {pages.rows} x {pages.columns}")


def _overview(pdf: FPDF, made: Template, pages: Tiling) -> None:
    """Everything small, with the pages that it is cut into."""
    last = pages.tiles[-1].part
    whole = Box(0, 0, last.x + last.width, last.y + last.height)
    room = (pdf.w - 2 * MARGIN, pdf.h - pdf.get_y() - MARGIN - FOOT - 4)
    scale = min(room[0] / whole.width, room[1] / whole.height)
    left, top = MARGIN, pdf.get_y()

    def draw(box: Box, style: str = "D") -> None:
        pdf.rect(left + scale * box.x, top + scale * box.y, scale * box.width, scale * box.height, style=style)

    pdf.set_fill_color(200)
    for stop in made.stops:
        draw(stop, "DF")
    draw(made.sheet)
    draw(made.picture)
    pdf.set_font("Helvetica", "", 8)
    pdf.set_dash_pattern(dash=2, gap=1)
    for tile in pages.tiles:
        draw(tile.part)
        pdf.text(
            left + scale * (tile.part.x + OVERLAP) + 1,
            top + scale * (tile.part.y + OVERLAP) + 4,
            f"{tile.row}.{tile.column}",
        )
    pdf.set_dash_pattern()


def _tile(pdf: FPDF, made: Template, pages: Tiling, tile: Tile) -> None:
    part = tile.part
    dx, dy = MARGIN - part.x, MARGIN - part.y
    with pdf.rect_clip(MARGIN, MARGIN, part.width, part.height):
        pdf.set_line_width(0.2)
        pdf.set_fill_color(210)
        for stop in made.stops:
            pdf.rect(stop.x + dx, stop.y + dy, stop.width, stop.height, style="DF")
        pdf.set_line_width(0.4)
        pdf.rect(made.sheet.x + dx, made.sheet.y + dy, made.sheet.width, made.sheet.height)
        pdf.set_line_width(0.2)
        pdf.set_dash_pattern(dash=3, gap=2)
        pdf.rect(made.picture.x + dx, made.picture.y + dy, made.picture.width, made.picture.height)
        pdf.set_dash_pattern()
        pdf.set_font("Helvetica", "", 9)
        pdf.text(made.stops[0].x + dx + 3, made.stops[0].y + dy + 8, "stop: glue card here")
        pdf.text(made.sheet.x + dx + 3, made.sheet.y + made.sheet.height + dy + 5, "edge of the sheet")
        pdf.text(made.picture.x + dx + 3, made.picture.y + dy + 6, "picture")
    pdf.set_line_width(0.1)
    pdf.set_dash_pattern(dash=1, gap=1)
    pdf.rect(MARGIN, MARGIN, part.width, part.height)  # cut here
    pdf.set_dash_pattern()
    _crosses(pdf, pages, tile)


def _crosses(pdf: FPDF, pages: Tiling, tile: Tile) -> None:
    """Marks in the strips that two pages share, at the same place of the template on both."""
    part, half = tile.part, OVERLAP / 2
    for side, there in (("left", tile.column > 1), ("right", tile.column < pages.columns)):
        x = half if side == "left" else part.width - half
        if there:
            for y in (part.height / 4, part.height * 3 / 4):
                _cross(pdf, MARGIN + x, MARGIN + y)
    for side, there in (("top", tile.row > 1), ("bottom", tile.row < pages.rows)):
        y = half if side == "top" else part.height - half
        if there:
            for x in (part.width / 4, part.width * 3 / 4):
                _cross(pdf, MARGIN + x, MARGIN + y)


def _cross(pdf: FPDF, x: float, y: float) -> None:
    pdf.line(x - 3, y, x + 3, y)
    pdf.line(x, y - 3, x, y + 3)


def _foot(pdf: FPDF, text: str) -> None:
    """The ruler, and the page's name beside it."""
    y = pdf.h - MARGIN - 4
    pdf.set_line_width(0.2)
    pdf.line(MARGIN, y, MARGIN + RULER, y)
    for mm in range(0, int(RULER) + 1, 5):
        pdf.line(MARGIN + mm, y, MARGIN + mm, y - (4 if mm % 10 == 0 else 2))
    pdf.set_font("Helvetica", "", 8)
    pdf.text(MARGIN, y + 4, "0")
    pdf.text(MARGIN + RULER - 5, y + 4, f"{RULER:g} mm")
    words = pdf_text(text)
    while pdf.get_string_width(words) > pdf.w - 2 * MARGIN - RULER - 6 and len(words) > 4:
        words = words[:-2]
    pdf.text(MARGIN + RULER + 6, y, words)

"""The print card as a PDF: one A4 page as far as it goes, its text true text, its columns in line, filled by its drawing."""

import io

from fpdf import FPDF
from fpdf.fonts import FontFace

from timer.documents.pdf_text import pdf_text
from timer.notebook.card import Card, drawing_png

MARGIN, LINE, MIN_MM = 14.0, 5.2, 70.0
"""Of a page, of a row, and of a drawing's height, mm: one that has less room goes on to the next page."""
WIDTH, HEIGHT = 210.0 - 2 * MARGIN, 297.0 - 2 * MARGIN
NUMBERS = ("LEFT", "LEFT", "RIGHT", "RIGHT")


def as_pdf(card: Card) -> bytes:
    """A4 pages: one, or as many as the sheet's areas and exposures need."""
    pdf = FPDF(unit="mm", format="A4")
    pdf.set_auto_page_break(True, margin=MARGIN)
    pdf.set_margin(MARGIN)
    pdf.set_title(pdf_text(card.title))
    pdf.set_creator("Lamphouse")
    pdf.add_page()
    pdf.set_font("Helvetica", "B", 17)
    pdf.multi_cell(0, 8, pdf_text(card.title), align="L", new_x="LMARGIN", new_y="NEXT")
    pdf.ln(2)
    pdf.set_font("Helvetica", "", 10)
    _table(pdf, card.facts, (34.0, WIDTH - 34.0), grey_first=True)
    _drawing(pdf, card)
    if card.areas:
        _heading(pdf, "Areas")
        _table(pdf, card.areas, (44.0, 52.0, WIDTH - 96.0))
    _heading(pdf, "Exposures: seconds of full light, asked and given")
    rows = (("on", "through", "asked", "given"), *card.exposures)
    _table(pdf, rows, (62.0, WIDTH - 142.0, 34.0, 46.0), align=NUMBERS, headed=True)
    return bytes(pdf.output())


def _table(
    pdf: FPDF,
    rows: tuple[tuple[str, ...], ...],
    widths: tuple[float, ...],
    *,
    align: tuple[str, ...] | str = "LEFT",
    grey_first: bool = False,
    headed: bool = False,
) -> None:
    grey = FontFace(color=(95, 95, 95))
    with pdf.table(
        col_widths=widths,
        width=WIDTH,
        text_align=align,
        borders_layout="NONE",
        first_row_as_headings=headed,
        headings_style=FontFace(color=(95, 95, 95)),
        line_height=LINE,
        align="LEFT",
    ) as table:
        for cells in rows:
            row = table.row()
            for n, cell in enumerate(cells):
                row.cell(pdf_text(cell), style=grey if grey_first and n == 0 else None)


def _heading(pdf: FPDF, text: str) -> None:
    pdf.ln(3)
    pdf.set_font("Helvetica", "B", 11)
    pdf.cell(0, 7, text, new_x="LMARGIN", new_y="NEXT")
    pdf.set_font("Helvetica", "", 10)


def _drawing(pdf: FPDF, card: Card) -> None:
    """As high as what follows it leaves room for on this page."""
    png = drawing_png(card)
    if not png:
        return
    after = (
        LINE * 1.05 * (len(card.areas) + len(card.exposures) + 1)
        + 10 * (2 if card.areas else 1)
        + 6
        + (LINE if card.caption else 0)
    )
    room = HEIGHT + MARGIN - pdf.get_y() - after
    from PIL import Image

    wide, high = Image.open(io.BytesIO(png)).size
    height = min(max(room, MIN_MM), WIDTH * min(1.2, high / wide))
    if pdf.get_y() + height > HEIGHT + MARGIN:
        pdf.add_page()
    pdf.ln(3)
    pdf.image(io.BytesIO(png), x=MARGIN, h=height, alt_text=card.caption or "the sheet, with what was done to it")
    if card.caption:
        pdf.set_text_color(95)
        pdf.cell(0, LINE, pdf_text(card.caption), new_x="LMARGIN", new_y="NEXT")
        pdf.set_text_color(0)

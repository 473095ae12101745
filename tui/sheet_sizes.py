"""The sizes of sheets that are sold, small to large, for pages on which one is chosen."""

from timer.craft.enlargement import parse_sheet

SHEETS = ("5x7in", "18x24cm", "8x10in", "24x30cm", "10x12in", "11x14in", "30x40cm", "12x16in", "40x50cm", "16x20in")


def sizes_with(sheet: str) -> tuple[str, ...]:
    """Those, and ``sheet`` before them if it is another."""
    return SHEETS if sheet in SHEETS or not sheet else (sheet, *SHEETS)


SIZE_LIKE = "sheet, like 20x25cm or 9.5x12in"


def typed_size(text: str) -> str:
    """A size of sheet as it is typed, without blanks. ValueError in one sentence for what is none."""
    size = "".join(text.lower().split())
    parse_sheet(size)
    return size

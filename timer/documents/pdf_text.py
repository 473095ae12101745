"""Text for a PDF in its own fonts."""


def pdf_text(text: str) -> str:
    """``text`` in the letters that every PDF reader has a font for (Latin-1); others as question marks."""
    plain = text.replace("−", "-").replace("–", "-").replace("’", "'").replace("⅓", "1/3").replace("⅔", "2/3")
    return plain.encode("latin-1", errors="replace").decode("latin-1")

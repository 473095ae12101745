"""A scan with the boxes that are read drawn into it and their names written beside them."""

import io
from collections.abc import Iterable

import numpy as np

from timer.measure.find import Box
from timer.measure.picture import Picture


def drawn(picture: Picture, boxes: Iterable[tuple[str, Box]], *, linear: bool) -> bytes:
    """A PNG of ``picture`` with the ``boxes``, each with its name; ``linear`` values are made as light as they look."""
    from PIL import Image, ImageDraw, ImageFont

    values = picture.values ** (1 / 2.2 if linear else 1.0)
    image = Image.fromarray((np.clip(values, 0, 1) * 255).astype(np.uint8))
    draw = ImageDraw.Draw(image)
    line = max(2, image.width // 500)
    font = ImageFont.load_default(size=max(14, max(image.size) // 45))
    for name, box in boxes:
        left, top, right, bottom = box.left, box.top, box.left + box.width, box.top + box.height
        draw.rectangle([left, top, right, bottom], outline="white", width=line)
        draw.rectangle([left - line, top - line, right + line, bottom + line], outline="black", width=line)
        fits = draw.textlength(name, font=font) < 0.6 * box.width
        at = ((left if fits else right + line) + 2 * line, top + 2 * line)  # beside a box that it would hide
        where = draw.textbbox(at, name, font=font)
        draw.rectangle([where[0] - line, where[1] - line, where[2] + line, where[3] + line], fill="white")
        draw.text(at, name, fill="black", font=font)
    out = io.BytesIO()
    image.save(out, "PNG", compress_level=1)
    return out.getvalue()

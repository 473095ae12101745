"""A paper's curve as a picture: readings, the line through them, and the points that ISO 6846 reads on it."""

import io
import math
from collections.abc import Sequence

from timer.craft.bw_curve import IsoPoints, PaperCurve
from timer.measure.bw_sheet import Point

FINE = 2
"""It is drawn so many times larger, and made smaller for even lines."""
WIDE, HIGH = 1000 * FINE, 700 * FINE
LEFT, RIGHT, TOP, BOTTOM = 90 * FINE, 40 * FINE, 70 * FINE, 90 * FINE
LETTER = 20 * FINE
MARK = 6 * FINE


def curve_picture(title: str, unit: str, curve: PaperCurve, points: Sequence[Point], iso: IsoPoints) -> bytes:
    """A PNG of density over log10 exposure; ``unit``: of the exposures, in words."""
    from PIL import Image, ImageDraw, ImageFont

    x = curve.log_exposure
    low, high = math.floor(5 * (x[0] - 0.1)) / 5, math.ceil(5 * (x[-1] + 0.1)) / 5
    top = max(2.2, math.ceil(5 * (curve.darkest + 0.1)) / 5)

    def at(log_exposure: float, density: float) -> tuple[float, float]:
        across = LEFT + (log_exposure - low) / (high - low) * (WIDE - LEFT - RIGHT)
        return across, HIGH - BOTTOM - density / top * (HIGH - TOP - BOTTOM)

    image = Image.new("RGB", (WIDE, HIGH), "white")
    draw = ImageDraw.Draw(image)
    font = ImageFont.load_default(size=LETTER)
    for n in range(round(5 * top) + 1):
        density = n / 5
        draw.line([at(low, density), at(high, density)], fill="#dddddd", width=FINE)
        if n % 2 == 0:
            draw.text((LEFT - 10 * FINE, at(low, density)[1]), f"{density:.1f}", fill="black", font=font, anchor="rm")
    for n in range(round(5 * low), round(5 * high) + 1):
        draw.line([at(n / 5, 0), at(n / 5, top)], fill="#dddddd", width=FINE)
        if (n - round(5 * low)) % 2 == 0:
            draw.text((at(n / 5, 0)[0], HIGH - BOTTOM + 10 * FINE), f"{n / 5:.1f}", fill="black", font=font, anchor="ma")
    draw.rectangle([at(low, top), at(high, 0)], outline="black", width=FINE)
    draw.text((LEFT, 10 * FINE), title, fill="black", font=font)
    draw.text(((WIDE + LEFT) / 2, HIGH - 40 * FINE), f"log10 of {unit}", fill="black", font=font, anchor="ma")
    draw.text((LEFT - 10 * FINE, TOP - 18 * FINE), "density", fill="black", font=font, anchor="mm")
    for level in (curve.base, curve.darkest):
        for n in range(40):
            a, b = (at(low + (n + part) * (high - low) / 40, level) for part in (0.0, 0.5))
            draw.line([a, b], fill="#888888", width=FINE)
    line = [at(one, curve.density_at(one)) for one in (x[0] + (x[-1] - x[0]) * n / 400 for n in range(401))]
    draw.line(line, fill="black", width=3 * FINE)
    for point in points:
        across, down = at(point.log_exposure, point.density)
        draw.ellipse([across - MARK, down - MARK, across + MARK, down + MARK], outline="black", width=2 * FINE, fill="white")
    for name, one in (("highlight", iso.highlight), ("0.6: speed", iso.speed), ("shadow", iso.shadow)):
        across, down = at(one, curve.density_at(one))
        draw.line([(across, down), (across, HIGH - BOTTOM)], fill="black", width=FINE)
        far = 1.5 * MARK
        draw.polygon([(across, down - far), (across + far, down), (across, down + far), (across - far, down)], fill="black")
        says = f"{name}, {curve.density_at(one):.2f}"
        right = across < WIDE - RIGHT - draw.textlength(says, font=font) - 20 * FINE
        where = (across + (16 if right else -16) * FINE, down + 14 * FINE)
        draw.text(where, says, fill="black", font=font, anchor="lm" if right else "rm")
    out = io.BytesIO()
    image.resize((WIDE // FINE, HIGH // FINE), Image.Resampling.LANCZOS).save(out, "PNG")
    return out.getvalue()

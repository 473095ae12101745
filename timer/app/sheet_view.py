"""The sheet as a screen draws it: the tones of a test's patches as the virtual paper would print them."""

from functools import lru_cache

from timer.plans.model import Plan

RGB = tuple[int, int, int]


@lru_cache(64)
def patch_tones(plan: Plan) -> tuple[RGB, ...]:
    """The tone of each patch of ``plan`` under an even negative: one that prints a middle grey at the bench's own time."""
    import numpy as np

    from timer.bench import sheet

    count = len(plan.patches)
    even = np.full((8, 8 * count, 3), sheet.OWN_TONE, dtype=np.float32)
    row = sheet.render(plan, None, even)[4]
    return tuple((int(r), int(g), int(b)) for r, g, b in row[4::8])

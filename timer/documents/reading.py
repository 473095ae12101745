"""A reading: the densities of one place of a sheet, and what they were taken with."""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["", "colorimeter", "scan", "eye"]
"""What a reading was taken with; empty: densities as a file has them."""


@dataclass(frozen=True)
class Reading:
    """Densities of one sample; None where there is no such column.

    ``kind``: what it was taken with; an eye's are how much more density there is than in what is aimed at.
    ``error``: one standard deviation, or None: the usual one of its kind.
    """

    sample: str
    red: float | None
    green: float | None
    blue: float | None
    visual: float | None
    kind: Kind = ""
    error: float | None = None

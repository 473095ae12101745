"""Where on a test each area of the print was right, as the printer says it bit by bit."""

from dataclasses import dataclass, replace
from fractions import Fraction

from timer.craft.read_by_area import Way, ways
from timer.plans.from_areas import BASE_NAMES, Read, read
from timer.plans.model import Plan

BASE = "base"
"""The picture as a whole."""
LONGEST_NAME = 60


@dataclass(frozen=True)
class Places:
    """In half patches from the first: 0 is patch 1, 1 is between 1 and 2.

    ``base`` is where the picture as a whole was right; with ``base_said`` that holds beside areas too, else it only stands
    there until the first area is read, and the base follows from the areas.
    """

    base: int
    base_said: bool = False
    areas: tuple[tuple[str, int], ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """A row each: the areas as they were read, the base last."""
        return (*(name for name, _ in self.areas), BASE)

    @property
    def base_counts(self) -> bool:
        """Whether the base is where it was said to be, and does not follow from the areas."""
        return self.base_said or not self.areas

    def at(self, row: int) -> int:
        """The place of ``row``, in half patches."""
        return self.areas[row][1] if row < len(self.areas) else self.base

    def put(self, row: int, place: int) -> "Places":
        """With ``row`` at ``place``; of the base that says that it holds."""
        if row >= len(self.areas):
            return replace(self, base=place, base_said=True)
        areas = list(self.areas)
        areas[row] = (areas[row][0], place)
        return replace(self, areas=tuple(areas))

    def added(self, name: str) -> "Places":
        """With an area more, where the base is. ValueError for a name that is no name, or is there."""
        name = name.strip()
        if not name or len(name) > LONGEST_NAME:
            raise ValueError(f"an area has a name of 1 to {LONGEST_NAME} letters, like wall or sky")
        if name in BASE_NAMES:
            raise ValueError(f"{name!r} is the picture as a whole: it has a row of its own")
        if name in self.names:
            raise ValueError(f"{name!r} is there already")
        return replace(self, areas=(*self.areas, (name, self.base)))

    def removed(self, row: int) -> "Places":
        """Without that area; the base is not said any more."""
        if row >= len(self.areas):
            return replace(self, base_said=False)
        return replace(self, areas=self.areas[:row] + self.areas[row + 1 :])

    def read(self, plan: Plan) -> Read:
        """As ``from_areas.read``, on the test of ``plan``."""
        said = [(name, _patch(place)) for name, place in self.areas]
        return read(plan, [*said, (BASE, _patch(self.base))] if self.base_counts else said)

    def offered(self, plan: Plan) -> tuple[Way, ...]:
        """The ways to print it, the easier first; nothing while no area is read. ValueError as ``read``."""
        found = self.read(plan)
        return ways(found.areas, found.base) if found.areas else ()


def _patch(place: int) -> Fraction:
    return 1 + Fraction(place, 2)


def place_text(place: int) -> str:
    """``3``, ``1½``."""
    return f"{place // 2 + 1}{'½' if place % 2 else ''}"

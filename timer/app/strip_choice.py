"""A strip as it is chosen on the screen, step by step, and the job that it becomes."""

from dataclasses import dataclass, replace
from fractions import Fraction

from timer.app.cautions import said_of_colour
from timer.app.jobs import Job
from timer.app.picks import picks_of
from timer.craft.stops import factor
from timer.craft.strip import Way
from timer.documents.recipe import Recipe
from timer.documents.recipe_light import Pass, dry_note, passes
from timer.documents.settings import Settings
from timer.plans.strip import strip_plan
from timer.plans.strip_colour import usual_way

STEPS = (Fraction(1, 12), Fraction(1, 6), Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(1))
WAYS: tuple[Way, ...] = ("cover", "uncover", "window")
MOST_PATCHES = 9


LEAST_S, MOST_S = 0.2, 100.0
"""First patches of a strip that the screen offers."""


def _strip_seconds(seconds: float) -> float:
    return min(MOST_S, max(LEAST_S, seconds))


@dataclass(frozen=True)
class StripChoice:
    """A strip as chosen on the screen."""

    seconds: float = 8.0
    step: Fraction = Fraction(1, 3)
    patches: int = 5
    way: Way = "cover"
    paper: str = "bw"
    made_for: Job | None = None

    def job(self, settings: Settings | None = None) -> Job:
        """``settings`` have the lamp's response, by which a colour strip says what its bursts do to colour."""
        recipe = self.made_for.recipe if self.made_for else None
        # Three lights in turn are three exposures of every patch; of any other head the filters are in already.
        parts = passes(recipe.filters) if recipe and recipe.filters.head == "tricolour" else (Pass(""),)
        plan = strip_plan(self.seconds, self.step, self.patches, self.way, paper=self.paper, parts=parts)
        if settings:
            plan = said_of_colour(plan, settings)
        if self.made_for:
            dry = dry_note(recipe) if recipe else ()
            plan = replace(plan, notes=(*plan.notes, *dry, f"made for: {self.made_for.plan.title}"))
        return Job(plan, made_for=self.made_for, picks=picks_of(plan))

    def nudged(self, by: Fraction) -> "StripChoice":
        """The whole strip ``by`` stops longer."""
        return replace(self, seconds=_strip_seconds(self.seconds * factor(by)))

    def begun_at(self, seconds: float) -> "StripChoice":
        """The whole strip from ``seconds`` on its lightest patch. ValueError for a time that is not offered."""
        if not LEAST_S <= seconds <= MOST_S:
            raise ValueError(f"the lightest patch has {LEAST_S:g} to {MOST_S:g} s of light, not {seconds:g} s")
        return replace(self, seconds=seconds)

    def around(self, middle: float) -> "StripChoice":
        """``middle`` full-light seconds on its middle patch, as near as a strip may go."""
        return replace(self, seconds=_strip_seconds(middle / factor(self._to_middle)))

    @property
    def middle(self) -> float:
        """Full-light seconds of its middle patch; of an even count, half-way between the two."""
        return self.seconds * factor(self._to_middle)

    @property
    def _to_middle(self) -> Fraction:
        return self.step * Fraction(self.patches - 1, 2)

    def next_step(self) -> "StripChoice":
        """With the next size of step, round by the smallest."""
        return replace(self, step=STEPS[(STEPS.index(self.step) + 1) % len(STEPS)])

    def next_count(self) -> "StripChoice":
        """With a patch more, round by two."""
        return replace(self, patches=self.patches + 1 if self.patches < MOST_PATCHES else 2)

    def next_way(self) -> "StripChoice":
        """Made the next way."""
        return replace(self, way=WAYS[(WAYS.index(self.way) + 1) % len(WAYS)])

    def on_paper(self, paper: str) -> "StripChoice":
        """The same strip on another paper, made the way that paper is best served."""
        return replace(self, paper=paper, way=usual_way(paper))

    def on_its_paper(self, job: Job, recipe: Recipe) -> "StripChoice":
        """The strip that finds the time of ``job``, the print of ``recipe``: around its base; the way changes only with
        the paper."""
        choice = self if self.paper == recipe.paper.kind else self.on_paper(recipe.paper.kind)
        return replace(choice.around(recipe.base_s), made_for=job)

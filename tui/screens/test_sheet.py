"""Test sheets for a print: several packs on one sheet, all of one density; or the set that finds the dry-down."""

from textual.widgets import Static

from timer.app.jobs import Job
from timer.app.picks import Pick
from timer.craft.heads import THREE_LIGHTS
from timer.documents.recipe_light import setting_of
from timer.errors import LamphouseError
from timer.plans.model import Plan
from timer.plans.test_sheets import dry_down_plan, ladder_plan, ring_plan
from tui.page import PlanPage
from tui.widgets.sheet import Sheet

LADDER = (-10.0, -5.0, 5.0, 10.0)


class TestSheet(PlanPage):
    """The kinds of test that the paper of ``job``, a print, can have."""

    phase = "TEST SHEET"
    __test__ = False  # for pytest: it is no test

    def __init__(self, job: Job) -> None:
        super().__init__()
        assert job.recipe
        self.job, self.recipe = job, job.recipe
        colour = job.recipe.paper.kind == "ra4"
        self.kinds = ("ring-around", "ladder of magenta", "ladder of yellow") if colour else ("dry-down set",)
        self.head = job.recipe.filters.head
        self.at = 0

    def begin(self) -> None:
        self.call_after_refresh(self._draw)

    def plan(self) -> Plan:
        """Of the chosen kind; LamphouseError while the head is not known."""
        base, pack, top = self.recipe.base_s, setting_of(self.recipe.filters), self.context.darkroom.settings.head.top
        match self.kinds[self.at]:
            case "ring-around":
                return ring_plan(pack, 10, base, self.head, top)
            case "ladder of magenta":
                return ladder_plan(pack, "M", LADDER, base, self.head, top)
            case "ladder of yellow":
                return ladder_plan(pack, "Y", LADDER, base, self.head, top)
            case _:
                return dry_down_plan(base)

    def _draw(self) -> None:
        head = f"   head: {self.head or 'which?'}" if self.recipe.paper.kind == "ra4" else ""
        self.query_one("#choice", Static).update(f"< {self.at + 1}/{len(self.kinds)} >  {self.kinds[self.at]}{head}")
        keys = "h: head   " if self.head not in THREE_LIGHTS else ""
        choose = f"up down: choose   {keys}q: back" if head else "q: back"
        try:
            plan = self.plan()
        except LamphouseError as error:
            which = "Which head is it? h: CP filters or dichroic"
            self.query_one("#plan", Static).update(str(error) if self.head else which)
            self.next_action(f"h: say which head it is\n{choose}")
            return
        rows = [f"{p.seconds:7.2f} s  {p.filters or p.patch}" for p in plan.patches]
        self.query_one("#plan", Static).update("\n".join([*rows, "", *plan.notes]))
        self.query_one("#sheet", Sheet).show(plan)
        self.next_action(f"Enter: get ready\n{choose}")

    def pressed(self, key: str) -> bool:
        match key:
            case "up" | "down":
                self.at = (self.at + (1 if key == "down" else -1)) % len(self.kinds)
            case "h" if self.recipe.paper.kind == "ra4" and self.head not in THREE_LIGHTS:
                self.head = "cp" if self.head == "dichroic" else "dichroic"
            case "enter":
                self._go()
                return True
            case _:
                return False
        self._draw()
        return True

    def _go(self) -> None:
        context = self.context
        if context.paper_out:
            return context.report("paper is out: cover it first")
        try:
            plan = self.plan()
        except LamphouseError as error:
            return context.report(str(error))
        return context.expose(Job(plan, made_for=self.job, picks=self._picks(plan)))

    def _picks(self, plan: Plan) -> tuple[Pick, ...]:
        """What each patch says of the print, when it was the right one."""
        if plan.paper == "ra4":
            return tuple(Pick(patch.seconds, patch.filters, self.head) for patch in plan.patches)
        reference = plan.patches[0].seconds
        less = [round(100 * (1 - patch.seconds / reference), 1) for patch in plan.patches]
        return tuple(Pick(patch.seconds, dry_down=percent) for patch, percent in zip(plan.patches, less, strict=True))

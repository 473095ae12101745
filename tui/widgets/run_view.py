"""What is seen of a run, before it and in it; what it says is handed in (``tui.expose_words``)."""

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from timer.app.jobs import Job, amount_of
from timer.plans.cue_points import WARN_S
from timer.run import states
from tui.expose_words import dots, hands_next, seconds_to_change, soon_now
from tui.widgets.blocks import big_words
from tui.widgets.digits import BigSeconds
from tui.widgets.lines import cut, write
from tui.widgets.timeline import Timeline

DIM = "#707070"
"""The screen as a light to read dials by, for eyes that come from the dark; only ever with the paper covered."""
_LIGHT = {states.State.LIT: "LIGHT ON", states.State.ARMED: "ready", states.State.PAUSED: "PAUSED"}


class Checks(Vertical):
    """The checklist before a run, and what to know before the room is dark."""

    def compose(self) -> ComposeResult:
        yield Static(id="list", markup=False)
        yield Static(id="advice", markup=False)

    def show(self, title: str, rows: list[str], advice: str) -> None:
        """``rows`` below ``title``, and below them ``advice``."""
        self.query_one("#list", Static).update("\n".join([title, "", *rows]))
        self.query_one("#advice", Static).update(advice)


class RunView(Vertical):
    """The area and its dots, digits that count to the next change of hands, the timeline, the hands now and next."""

    def __init__(self, job: Job) -> None:
        super().__init__(id="run")
        self._job = job
        self._exposures = [n for n, each in enumerate(job.plan.steps) if each.do == "expose"]

    def compose(self) -> ComposeResult:
        with Horizontal(id="head"):
            yield Static(id="name", markup=False)
            with Vertical(id="side"):
                yield Static(id="area", markup=False)
                yield Static(id="dots", markup=False)
        yield BigSeconds(id="digits", markup=False)
        with Horizontal(id="line"):
            yield Timeline(id="timeline", markup=False)
            yield Static(id="rest", markup=False)
        yield Static(id="hands", markup=False)
        yield Static(id="then", markup=False)
        yield Static(id="soon", markup=False)

    def show_exposure(self, run: states.Run) -> None:
        """Which exposure is at hand, of how many, and what its light does."""
        step = run.at
        assert step
        number, count = self._exposures.index(run.step), len(self._exposures)
        write(self, "area", _numbered(f"{number + 1}/{count}", step.area, _LIGHT.get(run.state, "dark"), self._wide))
        write(self, "dots", dots(number, count, self.query_one("#dots").size.width))
        self._large(f"{step.area} {amount_of(self._job, step.area)}".strip())
        self._shine(None)

    def show_light(self, run: states.Run, given: float, says: str, *, tall: bool) -> None:
        """What moves while it is lit, ``given`` seconds of light into it: digits, line, hands now and next."""
        step, lit, rest = run.at, run.state is states.State.LIT, seconds_to_change(run, given)
        assert step
        self.query_one(BigSeconds).show(rest, max(each.seconds for each in self._job.plan.steps))
        self.query_one(Timeline).show(self._job.plan, step, given)
        write(self, "rest", f"{given:.1f} of {step.seconds:.1f} s")
        self._hands(f"NOW   {says}" if lit else says)
        then = hands_next(run, given)
        write(self, "then", f"NEXT  {then}" if then else "")
        due = lit and rest <= WARN_S and tall
        write(self, "soon", "\n".join(big_words(soon_now(run, given), self.size.width)) if due else "")

    def show_look(self, run: states.Run, stage: str, says: str) -> None:
        """While the sheet is in its box for a look by light, or on its way there or back."""
        step = run.at
        assert step
        self._show_still(step.filters if stage == "look" else stage, says)
        write(
            self,
            "area",
            _numbered(f"{self._exposures.index(run.step) + 1}/{len(self._exposures)}", step.area, stage, self._wide),
        )
        self._shine(DIM if stage == "look" else None)

    def show_over(self, says: str, *, finished: bool) -> None:
        """How it ended."""
        self._show_still("finished" if finished else "stopped", says)
        write(self, "area", cut(self._job.plan.title, self._wide))
        self._shine(None)

    @property
    def _wide(self) -> int:
        """Cells of the line of the exposure; it stands there before it is laid out."""
        return self.query_one("#area").size.width or 30

    def _show_still(self, name: str, says: str) -> None:
        self._large(name)
        self._hands(says)
        self.query_one(BigSeconds).blank()
        self.query_one(Timeline).blank()
        for line in ("dots", "rest", "then", "soon"):
            write(self, line, "")

    def _shine(self, colour: str | None) -> None:
        self.query_one(BigSeconds).styles.background = colour

    def _hands(self, says: str) -> None:
        hands = self.query_one("#hands", Static)  # its height follows its words
        if hands.content != says:
            hands.update(says)

    def _large(self, name: str) -> None:
        """In block letters, without its amount where that is too long, or as it is."""
        room = max(20, self.size.width - 30)
        write(self, "name", "\n".join(big_words(name, room) or big_words(name.rpartition(" ")[0], room) or [name.upper()]))


def _numbered(number: str, area: str, state: str, width: int) -> str:
    """Which exposure, its area and how it stands; of a long area its begin, never less of the others."""
    return f"{number}  {cut(area, max(4, width - len(number) - len(state) - 5))}   {state}"

"""What the expose page says: at each stage of a run what is so, and what the next press does; its rows and dots. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass

from timer.craft.stops import listed
from timer.notebook.rows import SAFELIGHT_KINDS
from timer.plans.model import Mark, Step
from timer.run import states


@dataclass(frozen=True)
class Standing:
    """Where the page stands.

    ``stage``: ask, lights, box, run (with cover, look, back) or over. ``given``: full-light seconds that the exposure
    at hand has had. ``asked``: what the printer has not yet said to be so, after ``ticked`` others. ``earlier``: of a run
    that goes on with another's sheet, what that has had; None for a new sheet. ``ended``: how it ended, once it is over.
    """

    stage: str
    run: states.Run
    given: float
    paper: str
    paper_out: bool
    asked: Sequence[str] = ()
    ticked: int = 0
    cautions: Sequence[str] = ()
    earlier: Sequence[str] | None = None
    ended: str = ""


def words(at: Standing) -> tuple[str, str]:
    """What is so, and what the next press does; each may have more lines than one."""
    run = at.run
    back = "up: back   " if at.ticked else ""
    match at.stage:
        case "ask":
            return at.asked[0], f"Enter: yes   {back}q: leave"
        case "lights":
            lines = ["lights out; the box stays shut until the screen is dark", *at.cautions]
            return "\n".join(lines), f"Enter: the {screen_goes(at.paper)}\n{back}q: leave"
        case "box":
            if at.earlier is None:
                return "open the box: one sheet into the easel, box shut", "Enter: it is in   q: leave"
            return "; ".join(box_rows(at.earlier)), "Enter: it is in   q: leave"
        case "over" if at.paper_out:
            return at.ended, "Paper covered, or in the lidded drum?  c or pedal held: yes"
        case "over":
            return at.ended, "Enter: go on"
        case "cover":
            return "the sheet into its box, box shut", "In its box, box shut?  c or pedal held: yes   q: leave"
        case "look":
            return run.hands, f"Enter: the {screen_goes(at.paper)}; the box stays shut until then   q: leave"
        case "back":
            return "open the box: the sheet into the easel, just as it lay, box shut", "Enter: it is in   q: leave"
    match run.state:
        case states.State.ARMED:
            return run.hands, "Enter or pedal: LIGHT   Space: dark\nc: to the box, for a look by light"
        case states.State.LIT:
            return hands_now(run, at.given), "Space or pedal held: DARK NOW"
        case states.State.PAUSED:
            return (
                f"dark, {listed(run.missing)} s missing",
                "Enter or pedal: ready again   q: leave\nc or pedal held: to the box, for a look",
            )
        case states.State.NOTING:
            return run.hands, "ready in a moment   Space: dark"
        case _:
            return "wait", "Space or pedal held: dark"


def screen_goes(paper: str) -> str:
    """What the press before the box does to the screen, for ``paper``."""
    return f"screen goes {'RED' if paper in SAFELIGHT_KINDS else 'DARK, by ear'}"


def box_rows(earlier: Sequence[str] | None) -> list[str]:
    """What the hands do with box and sheet, a row each."""
    if earlier is None:
        return ["open the box, one sheet, close the box", "the sheet in the easel"]
    return ["the sheet into the easel, just as it lay", *earlier]


def hands_now(run: states.Run, given: float) -> str:
    """What the hands do in the exposure at hand, ``given`` seconds into it."""
    step = run.at
    if not step:
        return ""
    past = [mark.say for mark in step.marks if mark.cue == "change" and mark.at <= given]
    return f"{step.area}: {past[-1]}" if past else step.say


def _ahead(step: Step, given: float) -> Mark | None:
    """The next change of hands within ``step``."""
    return next((mark for mark in step.marks if mark.cue == "change" and mark.at > given), None)


def hands_next(run: states.Run, given: float) -> str:
    """What the hands do after that."""
    step = run.at
    if not step:
        return ""
    if ahead := _ahead(step, given):
        return ahead.say
    later = [each.say for each in run.plan.steps[run.step + 1 :] if each.do == "wait"]
    return later[0] if later else "nothing more"


def soon_now(run: states.Run, given: float) -> str:
    """What comes next, in large: a change of hands in this light, or that it ends. What is done after it is not said so
    large while it is lit: hands would be at it too soon."""
    step = run.at
    ahead = _ahead(step, given) if step else None
    return soon(ahead.say) if ahead else "light off"


def seconds_to_change(run: states.Run, given: float) -> float:
    """Seconds of light to the next change of hands: a change within the exposure, or its end."""
    step = run.at
    if not step:
        return 0.0
    ahead = _ahead(step, given)
    return (ahead.at if ahead else step.seconds) - given


def checklist(items: list[str], at: int, *, together: int, width: int) -> list[str]:
    """``items`` numbered, with those before ``at`` done; the last ``together`` of them are one press.

    A narrow screen has what is so before the words, a wide one after them.
    """
    last = len(items) - together
    now = range(last, len(items)) if at >= last else range(at, at + 1)
    narrow = width < 72
    wide = max((len(item) for item in items), default=0)
    rows = []
    for n, item in enumerate(items):
        press = "▶ press when so" if n == now[-1] and not narrow else "▶"
        state = press if n in now else "done" if n < now[0] else ""
        if narrow:
            rows.append(f"{state:4} {n + 1} {item}")
        else:
            rows.append(f"{n + 1:3}  {item:{min(wide, width - 26)}}   {state}".rstrip())
    return rows if narrow else "\n\n".join(rows).split("\n")


def dots(now: int, count: int, room: int) -> str:
    """Exposures done, at hand and to come; nothing where there are too many for ``room`` cells."""
    signs = ["●" if n < now else "◐" if n == now else "○" for n in range(count)]
    row = "  ".join(signs)
    return row if len(row) <= room else " ".join(signs) if 2 * count <= room else ""


def soon(says: str) -> str:
    """The next act without its tool, and without what is not an act: ``burn window (card)`` is ``burn window``."""
    return says.split(" (")[0].split("; ")[0].split(", ")[0]

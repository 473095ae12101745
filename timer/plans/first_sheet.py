"""The first sheet of a negative: five patches of one grey place that teach the most about head and paper at once.

One patch is enough where both are known: it tells what the negative lets through.
"""

from timer.craft import heads
from timer.craft.filters import Pack, lifted
from timer.craft.stops import factor, stops_between
from timer.documents.recipe import Filters
from timer.documents.recipe_light import passes, with_setting
from timer.errors import Refused
from timer.plans.cue_points import marks
from timer.plans.model import Plan, PlanPatch, Step

TITLE = "first sheet"
STOP = 0.5
"""How much lighter and darker, in stops."""
MORE = 20.0
"""CC of magenta, and of yellow, more; or less, where the head ends before."""


def is_first_sheet(plan: Plan) -> bool:
    """Whether ``plan`` is one: its patches are to be measured, and none need be right."""
    return plan.title.startswith(TITLE)


def first_sheet_plan(setting: heads.Setting, seconds: float, head: str, top: float = 0.0, patches: int = 5) -> Plan:
    """As it is, lighter, darker, 20M more, 20Y more; or so many of these ``patches``, from the first on. Each is made alone
    through a window, since bursts that add up shift colour.

    The time stays with more filter: that is what tells what it takes. So one filter alone is turned, and neutral density
    stays in; where the head ends before, less of it teaches the same. Of a tricolour head ``seconds`` is the longest of the
    three, and each colour goes over all patches before the next one. Refused when there is room for neither.
    """
    if isinstance(setting, Pack):
        setting = lifted(setting)  # as it stands in the head
    rows = [
        ("as it is", setting, seconds),
        ("lighter", setting, seconds * factor(-STOP)),
        ("darker", setting, seconds * factor(STOP)),
    ]
    rows += [(*_turned(setting, ink, head, top), seconds) for ink in "MY"[: max(0, patches - len(rows))]]
    rows = rows[:patches]
    listed = tuple(PlanPatch(n, stops_between(seconds, s), s, heads.text_of(to)) for n, (_, to, s) in enumerate(rows, 1))
    title = f"{TITLE}, {heads.text_of(setting)}, {seconds:g} s"
    return Plan("strip", title, _steps(rows, head), listed, _NOTES if patches > 1 else _NOTES_OF_ONE, "ra4")


def _turned(setting: heads.Setting, ink: str, head: str, top: float) -> tuple[str, heads.Setting]:
    """What is done to the one filter of ``ink``, in words, and the setting with it."""
    try:
        return f"{MORE:g}{ink} more", heads.turned(setting, ink, MORE, head, top)
    except ValueError as ends:
        try:
            return f"{MORE:g}{ink} less", heads.turned(setting, ink, -MORE, head, top)
        except ValueError:
            less = f"nor is there room for {MORE:g}{ink} less, so make one patch alone (--patches 1)"
            raise Refused(f"{ends}; {less}") from None


_NOTES = (
    "one grey place of the negative in the window for all five patches: move the paper, not the easel",
    "read the patches as samples 1 to 5, then solve says pack and time",
)
_NOTES_OF_ONE = (
    "a grey place of the negative in the window, or the whole picture",
    "read it as sample 1, then solve says pack and time",
)


def _steps(rows: list[tuple[str, heads.Setting, float]], head: str) -> tuple[Step, ...]:
    """Window by window; the filters change in the dark, while the paper is covered."""
    steps: list[Step] = []
    now = ""
    dialled = head != "tricolour"  # three filters are told apart by the hand; the numbers of a dial are not
    made = [(n, name, seconds, _passes(to, head)) for n, (name, to, seconds) in enumerate(rows, 1)]
    longest = max(share for _, share in made[0][3])
    for turn in range(len(made[0][3])):
        for n, name, seconds, parts in made:
            filters, share = parts[turn]
            hands = f"window over patch {n}, all else covered"
            hands = hands if filters == now else f"paper covered, filters to {filters}; {hands}"
            time = seconds * share / longest
            if dialled and now and filters != now:
                steps.append(Step("look", f"set {filters}", f"patch {n}", filters=filters))
            steps.append(Step("wait", hands, f"patch {n}", filters=filters))
            steps.append(Step("expose", name, f"patch {n}", time, filters, marks(time)))
            now = filters
    return tuple(steps)


def _passes(setting: heads.Setting, head: str) -> list[tuple[str, float]]:
    """What is in, and how much light of it: of a tricolour head three, in the measure of its amounts."""
    if head != "tricolour":
        return [(heads.text_of(setting), 1.0)]
    lights = with_setting(Filters(head="tricolour"), setting)
    most = max(lights.red, lights.green, lights.blue)
    return [(part.filters, part.share * most) for part in passes(lights)]

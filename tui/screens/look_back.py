"""Look back: where on the test was the print right, as a whole and area by area? What it says goes into the print that the
test was made for, and nowhere else."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from textual.app import ComposeResult
from textual.widgets import Static

from timer.app.jobs import Job
from timer.app.picks import Pick
from timer.app.writing import beside, into, made_for_new
from timer.craft.read_by_area import Way, at_an_end
from timer.craft.stops import between, digits, format_stops, listed, stops_between
from timer.documents.recipe import Filters
from timer.documents.recipe_light import filters_text
from timer.errors import LamphouseError
from timer.plans.correct_area import areas_of
from timer.plans.model import Plan
from timer.plans.places import LONGEST_NAME, Places, place_text
from timer.plans.recipe_change import described
from timer.plans.recipe_edits import read_filters
from timer.plans.recipe_rows import empty
from timer.plans.split_grade import WHOLE, Split
from tui.page import NOT_WRITTEN
from tui.typing_page import TypingPage
from tui.widgets.lines import cut, fitted, lines_of, whole
from tui.widgets.sheet import Sheet

WIDE = 64
"""From this width on there are all the words; below it the keys, the amounts and the seconds."""
LEAST_DRAWN = 3
"""Rows of the smallest drawing of a test."""
WAYS = {"burn": "lowest base, with burns", "dodge": "higher base, with dodges", "both": "the base as read"}


def chosen_seconds(plan: Plan, place: int) -> float:
    """Seconds at ``place``, in half patches from the first: 0 is patch 1, 1 is between 1 and 2 (geometric mean)."""
    low = plan.patches[place // 2].seconds
    return low if place % 2 == 0 else between(low, plan.patches[place // 2 + 1].seconds)


def place_name(place: int) -> str:
    """Half patches from 0 in words: 2 is patch 2, and 3 is between 2 and 3."""
    return f"patch {place // 2 + 1}" if place % 2 == 0 else f"between {place // 2 + 1} and {place // 2 + 2}"


class LookBack(TypingPage):
    """The test drawn, and on it the places that were right, in half patches.

    ``run``: the sheet of the notebook that the test is; 0 for none. What is not written waits there to be read.
    """

    phase = "LOOK BACK"

    def __init__(self, job: Job, run: int = 0) -> None:
        super().__init__()
        self.job, self.run, self._plan = job, run, job.plan
        self.places = Places((len(self._plan.patches) - 1) // 2 * 2)
        self.before: list[Places] = []
        self.at = 0
        self.how = ""
        self.says = ""
        self.known: tuple[str, ...] = ()

    @property
    def _by_time(self) -> bool:
        """Whether its patches are times, of which there are some between two; not packs, nor a dry-down set."""
        first = self.job.picks[0] if self.job.picks else Pick(0)
        return not first.pack and first.dry_down is None

    @property
    def _can_solve(self) -> bool:
        """Whether readings of it say something of a pack."""
        return bool(self.run) and self._plan.paper == "ra4" and self._split is None

    @property
    def _pick(self) -> Pick:
        """What the base's place says."""
        place = self.places.base
        if place % 2 == 0 and self.job.picks:
            return self.job.picks[place // 2]
        return Pick(chosen_seconds(self._plan, place), split=self._split)

    @property
    def _split(self) -> Split | None:
        return self.job.picks[0].split if self.job.picks else None

    @property
    def unwritten(self) -> bool:
        """As of every page: areas that were read."""
        return bool(self.places.areas)

    def _ways(self) -> tuple[Way, ...]:
        try:
            return self.places.offered(self._plan)
        except ValueError as error:
            self.says = str(error)
            return ()

    def _way(self, ways: tuple[Way, ...]) -> Way:
        return next((way for way in ways if way.how == self.how), ways[0])

    def body(self) -> ComposeResult:
        yield Static(id="choice", markup=False)
        yield Sheet(id="sheet", markup=False)
        yield Static(id="rows", markup=False)
        yield Static(id="hands", markup=False)

    def begin(self) -> None:
        if self.context.to_chosen:  # it was solved, and is written
            return self.context.go_back()
        self.call_after_refresh(self._draw)
        return None

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    # ── how it looks ─────────────────────────────────────────────────────────

    def _draw(self) -> None:
        if not self.is_attached:
            return
        target = self.job.made_for
        number = f"test {self.run}: " if self.run else ""
        self.query_one("#choice", Static).update(
            f"{number}{self._plan.title}\nmade for: {self._named(target) if target else 'no print'}"
        )
        sheet = self.query_one("#sheet", Sheet)
        ways = self._ways()
        rows, judged = (self._area_rows(self._way(ways)), self._judged(ways)) if ways else ([], self._alone())
        says = [self.says] if self.says else judged
        width, choice = self.size.width, str(self.query_one("#choice", Static).content).split("\n")
        left = self.query_one("#body").size.height - len(rows) - sum(lines_of(line, width) for line in choice)
        # what is said goes before the drawing; a small screen has the areas instead
        room = left - sum(lines_of(line, width) for line in says)
        sheet.display = room >= LEAST_DRAWN if self.places.areas else True
        left -= LEAST_DRAWN if sheet.display else 0
        sheet.show(self._plan)
        hands = self.query_one("#hands", Static)
        hands.styles.max_height = max(3, left)
        self.query_one("#rows", Static).update("\n".join(rows))
        hands.update("\n".join(whole(says, width, max(3, left))))
        self._foot(ways)

    def _named(self, target: Job) -> str:
        """The print that the test was made for, and how the enlarger stands for it; in a row of a wide screen."""
        place = described(target.recipe) if target.recipe and self.size.width >= WIDE else ""
        text = ", ".join(part for part in (target.plan.title, place) if part)
        room = self.size.width - len("made for: ")
        return cut(text, room)

    def _alone(self) -> list[str]:
        """What one patch says of the whole print."""
        last = 2 * (len(self._plan.patches) - 1)
        place, says = self.places.base, [f"Which patch was right?  {place_name(self.places.base)}: {self._of(self._pick)}"]
        if self._by_time and place == 0:
            says.append("all too dark? make the next strip one or two stops shorter")
        elif self._by_time and place == last:
            says.append("all too light? make the next strip one or two stops longer")
        if not self.job.made_for and not self._split:
            says.append("e: a new recipe with it as the base")
        if self._by_time and self._plan.paper != "ra4" and not self._split:
            says.append("g: a strip of a second grade over it")
        return says

    def _of(self, pick: Pick) -> str:
        if pick.pack:
            return f"{pick.pack}, {listed(pick.seconds)} s"
        if pick.dry_down is not None:
            return f"{pick.dry_down:g} % less, {listed(pick.seconds)} s"
        stops = Fraction(stops_between(self._plan.patches[0].seconds, pick.seconds)).limit_denominator(24)
        over = f" ({pick.split})" if pick.split else ""
        return f"{listed(pick.seconds)} s, {format_stops(stops, signed=True)} stop from patch 1{over}"

    def _area_rows(self, way: Way) -> list[str]:
        """Each area with its place and what it becomes, the base below."""
        local = {each.area: ("dodge", each) for each in way.dodges} | {each.area: ("burn", each) for each in way.burns}
        wide = 16 if self.size.width >= WIDE else 10
        rows = []
        for n, name in enumerate(self.places.names):
            place = place_text(self.places.at(n))
            if n == len(self.places.areas):
                place = place if self.places.base_counts else "-"
                does = f"as {way.as_base[0]}"[:13] if way.as_base and not self.places.base_counts else ""
                seconds = way.base_s
            elif name in local:
                word, each = local[name]
                does, seconds = f"{word} {format_stops(each.stops, signed=True)}", each.seconds
            else:
                does, seconds = "as the base", way.base_s
            mark = ">" if n == self.at else " "
            rows.append(f"{mark} {fitted(name, wide)} {place:4} {does:13} {digits(seconds):>6} s")
        return ["", *rows]

    def _judged(self, ways: tuple[Way, ...]) -> list[str]:
        """The way that is chosen, what is hard about it, and what else there is."""
        chosen = self._way(ways)
        easier = " (easier)" if len(ways) > 1 and chosen is ways[0] else ""
        says = ["", f"{WAYS[chosen.how]}{easier}: {_hands(chosen)}"]
        says += [f"- {conflict}" for conflict in chosen.conflicts]
        for other in ways:
            if other is not chosen:
                hard = len(other.conflicts)
                against = f", {hard} conflict{'s' if hard > 1 else ''}" if hard else ""
                says.append(f"w: {WAYS[other.how]}: base {digits(other.base_s)} s, {_hands(other)}{against}")
        found = self.places.read(self._plan)
        return says + [f"- {note}" for note in at_an_end(found.areas, len(self._plan.patches))]

    def _foot(self, ways: tuple[Way, ...]) -> None:
        if self.entry:
            choose = f"   up down: {', '.join(self.known)}" if self.known else "   an underscore writes a space"
            return self.next_action(self.entry_foot(choose)[: 2 * self.size.width])
        what = self._what_of(self._way(ways)) if ways else self._what(self._pick)
        if self.context.paper_out:
            return self.next_action("PAPER IS OUT: to be read only, nothing is written\nup down left right   q: back")
        if self.leaving:
            return self.next_action(NOT_WRITTEN)
        solve = "s: solve   " if self._can_solve else ""
        if not self._by_time and self.size.width < WIDE:
            return self.next_action(f"Enter: {what[: self.size.width - 7]}\n<-> patch  {solve}q later")
        if not self._by_time:
            return self.next_action(f"Enter: {what}\nleft right: choose   {solve}q: leave it to read")
        if self.size.width < WIDE:
            keys = "a area  w way  u undo  q later" if self.places.areas else f"a area  <-> patch  {solve}q later"
            return self.next_action(f"Enter: {what[: self.size.width - 7]}\n{keys}")
        keys = f"a: area   left right: patch   u: undo   {solve}q: leave it to read"
        if self.places.areas:
            way = "w: way  " if len(ways) > 1 else ""
            keys = f"a: area  x: less  up down left right  {way}u: undo  q: leave it to read"
        return self.next_action(f"Enter: {what}\n{keys}")

    def _what(self, pick: Pick) -> str:
        """What Enter writes, and where."""
        target = self.job.made_for
        if target is None:
            if pick.split:
                return (
                    f"write {digits(pick.split.first_s)} s and {digits(pick.seconds)} s as a new recipe: its name is asked"
                )
            if pick.pack and self._can_solve:
                return f"{place_name(self.places.base)} is right: on to a recipe of it"
            return f"take {pick.seconds:.1f} s as the middle of the next strip; it was made for no print"
        if pick.pack:
            return f"{pick.pack}, {pick.seconds:.1f} s as a recipe {beside(target)}"
        if pick.dry_down is not None:
            return f"dry-down {pick.dry_down:g} % into {into(target)}"
        if pick.split:
            return f"take {digits(pick.split.first_s)} s and {digits(pick.seconds)} s into {into(target)}"
        return f"take {pick.seconds:.1f} s as the base of {into(target)}"

    def _what_of(self, way: Way) -> str:
        target = self.job.made_for
        if target is None:
            return f"write it as a new recipe, base {digits(way.base_s)} s: its name is asked"
        recipe = target.recipe
        old = f"{digits(recipe.base_s)} to " if recipe and not self._split else ""
        base = "second" if self._split else "base"
        return f"write it {beside(target)}: {base} {old}{digits(way.base_s)} s"

    # ── keys ─────────────────────────────────────────────────────────────────

    def _act(self, key: str) -> bool:
        if key in ("q", "escape"):
            return False  # to leave
        self.says = ""
        out, count = self.context.paper_out, len(self.places.names)
        match key:
            case "left" | "right":
                self._move(1 if key == "right" else -1)
            case "up" | "down":
                self.at = (self.at + (1 if key == "down" else -1)) % count
            case _ if key.isdigit() and 1 <= int(key) <= len(self._plan.patches):
                self._change(self.places.put(self.at, 2 * (int(key) - 1)))
            case "u" if self.before:
                self.places = self.before.pop()
                self.at = min(self.at, len(self.places.names) - 1)
            case "u":
                self.says = "nothing more to take back"
            case "x" if self.places.areas:
                self._change(self.places.removed(self.at))
                self.at = min(self.at, len(self.places.names) - 1)
            case "w" if self.places.areas:
                self._turn()
            case "a" | "g" | "e" | "enter" if out:
                self.context.report("paper is out: cover it first")
            case "a" if self._by_time:
                self._ask_area()
            case "e" if not self.job.made_for and not self._split:
                self.context.show("edit", None, empty(self._plan.paper, self._pick.seconds))
            case "s" if self._can_solve:
                self.context.show("solve", self.job, self.run)
            case "g" if self._by_time and self._plan.paper != "ra4" and not self._split:
                self._ask_grades()
            case "enter":
                self._write()
            case _:
                return False
        return True

    def _move(self, by: int) -> None:
        last = 2 * (len(self._plan.patches) - 1)
        step = 1 if self._by_time else 2
        self._change(self.places.put(self.at, max(0, min(last, self.places.at(self.at) + step * by))))

    def _change(self, places: Places) -> None:
        if places != self.places:
            self.before.append(self.places)
            self.places = places

    def _turn(self) -> None:
        """To the other way to print it."""
        ways = self._ways()
        if ways:
            at = [way.how for way in ways].index(self._way(ways).how)
            self.how = ways[(at + 1) % len(ways)].how

    # ── typing ───────────────────────────────────────────────────────────────

    def _ask(self, what: str, take: Callable[[str], None], known: tuple[str, ...] = ()) -> None:
        self.known = known
        self.ask(what, lambda text: self._taken(take, text), most=LONGEST_NAME)

    def _typed(self, key: str) -> None:
        assert self.entry
        if self.context.paper_out:
            self._end_entry()
        elif key in ("up", "down") and self.known:
            at = self.known.index(self.entry.text) if self.entry.text in self.known else -1 if key == "down" else 0
            text = self.known[(at + (1 if key == "down" else -1)) % len(self.known)]
            self.entry = replace(self.entry, text=text)
        else:
            super()._typed(key)

    def _taken(self, take: Callable[[str], None], text: str) -> None:
        if text:
            take(text)

    def _ask_area(self) -> None:
        """A name, typed, or one of the print's own areas that is not read yet."""
        target = self.job.made_for
        known = areas_of(target.recipe) if target and target.recipe else ()
        read = (*self.places.names, WHOLE, "edges")
        self._ask("area", self._add, tuple(area for area in known if area not in read))

    def _add(self, name: str) -> None:
        self._change(self.places.added(name))
        self.at = len(self.places.areas) - 1

    def _for_new(self, name: str) -> None:
        self.job = made_for_new(self.job, name)
        self._ask_grades()

    def _ask_grades(self) -> None:
        target = self.job.made_for
        if target is None:
            return self._ask("name of the print, or its negative", self._for_new)
        first = filters_text(target.recipe.filters) if target.recipe else ""
        what = f"second grade over {first}, like 5" if first else "first and second grade, like 00, 5"
        return self._ask(what, self._second)

    def _second(self, text: str) -> None:
        """On to the strip of the second grade, over this one's time through the first."""
        job = self.job.made_for
        assert job and job.recipe
        first, _, last = text.rpartition(",")
        under = job.recipe.filters if filters_text(job.recipe.filters) and not first else read_filters(first, Filters())
        over = read_filters(last, Filters())
        if not (filters_text(under) and filters_text(over)) or under == over:
            raise ValueError(f"two different grades are needed, like 00, 5; {text!r} is none such")
        self.context.show("test sheet", job, Split(under, self._pick.seconds, over), self.run)

    # ── what is written ──────────────────────────────────────────────────────

    def _write(self) -> None:
        ways = self._ways()
        if self.job.made_for:
            try:
                return self._written(self.job)
            except LamphouseError as error:
                return self.context.report(str(error))
        if self._pick.pack and self._can_solve:
            return self._right()
        if ways or self._split:
            return self._ask("name of the print, or its negative", lambda name: self._written(made_for_new(self.job, name)))
        context = self.context
        count = context.choice.patches
        first = self._pick.seconds / 2 ** (float(context.choice.step) * (count - 1) / 2)
        context.choice = replace(context.choice, seconds=first)
        return context.go_back()

    def _right(self) -> None:
        """Made for no print: the pack that was right is kept as a look, and the page of packs makes a recipe of it."""
        try:
            look = self.context.darkroom.book.right(self.run, self.places.base // 2 + 1, self.job)
        except LamphouseError as error:
            return self.context.report(str(error))
        return self.context.show("solve", self.job, self.run, (look,) if look else ())

    def _written(self, test: Job) -> None:
        """Write what was read for ``test``, and go on to it. LamphouseError when it cannot be."""
        context, ways = self.context, self._ways()
        if ways:
            context.chosen = context.darkroom.book.take_way(test, self._way(ways), self.run)
        else:
            patch = 0 if self.places.base % 2 else self.places.base // 2 + 1  # one between two was not seen
            context.chosen = context.darkroom.book.take(test, self._pick, self.run, patch)
        context.to_chosen = True
        return context.go_back()


def _hands(way: Way) -> str:
    return f"{way.changes} change{'' if way.changes == 1 else 's'} of the hands, {digits(way.light_s)} s of light"

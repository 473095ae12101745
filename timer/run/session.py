"""A session: one run from its entry in the notebook to its end, on one keeper.

One queue takes what the printer, the keeper and the notebook say; the reducer decides; this carries its effects
out. The notebook is written on its own thread, and every edge the keeper reports is noted, whatever the run's state.
"""

import contextlib
import queue
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from timer.craft.lamp_response import INSTANT, LampResponse, Order, order
from timer.errors import KeeperError, LamphouseError, Refused
from timer.keeper.claim import Claim
from timer.keeper.config import Config
from timer.keeper.host.client import Heard, Keeper, Lost, Missed
from timer.keeper.host.open import open_keeper
from timer.keeper.local.memory import memory_file, recollect
from timer.keeper.runtime import runtime_dir
from timer.keeper.wire import messages
from timer.keeper.wire.messages import EndReason
from timer.notebook.light import COMPLETE, LATE, NOT_LIT, Light, full_seconds
from timer.notebook.rows import ExposureRow, new_row
from timer.notebook.store import Notebook, claim_key
from timer.notebook.writer import Writer
from timer.plans.limits import check_limits
from timer.plans.model import Plan
from timer.run import evidence, states
from timer.run.cues import Cued, from_keeper, to_keeper
from timer.run.resume import LightGiven
from timer.run.transition_log import TransitionLog

HANDS_S = 0.5
"""From a light's end, or the word that the paper is in, to the next "ready" at the least: so long no press gives light.

A hand or a foot answers to a sound or a sight after 0.2 to 0.4 s (common practice), so what comes sooner was not meant
for this exposure. It holds for every press there is, since the keeper is not armed before.
"""
LATE_S = 1.0
PROGRESS_S = 0.25
"""How often what is certain goes to disk while it is lit, for the case that the power goes."""
LIGHT_POSSIBLE = (states.State.ARMED, states.State.LIT, states.State.DARKENING)
Show = Callable[[states.Run, states.Event | Cued], None]


@dataclass(frozen=True)
class Result:
    """How a run ended, and every exposure it made."""

    run: int
    state: states.State
    says: str
    exposures: tuple[ExposureRow, ...]
    response: LampResponse = INSTANT


@dataclass(frozen=True)
class _Ordered:
    """The exposure at hand: its row, the step's light before it, and when it was lit by the keeper's clock and ours."""

    row: ExposureRow
    asked: Order
    skip: float
    lit_us: int = 0
    lit_at: float = 0.0
    settled: bool = False
    dropped: bool = False  # by the keeper itself, without light


class Session:
    """``show`` is told of every change and cue. ``auto`` presses by itself that many seconds after each arming.

    ``keeper`` is one that runs already, else one is started for this run. With ``held`` nothing is armed until
    ``begin``; the footswitch is heard meanwhile, and shown as Press, as it is while the sheet is in its box. The run is
    written when the box is opened (``open_box``), or at the latest when it begins: a page that is only looked at leaves no
    trace. ``looks``: as a Run's.
    """

    def __init__(
        self,
        plan: Plan,
        notebook: Notebook,
        config: Config,
        response: LampResponse,
        show: Show,
        *,
        auto: float | None = None,
        recipe: str = "",
        continues: int | None = None,
        made_for: str = "",
        keeper: Keeper | None = None,
        held: bool = False,
        looks: bool = False,
        hands_s: float = HANDS_S,
    ) -> None:
        check_limits(plan, config.ceiling_us / 1e6, response)
        self._run = states.Run(plan, looks)
        self._notebook, self._config, self._response, self._show, self._auto = notebook, config, response, show, auto
        self._recipe, self._continues, self._made_for = recipe, continues, made_for
        self._inbox: queue.SimpleQueue[states.Event | Heard | Callable[[], None]] = queue.SimpleQueue()
        self._shared_keeper, self._keeper, self._held = keeper, keeper, held
        self._ordered: _Ordered | None = None
        self._id = 0
        self._says = ""
        self._made: dict[int, ExposureRow] = {}
        self._progress_at = 0.0
        self._hands_s, self._hands_until = hands_s, 0.0
        self._noted: states.Noted | None = None  # written already, and told when the hands have had their moment
        self._claim: Claim | None = None
        self._log: TransitionLog | None = None

    @property
    def number(self) -> int:
        """The sheet's number in the notebook; 0 before it has one."""
        return self._id

    # ── what the printer does; from any thread, and from signal handlers ─────

    def open_box(self) -> None:
        """A sheet is about to be taken out for this run."""
        self._inbox.put(self._begin_run)

    def begin(self) -> None:
        self._inbox.put(self._begin_run)
        self._inbox.put(states.Begin())

    def press(self, number: int | None = None) -> None:
        """For exposure ``number``, or for the one at hand."""
        self._inbox.put(states.Press(number))

    def dark_now(self) -> None:
        self._halt_at_once()
        self._inbox.put(states.DarkNow())

    def leave(self, why: str = "stopped by you") -> None:
        self._halt_at_once()
        self._inbox.put(states.Leave(why))

    def to_box(self) -> None:
        """The sheet is to go into its box for a while: nothing is armed till it is ``in_easel`` again.

        A light that is on goes on, as the table has it: so nothing is halted here.
        """
        self._inbox.put(states.ToBox())

    def in_easel(self) -> None:
        self._inbox.put(states.InEasel())

    def _halt_at_once(self) -> None:
        if self._keeper:
            self._keeper.halt_at_once()

    # ── the loop ─────────────────────────────────────────────────────────────

    def go(self) -> Result:
        """Carry the plan out. Raises before any light if keeper or notebook fail; after that the result says it."""
        with self._kept_or_started() as keeper:
            check_limits(self._run.plan, min(self._config.ceiling_us, keeper.hello.ceiling_us) / 1e6, self._response)
            self._keeper = keeper
            self._log = TransitionLog(Path(self._config.state_dir))
            self._writer = Writer(lambda error: self._inbox.put(states.Failed(f"{error}; no more light is given")))
            if not self._held:
                self.begin()
            try:
                while self._run.state not in states.OVER:
                    self._take(self._inbox.get, self._wait())
                self._drain(keeper)
            except BaseException as error:
                keeper.halt_at_once()
                self._end(states.State.FAILED, f"stopped by an error: {error!r}")
                raise
            finally:
                self._writer.finish()
                self._log.close()
                if self._claim:
                    self._claim.close()
        return Result(self._id, self._run.state, self._says, tuple(self._made.values()), self._response)

    def _begin_run(self) -> None:
        if self._id:
            return
        if self._claim is None:
            with contextlib.suppress(OSError):  # a page of this program, or another run, has it already
                self._claim = Claim(claim_key(self._notebook.path))
        r = self._response
        self._id = self._notebook.begin_run(
            self._run.plan,
            recipe=self._recipe,
            lamp=self._config.lamp,
            lamp_at=self._config.port if self._config.lamp == "controller" else str(self._memory_file),
            response=(r.delay, r.rise, r.less, r.recovery),
            continues=self._continues,
            made_for=self._made_for,
        )

    @property
    def _memory_file(self) -> Path:
        return memory_file(runtime_dir(), self._config.lamp_key)

    @contextmanager
    def _kept_or_started(self) -> Iterator[Keeper]:
        if not self._shared_keeper:
            with open_keeper(self._config, self._inbox.put) as keeper:
                yield keeper
            return
        before, self._shared_keeper.listen = self._shared_keeper.listen, self._inbox.put
        try:
            yield self._shared_keeper
        finally:
            self._shared_keeper.listen = before

    def _take(self, get: Callable[..., states.Event | Heard | Callable[[], None]], wait: float | None) -> None:
        said: states.Event | Heard | Callable[[], None]
        try:
            said = get(timeout=wait)
        except queue.Empty:
            said = self._nothing_came()
        if isinstance(said, messages.Event | Missed | Lost):
            event = self._from_keeper(said)
        elif isinstance(said, states.Event):
            event = said
        else:
            said()
            return
        if isinstance(event, states.Noted) and time.monotonic() < self._hands_until:
            self._noted = event
            return
        if event is None:
            return
        before = self._run
        self._run, effects = states.reduce(self._run, event)
        if self._run is not before or effects:
            if self._log:
                self._log.note(self._id, before, event, self._run, effects)
            self._show(self._run, event)
        for effect in effects:
            self._carry_out(effect)

    def _wait(self) -> float | None:
        """How long nothing may come before something is done about it."""
        if self._noted:
            return max(0.0, self._hands_until - time.monotonic())
        if self._run.state is states.State.ARMED and self._auto is not None:
            return self._auto
        if self._run.state in (states.State.LIT, states.State.DARKENING) and self._ordered:
            on_us = self._ordered.row.ordered_us
            longest = 2 * on_us + 1_000_000 if self._by_light else on_us
            left = longest / 1000 / self._config.speed_permille - (time.monotonic() - self._ordered.lit_at)
            return min(PROGRESS_S, max(0.0, left) + LATE_S)
        return None

    def _nothing_came(self) -> states.Event | Heard | Callable[[], None]:
        if self._noted:
            noted, self._noted = self._noted, None
            return noted
        if self._run.state is states.State.ARMED:
            return states.Press()
        assert self._ordered
        on_us = self._ordered.row.ordered_us
        longest = 2 * on_us + 1_000_000 if self._by_light else on_us
        if time.monotonic() - self._ordered.lit_at < longest / 1000 / self._config.speed_permille + LATE_S:
            return self._note_what_is_certain
        return Missed()  # the keeper should have said "dark" by now: its word was lost on the link, its record was not

    def _note_what_is_certain(self) -> None:
        """The keeper's last answer said that it is lit: so much light there was, whatever comes."""
        assert self._keeper and self._ordered
        lit, now_us = self._keeper.last_seen
        if lit and self._ordered.lit_us and now_us > self._ordered.lit_us:
            self._note_progress(now_us - self._ordered.lit_us)

    # ── effects ──────────────────────────────────────────────────────────────

    def _carry_out(self, effect: states.Effect) -> None:
        keeper, step = self._keeper, self._run.at
        assert keeper
        try:
            match effect:
                case states.NoteIntent(number, index, seconds):
                    assert step
                    asked = order(seconds, self._response)
                    row = new_row(self._id, number, index, step.area, seconds, asked.on_us)
                    self._ordered = _Ordered(row, asked, self._run.given)
                    self._note_intent(row)
                case states.Arm(_, _, skip) | states.Fire(_, _, skip):
                    assert step and self._ordered
                    cues = to_keeper(step, skip, self._response)
                    self._expose(keeper, effect.seconds, cues, now=isinstance(effect, states.Fire))
                case states.Halt(number):
                    self._settle(keeper, number)
                case states.Close(state, says):
                    self._end(state, says)
        except Refused as error:
            # The pedal may have fired in the moment before Enter did: then it is lit or given, and that is no failure.
            if not isinstance(effect, states.Fire):
                self._inbox.put(states.Failed(str(error)))
        except KeeperError as error:
            if not isinstance(effect, states.Halt):  # a lost link is told by the client's own Lost as well
                self._inbox.put(states.Failed(str(error)))

    def _expose(self, keeper: Keeper, seconds: float, cues: tuple[tuple[int, int], ...], *, now: bool) -> None:
        """By time; or, with a calibrated light sensor in the lamp house, by light, twice the time at the most."""
        assert self._ordered
        row = self._ordered.row
        if self._by_light:
            longest = min(2 * row.ordered_us + 1_000_000, self._config.ceiling_us)
            counts = round(seconds * self._config.counts_per_s)
            keeper.dose(row.name, counts, longest, self._config.mains_half_cycle_us, cues, now=now)
        else:
            asked = self._ordered.asked
            keeper.expose(row.name, asked.on_us, cues, now=now, less_us=asked.less_us, recovery_us=asked.recovery_us)

    @property
    def _by_light(self) -> bool:
        return self._config.lamp == "controller" and self._config.counts_per_s > 0

    def _settle(self, keeper: Keeper, number: int) -> None:
        """Dark, and the keeper's word on the light there was: from its record, in case its own event was lost."""
        keeper.halt()
        if self._ordered and not self._ordered.settled:
            record = keeper.record(self._ordered.row.name)
            if record.known and record.off_us:
                self._inbox.put(_as_dark(record))
            elif not record.known and (self._ordered.dropped or (not self._ordered.lit_us and self._up_since_noted(keeper))):
                self._book(Light(0, 0, NOT_LIT))
            elif not record.known:
                self._inbox.put(self._forgotten(record))
                return
        self._inbox.put(states.Settled(number))

    def _note_intent(self, row: ExposureRow) -> None:
        self._made[row.number] = row
        self._hands_until = time.monotonic() + self._hands_s
        self._noted = None
        self._writer.submit(
            lambda: self._notebook.intend(row),
            lambda: self._inbox.put(states.Noted(row.number)),
        )

    def _end(self, state: states.State, says: str) -> None:
        self._says = says
        if not self._id:
            return  # it never began: nothing was written, and nothing is
        name = {states.State.FINISHED: "finished", states.State.STOPPED: "stopped"}.get(state, "failed")
        self._writer.submit(lambda: self._notebook.end_run(self._id, name, says))

    def _drain(self, keeper: Keeper) -> None:
        """The run is over; what the keeper still says of light is noted all the same."""
        with contextlib.suppress(LamphouseError):
            keeper.halt()
        while True:
            try:
                said = self._inbox.get_nowait()
            except queue.Empty:
                return
            if isinstance(said, messages.Event | Missed | Lost):
                self._from_keeper(said)

    # ── what the keeper says ─────────────────────────────────────────────────

    def _from_keeper(self, said: Heard) -> states.Event | None:
        match said:
            case messages.Lit(name, at_us, _, by_pedal) if self._is_ours(name):
                assert self._ordered
                self._ordered = replace(self._ordered, lit_us=at_us, lit_at=time.monotonic())
                self._note_progress(0)
                return states.Lit(by_pedal)
            case messages.Dark(name) if self._is_ours(name):
                return self._dark(said)
            case messages.Disarmed(name, why) if self._is_ours(name):
                # Not booked yet: an Arm that was sent again may have armed it anew. The Halt that follows makes it certain.
                assert self._ordered
                self._ordered = replace(self._ordered, dropped=True)
                return states.Disarmed(EndReason(why).name.lower())
            case messages.CueEvent(name, at_us, code) if self._is_ours(name):
                step = self._run.at
                assert step and self._ordered
                self._note_progress(at_us)
                self._show(self._run, from_keeper(step, self._ordered.skip, at_us, code, self._response))
            case messages.Pedal(messages.Press.DOWN, _):
                # Armed exposures are fired by the keeper itself; here a press only asks for the next thing.
                if self._run.state in (states.State.READY, states.State.BOXED):
                    self._show(self._run, states.Press())
                return states.Press() if self._run.state is states.State.PAUSED else None
            case messages.Pedal(messages.Press.HOLD, _):
                if self._run.state in (states.State.READY, states.State.PAUSED, states.State.BOXED):
                    self._show(self._run, states.DarkNow())
                return states.DarkNow()
            case messages.Fault(text):
                return states.Failed(text)
            case Missed():
                return self._ask_again()
            case Lost():
                return self._lost(said)
        return None

    def _dark(self, dark: messages.Dark) -> states.Event | None:
        """The light's end, from the keeper's event or its record: whichever comes first is booked, once."""
        assert self._ordered
        if self._ordered.settled:
            return None
        row = self._ordered.row
        if self._by_light:
            # What was ordered in time is only the longest it may take; what counts is what the sensor saw.
            light = replace(evidence.from_dark(dark, dark.ordered_us), cut_us=0)
            dose = dark.counts / self._config.counts_per_s
        else:
            light, dose = evidence.from_dark(dark, row.ordered_us), None
        self._book(light, dose)
        given, _ = full_seconds(light, self._response, dose)
        return states.Dark(given, light.why == COMPLETE, light.why, light.why == LATE)

    def _ask_again(self) -> states.Event | None:
        """Words were lost on the link: the keeper's record says what became of the exposure at hand."""
        if self._run.state not in LIGHT_POSSIBLE or not self._ordered or self._ordered.settled or not self._keeper:
            return None
        try:
            record = self._keeper.record(self._ordered.row.name)
        except LamphouseError:
            return None  # the client notices a mute keeper by itself, and says Lost
        if record.known and record.off_us:
            return self._dark(_as_dark(record))
        if record.known and self._run.state is states.State.ARMED:
            self._ordered = replace(self._ordered, lit_us=record.on_us, lit_at=time.monotonic())
            self._note_progress(0)
            return states.Lit()
        if not record.known and self._ordered.lit_us:
            return self._forgotten(record)
        # Not lit. Whether it is still armed, only arming it anew makes certain: one press more does that.
        return states.DarkNow() if self._run.state is states.State.ARMED else None

    def _up_since_noted(self, keeper: Keeper) -> bool:
        """The keeper has not been without power since the exposure at hand was noted: what it does not know never was."""
        assert self._ordered
        noted_ns = self._ordered.row.noted_ns
        return noted_ns is not None and (time.monotonic_ns() - noted_ns) // 1000 < keeper.now_us()

    def _forgotten(self, record: messages.ExposureRecord) -> states.Event:
        """It said that it was lit, and now knows nothing of it: the keeper has been without power since."""
        assert self._ordered
        row = self._made[self._ordered.row.number]
        light = evidence.of_record(record, row, up_since_noted=False)
        return self._ended_unseen("the keeper was without power for a moment, and has forgotten the light it gave", light)

    def _lost(self, lost: Lost) -> states.Event:
        """The keeper is gone. What the paper had is what is certain and what is possible, never a guess between."""
        ordered, light = self._ordered, None
        if ordered and not ordered.settled and self._run.state in LIGHT_POSSIBLE:
            row = self._made[ordered.row.number]
            if self._config.lamp == "controller":
                light = evidence.of_unheard(lost, ordered.lit_us, row, ordered.asked.less_us)
            else:
                light = evidence.of_lost_local(recollect(self._memory_file), row.name, row)
        return self._ended_unseen(lost.text, light)

    def _ended_unseen(self, text: str, light: Light | None) -> states.Event:
        """The run ends here; ``light`` is what is known of an exposure whose end nobody saw, if there is one."""
        step = self._run.at
        exposures = [n for n, each in enumerate(self._run.plan.steps) if each.do == "expose"]
        done = exposures.index(self._run.step) if step else 0
        before = f"{done} of {len(exposures)} exposures were given in full" if done else ""
        if not step or (self._run.state not in LIGHT_POSSIBLE and not self._run.given):
            return states.Failed("; ".join(filter(None, (text, before or "the paper had no light"))), 0.0)
        low = 0.0
        most: float | None = self._run.given
        if light:
            self._book(light)
            low, high = full_seconds(light, self._response)
            most = None if high is None else self._run.given + high
        had = LightGiven(self._run.step, self._run.given + low, most).text()
        parts = (text, before, f"{step.area} had {had} s of {step.seconds:.2f} s: what is missing can be given later")
        return states.Failed("; ".join(filter(None, parts)), low)

    def _note_progress(self, seen_us: int) -> None:
        """A few times a second at most: what is certain if the power goes."""
        assert self._ordered
        if seen_us and time.monotonic() - self._progress_at < PROGRESS_S * 0.9:
            return
        self._progress_at = time.monotonic()
        number = self._ordered.row.number
        self._made[number] = replace(self._made[number], lit=True, seen_us=max(seen_us, self._made[number].seen_us))
        self._writer.submit(lambda: self._notebook.progress(self._id, number, seen_us))

    def _book(self, light: Light, dose_s: float | None = None) -> None:
        assert self._ordered
        number = self._ordered.row.number
        self._ordered = replace(self._ordered, settled=True)
        self._made[number] = replace(
            self._made[number],
            lit=light.high_us != 0,
            low_us=light.low_us,
            high_us=light.high_us,
            why=light.why,
            dose_s=dose_s,
            cut_us=light.cut_us,
        )
        self._writer.submit(
            lambda: self._notebook.fact(self._id, number, light.low_us, light.high_us, light.why, dose_s, light.cut_us)
        )

    def _is_ours(self, name: int) -> bool:
        return self._ordered is not None and name == self._ordered.row.name


def _as_dark(record: messages.ExposureRecord) -> messages.Dark:
    return messages.Dark(record.exposure, record.ordered_us, record.on_us, record.off_us, record.why, record.counts)

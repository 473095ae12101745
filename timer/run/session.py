"""A session: one run from its entry in the notebook to its end, on one keeper.

One queue takes what the printer, the keeper and the notebook say; the reducer decides; this carries its effects
out. The notebook is written on its own thread, and every edge the keeper reports is noted, whatever the run's state.
"""

import contextlib
import queue
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from timer.craft.lamp_response import INSTANT, LampResponse
from timer.errors import KeeperError, LamphouseError, Refused
from timer.keeper.claim import Claim
from timer.keeper.config import Config
from timer.keeper.host.client import Heard, Keeper, Lost, Missed
from timer.keeper.host.open import open_keeper
from timer.keeper.local.memory import memory_file
from timer.keeper.runtime import runtime_dir
from timer.keeper.wire import messages
from timer.notebook import in_use
from timer.notebook.rows import ExposureRow
from timer.notebook.store import Notebook
from timer.notebook.writer import Writer
from timer.plans.limits import check_limits
from timer.plans.model import Plan
from timer.run import states
from timer.run.cues import to_keeper
from timer.run.exposures import PROGRESS_S, Exposures
from timer.run.hearing import Hearing, Show
from timer.run.transition_log import TransitionLog

HANDS_S = 0.5
"""From a light's end, or the word that the paper is in, to the next "ready" at the least: for so long no press gives light.

A hand or a foot answers to a sound or a sight after 0.2 to 0.4 s (common practice), so what comes sooner was not meant
for this exposure. It holds for every press there is, since the keeper is not armed before.
"""
LATE_S = 1.0


@dataclass(frozen=True)
class Result:
    """How a run ended, and every exposure it made."""

    run: int
    state: states.State
    says: str
    exposures: tuple[ExposureRow, ...]
    response: LampResponse = INSTANT


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
        head: str = "",
        keeper: Keeper | None = None,
        held: bool = False,
        looks: bool = False,
        hands_s: float = HANDS_S,
    ) -> None:
        check_limits(plan, config.ceiling_us / 1e6, response)
        self._run = states.Run(plan, looks)
        self._notebook, self._config, self._response, self._show, self._auto = notebook, config, response, show, auto
        self._recipe, self._continues, self._made_for, self._head = recipe, continues, made_for, head
        self._inbox: queue.SimpleQueue[states.Event | Heard | Callable[[], None]] = queue.SimpleQueue()
        self._shared_keeper, self._keeper, self._held = keeper, keeper, held
        self._id = 0
        self._says = ""
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
        """Arm the first exposure; the run is written first, if it is not yet. From any thread or signal handler."""
        self._inbox.put(self._begin_run)
        self._inbox.put(states.Begin())

    def press(self, number: int | None = None) -> None:
        """For exposure ``number``, or for the one at hand."""
        self._inbox.put(states.Press(number))

    def dark_now(self) -> None:
        """Dark: in the middle of light this is a pause, and the rest can be given later. From any thread or signal
        handler."""
        self._halt_at_once()
        self._inbox.put(states.DarkNow())

    def leave(self, why: str = "stopped by you") -> None:
        """Dark, and the run ends; ``why`` is what its result says. From any thread or signal handler."""
        self._halt_at_once()
        self._inbox.put(states.Leave(why))

    def to_box(self) -> None:
        """The sheet is to go into its box for a while: nothing is armed till it is ``in_easel`` again.

        A light that is on goes on, as the table has it: so nothing is halted here.
        """
        self._inbox.put(states.ToBox())

    def in_easel(self) -> None:
        """The printer's word that the sheet lies in the easel again; only after ``to_box`` it says something."""
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
            self._exposures = Exposures(self._notebook, self._writer, self._response)
            self._hearing = Hearing(keeper, self._config, self._response, self._exposures, self._show)
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
        state, says = self._kept(self._run.state, self._says)
        return Result(self._id, state, says, tuple(self._exposures.made.values()), self._response)

    def _kept(self, state: states.State, says: str) -> tuple[states.State, str]:
        """How the run is to be called: never finished, as long as the notebook does not say so too."""
        if state is states.State.FINISHED and self._writer.error:
            return states.State.FAILED, f"every exposure was given, but it is not written: {self._writer.error}"
        return state, says

    def _begin_run(self) -> None:
        if self._id:
            return
        if self._claim is None:
            self._claim = in_use.take_place(self._notebook.path)
        r = self._response
        self._id = self._notebook.begin_run(
            self._run.plan,
            recipe=self._recipe,
            lamp=self._config.lamp,
            lamp_at=self._config.port if self._config.lamp == "controller" else str(self._memory_file),
            response=(r.delay, r.rise, r.less, r.recovery),
            continues=self._continues,
            made_for=self._made_for,
            head=self._head,
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
            event = self._heard(said)
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

    def _heard(self, said: Heard) -> states.Event | None:
        try:
            return self._hearing.event(said, self._run)
        except KeeperError:
            self._inbox.put(Missed())  # the answer was lost as well; of a mute keeper the client says Lost by itself
            return None

    def _wait(self) -> float | None:
        """How long nothing may come before something is done about it."""
        if self._noted:
            return max(0.0, self._hands_until - time.monotonic())
        if self._run.state is states.State.ARMED and self._auto is not None:
            return self._auto
        if self._run.state in (states.State.LIT, states.State.DARKENING) and self._exposures.at_hand:
            return min(PROGRESS_S, max(0.0, self._dark_at - time.monotonic()) + LATE_S)
        return None

    @property
    def _dark_at(self) -> float:
        """When the exposure at hand must be dark, by time.monotonic."""
        assert self._exposures.at_hand
        return self._exposures.at_hand.is_over_at(self._config.speed_permille, by_light=self._hearing.by_light)

    def _nothing_came(self) -> states.Event | Heard | Callable[[], None]:
        if self._noted:
            noted, self._noted = self._noted, None
            return noted
        if self._run.state is states.State.ARMED:
            return states.Press()
        if time.monotonic() < self._dark_at + LATE_S:
            return self._note_what_is_certain
        return Missed()  # the keeper should have said "dark" by now: its word was lost on the link, its record was not

    def _note_what_is_certain(self) -> None:
        """The keeper's last answer said that it is lit: so much light there was, whatever comes."""
        assert self._keeper and self._exposures.at_hand
        lit, now_us = self._keeper.last_seen
        lit_us = self._exposures.at_hand.lit_us
        if lit and lit_us and now_us > lit_us:
            self._exposures.seen(now_us - lit_us)

    # ── effects ──────────────────────────────────────────────────────────────

    def _carry_out(self, effect: states.Effect) -> None:
        keeper, step = self._keeper, self._run.at
        assert keeper
        try:
            match effect:
                case states.NoteIntent(number, index, seconds):
                    assert step
                    self._hands_until = time.monotonic() + self._hands_s
                    self._noted = None
                    self._exposures.intend(
                        self._id, number, index, step.area, seconds, self._run.given,
                        lambda: self._inbox.put(states.Noted(number)),
                    )  # fmt: skip
                case states.Arm(_, _, skip) | states.Fire(_, _, skip):
                    assert step
                    cues = to_keeper(step, skip, self._response)
                    self._expose(keeper, effect.seconds, cues, now=isinstance(effect, states.Fire))
                case states.Halt(number):
                    for said in self._hearing.settle(number, self._run):
                        self._inbox.put(said)
                case states.Close(state, says):
                    self._end(state, says)
        except Refused as error:
            # The pedal may have fired in the moment before Enter did: then it is lit or given, and that is no failure. Its
            # words may have been lost, though.
            self._inbox.put(Missed() if isinstance(effect, states.Fire) else states.Failed(str(error)))
        except KeeperError as error:
            if isinstance(effect, states.Halt):  # a lost link is told by the client's own Lost as well
                self._inbox.put(lambda: self._halt_again(effect))
            else:
                self._inbox.put(states.Failed(str(error)))

    def _halt_again(self, halt: states.Halt) -> None:
        """Its answer was lost, on a link that is not: until it is answered nobody knows whether there was light."""
        if self._run.state is states.State.DARKENING and self._run.halts == halt.number:
            self._carry_out(halt)

    def _expose(self, keeper: Keeper, seconds: float, cues: tuple[tuple[int, int], ...], *, now: bool) -> None:
        """By time; or, with a calibrated light sensor in the lamp house, by light, twice the time at the most."""
        assert self._exposures.at_hand
        row, asked = self._exposures.at_hand.row, self._exposures.at_hand.asked
        if self._hearing.by_light:
            longest = min(2 * row.ordered_us + 1_000_000, self._config.ceiling_us)
            counts = round(seconds * self._config.counts_per_s)
            keeper.dose(row.name, counts, longest, self._config.mains_half_cycle_us, cues, now=now)
        else:
            keeper.expose(row.name, asked.on_us, cues, now=now, less_us=asked.less_us, recovery_us=asked.recovery_us)

    def _end(self, state: states.State, says: str) -> None:
        self._says = says
        if not self._id:
            return  # it never began: nothing was written, and nothing is
        name = {states.State.FINISHED: "finished", states.State.STOPPED: "stopped"}.get(state, "failed")
        self._writer.submit(lambda: self._notebook.end_run(self._id, name, says), final=True)

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
                self._hearing.event(said, self._run)

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

from timer.craft.lamp_response import INSTANT, LampResponse, full_light, on_time
from timer.errors import KeeperError, LamphouseError, Refused
from timer.keeper.host.client import Keeper, Lost, open_keeper
from timer.keeper.local.memory import memory_file, recall
from timer.keeper.local.process import Config
from timer.keeper.wire import messages
from timer.notebook.store import ExposureRow, Notebook
from timer.notebook.writer import Writer
from timer.plan import Plan, check_limits
from timer.run import states
from timer.run.cues import Cued, from_keeper, to_keeper
from timer.run.resume import light_of

LATE_S = 1.0
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
    number: int
    on_us: int
    skip: float
    lit_us: int = 0
    lit_at: float = 0.0


class Session:
    """``show`` is told of every change and cue. ``auto`` presses by itself that many seconds after each arming.

    ``keeper`` is one that runs already, else one is started for this run. With ``held`` nothing is armed until
    ``begin``; the footswitch is heard meanwhile, and shown as Press.
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
        keeper: Keeper | None = None,
        held: bool = False,
    ) -> None:
        check_limits(plan, config.ceiling_us / 1e6)
        self._run = states.Run(plan)
        self._notebook, self._config, self._response, self._show, self._auto = (
            notebook,
            config,
            response,
            show,
            auto,
        )
        self._recipe, self._continues = recipe, continues
        self._inbox: queue.SimpleQueue[states.Event | messages.Event | Lost] = queue.SimpleQueue()
        self._given, self._keeper, self._held = keeper, keeper, held
        self._ordered: _Ordered | None = None
        self._id = 0
        self._says = ""
        self._made: dict[int, ExposureRow] = {}
        self._progress_at = 0.0
        self._word: messages.Dark | None = None  # of a dose: dark is told, its light not yet

    @property
    def number(self) -> int:
        """The sheet's number in the notebook; 0 before it has one."""
        return self._id

    # ── what the printer does; from any thread, and from signal handlers ─────

    def begin(self) -> None:
        self._inbox.put(states.Begin())

    def press(self) -> None:
        self._inbox.put(states.Press())

    def dark_now(self) -> None:
        self._halt_at_once()
        self._inbox.put(states.DarkNow())

    def leave(self, why: str = "left by the printer") -> None:
        self._halt_at_once()
        self._inbox.put(states.Leave(why))

    def _halt_at_once(self) -> None:
        if self._keeper:
            self._keeper.halt_at_once()

    # ── the loop ─────────────────────────────────────────────────────────────

    def go(self) -> Result:
        """Carry the plan out. Raises before any light if keeper or notebook fail; after that the result says it."""
        with self._kept_or_started() as keeper:
            self._id = self._notebook.begin_run(
                self._run.plan,
                recipe=self._recipe,
                lamp=self._config.lamp,
                delay_s=self._response.delay,
                rise_s=self._response.rise,
                continues=self._continues,
            )
            self._keeper = keeper
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
        return Result(self._id, self._run.state, self._says, tuple(self._made.values()), self._response)

    @contextmanager
    def _kept_or_started(self) -> Iterator[Keeper]:
        if not self._given:
            with open_keeper(self._config, self._inbox.put) as keeper:
                yield keeper
            return
        before, self._given.listen = self._given.listen, self._inbox.put
        try:
            yield self._given
        finally:
            self._given.listen = before

    def _take(self, get: Callable[..., states.Event | messages.Event | Lost], wait: float | None) -> None:
        try:
            said = get(timeout=wait)
        except queue.Empty:
            said = self._nothing_came()
        event = self._from_keeper(said) if isinstance(said, messages.Event | Lost) else said
        if event is None:
            return
        before = self._run
        self._run, effects = states.reduce(self._run, event)
        if self._run is not before or effects:
            self._show(self._run, event)
        for effect in effects:
            self._carry_out(effect)

    def _wait(self) -> float | None:
        """How long nothing may come before something is done about it."""
        if self._run.state is states.State.ARMED and self._auto is not None:
            return self._auto
        if self._run.state in (states.State.LIT, states.State.DARKENING) and self._ordered:
            longest = 2 * self._ordered.on_us + 1_000_000 if self._by_light else self._ordered.on_us
            left = longest / 1000 / self._config.speed - (time.monotonic() - self._ordered.lit_at)
            return max(0.0, left) + LATE_S
        return None

    def _nothing_came(self) -> states.Event | messages.Event | Lost:
        if self._run.state is states.State.ARMED:
            return states.Press()
        # The keeper should have said "dark" by now: its word was lost on the link, its tally was not.
        assert self._keeper and self._ordered
        try:
            tally = self._keeper.tally(self._keeper_number(self._ordered.number))
        except LamphouseError as error:
            return Lost(time.monotonic_ns() * self._config.speed // 1_000_000, str(error))
        if tally.known and tally.off_us:
            return _as_dark(tally)
        return messages.Viewing(0, 0)  # still lit: wait on

    # ── effects ──────────────────────────────────────────────────────────────

    def _carry_out(self, effect: states.Effect) -> None:
        keeper, step = self._keeper, self._run.at
        assert keeper
        try:
            match effect:
                case states.NoteIntent(number, index, seconds):
                    assert step
                    self._ordered = _Ordered(number, round(on_time(seconds, self._response) * 1e6), self._run.given)
                    self._note_intent(number, index, step.area, seconds, self._ordered.on_us)
                case states.Arm(number, _, skip) | states.Fire(number, _, skip):
                    assert step and self._ordered
                    cues = to_keeper(step, skip, self._response)
                    name = self._keeper_number(number)
                    self._expose(keeper, name, effect.seconds, cues, now=isinstance(effect, states.Fire))
                case states.Halt():
                    self._settle(keeper)
                case states.Close(state, says):
                    self._end(state, says)
        except Refused as error:
            # The pedal may have fired in the moment before Enter did: then it is lit or given, and that is no failure.
            if not isinstance(effect, states.Fire):
                self._inbox.put(states.Failed(str(error)))
        except KeeperError as error:
            if not isinstance(effect, states.Halt):  # a lost link is told by the client's own Lost as well
                self._inbox.put(states.Failed(str(error)))

    def _expose(self, keeper: Keeper, name: int, seconds: float, cues: tuple[tuple[int, int], ...], *, now: bool) -> None:
        """By time; or, with a calibrated light sensor in the lamp house, by light, twice the time at the most."""
        assert self._ordered
        if self._by_light:
            longest = min(2 * self._ordered.on_us + 1_000_000, self._config.ceiling_us)
            keeper.dose(name, round(seconds * self._config.counts_per_s), longest, self._config.half_us, cues, now=now)
        else:
            keeper.expose(name, self._ordered.on_us, cues, now=now)

    @property
    def _by_light(self) -> bool:
        return self._config.lamp == "controller" and self._config.counts_per_s > 0

    def _settle(self, keeper: Keeper) -> None:
        """Dark, and the keeper's word on the light there was: from its tally, in case its own event was lost."""
        keeper.halt()
        if self._ordered:
            tally = keeper.tally(self._keeper_number(self._ordered.number))
            if tally.known:
                self._inbox.put(_as_dark(tally))
        self._inbox.put(states.Settled())

    def _note_intent(self, number: int, index: int, label: str, seconds: float, on_us: int) -> None:
        row = ExposureRow(self._id, number, index, label, seconds, on_us, b"", False, 0, None, None, None)
        self._made[number] = row
        self._writer.submit(
            lambda: self._notebook.intend(self._id, number, index, label, seconds, on_us),
            lambda: self._inbox.put(states.Noted(number)),
        )

    def _end(self, state: states.State, says: str) -> None:
        self._says = says
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
            if isinstance(said, messages.Event | Lost):
                self._from_keeper(said)

    # ── what the keeper says ─────────────────────────────────────────────────

    def _from_keeper(self, said: messages.Event | Lost) -> states.Event | None:
        match said:
            case messages.Lit(name, at_us, by_pedal) if self._is_ours(name):
                assert self._ordered
                self._ordered = replace(self._ordered, lit_us=at_us, lit_at=time.monotonic())
                self._note_progress(0)
                return states.Lit(by_pedal)
            case messages.Dark(name) if self._is_ours(name) and self._by_light:
                self._word = said  # its light comes with the next word
            case messages.DoseIs(name, counts) if self._is_ours(name) and self._by_light and self._word:
                dark = self._word
                self._word = None
                dose, word = counts / self._config.counts_per_s, messages.Why(dark.why).name.lower()
                self._note_fact(dark.off_us - dark.on_us, dark.off_us - dark.on_us, word, dose)
                return states.Dark(dose, dark.why == messages.Why.COMPLETE, word)
            case messages.Dark(name, _, on_us, off_us, why) if self._is_ours(name):
                given = off_us - on_us
                self._note_fact(given, given, messages.Why(why).name.lower())
                return states.Dark(
                    full_light(given / 1e6, self._response), why == messages.Why.COMPLETE, messages.Why(why).name.lower()
                )
            case messages.CueNow(name, at_us, code) if self._is_ours(name):
                step = self._run.at
                assert step and self._ordered
                self._note_progress(at_us)
                self._show(self._run, from_keeper(step, self._ordered.skip, at_us, code, self._response))
            case messages.Pedal(messages.Press.DOWN, _):
                # Armed exposures are fired by the keeper itself; here a press only asks for the next thing.
                if self._run.state is states.State.READY:
                    self._show(self._run, states.Press())
                return states.Press() if self._run.state is states.State.PAUSED else None
            case messages.Pedal(messages.Press.HOLD, _):
                if self._run.state in (states.State.READY, states.State.PAUSED):
                    self._show(self._run, states.DarkNow())
                return states.DarkNow()
            case messages.Fault(text):
                return states.Failed(text)
            case Lost():
                return self._lost(said)
        return None

    def _lost(self, lost: Lost) -> states.Event:
        """The keeper is gone. A local one's lamp went dark with it; a controller's does so by itself soon after."""
        if self._ordered and self._run.state in (states.State.ARMED, states.State.LIT, states.State.DARKENING):
            path = memory_file(self._config.state_dir)
            kept = None if lost.latest_us else recall(path).get(self._keeper_number(self._ordered.number))
            if self._ordered.lit_us or kept:
                low, high = light_of(kept, self._ordered.lit_us, lost.at_us, self._ordered.on_us)
                if lost.latest_us:
                    # Not written down as a fact: the controller remembers it, and is asked at the next start.
                    high = min(self._ordered.on_us, high + lost.latest_us - lost.at_us)
                else:
                    self._note_fact(low, high, messages.Why.KEEPER_LOST.name.lower())
                had = full_light((low + high) / 2e6, self._response)
                asked = self._run.at.seconds if self._run.at else 0.0
                total = self._run.given + had
                about = "about " if lost.latest_us else ""
                given = f"the paper had {about}{total:.3f} s of {asked:.3f} s here"
                says = f"{lost.text}; {given}, `lamphouse resume` gives the rest"
                return states.Failed(says, had)
        return states.Failed(f"{lost.text}; nothing was being exposed", 0.0)

    def _note_progress(self, seen_us: int) -> None:
        """Once a second at most: what is certain if the power goes."""
        assert self._ordered
        if seen_us and time.monotonic() - self._progress_at < 0.9:
            return
        self._progress_at = time.monotonic()
        number = self._ordered.number
        self._writer.submit(lambda: self._notebook.progress(self._id, number, seen_us))

    def _note_fact(self, low_us: int, high_us: int, why: str, dose_s: float | None = None) -> None:
        assert self._ordered
        number = self._ordered.number
        self._made[number] = replace(self._made[number], lit=True, low_us=low_us, high_us=high_us, why=why, dose_s=dose_s)
        self._writer.submit(lambda: self._notebook.fact(self._id, number, low_us, high_us, why, dose_s))

    def _keeper_number(self, number: int) -> int:
        return self._notebook.keeper_number(self._id, number)

    def _is_ours(self, name: int) -> bool:
        return self._ordered is not None and name == self._keeper_number(self._ordered.number)


def _as_dark(tally: messages.TallyIs) -> messages.Dark:
    return messages.Dark(tally.exposure, tally.ordered_us, tally.on_us, tally.off_us, tally.why)

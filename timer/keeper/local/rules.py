"""The keeper's rules, with no process, no socket and no sleep in them.

Times inside are nanoseconds of the real monotonic clock; on the link they are microseconds of the lamp's clock,
which runs ``speed_permille`` thousandths as fast (1000 always, but for the simulated lamp's time-lapse).
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from timer.keeper.local import footswitch
from timer.keeper.local.memory import Memory
from timer.keeper.local.warmth import MAX_LESS_US, MAX_RECOVERY_US, cut_us
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Frame
from timer.keeper.wire.messages import EndReason, RefusalReason, State

VERSION = 2
SILENCE_NS = 900_000_000
ALIVE_NS = 5_000_000
LATE_NS = 20_000_000
GUARD_MUTE_NS = 400_000_000
"""A guard that has not stamped for this long, while it is to watch, is none."""
FOCUS_WARN_US = 15_000_000
MAX_FOCUS_US = 600_000_000
SECOND_US = 1_000_000
NEAR_CUE_US = 150_000
SLEEP_NS = 1_000_000_000
"""The machine has slept for at least this long: less may be what lay between the readings of two clocks."""
_WATCHED = frozenset({State.ARMED, State.LIT, State.FOCUS})
"""States in which the host, and the guard, must give signs of life."""


class Switches(Protocol):
    """What the rules switch. ``lamp`` returns when the line has changed, and at what ns of the monotonic clock."""

    def lamp(self, on: bool) -> int:
        """As ``Board.lamp``."""

    def safelight(self, on: bool) -> None:
        """As ``Board.safelight``."""

    def sound(self, cue: int) -> None:
        """As ``Board.sound``."""


@dataclass(frozen=True)
class _ActiveExposure:
    order: messages.Arm
    ordered_us: int
    on_ns: int
    off_due_ns: int


class Core:
    """Takes frames, footswitch edges and the passing of time; drives ``board``; sends messages.

    ``wake_guard`` tells the guard that it has to watch, or may rest again. None: there is no guard (the rules alone).
    ``slept``: for how many ns the machine has slept since its start, which ``clock`` does not count, and the paper does.
    """

    def __init__(
        self,
        board: Switches,
        memory: Memory,
        clock: Callable[[], int],
        send: Callable[[messages.Message, int], None],
        *,
        ceiling_us: int = 120_000_000,
        hold_us: int = 800_000,
        speed_permille: int = 1000,
        pedal_down: bool = False,
        guard: int = 0,
        wake_guard: Callable[[bool], None] | None = None,
        slept: Callable[[], int] = lambda: 0,
    ) -> None:
        self._board, self._memory, self._clock, self._send = board, memory, clock, send
        self._ceiling_us, self._hold_us, self._speed = ceiling_us, hold_us, speed_permille
        self._guard, self._wake_guard, self._slept = guard, wake_guard, slept
        self._slept_before = slept()  # the light that is on
        self._state = State.IDLE
        self._armed: messages.Arm | None = None
        self._active: _ActiveExposure | None = None
        self._cues: list[tuple[int, int, int]] = []  # due ns, at µs, cue; soonest last
        self._focus_end_ns = self._focus_warn_ns = 0
        self._focus_heat_ns = self._focus_heat_at_ns = 0
        now = clock()
        self._heard_ns = self._alive_ns = self._guarded_ns = now
        self._switch = footswitch.start(pedal_down, now // 1000)
        self._events = 0
        self._last: tuple[Frame, messages.Answer] | None = None

    @property
    def state(self) -> State:
        """What it is doing."""
        return self._state

    # ── what comes in ────────────────────────────────────────────────────────

    def frame(self, frame: Frame) -> None:
        """Act on a command and answer it; one that is sent again is answered again and not acted on again."""
        self._heard_ns = self._clock()
        acts = frame.kind not in (
            messages.Hello.TYPE_ID,
            messages.Heartbeat.TYPE_ID,
        )  # answered with what is so now
        if acts and frame.number and self._last and self._last[0] == frame:
            self._send(self._last[1], frame.number)
            return
        answer = self._answer(messages.from_frame(frame) if frame.kind in messages.COMMANDS else None, frame)
        if frame.number:
            self._last = (frame, answer)
        self._send(answer, frame.number)

    def pedal(self, down: bool, at_ns: int) -> None:
        """An edge of the footswitch; edges come in order. A press that was due before this one is acted on first."""
        self._press_due(at_ns)
        self._switch = footswitch.edge(self._switch, down, at_ns // 1000)

    def due(self) -> None:
        """Do what time has made due."""
        now = self._clock()
        if self._active and now >= self._active.off_due_ns:
            self._dark(EndReason.COMPLETE)
        while self._cues and self._cues[-1][0] <= now:
            _, at_us, cue = self._cues.pop()
            self._cue(cue, at_us)
        if self._shines and now >= self._alive_ns:
            self._memory.alive(now, exposing=self._active is not None)
            self._alive_ns = now + ALIVE_NS
            if self._asleep():
                self.dark(EndReason.LATE)
        if self._state is State.FOCUS:
            self._focus_due(now)
        self._press_due(now)
        hold = footswitch.hold_due(self._switch, self._hold_us)
        if hold is not None and now // 1000 >= hold:
            self._switch = footswitch.held(self._switch)
            self.dark(EndReason.PEDAL)
            self._event(messages.Pedal(messages.Press.HOLD, self._us(now)))
        if self._state in _WATCHED:
            if now - self._heard_ns >= SILENCE_NS:
                self.dark(EndReason.HOST_SILENT)
            elif self._wake_guard and now >= self._guarded_ns + GUARD_MUTE_NS:
                self._check_guard(now)

    def next_due_ns(self) -> int | None:
        """When ``due`` must next be called; None if nothing is waiting for time."""
        times = []
        if self._active:
            times.append(self._active.off_due_ns)
        if self._shines:
            times.append(self._alive_ns)
        if self._cues:
            times.append(self._cues[-1][0])
        if self._state is State.FOCUS:
            times += [self._focus_end_ns] + ([self._focus_warn_ns] if self._focus_warn_ns else [])
        press = footswitch.press_due(self._switch)
        hold = footswitch.hold_due(self._switch, self._hold_us)
        times += [us * 1000 for us in (press, hold) if us is not None]
        if self._state in _WATCHED:
            times.append(self._heard_ns + SILENCE_NS)
            if self._wake_guard:
                times.append(self._guarded_ns + GUARD_MUTE_NS)
        return min(times, default=None)

    def get_ready(self) -> None:
        """Shortly before an off-edge: say "on" once more to a lamp that is on, so that code and data are in the cache."""
        if self._active:
            self._board.lamp(True)

    def finish(self) -> None:
        """The off-edge is due now: the same as ``due``, with nothing before it."""
        if self._active:
            self._dark(EndReason.COMPLETE)

    def edge_due_ns(self) -> int | None:
        """When the lamp must go off: the one deadline worth spinning for."""
        return self._active.off_due_ns if self._active else None

    def dark(self, why: EndReason) -> None:
        """Everything that shines, off; nothing armed. Always allowed, in every state."""
        armed, self._armed = self._armed, None
        if self._active:
            self._dark(why)
        elif self._state is State.FOCUS:
            self._end_focus(why)
        else:
            self._board.lamp(False)
            if armed and why is not EndReason.HALTED:  # the host knows what it asked for itself
                self._event(messages.Disarmed(armed.exposure, why))
        self._enter(State.FAULT if self._state is State.FAULT else State.IDLE)

    def fault(self, text: str) -> None:
        """Sticky: dark, and no light from this keeper again."""
        self.dark(EndReason.FAULT)
        self._enter(State.FAULT)
        self._event(messages.Fault(text))

    # ── commands ─────────────────────────────────────────────────────────────

    def _answer(self, command: messages.Message | None, frame: Frame) -> messages.Answer:
        match command:
            case messages.Hello(protocol):
                if protocol != messages.PROTOCOL:
                    return messages.Refusal(RefusalReason.WRONG_PROTOCOL)
                now = self._us(self._clock())
                return messages.HelloReply(
                    messages.PROTOCOL, VERSION, now, self._ceiling_us, self._speed, self._memory.owner, self._guard
                )
            case messages.Heartbeat():
                now = self._us(self._clock())
                return messages.HeartbeatReply(self._state, self._state in (State.LIT, State.FOCUS), now, self._events)
            case messages.Arm():
                return self._arm(command)
            case messages.Halt():
                self.dark(EndReason.HALTED)
                return messages.Done()
            case messages.FocusLight(limit_us):
                return self._focus(limit_us)
            case messages.Safelight(on):
                self._board.safelight(on)
                return messages.Done()
            case messages.AskRecord(exposure):
                return self._record(exposure)
            case messages.Dose() | messages.ReadSensor():
                return messages.Refusal(RefusalReason.NOT_KNOWN)  # no light sensor here
            case _:
                known = frame.kind in messages.COMMANDS
                return messages.Refusal(RefusalReason.BAD_BODY if known else RefusalReason.NOT_KNOWN)

    def _arm(self, order: messages.Arm) -> messages.Answer:
        if self._state is State.FAULT:
            return messages.Refusal(RefusalReason.FAULT)
        if (
            order.exposure == 0
            or order.on_us == 0
            or order.less_us >= order.on_us
            or order.less_us > MAX_LESS_US
            or order.recovery_us > MAX_RECOVERY_US
            or any(cue > max(messages.Cue) for _, cue in order.cues)
        ):
            return messages.Refusal(RefusalReason.BAD_BODY)
        if order.on_us > self._ceiling_us:
            return messages.Refusal(RefusalReason.OVER_CEILING)
        if self._memory.knows(order.exposure):
            return messages.Refusal(RefusalReason.ALREADY_GIVEN)
        if self._state not in (State.IDLE, State.ARMED):
            return messages.Refusal(RefusalReason.BUSY)
        if order.now:
            self._start(order, by_pedal=False)
        else:
            self._armed = order
            self._enter(State.ARMED)
        return messages.Done()

    def _focus(self, limit_us: int) -> messages.Answer:
        if limit_us == 0:
            if self._state is State.FOCUS:
                self._end_focus(EndReason.HALTED)
            return messages.Done()
        if self._state is State.FAULT:
            return messages.Refusal(RefusalReason.FAULT)
        if limit_us > MAX_FOCUS_US:
            return messages.Refusal(RefusalReason.OVER_CEILING)
        if self._state not in (State.IDLE, State.FOCUS):
            return messages.Refusal(RefusalReason.BUSY)
        now = self._clock()
        heat_ns = self._focus_heat(now)
        left_us = MAX_FOCUS_US - self._us(heat_ns)
        if left_us < SECOND_US:
            return messages.Refusal(RefusalReason.TOO_HOT)
        limit_us = min(limit_us, left_us)
        self._focus_heat_ns, self._focus_heat_at_ns = heat_ns, now
        self._slept_before = self._slept()
        self._focus_end_ns = now + self._ns(limit_us)
        self._focus_warn_ns = self._focus_end_ns - self._ns(FOCUS_WARN_US) if limit_us > FOCUS_WARN_US else 0
        self._memory.shine(self._focus_end_ns, now)
        self._alive_ns = now + ALIVE_NS
        self._enter(State.FOCUS)
        self._board.lamp(True)
        self._blank(now)
        self._event(messages.FocusLightChanged(limit_us, EndReason.COMPLETE))
        return messages.Done()

    def _record(self, exposure: int) -> messages.ExposureRecord:
        e = self._memory.record(exposure)
        if e is None:
            return messages.ExposureRecord(False, exposure, 0, 0, 0, 0, 0)
        return messages.ExposureRecord(True, exposure, e.ordered_us, self._us(e.on_ns), self._us(e.off_ns), e.why or 0, 0)

    # ── light ────────────────────────────────────────────────────────────────

    def _start(self, order: messages.Arm, *, by_pedal: bool) -> None:
        self._armed = None
        self._slept_before = self._slept()
        now = self._clock()
        last = self._memory.last_light
        rested_us = self._us(now - last.off_ns) if last.off_ns else None
        cut = cut_us(order.less_us, order.recovery_us, rested_us, self._us(last.lasted_ns), last.cut_us)
        ordered_us = order.on_us - cut
        self._memory.begin(order.exposure, ordered_us, now, self._speed)
        self._memory.shine(now + self._ns(ordered_us), now)
        self._enter(State.LIT)  # the guard is woken first: light is never on without it
        before = self._clock()
        on = self._board.lamp(True)
        # The off call will take as long as the on call did, so it starts one order after this one started.
        off_due = before + self._ns(ordered_us)
        self._memory.lit(on)
        self._active = _ActiveExposure(order, ordered_us, on, off_due)
        self._alive_ns = on + ALIVE_NS
        self._blank(on)
        # A warm lamp has given any share of its light so much sooner: its cues come as much sooner.
        due = [(before + self._ns(max(0, at - early)), at, cue) for at, cue, early in _cue_list(order, ordered_us)]
        self._cues = sorted(due, reverse=True)
        self._event(messages.Lit(order.exposure, self._us(on), ordered_us, by_pedal))

    def _dark(self, why: EndReason) -> None:
        at = self._board.lamp(False)
        off = at + self._asleep()
        active = self._active
        assert active
        self._active = None
        self._cues = []
        if off - active.off_due_ns > LATE_NS:
            why = EndReason.LATE
        cut_us = active.order.on_us - active.ordered_us
        self._memory.dark(off, why, cut_us)
        self._memory.dim(at, cut_us)  # it rests from now on, by the clock that will tell for how long
        self._enter(State.IDLE)
        self._blank(at)
        on_us, off_us = self._us(active.on_ns), self._us(off)
        self._event(messages.Dark(active.order.exposure, active.ordered_us, on_us, off_us, why, 0))
        if why is EndReason.COMPLETE:
            self._board.sound(messages.Cue.END)

    def _asleep(self) -> int:
        """For how many ns the machine has slept in this light; the lamp stays as it is meanwhile."""
        asleep = self._slept() - self._slept_before
        return asleep if asleep >= SLEEP_NS else 0

    def _cue(self, cue: int, at_us: int) -> None:
        self._board.sound(cue)
        if self._active:
            self._event(messages.CueEvent(self._active.order.exposure, at_us, cue))

    def _focus_due(self, now: int) -> None:
        if now >= self._focus_end_ns:
            self._end_focus(EndReason.TIME_UP)
        elif self._focus_warn_ns and now >= self._focus_warn_ns:
            self._focus_warn_ns = 0
            self._board.sound(messages.Cue.WARN)
            self._event(messages.FocusLightChanged(FOCUS_WARN_US, EndReason.COMPLETE))

    def _end_focus(self, why: EndReason) -> None:
        off = self._board.lamp(False)
        self._focus_heat_ns, self._focus_heat_at_ns = self._focus_heat(off), off
        self._memory.dim(off, 0)
        self._enter(State.IDLE)
        self._blank(off)
        self._event(messages.FocusLightChanged(0, why))

    def _focus_heat(self, now: int) -> int:
        """Focus light not yet made up for by as much dark: what keeps lamp and negative warm."""
        since = now - self._focus_heat_at_ns
        return self._focus_heat_ns + since if self._state is State.FOCUS else max(0, self._focus_heat_ns - since)

    # ── the footswitch and the guard ─────────────────────────────────────────

    def _press_due(self, now: int) -> None:
        due_us = footswitch.press_due(self._switch)
        if due_us is None or now // 1000 < due_us:
            return
        self._switch = footswitch.pressed(self._switch)
        if self._armed:
            # The press that starts the light must not end it by being long.
            self._switch = footswitch.held(self._switch)
            self._start(self._armed, by_pedal=True)
        else:
            self._event(messages.Pedal(messages.Press.DOWN, self._us(due_us * 1000)))

    def _blank(self, at_ns: int) -> None:
        self._switch = footswitch.blank(self._switch, at_ns // 1000)

    def _enter(self, state: State) -> None:
        if self._wake_guard and (state in _WATCHED) != (self._state in _WATCHED):
            self._guarded_ns = self._clock()
            self._wake_guard(state in _WATCHED)
        self._state = state

    def _check_guard(self, now: int) -> None:
        """Later than its stamp may be: look whether it has stamped since."""
        self._guarded_ns = max(self._guarded_ns, self._memory.guard_alive_ns)
        if now >= self._guarded_ns + GUARD_MUTE_NS:
            self.fault("the guard beside the keeper does not answer, so the lamp is dark; start again")

    # ── small things ─────────────────────────────────────────────────────────

    @property
    def _shines(self) -> bool:
        return self._state in (State.LIT, State.FOCUS)

    def _event(self, event: messages.Event) -> None:
        self._events = self._events % 0xFFFF + 1
        self._send(event, self._events)

    def _us(self, ns: int) -> int:
        return ns * self._speed // 1_000_000

    def _ns(self, us: int) -> int:
        return us * 1_000_000 // self._speed


def _cue_list(order: messages.Arm, ordered_us: int) -> list[tuple[int, int, int]]:
    """The host's cues, and a tick each second where no other cue is near enough to hide it: (at µs, cue, µs early)."""
    cut_us = order.on_us - ordered_us
    given = [(at, cue, cut_us) for at, cue in order.cues if at < order.on_us]
    taken = [at - cut_us for at, _, _ in given]
    ticks = range(SECOND_US, ordered_us, SECOND_US)
    return given + [(t, int(messages.Cue.TICK), 0) for t in ticks if all(abs(t - at) > NEAR_CUE_US for at in taken)]

"""The keeper's rules, with no process, no socket and no sleep in them.

Times inside are nanoseconds of the real monotonic clock; on the link they are microseconds of the lamp's clock,
which runs ``speed`` thousandths as fast (1000 always, but for the simulated lamp's time-lapse).
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from timer.keeper.local import footswitch
from timer.keeper.local.memory import Memory
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Frame

VERSION = 1
SILENCE_NS = 1_000_000_000
ALIVE_NS = 10_000_000
VIEW_WARN_US = 15_000_000
LONGEST_VIEW_US = 600_000_000
SECOND_US = 1_000_000
NEAR_CUE_US = 150_000


class Board(Protocol):
    """What the keeper switches. ``lamp`` returns when the line has changed, and at what ns of the monotonic clock."""

    def lamp(self, on: bool) -> int: ...
    def safelight(self, on: bool) -> None: ...
    def sound(self, cue: int) -> None: ...


@dataclass(frozen=True)
class _Burning:
    order: messages.Arm
    on_ns: int
    off_due_ns: int


class Core:
    """Takes frames, pedal edges and the passing of time; drives ``board``; sends messages."""

    def __init__(
        self,
        board: Board,
        memory: Memory,
        clock: Callable[[], int],
        send: Callable[[messages.Message, int], None],
        *,
        ceiling_us: int = 120_000_000,
        hold_us: int = 800_000,
        speed: int = 1000,
        pedal_down: bool = False,
    ) -> None:
        self._board, self._memory, self._clock, self._send = board, memory, clock, send
        self._ceiling_us, self._hold_us, self._speed = ceiling_us, hold_us, speed
        self.state = messages.State.IDLE
        self._armed: messages.Arm | None = None
        self._burning: _Burning | None = None
        self._cues: list[tuple[int, int, int]] = []  # due ns, at µs, cue; soonest last
        self._view_end_ns = self._view_warn_ns = 0
        self._heard_ns = self._alive_ns = clock()
        self._pedal = footswitch.start(pedal_down, clock() // 1000)
        self._events = 0
        self._last: tuple[Frame, messages.Answer] | None = None

    # ── what comes in ────────────────────────────────────────────────────────

    def frame(self, frame: Frame) -> None:
        """Act on a command and answer it; one that is sent again is answered again and not acted on again."""
        self._heard_ns = self._clock()
        if frame.number and self._last and self._last[0] == frame:
            self._send(self._last[1], frame.number)
            return
        answer = self._answer(messages.from_frame(frame) if frame.kind in messages.COMMANDS else None, frame)
        if frame.number:
            self._last = (frame, answer)
        self._send(answer, frame.number)

    def pedal(self, down: bool, at_ns: int) -> None:
        """An edge of the footswitch."""
        self._pedal, pressed = footswitch.edge(self._pedal, down, at_ns // 1000)
        if not pressed:
            return
        if self._armed:
            # The press that starts the light must not end it by being long.
            self._pedal = footswitch.held(self._pedal)
            self._start(self._armed, by_pedal=True)
        else:
            self._event(messages.Pedal(messages.Press.DOWN, self._us(at_ns)))

    def due(self) -> None:
        """Do what time has made due."""
        now = self._clock()
        if self._burning and now >= self._burning.off_due_ns:
            self._dark(messages.Why.COMPLETE)
        while self._cues and self._cues[-1][0] <= now:
            _, at_us, cue = self._cues.pop()
            self._cue(cue, at_us)
        if self._burning and now >= self._alive_ns:
            self._memory.alive(now)
            self._alive_ns = now + ALIVE_NS
        if self.state is messages.State.VIEWING:
            self._view_due(now)
        hold = footswitch.hold_due(self._pedal, self._hold_us)
        if hold is not None and now // 1000 >= hold:
            self._pedal = footswitch.held(self._pedal)
            self.dark(messages.Why.PEDAL)
            self._event(messages.Pedal(messages.Press.HOLD, self._us(now)))
        if self._watched() and now - self._heard_ns >= SILENCE_NS:
            self.dark(messages.Why.HOST_SILENT)

    def next_due_ns(self) -> int | None:
        """When ``due`` must next be called; None if nothing is waiting for time."""
        times = []
        if self._burning:
            times += [self._burning.off_due_ns, self._alive_ns]
        if self._cues:
            times.append(self._cues[-1][0])
        if self.state is messages.State.VIEWING:
            times += [self._view_end_ns] + ([self._view_warn_ns] if self._view_warn_ns else [])
        hold = footswitch.hold_due(self._pedal, self._hold_us)
        if hold is not None:
            times.append(hold * 1000)
        if self._watched():
            times.append(self._heard_ns + SILENCE_NS)
        return min(times, default=None)

    def get_ready(self) -> None:
        """Shortly before an off-edge: say "on" once more to a lamp that is on, so that the way to it is warm."""
        if self._burning:
            self._board.lamp(True)

    def finish(self) -> None:
        """The off-edge is due now: the same as ``due``, with nothing before it."""
        if self._burning:
            self._dark(messages.Why.COMPLETE)

    def edge_due_ns(self) -> int | None:
        """When the lamp must go off: the one deadline worth spinning for."""
        return self._burning.off_due_ns if self._burning else None

    def dark(self, why: messages.Why) -> None:
        """Everything that shines, off; nothing armed. Always allowed, in every state."""
        self._armed = None
        if self._burning:
            self._dark(why)
        elif self.state is messages.State.VIEWING:
            self._end_view(why)
        else:
            self._board.lamp(False)
        if self.state is not messages.State.FAULT:
            self.state = messages.State.IDLE

    def fault(self, text: str) -> None:
        """Sticky: dark, and no light from this keeper again."""
        self.dark(messages.Why.FAULT)
        self.state = messages.State.FAULT
        self._event(messages.Fault(text))

    # ── commands ─────────────────────────────────────────────────────────────

    def _answer(self, command: messages.Message | None, frame: Frame) -> messages.Answer:
        match command:
            case messages.Hello(protocol):
                if protocol != messages.PROTOCOL:
                    return messages.Refusal(messages.No.WRONG_PROTOCOL)
                now = self._us(self._clock())
                return messages.HelloIs(messages.PROTOCOL, VERSION, now, self._ceiling_us, self._speed, self._memory.owner)
            case messages.Beat():
                return messages.Alive(
                    self.state, self.state in (messages.State.LIT, messages.State.VIEWING), self._us(self._clock())
                )
            case messages.Arm():
                return self._arm(command)
            case messages.Halt():
                self.dark(messages.Why.HALTED)
                return messages.Done()
            case messages.View(limit_us):
                return self._view(limit_us)
            case messages.Safelight(on):
                self._board.safelight(on)
                return messages.Done()
            case messages.Tally(exposure):
                return self._memory.tally(exposure, self._us)
            case messages.Dose() | messages.Sense():
                return messages.Refusal(messages.No.NOT_KNOWN)  # no light sensor here
            case _:
                return messages.Refusal(messages.No.BAD_BODY if frame.kind in messages.COMMANDS else messages.No.NOT_KNOWN)

    def _arm(self, order: messages.Arm) -> messages.Answer:
        if self.state is messages.State.FAULT:
            return messages.Refusal(messages.No.FAULT)
        if order.exposure == 0 or order.on_us == 0 or any(cue > max(messages.Cue) for _, cue in order.cues):
            return messages.Refusal(messages.No.BAD_BODY)
        if order.on_us > self._ceiling_us:
            return messages.Refusal(messages.No.OVER_CEILING)
        if self._memory.knows(order.exposure):
            return messages.Refusal(messages.No.ALREADY_GIVEN)
        if self.state not in (messages.State.IDLE, messages.State.ARMED):
            return messages.Refusal(messages.No.BUSY)
        if order.now:
            self._start(order, by_pedal=False)
        else:
            self._armed = order
            self.state = messages.State.ARMED
        return messages.Done()

    def _view(self, limit_us: int) -> messages.Answer:
        if limit_us == 0:
            if self.state is messages.State.VIEWING:
                self._end_view(messages.Why.HALTED)
            return messages.Done()
        if self.state is messages.State.FAULT:
            return messages.Refusal(messages.No.FAULT)
        if limit_us > LONGEST_VIEW_US:
            return messages.Refusal(messages.No.OVER_CEILING)
        if self.state not in (messages.State.IDLE, messages.State.VIEWING):
            return messages.Refusal(messages.No.BUSY)
        now = self._clock()
        self._view_end_ns = now + self._ns(limit_us)
        self._view_warn_ns = self._view_end_ns - self._ns(VIEW_WARN_US) if limit_us > VIEW_WARN_US else 0
        self.state = messages.State.VIEWING
        self._board.lamp(True)
        self._event(messages.Viewing(limit_us, messages.Why.COMPLETE))
        return messages.Done()

    # ── light ────────────────────────────────────────────────────────────────

    def _start(self, order: messages.Arm, *, by_pedal: bool) -> None:
        self._armed = None
        self._memory.begin(order.exposure, order.on_us, self._clock(), self._speed)
        before = self._clock()
        on = self._board.lamp(True)
        # The off call will take as long as the on call did, so it starts one order after this one started.
        off_due = before + self._ns(order.on_us)
        self._memory.lit(on)
        self._burning = _Burning(order, on, off_due)
        self.state = messages.State.LIT
        self._alive_ns = on + ALIVE_NS
        self._cues = sorted(((before + self._ns(at), at, cue) for at, cue in _cue_list(order)), reverse=True)
        self._event(messages.Lit(order.exposure, self._us(on), by_pedal))

    def _dark(self, why: messages.Why) -> None:
        off = self._board.lamp(False)
        burning = self._burning
        assert burning
        self._burning = None
        self._cues = []
        self.state = messages.State.IDLE
        self._memory.dark(off, why)
        order = burning.order
        self._event(messages.Dark(order.exposure, order.on_us, self._us(burning.on_ns), self._us(off), why))
        if why is messages.Why.COMPLETE:
            self._board.sound(messages.Cue.END)

    def _cue(self, cue: int, at_us: int) -> None:
        self._board.sound(cue)
        if self._burning:
            self._event(messages.CueNow(self._burning.order.exposure, at_us, cue))

    def _view_due(self, now: int) -> None:
        if now >= self._view_end_ns:
            self._end_view(messages.Why.TIME_UP)
        elif self._view_warn_ns and now >= self._view_warn_ns:
            self._view_warn_ns = 0
            self._board.sound(messages.Cue.WARN)
            self._event(messages.Viewing(VIEW_WARN_US, messages.Why.COMPLETE))

    def _end_view(self, why: messages.Why) -> None:
        self._board.lamp(False)
        self.state = messages.State.IDLE
        self._event(messages.Viewing(0, why))

    # ── small things ─────────────────────────────────────────────────────────

    def _watched(self) -> bool:
        return self.state in (messages.State.ARMED, messages.State.LIT, messages.State.VIEWING)

    def _event(self, event: messages.Event) -> None:
        self._events = self._events % 0xFFFF + 1
        self._send(event, self._events)

    def _us(self, ns: int) -> int:
        return ns * self._speed // 1_000_000

    def _ns(self, us: int) -> int:
        return us * 1_000_000 // self._speed


def _cue_list(order: messages.Arm) -> list[tuple[int, int]]:
    """The host's cues, and a tick each second where no other cue is near enough to hide it."""
    given = [(at, cue) for at, cue in order.cues if at < order.on_us]
    taken = [at for at, _ in given]
    ticks = range(SECOND_US, order.on_us, SECOND_US)
    return given + [(t, int(messages.Cue.TICK)) for t in ticks if all(abs(t - at) > NEAR_CUE_US for at in taken)]

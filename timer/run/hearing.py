"""What the keeper says, as events of the run; what it says of light is booked on the way, whatever the run's state."""

import time
from collections.abc import Callable
from dataclasses import replace

from timer.craft.lamp_response import LampResponse
from timer.errors import KeeperError, Refused
from timer.keeper.config import Config
from timer.keeper.host.client import Heard, Keeper, Lost, Missed
from timer.keeper.local.memory import Recollection, memory_file, recollect
from timer.keeper.runtime import runtime_dir
from timer.keeper.wire import messages
from timer.keeper.wire.messages import EndReason
from timer.notebook.light import COMPLETE, LATE, NOT_LIT, Light, full_seconds
from timer.run import evidence, states
from timer.run.cues import Cued, from_keeper
from timer.run.exposures import Exposures
from timer.run.resume import LightGiven

LIGHT_POSSIBLE = (states.State.ARMED, states.State.LIT, states.State.DARKENING)
Show = Callable[[states.Run, states.Event | Cued], None]


class Hearing:
    """Of the session's own thread alone. ``show`` is told of cues, and of presses of the pedal that no rule answers."""

    def __init__(self, keeper: Keeper, config: Config, response: LampResponse, exposures: Exposures, show: Show) -> None:
        self._keeper, self._config, self._response, self._exposures, self._show = keeper, config, response, exposures, show

    def event(self, said: Heard, run: states.Run) -> states.Event | None:
        """The event that ``said`` is for ``run``; None where it is none. KeeperError where more must be asked in vain."""
        exposures = self._exposures
        match said:
            case messages.Lit(name, at_us, _, by_pedal) if exposures.is_ours(name):
                exposures.lit(at_us)
                return states.Lit(by_pedal)
            case messages.Dark(name) if exposures.is_ours(name):
                return self._dark(said)
            case messages.Disarmed(name, why) if exposures.is_ours(name):
                # Not booked yet: an Arm that was sent again may have armed it anew. The Halt that follows makes it certain.
                exposures.dropped()
                return states.Disarmed(EndReason(why).name.lower())
            case messages.CueEvent(name, at_us, code) if exposures.is_ours(name):
                assert run.at and exposures.at_hand
                exposures.seen(at_us)
                self._show(run, from_keeper(run.at, exposures.at_hand.skip, at_us, code, self._response))
            case messages.Pedal(messages.Press.DOWN, _):
                # Armed exposures are fired by the keeper itself; here a press only asks for the next thing.
                if run.state in (states.State.READY, states.State.BOXED):
                    self._show(run, states.Press())
                return states.Press() if run.state is states.State.PAUSED else None
            case messages.Pedal(messages.Press.HOLD, _):
                if run.state in (states.State.READY, states.State.PAUSED, states.State.BOXED):
                    self._show(run, states.DarkNow(by_pedal=True))
                return states.DarkNow(by_pedal=True)
            case messages.Fault(text):
                return states.Failed(text)
            case Missed():
                return self._ask_again(run)
            case Lost():
                return self._lost(said, run)
        return None

    def settle(self, number: int, run: states.Run) -> list[messages.Dark | states.Event]:
        """Dark, and the keeper's word on the light there was: from its record, in case its own event was lost.

        What is to be heard before Settled ``number``, and that. KeeperError where the keeper is not heard.
        """
        self._keeper.halt()
        exposures = self._exposures
        if exposures.is_open:
            record = self._keeper.record(exposures.row.name)
            if record.known and record.off_us:
                return [_as_dark(record), states.Settled(number)]
            if not record.known and self._never_lit():
                exposures.book(Light(0, 0, NOT_LIT))
            elif not record.known:
                return [self._forgotten(record, run)]
        return [states.Settled(number)]

    def _never_lit(self) -> bool:
        """What the keeper does not know never was: it dropped it, or has had power since before it was noted."""
        at_hand = self._exposures.at_hand
        assert at_hand
        if at_hand.dropped:
            return True
        if at_hand.lit_us or at_hand.row.noted_ns is None:
            return False
        return (time.monotonic_ns() - at_hand.row.noted_ns) // 1000 < self._keeper.now_us()

    def _forgotten(self, record: messages.ExposureRecord, run: states.Run) -> states.Event:
        """It said that it was lit, and now knows nothing of it: the keeper has been without power since."""
        light = evidence.of_record(record, self._exposures.row, up_since_noted=False)
        says = "the controller lost its power for a moment, and with it the record of the light it gave"
        return self._ended_unseen(says, light, run)

    @property
    def by_light(self) -> bool:
        """Whether a calibrated light sensor in the lamp house ends each exposure."""
        return self._config.lamp == "controller" and self._config.counts_per_s > 0

    def _dark(self, dark: messages.Dark) -> states.Event | None:
        """The light's end, from the keeper's event or its record: whichever comes first is booked, once."""
        if not self._exposures.is_open:
            return None
        if self.by_light:
            # What was ordered in time is only the longest it may take; what counts is what the sensor saw.
            light = replace(evidence.from_dark(dark, dark.ordered_us), cut_us=0)
            dose = dark.counts / self._config.counts_per_s
        else:
            light, dose = evidence.from_dark(dark, self._exposures.row.ordered_us, self._config.speed_permille), None
        self._exposures.book(light, dose)
        given, _ = full_seconds(light, self._response, dose)
        return states.Dark(given, light.why == COMPLETE, light.why, light.why == LATE)

    def _ask_again(self, run: states.Run) -> states.Event | None:
        """Words were lost on the link: the keeper's record says what became of the exposure at hand.

        KeeperError where that does not come either.
        """
        exposures = self._exposures
        if run.state not in LIGHT_POSSIBLE or not exposures.is_open:
            return None
        assert exposures.at_hand
        try:
            record = self._keeper.record(exposures.at_hand.row.name)
        except Refused:
            return None
        if record.known and record.off_us:
            return self._dark(_as_dark(record))
        if record.known and run.state is states.State.ARMED:
            exposures.lit(record.on_us)
            return states.Lit()
        if not record.known and exposures.at_hand.lit_us:
            return self._forgotten(record, run)
        # Not lit. Whether it is still armed, only arming it anew makes certain: one press more does that.
        return states.DarkNow() if run.state is states.State.ARMED else None

    def _lost(self, lost: Lost, run: states.Run) -> states.Event:
        """The keeper is gone. What the paper had is what is certain and what is possible, never a guess between."""
        exposures, light = self._exposures, None
        if exposures.is_open and run.state in LIGHT_POSSIBLE:
            assert exposures.at_hand
            if self._config.lamp == "controller":
                light = evidence.of_unheard(lost, exposures.at_hand.lit_us, exposures.row, exposures.at_hand.asked.less_us)
            else:
                light = evidence.of_lost_local(self._memory(), exposures.row.name, exposures.row)
        return self._ended_unseen(lost.text, light, run)

    def _memory(self) -> Recollection | None:
        try:
            return recollect(memory_file(runtime_dir(), self._config.lamp_key))
        except KeeperError:
            return None  # its folder cannot be used any more: then nobody knows

    def _ended_unseen(self, text: str, light: Light | None, run: states.Run) -> states.Event:
        """The run ends here; ``light`` is what is known of an exposure whose end nobody saw, if there is one."""
        step = run.at
        exposures = [n for n, each in enumerate(run.plan.steps) if each.do == "expose"]
        done = exposures.index(run.step) if step else 0
        before = f"{done} of {len(exposures)} exposures were given in full" if done else ""
        if not step or (run.state not in LIGHT_POSSIBLE and not run.given):
            return states.Failed("; ".join(filter(None, (text, before or "the paper had no light"))), 0.0)
        low = 0.0
        most: float | None = run.given
        if light:
            self._exposures.book(light)
            low, high = full_seconds(light, self._response)
            most = None if high is None else run.given + high
        had = LightGiven(run.step, run.given + low, most).text()
        parts = (text, before, f"{step.area} had {had} s of {step.seconds:.2f} s: what is missing can be given later")
        return states.Failed("; ".join(filter(None, parts)), low)


def _as_dark(record: messages.ExposureRecord) -> messages.Dark:
    return messages.Dark(record.exposure, record.ordered_us, record.on_us, record.off_us, record.why, record.counts)

"""The lamp as it is now, whatever program has it: seen, switched off, lit for a look or to be measured. Needs no screen."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from secrets import randbits
from threading import Event

from timer.app import notebooks
from timer.app.between import Between, KeeperLost, between
from timer.app.lamp import keeper_config
from timer.craft.lamp_response import LampResponse, order
from timer.documents.settings import calibrated
from timer.documents.settings_file import load_settings
from timer.errors import Refused
from timer.keeper.claim import holder_of
from timer.keeper.config import Config
from timer.keeper.host.client import Heard
from timer.keeper.host.darken import Darkened, look, make_dark
from timer.keeper.host.open import open_keeper
from timer.keeper.local.memory import memory_file, recollect
from timer.keeper.runtime import runtime_dir
from timer.keeper.wire import messages
from timer.notebook.light import Light
from timer.run.evidence import from_memory


@dataclass(frozen=True)
class LampStatus:
    """Who holds the lamp (0: nobody), whether it is lit (None: nobody can tell) and how that is known.

    ``ordered_s``: seconds of the last exposure that its keeper remembers, None where there is none. ``given_s``: the least
    and the most of what it gave; the most is None while it is lit, and where nobody saw its end.
    """

    lamp: str
    keeper: int
    guard: int
    lit: bool | None
    says: str
    ceiling_s: float
    calibrated: bool
    ordered_s: float | None = None
    given_s: tuple[float, float | None] = (0.0, None)


def lamp_status(lamp: str | None = None) -> LampStatus:
    """What is so at the lamp of the settings, or at ``lamp``, without touching it."""
    settings = load_settings()
    config = keeper_config(settings, lamp=lamp)
    seen = look(config)
    memory = recollect(memory_file(runtime_dir(), config.lamp_key))
    last = max(memory.entries.values(), key=lambda e: e.begun_ns, default=None) if memory else None
    return LampStatus(
        config.lamp,
        seen.keeper,
        seen.guard,
        seen.lit,
        seen.says,
        settings.ceiling_s,
        calibrated(settings),
        last.ordered_us / 1e6 if last else None,
        _given_s(from_memory(last, last.ordered_us)) if last else (0.0, None),
    )


def _given_s(light: Light) -> tuple[float, float | None]:
    return light.low_us / 1e6, None if light.high_us is None else light.high_us / 1e6


def switch_off(lamp: str | None = None) -> tuple[str, Darkened]:
    """The lamp of the settings, or ``lamp``, dark by ending whatever holds it; its name, and what was done and seen.

    KeeperError when it cannot be made dark, with what to do.
    """
    config = keeper_config(load_settings(), lamp=lamp)
    return config.lamp, make_dark(config)


def user_of(config: Config) -> int:
    """The process that has the lamp of ``config``; 0 for none."""
    holder = holder_of(config.lamp_key)
    return holder.process if holder else 0


def refuse_beside_a_screen(config: Config, instead: str) -> None:
    """Refused while a screen has the lamp of ``config``; ``instead`` says what to do there."""
    holder = holder_of(config.screen_key)
    if holder:
        raise Refused(f"a screen (process {holder.process}) has this lamp: {instead}")


def refuse_with_paper_out(config: Config) -> None:
    """Refused while paper is out, or while a screen has the lamp and may open a box any moment: light would fog it."""
    refuse_beside_a_screen(config, "its f is the focus light")
    out = notebooks.out()
    if out:
        raise Refused(f"{out[0]} is out: cover it, then say `lamphouse paper covered`")


@contextmanager
def focus_light(lamp: str | None, seconds: float, hear: Callable[[Between], None]) -> Iterator[None]:
    """The lamp of the settings, or ``lamp``, lit for ``seconds`` at most, and dark after; as ``refuse_with_paper_out``.

    ``hear`` is told of its end, on the thread of the keeper's line.
    """
    config = keeper_config(load_settings(), lamp=lamp)
    refuse_with_paper_out(config)
    lost = Event()

    def heard(event: Heard) -> None:
        said = between(event)
        if said is not None:
            if isinstance(said, KeeperLost):
                lost.set()
            hear(said)

    with open_keeper(config, heard) as keeper:
        keeper.focus_light(seconds)
        yield
        if not lost.is_set():
            keeper.focus_light(0)


def count_light(config: Config, seconds: float, response: LampResponse) -> int:
    """The counts of a controller's light sensor over ``seconds`` of full light, as a run gives them: its keeper knows how
    long the lamp has rested, and gives a warm one less. 0 where it told none in time.

    Refused as ``refuse_with_paper_out``, and when the light was cut short.
    """
    refuse_with_paper_out(config)
    ended: list[messages.Dark] = []
    over = Event()

    def hear(event: Heard) -> None:
        if isinstance(event, messages.Dark):
            ended.append(event)
            over.set()

    asked = order(seconds, response)
    with open_keeper(config, hear) as keeper:
        keeper.expose(randbits(62) + 1, asked.on_us, now=True, less_us=asked.less_us, recovery_us=asked.recovery_us)
        over.wait(asked.on_us / 1e6 + 5)
    if not ended:
        return 0
    if ended[0].why != messages.EndReason.COMPLETE:
        lasted = (ended[0].off_us - ended[0].on_us) / 1e6
        raise Refused(f"the light was cut short after {lasted:.1f} s of {asked.on_us / 1e6:.1f} s: measure once more")
    return ended[0].counts

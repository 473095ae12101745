"""The printer's settings, each with a default that works, and what they say of the lamp."""

from typing import Annotated, Literal

from msgspec import Meta, Struct

from timer.craft.lamp_response import LampResponse
from timer.craft.layers import LAYERS

Bulb = Literal[
    "instant",
    "halogen-12v-100w",
    "halogen-12v-100w-transformer",
    "halogen-24v-150w",
    "halogen-24v-250w",
    "opal-230v-75w",
    "led",
    "cold-light",
]
"""What the simulated lamp is made like: a lamp of the bench, or one with no lag at all."""
Pin = Annotated[int, Meta(ge=0, le=53, description="BCM number; 0 for none")]


class Pins(Struct, frozen=True, forbid_unknown_fields=True):
    """BCM numbers of the GPIO lines, and the ``chip`` that they are on; 0: not wired."""

    lamp: Annotated[int, Meta(ge=1, le=53)] = 17
    safelight: Pin = 0
    footswitch: Pin = 27
    buzzer: Pin = 0
    buzzer_is_tonal: bool = False
    chip: Annotated[str, Meta(max_length=40, description="GPIO chip, like gpiochip0; empty: the pin header's")] = ""


class UseResponse(Struct, frozen=True, forbid_unknown_fields=True):
    """For one use of the lamp: what it loses cold, and how a warm start shortens that (0: taken as always cold)."""

    delay_ms: Annotated[float, Meta(ge=-500, le=5000)] = 0.0
    rise_ms: Annotated[float, Meta(ge=0, le=5000)] = 0.0
    less_ms: Annotated[float, Meta(ge=0, lt=1000)] = 0.0
    recovery_s: Annotated[float, Meta(ge=0, le=30)] = 0.0


class Response(UseResponse, frozen=True, forbid_unknown_fields=True):
    """The lamp's response as the printer calibrated it; zeros: not calibrated, taken as instant.

    The plain numbers are for graded paper, and for every use that has none of its own: paper sees a lamp come up
    sooner or later by the colour that it goes by. ``red``, ``green`` and ``blue`` are the layers of colour paper, as a
    sensor behind a filter of that colour finds them: exposures of colour paper are then timed by green, and plans say
    what the other two layers will have.
    """

    soft: UseResponse | None = None
    hard: UseResponse | None = None
    colour: UseResponse | None = None
    red: UseResponse | None = None
    green: UseResponse | None = None
    blue: UseResponse | None = None


class Head(Struct, frozen=True, forbid_unknown_fields=True):
    """The enlarger's head: what ``--head`` is when it is not said, where its dials or levels end (0: not known), and how
    many steps of an additive head's levels make one stop (0: they are in proportion to the light). ``name``: yours for it,
    where there are two of a kind; sheets are written with it."""

    kind: Literal["", "cp", "dichroic", "additive", "tricolour"] = ""
    top: Annotated[float, Meta(ge=0, le=10_000)] = 0.0
    per_stop: Annotated[float, Meta(ge=0, le=1000)] = 0.0
    name: Annotated[str, Meta(max_length=40, pattern=r"^[^\x00-\x1f\x7f]*$")] = ""


class Settings(Struct, frozen=True, forbid_unknown_fields=True):
    """The printer's settings, each with a default that works (docs/settings.md has them one by one)."""

    lamp: Annotated[str, Meta(max_length=40, pattern="^[a-z][a-z0-9_-]*$")] = "simulated"
    port: str = ""
    counts_per_s: Annotated[float, Meta(ge=0, le=10_000_000, description="of the light sensor; 0: expose by time")] = 0.0
    mains_hz: Literal[50, 60] = 50
    simulated_bulb: Bulb = "instant"
    ceiling_s: Annotated[float, Meta(gt=0, le=600)] = 120.0
    ask: bool = True
    sound: Literal["loud", "quiet", "off"] = "loud"
    speech: bool = True
    focus_minutes: Annotated[float, Meta(gt=0.25, le=10)] = 5.0
    safelight_off_for_focus: bool = True
    hold_s: Annotated[float, Meta(ge=0.3, le=5)] = 0.8
    bell: bool = False
    pedal_key: Annotated[str, Meta(max_length=20, pattern="^(?!space$|ctrl)[a-z0-9_]*$")] = ""
    pins: Pins = Pins()
    lamp_response: Response = Response()
    head: Head = Head()


USES = ("soft", "hard", "colour", *LAYERS)


def response_for(settings: Settings, use: str = "") -> LampResponse:
    """The response kept for ``use``, or the plain one where it has none of its own."""
    own = settings.lamp_response
    return in_seconds((getattr(own, use) if use else None) or own)


def layers(settings: Settings) -> tuple[LampResponse, LampResponse, LampResponse] | None:
    """The responses of colour paper's red, green and blue layers, if all three were measured."""
    red, green, blue = (getattr(settings.lamp_response, layer) for layer in LAYERS)
    return (in_seconds(red), in_seconds(green), in_seconds(blue)) if red and green and blue else None


def in_seconds(found: UseResponse) -> LampResponse:
    """A response of the settings as the arithmetic takes it: ms to s."""
    return LampResponse(found.delay_ms / 1000, found.rise_ms / 1000, found.less_ms / 1000, found.recovery_s)


def calibrated(settings: Settings) -> bool:
    """Whether the printer has set any response at all."""
    r = settings.lamp_response
    return any(use and (use.delay_ms or use.rise_ms) for use in (r, *(getattr(r, name) for name in USES)))

"""Which colour head a print is set on: the same question, words and key wherever a step in its filters is asked for."""

from timer.craft.heads import THREE_LIGHTS

NAMES = {"dichroic": "dichroic (dials)", "cp": "CP filters (drawer)"}
WHICH = "Which head is it? h: CP filters or dichroic; they differ a lot"
KEY = "h: head   "


def is_asked(head: str) -> bool:
    """Whether it can be another one: lights of three colours are known by their recipe."""
    return head not in THREE_LIGHTS


def name_of(head: str) -> str:
    """In words."""
    return NAMES.get(head, "which? h: choose")


def other(head: str) -> str:
    """The one that ``h`` turns to."""
    return "cp" if head == "dichroic" else "dichroic"

"""The enlarger's head that a command means: as it says, the rest as the settings have it."""

from timer.craft.heads import HEADS
from timer.documents.recipe import Filters
from timer.documents.settings import Head
from timer.documents.settings_file import load_settings


def chosen(kind: str | None, top: float | None, per_stop: float | None) -> Head:
    """The head as said, the rest from the settings; a head of another kind has none of theirs."""
    mine = load_settings().head
    if kind and kind != mine.kind:
        mine = Head(kind)  # type: ignore[arg-type]
    return Head(mine.kind, top or mine.top, per_stop or mine.per_stop, mine.name)


def head_of_change(now: Filters, named: str, top: float | None, *, new_pack: bool) -> Head:
    """The head that a recipe with the filters ``now`` is changed for: ``named`` where that is a kind of head, empty for as
    it is; the settings' where neither says one and there is a new pack."""
    mine = load_settings().head
    kind = named if named in HEADS else ""
    if not kind and not now.head and new_pack:
        kind = mine.kind
    return Head(kind, top or (mine.top if mine.kind == (kind or now.head) else 0.0))  # type: ignore[arg-type]

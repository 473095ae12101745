"""What a page is handed of the application: the service it asks, the sound, what was chosen, and the ways to other pages."""

from __future__ import annotations

from typing import Any, Protocol

from timer.app.baths import Clock
from timer.app.darkroom import Darkroom
from timer.app.jobs import Job, StripChoice
from timer.notebook.rows import RunRow
from tui.keys import Keys
from tui.rooms import Room
from tui.shine import Shine
from tui.sound import Sound


class Context(Protocol):
    darkroom: Darkroom
    sound: Sound
    keys: Keys
    choice: StripChoice
    chosen: Job | None
    to_chosen: bool
    trouble: str
    focus_until: float
    clocks: list[Clock]
    clock_at: int
    shine: Shine
    room: Room

    def standing(self, room: int) -> str:
        """Room light, sound and paper in a line of ``room`` cells, as every page's title shows them."""

    @property
    def paper_out(self) -> bool: ...
    def dark_codes(self) -> str: ...
    def dark_page(self) -> str: ...

    # ── what is so ───────────────────────────────────────────────────────────

    def cautions(self, kind: str) -> list[str]: ...
    def report(self, text: str, cue: str = "refused") -> None: ...
    def warm(self) -> None: ...

    # ── paper and light ──────────────────────────────────────────────────────

    def open_box(self, kind: str, run: int = 0) -> bool: ...
    def covered(self) -> None: ...
    def dark_now(self) -> None: ...
    def dark_at_once(self) -> None: ...
    def terminal_gone(self) -> None: ...
    def expose(self, job: Job, continues: RunRow | None = None, says: list[str] | None = None) -> None: ...
    def give_rest(self, row: RunRow, share: float | None = None) -> None: ...

    # ── ways ─────────────────────────────────────────────────────────────────

    def show(self, name: str, *given: object) -> None:
        """To the page ``name`` (tui.pages)."""

    def go_back(self) -> None: ...
    def begin_anew(self) -> None:
        """The page that is in front now is shown as things have become."""

    def leave_now(self) -> None: ...
    def pop_screen(self) -> Any: ...
    def common_key(self, key: str) -> None: ...

    # ── clocks ───────────────────────────────────────────────────────────────

    def hear_clocks(self) -> None: ...
    def answer_clock(self, now: float) -> None: ...

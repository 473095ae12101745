"""What a page is handed of the application: the service it asks, the sound, what was chosen, and the ways to other pages."""

from __future__ import annotations

from typing import Any, Protocol

from timer.app.darkroom import Darkroom
from timer.app.jobs import Job
from timer.app.strip_choice import StripChoice
from timer.notebook.rows import RunRow
from tui.bath_clocks import BathClocks
from tui.focus_light import FocusLight
from tui.keys import Keys
from tui.rooms import Room
from tui.said import About, Said
from tui.screen_light import ScreenLight
from tui.sound import Sound


class Context(Protocol):
    """What every page may ask of the application. All of it on the application's own thread, but where another is named."""

    darkroom: Darkroom
    sound: Sound
    keys: Keys
    choice: StripChoice
    chosen: Job | None
    to_chosen: bool
    head: str
    said: Said
    focus: FocusLight
    clocks: BathClocks
    light: ScreenLight

    def standing(self, room: int) -> str:
        """Room light, sound and paper in a line of ``room`` cells, as every page's title shows them."""

    @property
    def room(self) -> Room:
        """The room's light: what is safe for the paper that is out."""

    @property
    def paper_out(self) -> bool:
        """Whether any paper is out of its box."""

    def dark_codes(self) -> str:
        """What takes the terminal into the room's light before anything is drawn; nothing in white light."""

    def dark_page(self) -> str:
        """An empty page in the room's light; nothing in white light."""

    # ── what is so ───────────────────────────────────────────────────────────

    def cautions(self, kind: str) -> list[str]:
        """What to know before paper of ``kind`` is out, a sentence each."""

    def report(self, text: str, cue: str = "refused", about: About = "") -> None:
        """Say the trouble ``text`` by ear, and show it under every title until the next thing that works.

        One ``about`` the lamp (``silent`` always is) or paper stays for as long as its cause.
        """

    def tell(self, text: str, cue: str) -> None:
        """Say ``text``, which is no trouble, by ear, and show it above every foot until the next thing that works."""

    def works(self) -> None:
        """A key has done something: what was refused before it is not shown any more."""

    def warm(self) -> None:
        """Have keeper, pedal and sound ready. It waits for them, so it is called on a thread of its own."""

    # ── paper and light ──────────────────────────────────────────────────────

    def open_box(self, kind: str, run: int = 0) -> bool:
        """The room goes dark for paper of ``kind``; whether the box may be opened now. Only this makes it dark.

        ``run``: whose sheet comes out of it again.
        """

    def covered(self) -> None:
        """The printer's word that all paper is covered. Only this makes it light again."""

    def dark_now(self) -> None:
        """The lamp dark at once, and the page told."""

    def dark_at_once(self) -> None:
        """The lamp dark, from any thread."""

    def terminal_gone(self) -> None:
        """Nobody sees this screen any more: it ends."""

    def expose(self, job: Job, continues: RunRow | None = None, says: list[str] | None = None) -> None:
        """To the dark, for ``job``; with ``continues`` for what that sheet still lacks, and in words what it had."""

    def give_rest(self, row: RunRow, share: float | None = None) -> None:
        """To what ``row`` still lacks; ``share``, 0 to 1, is what to believe of a range."""

    # ── ways ─────────────────────────────────────────────────────────────────

    def show(self, name: str, *given: object) -> None:
        """To the page ``name`` (tui.pages)."""

    def go_back(self) -> None:
        """To the page before this one."""

    def begin_anew(self) -> None:
        """Show the page in front as things are now."""

    def leave_now(self) -> None:
        """As q does, whatever is shown."""

    def pop_screen(self) -> Any:
        """Textual's: this page away, and the one below it in front."""

    def common_key(self, key: str) -> None:
        """Act on a key that means the same on every page; any other is nothing."""

    # ── clocks ───────────────────────────────────────────────────────────────

    def hear_clocks(self) -> None:
        """Advance the clocks of the baths, and let all that has come due be heard."""

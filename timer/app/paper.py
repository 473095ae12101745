"""Paper that is out, reported covered where no screen has it in view."""

from pathlib import Path

from timer.app.lamp import keeper_config
from timer.app.lamp_now import refuse_beside_a_screen
from timer.app.notebooks import begun
from timer.documents.settings_file import load_settings
from timer.notebook import paper_out
from timer.notebook.rows import PaperOut


def covered(notebook_path: Path | None) -> tuple[PaperOut, ...]:
    """All paper is covered, by the printer's word; what was out until now. Refused while a screen has the lamp."""
    refuse_beside_a_screen(keeper_config(load_settings()), "say it there: c")
    with begun(notebook_path) as notebook:
        out = paper_out.all_out(notebook)
        paper_out.cover(notebook)
    return out

"""The control patch over time, from the notebook that a command means, and drawn.

What is imported within a function is for the start-up time: few who look draw it.
"""

from pathlib import Path

from timer.app.notebooks import existing
from timer.documents.files import must_be_free, write_new
from timer.documents.settings_file import load_settings
from timer.measure.drift import Drift, drift
from timer.measure.sheet import Aim


def drift_of(negative: str, aim: Aim | None, since: int, output: Path | None, notebook_path: Path | None) -> Drift:
    """As ``measure.drift.drift``, on the head of the settings; drawn at ``output`` (PNG) if that is said.

    LamphouseError where nothing was read of ``negative``, or where the name is taken.
    """
    if output:
        must_be_free(output)
    with existing(notebook_path) as notebook:
        found = drift(notebook, negative, load_settings().head, aim, since)
    if output:
        from timer.measure.drift_plot import drift_plot

        write_new(output, drift_plot(found))
    return found

"""What a light sensor under the lens would record of a lamp of the bench: a file that a calibration reads."""

from collections.abc import Sequence
from pathlib import Path

from timer.bench import filament, lamps
from timer.documents.files import write_new
from timer.errors import Refused


def recording(
    lamp: str, band: str, on_s: float, rests: Sequence[float], *, step_s: float, mains: float, output: Path | None
) -> str:
    """CSV of seconds and light: a light of ``on_s``, and one more after each of the ``rests``, a reading every ``step_s``.

    ``band``: the colour that the sensor sees; ``mains``: supply over the rated. Written at ``output`` too if that is said.
    Refused for more readings than can be modelled, LamphouseError where the name is taken.
    """
    begin, lights = 0.5, []
    for rest in (*rests, 0.0):
        lights.append((begin, begin + on_s))
        begin += on_s + rest
    try:
        times, values = lamps.trace(lamp, lights, band, begin + 1.5, step=step_s, supply=filament.Supply(level=mains))
    except ValueError as error:
        raise Refused(str(error)) from None
    text = "seconds,light\n" + "".join(f"{t:.4f},{v:.6f}\n" for t, v in zip(times, values, strict=True))
    if output:
        write_new(output, text.encode())
    return text

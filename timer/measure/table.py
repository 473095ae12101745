"""What was read, what is aimed at and what is expected, as a table of words and figures."""

from collections.abc import Sequence

from timer.craft import heads
from timer.craft.sensitometry import Array
from timer.craft.solve import Reading
from timer.craft.stops import digits
from timer.measure.advise import Advice
from timer.measure.sheet import as_setting

_HEAD = f"{'sheet':>5}  {'sample':10} {'set to':14} {'s':>6}  {'red':>5} {'green':>5} {'blue':>5}   off the model"


def table(advice: Advice, readings: Sequence[Reading], names: Sequence[str]) -> list[str]:
    """A line a reading: its light, red, green and blue density, and each less the fitted one; aim and next sheet below."""
    lines = [_HEAD]
    for n, (reading, name, off) in enumerate(zip(readings, names, advice.residuals, strict=True)):
        setting = heads.text_of(as_setting(reading.controls, advice.setting))
        line = _line(str(reading.sheet), name, setting, digits(reading.seconds), reading.density, off)
        lines.append(f"{line}  not counted" if n == advice.left_out else line)
    lines.append(_line("", "aim", "", "", advice.aim))
    setting = heads.text_of(advice.setting)
    lines.append(_line("", "next", setting, digits(advice.then.seconds), advice.then.density))
    lines.append(
        f"{'':7}{'each colour by itself, within':30}  +-  " + " ".join(f"{2 * error:5.2f}" for error in advice.then.error)
    )
    return lines


def _line(
    sheet: str, name: str, setting: str, seconds: str, density: Sequence[float] | Array, off: Array | None = None
) -> str:
    three = " ".join(f"{d:5.2f}" for d in density)
    after = "   " + " ".join(f"{d:+.2f}" for d in off) if off is not None else ""
    return f"{sheet:>5}  {name[:10]:10} {setting[:14]:14} {seconds:>6}  {three}{after}".rstrip()

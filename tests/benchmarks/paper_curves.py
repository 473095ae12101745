"""How near a paper's R and P come from one strip: the virtual darkroom's papers, read by densitometer and off a scan.

    python -m tests.benchmarks.paper_curves --papers 60

Each paper is one of the virtual variable-contrast grades, or a graded paper of a random R; its R and P are exact by ISO
6846's definitions. The strip is in half stops, from white to black, its start off by up to a stop. The densitometer has an
error of 0.01; the scan is laid askew on tests/tools/scans.py's bed with a step tablet beside it.
"""

import random
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory

import click
import numpy as np

from tests.tools.scans import Bed, save, scanned
from timer.bench import paper
from timer.craft.bw_curve import CurveShort, fit, iso_points
from timer.craft.paper import grade_factor
from timer.errors import Refused
from timer.measure.picture import load
from timer.measure.scan import read_scan
from timer.plans.model import Plan
from timer.plans.strip import strip_plan

WEDGE = [0.06 + 0.15 * n for n in range(15)]
WHITE = (0.06, 0.06, 0.06)


Density = Callable[[float], float]


def papers(count: int, chance: random.Random) -> list[tuple[float, float, Density]]:
    """R, P and density over log lux seconds."""
    grades = list(paper.RANGE_OF_GRADE)
    out = []
    for n in range(count):
        if n % 2:
            r, p = chance.uniform(50, 170), chance.uniform(100, 500)
            out.append((r, p, logistic(r, p)))
        else:
            grade = grades[n // 2 % len(grades)]
            p = paper.SPEED_OF_FILTERS / grade_factor("2", grade)
            out.append((float(paper.RANGE_OF_GRADE[grade]), p, grains(grade)))
    return out


def logistic(r: float, p: float) -> Density:
    """A graded paper."""
    curve = paper.curve_for(r, p)
    return lambda x: float(curve.density(x))


def grains(grade: str) -> Density:
    """Variable-contrast paper through a filter."""
    blue, green = paper.filter_light(grade)
    return lambda x: float(paper.vc_density(blue * 10**x, green * 10**x))


def scan(densities: list[float], plan: Plan, folder: Path, chance: random.Random) -> list[float]:
    """The same densities off a scan; Refused where the strip or the tablet is not found."""
    bed = Bed(1300, 640)
    patches = np.repeat(np.asarray(densities)[:, None], 3, axis=1)
    bed.sheet(patches, 640, 180, 1100, 110, askew=chance.uniform(-3, 3), white=WHITE)
    bed.sheet(np.repeat(np.asarray(WEDGE)[:, None], 3, axis=1), 500, 450, 750, 70, border=6, white=WHITE)
    file = save(folder / "strip.tif", scanned(bed, chance), 16)
    found = read_scan(load(file), plan, {}, tablet=WEDGE)
    return [sum(patch.density) / 3 for patch in found.patches]


@click.command()
@click.option("--papers", "count", default=60, show_default=True)
@click.option("--seed", default=1, show_default=True)
def main(count: int, seed: int) -> None:
    """Print the table of docs/measured.md."""
    chance = random.Random(seed)
    noise = np.random.default_rng(seed)
    off: dict[str, list[tuple[float, float]]] = {"densitometer": [], "scan": []}
    lost = {"densitometer": 0, "scan": 0}
    with TemporaryDirectory() as folder:
        for r, p, density in papers(count, chance):
            middle, wide = np.log10(1000 / p), r / 100
            first = middle - 0.8 * wide - chance.uniform(0, 0.3)
            patches = int(np.ceil((2.0 * wide + 0.45) / 0.15))
            patches = min(24, patches)
            plan = strip_plan(float(10**first), Fraction(1, 2), patches, "cover", paper="bw")
            logs = [float(np.log10(patch.seconds)) for patch in plan.patches]
            true = [density(x) for x in logs]
            for way in off:
                try:
                    read = (
                        [d + float(noise.normal(0, 0.01)) for d in true]
                        if way == "densitometer"
                        else scan(true, plan, Path(folder), chance)
                    )
                    found = iso_points(fit(list(zip(logs, read, strict=True))))
                    off[way].append((found.r - r, float(np.log2(found.p / p))))
                except (CurveShort, Refused, ValueError) as error:
                    lost[way] += 1
                    click.echo(f"{way}, R{r:.0f}, {patches} patches: {error}", err=True)
    click.echo("read with     curves  refused   R off: median  95 %   P off, stops: median  95 %")
    for way, each in off.items():
        r_off, p_off = np.abs(np.asarray(each)).T
        r_half, r_most = np.percentile(r_off, (50, 95))
        p_half, p_most = np.percentile(p_off, (50, 95))
        click.echo(f"{way:12}  {len(each):6}  {lost[way]:7}  {r_half:13.1f}  {r_most:5.1f}  {p_half:19.3f}  {p_most:5.3f}")


if __name__ == "__main__":
    main()

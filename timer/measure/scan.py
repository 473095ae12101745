"""Densities of a test sheet's patches from a scan, against a print or a step tablet in the same scan; what is odd of it."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from timer.craft import heads
from timer.documents.reading import Reading
from timer.errors import Refused
from timer.measure.find import STRIP_FOLLOWS, Box, Row, correlation, find, is_strip, paper_white
from timer.measure.picture import Picture
from timer.measure.pieces import Array
from timer.measure.profile import is_srgb, srgb
from timer.measure.sheet import AIM, controls, usual_error
from timer.plans.model import Plan

WHITE = 0.10
"""Density that paper white is taken for without a tablet: the solver's own Dmin."""
DARKEST = 1e-4
UNEVEN, UNEVEN_AIM = 0.06, 0.15
"""Density from part to part of a patch from which it is said; and from which a piece is no aim."""
SPECK, SPECKS = 0.12, 0.02
"""Density off its part of the patch that makes a speck, and the share of specks from which they are said."""
CLIPPED = 0.01
"""Share of a patch's pixels at an end of the scale."""
LOST = 0.3
"""Error of a density that the end of the scale has cut."""
BEYOND_TABLET = 0.03
"""Density beyond a tablet's darkest step from which that is said."""
MIDDLE = (0.4, 1.5)
"""Densities between which a colour paper's curve is about straight, on a scanner that is no more than a little wrong."""
LEAST_STOP, MOST_STOP = 0.45, 1.2
"""Density that a stop makes there: colour paper's slope is some 2 to 3.5 (common practice), with room beside it."""
GAPS = 6
"""Empty levels between full ones, of 256, from which a scan has been stretched."""


@dataclass(frozen=True)
class Patch:
    """One sample: red, green, blue density; ``uneven``: density from part to part; ``specks``: share of it that is off;
    ``cut``: the channels that reach an end of the scale there."""

    sample: str
    box: Box
    density: tuple[float, float, float]
    uneven: float
    specks: float
    cut: str


@dataclass(frozen=True)
class Scan:
    """``patches``: the sheet's and ``aim``; ``tablet``: boxes of its steps. ``follows``: correlation of the patches'
    densities with the light that they had; ``turned``: the sheet lies the other way round. ``notes``: what is odd."""

    patches: tuple[Patch, ...]
    tablet: tuple[Box, ...]
    follows: float
    turned: bool
    notes: tuple[str, ...]

    def readings(self) -> list[Reading]:
        """For the notebook, with an error of their own where they are worse than usual."""
        aim = any(patch.sample == AIM for patch in self.patches)
        usual = usual_error("scan", beside_aim=aim and not self.tablet)
        out = []
        for patch in self.patches:
            error = max(LOST if patch.cut else 0.0, math.hypot(usual, patch.uneven / 2))
            worse = round(error, 3) if patch.cut or patch.uneven > UNEVEN else None
            out.append(Reading(patch.sample, *patch.density, None, "scan", worse))
        return out


def densities_of(picture: Picture, curve: str = "") -> Array:
    """-log10 of the light (h, w, 3) that its values stand for; ``curve``: srgb (IEC 61966-2-1), linear, or an exponent;
    empty: what the file says itself, else srgb."""
    v = picture.values
    light: Array
    if not curve and picture.curve is not None:
        at = np.linspace(0, 1, len(picture.curve))
        light = np.stack([np.interp(v[..., band], at, picture.curve[:, band]) for band in range(3)], axis=-1)
    elif curve == "linear":
        light = v
    elif curve in ("", "srgb"):
        light = srgb(v)
    else:
        light = v ** float(curve)
    return np.asarray(-np.log10(np.maximum(light, DARKEST)))


def is_linear(picture: Picture, curve: str = "") -> bool:
    """Whether its values are light itself, or near that, so that it looks too dark as it is."""
    middle = len(picture.curve) // 2 if picture.curve is not None else 0
    own = not curve and picture.curve is not None and float(picture.curve[middle].mean()) > 0.4
    return own or curve == "linear"


def expected_of(plan: Plan, *, reversal: bool = False) -> Array:
    """How much each patch of a test is darkened in red, green, blue (n, 3): its log10 light, less for reversal material."""
    rows = []
    for patch in plan.patches:
        try:
            kind = "additive" if patch.filters.startswith("R") else "dichroic"
            off = controls(heads.parse_setting(patch.filters or "0", kind))
        except ValueError:  # a grade
            off = (0.0, 0.0, 0.0)
        rows.append([math.log10(patch.seconds) - one for one in off])
    return np.asarray(rows).reshape(-1, 3) * (-1 if reversal else 1)


def read_scan(
    picture: Picture,
    plan: Plan,
    boxes: Mapping[str, Box],
    *,
    curve: str = "",
    tablet: Sequence[float] | None = None,
    reversal: bool = False,
    printed: Sequence[float] | None = None,
) -> Scan:
    """Densities of the patches of ``plan`` (of a print: of the boxes), and of the aim where no ``tablet`` is given.

    ``printed``: the plan's print is of a step tablet of these densities; its steps are found and named 1, 2 and so on.

    ``curve`` as ``densities_of`` has it. ``boxes``: those that the printer has put himself, in pixels of ``picture``, by
    sample. Refused when patches, aim or tablet are not found.
    """
    if picture.grey and plan.paper == "ra4":
        raise Refused("a grey scan tells no colour; scan it as RGB")
    density = densities_of(picture, curve)
    if printed and plan.patches:
        raise Refused("this sheet is a test with patches of its own; a step tablet is printed on one sheet, in one exposure")
    names = [str(n) for n in range(1, len(printed) + 1)] if printed else [str(patch.patch) for patch in plan.patches]
    light = -np.asarray(printed, dtype=float) if printed else None
    expected = expected_of(plan, reversal=reversal) if light is None else np.repeat(light[:, None], 3, axis=1)
    by_hand = bool(names) and all(name in boxes for name in names)
    found = find(density, np.zeros((0, 3)) if by_hand else expected, tablet)
    row = found.patches or (Row(tuple(boxes[name] for name in names), 0.0, False) if by_hand else None)
    if names and row is None:
        raise Refused(_not_found(len(names)))
    if not names and not set(boxes) - {AIM}:
        raise Refused(
            "a print's grey place is where you know: mark it, like --box grey=1200,800,150,150 (x, y, width, height)"
        )
    places = dict(zip(names, row.boxes, strict=True)) if row else {}
    alone = plan.paper in ("bw", "pan") or bool(printed)
    if found.aim and not tablet and not alone:
        places[AIM] = found.aim
    places = {**places, **boxes}
    if AIM in places:  # last, as it is listed
        places[AIM] = places.pop(AIM)
    scale, notes = _scale(density, found.tablet, tablet)
    patches = [_patch(picture, scale(density), name, box) for name, box in places.items()]
    _must_compare(patches, boxes, tablet is not None, alone=alone)
    follows = _follows(patches, names, expected) if len(names) > 1 else 1.0  # one patch follows nothing
    turned = bool(row and row.turned)
    least = STRIP_FOLLOWS if is_strip(expected) else 0.8
    says = _of_sheet(follows, least, turned, by_hand) if names else []
    if alone and not tablet:
        notes.append("without a step tablet beside it a scanner reads dark tones too light: a curve's R comes out too small")
    if not curve and picture.curve is not None and not is_srgb(picture.curve):
        notes.append("its numbers are taken by the tone curve of the file's own colour profile; --curve takes another")
    notes = [*says, *notes, *_of_patches(patches), *_of_picture(picture, density)]
    dark = [patch.sample for patch in patches if scale.beyond(max(patch.density))]
    if dark and scale.known is not None:
        notes.append(
            f"patch{'es' if len(dark) > 1 else ''} {', '.join(dark)}: darker than the tablet's darkest step, "
            f"{scale.known[-1]:.2f}, so how dark is a guess"
        )
    if not tablet and plan.paper == "ra4" and (contrast := _contrast(patches, names, expected)) is not None:
        notes.append(
            f"a stop of light makes {contrast:.2f} more density on it, where colour paper makes {LEAST_STOP:g} to "
            f"{MOST_STOP:g}: are its numbers what --curve says, and contrast not automatic?"
        )
    return Scan(tuple(patches), found.tablet.boxes if found.tablet else (), follows, turned, tuple(notes))


def _not_found(count: int) -> str:
    if count == 1:
        return (
            "one patch alone is not found among all that lies there: mark it, like --box 1=1200,800,150,150 (x, y, width, "
            "height)"
        )
    return (
        f"no row of {count} patches that follows what this sheet was given: is it this sheet, laid straight under a white "
        f"lid, no patch as light as the paper? Or mark them: --box 1=x,y,width,height to --box {count}=..."
    )


def _scale(density: Array, row: Row | None, tablet: Sequence[float] | None) -> "tuple[Scale, list[str]]":
    """From the scanner's densities to true ones: by the tablet's steps, or with white paper as ``WHITE``."""
    if tablet is None:
        white = paper_white(density)
        return Scale(white=white), []
    if row is None:
        raise Refused(
            f"no step tablet of {len(tablet)} steps with those densities; lay it beside the sheet, its steps in full"
        )
    read = np.asarray([_median(density, box) for box in row.boxes])
    order = np.argsort(tablet)
    known = np.asarray(tablet, dtype=float)[order]
    rising = np.maximum.accumulate(read[order] + np.arange(len(known))[:, None] * 1e-6, axis=0)
    middle = (known > 0.2) & (known < 1.4)
    notes = []
    if middle.sum() > 2:
        slopes = [float(np.polyfit(known[middle], rising[middle, band], 1)[0]) for band in range(3)]
        if max(abs(slope - 1) for slope in slopes) > 0.12:
            text = ", ".join(f"{slope:.2f}" for slope in slopes)
            notes.append(
                f"the scanner gives {text} of the tablet's contrast in red, green, blue (another --curve, or automatic "
                "contrast); the tablet puts that right"
            )
    return Scale(read=rising, known=known), notes


@dataclass(frozen=True, eq=False)
class Scale:
    """``white`` (3), or the steps of a tablet as they were ``read`` (n, 3) and are ``known`` (n), rising."""

    white: Array | None = None
    read: Array | None = None
    known: Array | None = None

    def __call__(self, density: Array) -> Array:
        if self.read is None or self.known is None:
            return np.asarray(density - (0.0 if self.white is None else self.white) + WHITE)
        bands = [_along(density[..., n], self.read[:, n], self.known) for n in range(3)]
        return np.stack(bands, axis=-1)

    def beyond(self, density: float) -> bool:
        """Whether a true ``density`` is darker than the tablet's darkest step, so that it is a guess."""
        return self.known is not None and density > self.known[-1] + BEYOND_TABLET


def _along(density: Array, read: Array, known: Array) -> Array:
    """Between the steps of a tablet in proportion; beyond them as between the last two, if these tell anything."""
    out = np.interp(density, read, known)
    for end, inner, outside in ((0, 1, density < read[0]), (-1, -2, density > read[-1])):
        slope = (known[end] - known[inner]) / (read[end] - read[inner])
        out = np.where(outside, known[end] + min(max(slope, 0.5), 2.0) * (density - read[end]), out)
    return np.asarray(out)


def _inside(box: Box, shape: tuple[int, ...]) -> tuple[slice, slice]:
    top, left = max(0, round(box.top)), max(0, round(box.left))
    bottom, right = min(shape[0], round(box.top + box.height)), min(shape[1], round(box.left + box.width))
    if bottom - top < 3 or right - left < 3:
        raise Refused("a box is too small, or not on the picture")
    return slice(top, bottom), slice(left, right)


def _median(density: Array, box: Box) -> Array:
    return np.asarray(np.median(density[_inside(box, density.shape)].reshape(-1, 3), axis=0))


def _patch(picture: Picture, density: Array, sample: str, box: Box) -> Patch:
    at = _inside(box, density.shape)
    here, pixels = density[at], picture.samples[at]
    parts = [each for line in np.array_split(here, 3, axis=0) for each in np.array_split(line, 3, axis=1)]
    middles = [float(np.median(part.mean(axis=2))) for part in parts]
    off = [np.abs(part.mean(axis=2) - middle) > SPECK for part, middle in zip(parts, middles, strict=True)]
    specks = sum(int(each.sum()) for each in off) / sum(each.size for each in off)
    ends = (pixels == 0) | (pixels == 2**picture.bits - 1)
    cut = [name for name, share in zip(("red", "green", "blue"), ends.mean(axis=(0, 1)), strict=True) if share > CLIPPED]
    red, green, blue = (round(float(d), 4) for d in np.median(here.reshape(-1, 3), axis=0))
    return Patch(sample, box, (red, green, blue), max(middles) - min(middles), specks, ", ".join(cut))


def _must_compare(patches: Sequence[Patch], boxes: Mapping[str, Box], tablet: bool, *, alone: bool) -> None:
    """Refused without an even aim or a tablet: a scanner's own densities say nothing of colour. Of black-and-white they
    may stand ``alone``."""
    aim = next((patch for patch in patches if patch.sample == AIM), None)
    if aim and aim.uneven > UNEVEN_AIM and AIM not in boxes:
        raise Refused(
            "what lies beside the sheet is not one even grey: mark the grey place of the print that is right, like "
            "--box aim=1200,800,150,150 (x, y, width, height)"
        )
    if not aim and not tablet and not alone:
        raise Refused(
            "nothing to compare with: lay a print that is right into the same scan, or a step tablet and say --tablet "
            "'0.05 0.20 0.35 ...'"
        )


def _follows(patches: Sequence[Patch], names: Sequence[str], expected: Array) -> float:
    by_name = {patch.sample: patch.density for patch in patches}
    return correlation(np.asarray([by_name[name] for name in names]), expected)


def _contrast(patches: Sequence[Patch], names: Sequence[str], expected: Array) -> float | None:
    """Density that a stop of light makes, of patches in the middle of the scale, when that is none of colour paper."""
    by_name = {patch.sample: float(np.mean(patch.density)) for patch in patches}
    both = [(float(light.mean()), by_name[name]) for name, light in zip(names, expected, strict=True)]
    stop = _stop([pair for pair in both if pair[1] >= MIDDLE[0]])
    if stop is not None and stop > MOST_STOP:  # above the middle it can only be less
        return stop
    stop = _stop([pair for pair in both if MIDDLE[0] <= pair[1] <= MIDDLE[1]])
    return stop if stop is not None and stop < LEAST_STOP else None


def _stop(both: Sequence[tuple[float, float]]) -> float | None:
    """Density for a stop, of log10 light and density; None where the light differs too little to tell."""
    if len(both) < 2 or np.ptp([x for x, _ in both]) < math.log10(2) / 3:
        return None
    return abs(float(np.polyfit([x for x, _ in both], [d for _, d in both], 1)[0])) * math.log10(2)


def _of_sheet(follows: float, least: float, turned: bool, by_hand: bool) -> list[str]:
    says = []
    if turned:
        says.append("the sheet lies the other way round: its first patch is to the right, or at the bottom")
    if follows < least:
        says.append(
            f"the patches follow what they were given only loosely ({follows:.2f} of 1): is it this sheet?"
            + (" Are the boxes in its order?" if by_hand else "")
        )
    return says


def _of_patches(patches: Sequence[Patch]) -> list[str]:
    says = []
    for patch in patches:
        name = AIM if patch.sample == AIM else f"patch {patch.sample}"
        if patch.cut:
            says.append(
                f"{name} is at the end of the scale in {patch.cut}: scan again with another exposure; it counts little"
            )
        if patch.uneven > UNEVEN:
            says.append(f"{name} is uneven, {patch.uneven:.2f} from part to part: wet, or not one grey place?")
        if patch.specks > SPECKS:
            says.append(f"{name} has specks on {100 * patch.specks:.0f} % of it: dust or drops; the rest is read")
    return says


def _of_picture(picture: Picture, density: Array) -> list[str]:
    says = []
    most = 2**picture.bits - 1
    some = slice(None, None, 4)
    white = np.max(density[some, some] - paper_white(density), axis=2) < 0.05
    if white.any() and np.median((picture.samples[some, some][white] == most).all(axis=1)) == 1:
        says.append(
            "paper white is at the end of the scale: a shorter exposure, or automatic exposure off, tells light tones"
        )
    ends = [(picture.samples == end).mean(axis=(0, 1)).min() > 0.001 for end in (0, most)]
    if all(ends):
        says.append("every colour reaches both ends of the scale: automatic exposure or contrast seems to be on")
    if picture.bits == 8 and _gaps(picture) >= GAPS:
        says.append(
            "levels are missing between others: the scan has been stretched (automatic exposure or contrast, a curve)"
        )
    return says


def _gaps(picture: Picture) -> int:
    """The most levels of a channel that are empty between two that are not."""
    most = 0
    for band in range(3):
        counts = np.bincount(picture.samples[..., band].ravel(), minlength=256)[:256]
        full = counts >= 20
        most = max(most, int((full[:-2] & (counts[1:-1] == 0) & full[2:]).sum()))
    return most


def scaled(box: Box, by: float) -> Box:
    """``box`` in other pixels."""
    return replace(box, left=box.left * by, top=box.top * by, width=box.width * by, height=box.height * by)

"""What a test says of the print that it was made for, and how that is written: into its recipe, or as one of its own."""

import re
from dataclasses import dataclass

import msgspec

from timer.craft.heads import parse_setting
from timer.craft.stops import stops_between, stops_text
from timer.documents.recipe import Derived, Recipe
from timer.documents.recipe_light import with_setting
from timer.documents.toml_edit import with_new_number, with_number
from timer.errors import LamphouseError
from timer.plans.model import Plan
from timer.plans.split_grade import Split, split_in
from timer.plans.test_sheets import dry_down_of

LONGEST_TITLE = 60


@dataclass(frozen=True)
class Pick:
    """One patch of a test: its full-light seconds, and the ``pack`` it was made through on ``head``, if it tests packs.

    ``dry_down``: per cent less than the reference, of a dry-down set. ``split``: what it lies over, of a strip of the second
    exposure of a split-grade print; its seconds are those of the second.
    """

    seconds: float
    pack: str = ""
    head: str = ""
    dry_down: float | None = None
    split: Split | None = None


def picks_of(plan: Plan, recipe: Recipe | None = None, head: str = "") -> tuple[Pick, ...]:
    """What each patch of a test says of the print ``recipe`` that it was made for; ``head``: what its packs are set on."""
    if less := dry_down_of(plan):
        return tuple(Pick(patch.seconds, dry_down=percent) for patch, percent in zip(plan.patches, less, strict=True))
    if plan.tests_filters:
        return tuple(Pick(patch.seconds, patch.filters, head) for patch in plan.patches)
    split = split_in(plan, recipe) if recipe else None
    return tuple(Pick(patch.seconds, split=split) for patch in plan.patches)


def base_written(text: str, seconds: float) -> str:
    """The recipe ``text`` with another base, all else as it was. ValueError when it cannot be changed in place."""
    return with_number(text, "base_s", f"{seconds:.2f}" if seconds >= 1 else f"{seconds:.3g}")


def dry_down_written(text: str, percent: float) -> str:
    """The recipe ``text`` with another dry-down. ValueError when it cannot be changed in place."""
    try:
        return with_number(text, "dry_down_percent", f"{percent:g}")
    except ValueError:
        return with_new_number(text, "dry_down_percent", f"{percent:g}", before="base_s")


def through_pack(recipe: Recipe, pick: Pick, file: str, sha256: str) -> Recipe:
    """``recipe`` through the pack, or the lights, of ``pick``, with the time that was matched to it."""
    head = pick.head or recipe.filters.head
    try:
        setting = parse_setting(pick.pack, head, recipe.filters.per_stop)
    except ValueError as error:
        raise LamphouseError(f"{error}; write it into the recipe yourself") from None
    factor = pick.seconds / recipe.base_s
    says = (
        f"the patch through {pick.pack} was right: base {recipe.base_s:g} s x {factor:.3f} = {pick.seconds:.1f} s "
        f"({stops_text(stops_between(recipe.base_s, pick.seconds))} stop)",
    )
    filters = msgspec.structs.replace(with_setting(recipe.filters, setting), head=head)
    derived = Derived(recipe.title, file, sha256, float(f"{factor:.6g}"), says)
    return msgspec.structs.replace(recipe, base_s=round(pick.seconds, 3), filters=filters, derived=derived)


_SIZE = r"\d+(?:\.\d+)?x\d+(?:\.\d+)?(?:cm|mm|in)"


def titled(title: str, word: str, number: int = 1) -> str:
    """The title of a recipe derived from that of ``title``, so that two of one print are told apart.

    A new size takes the place of the old one, and a second correction counts on: "Gate, 18x24cm, corrected 2".
    """
    end = f", {word}{f' {number}' if number > 1 else ''}"
    return f"{_without(title, ', ', word, ' ')[: LONGEST_TITLE - len(end)].rstrip()}{end}"


def stem_titled(stem: str, word: str) -> str:
    """The name of its file, but for a number: "gate-18x24cm-corrected"."""
    short = "".join(word.split()).lower()
    return f"{_without(stem, '-', short, '-')}-{short}"


def _without(text: str, before: str, word: str, number: str) -> str:
    """``text`` without the ``word`` of an earlier derivation, and its number."""
    old = _SIZE if re.fullmatch(_SIZE, word) else re.escape(word)
    return re.sub(rf"{before}{old}(?:{number}\d+)?(?={before}|\Z)", "", text)


def file_name(title: str) -> str:
    """Small letters and dashes, for a recipe that has no file yet."""
    return "-".join(re.findall(r"[a-z0-9]+", title.lower())) or "print"

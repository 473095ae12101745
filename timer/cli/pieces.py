"""``lamphouse ringaround``, ``ladder``, ``drydown``, ``first-sheet``: several settings on one sheet."""

from pathlib import Path
from typing import Any

import click

from timer.cli.heads import chosen, head_options
from timer.cli.options import RUN_ONLY, refuse_idle, run_options
from timer.cli.values import FILE, SECONDS, Finite, Line
from timer.craft import heads
from timer.craft.lights import Lights, amounts
from timer.documents.recipe import GRADES
from timer.documents.settings import Head
from timer.errors import Refused
from timer.plans.model import Plan
from timer.plans.strip_target import About
from timer.plans.test_sheets import dry_down_plan, ladder_plan, ring_plan

pack_option = click.option(
    "--pack", metavar="PACK", required=True, help="The pack to begin from, like '60M 50Y', or 'R80 G60 B50'."
)
seconds_option = click.option("--seconds", type=SECONDS, help="The time that goes with it; of three in turn, the longest.")


@click.command("ringaround")
@pack_option
@seconds_option
@click.option("--size", type=Finite("CC", 1, 60), default=10.0, show_default=True, help="CC of each cast.")
@head_options
@run_options
def ring_command(
    pack: str,
    seconds: float | None,
    size: float,
    head: str | None,
    top: float | None,
    per_stop: float | None,
    **options: Any,
) -> int:
    """A ring-around on one sheet: as it is, and a cast towards each of six colours, all of one density.

    \b
    Example:
      lamphouse ringaround --pack "60M 50Y" --seconds 10 --head dichroic --show
    """
    this, before, time = _begin(pack, seconds, head, top, per_stop)
    return _carry_out(ring_plan(before, size, time, this.kind, this.top), options)


@click.command("ladder")
@pack_option
@seconds_option
@click.option("--along", type=click.Choice(list("CMYRGB")), required=True, help="The colour that is stepped.")
@click.option(
    "--amounts",
    "steps",
    metavar="CC,CC,...",
    default="-10,-5,0,5,10",
    show_default=True,
    help="CC, with commas; 0: as it is.",
)
@head_options
@run_options
def ladder_command(
    pack: str,
    seconds: float | None,
    along: str,
    steps: str,
    head: str | None,
    top: float | None,
    per_stop: float | None,
    **options: Any,
) -> int:
    """Patches with more and less of one colour on one sheet, all of one density.

    \b
    Example:
      lamphouse ladder --pack "60M 50Y" --seconds 10 --along M \\
          --amounts -10,-5,0,5,10 --head dichroic --show
    """
    try:
        row = tuple(float(part) for part in steps.split(","))
    except ValueError:
        raise click.UsageError(f"--amounts {steps!r} is not a row of numbers; write it like -10,-5,0,5,10") from None
    if not 2 <= len(row) <= 24 or not all(abs(step) <= 100 for step in row):
        raise click.UsageError("--amounts takes 2 to 24 numbers of CC, each between -100 and 100")
    this, before, time = _begin(pack, seconds, head, top, per_stop)
    return _carry_out(ladder_plan(before, along, row, time, this.kind, this.top), options)


@click.command("first-sheet")
@click.option(
    "--pack", metavar="PACK", help="The pack to begin from, like '60M 50Y'.  [default: as in the notebook's right prints]"
)
@seconds_option
@click.option("--patches", type=click.Choice(["1", "5"]), help="How many.  [default: 5; 1 where head and paper are known]")
@click.option(
    "--like", metavar="WORDS", type=Line(), help="Only right prints with these words in them: a film, a paper, a roll."
)
@click.option("--for", "target", type=FILE, help="The recipe of the print that it is made for.")
@click.option("--negative", metavar="NAME", type=Line(), help="The negative, as you call it.")
@click.option("--paper-name", metavar="NAME", type=Line(), help="The paper, as you call it.")
@head_options
@run_options
def first_sheet_command(
    pack: str | None,
    seconds: float | None,
    patches: str | None,
    like: str | None,
    target: Path | None,
    negative: str | None,
    paper_name: str | None,
    head: str | None,
    top: float | None,
    per_stop: float | None,
    **options: Any,
) -> int:
    """Five patches of one grey place (as it is, lighter, darker, 20M more, 20Y more) from which `solve` learns.

    Neutral density in the pack stays in; near a dial's end it is 20 less instead. One patch is enough where sheets before
    have taught head and paper. Without a pack it begins from the notebook's right prints: marked final, or rated 4 or 5.

    \b
    Examples:
      lamphouse first-sheet --pack "60M 50Y" --seconds 10 --head dichroic --show
      lamphouse first-sheet --negative "roll 15/7" --paper-name "lustre" \\
          --like lustre
    """
    from timer.app.first_sheet import first_sheet_of

    if pack or target:
        refuse_idle("--like", "it chooses the right prints to begin from, where no --pack and no recipe (--for) is given")
    about = About(negative, paper_name=paper_name)
    this, path = chosen(head, top, per_stop), options["notebook_path"]
    try:
        plan, made_for = first_sheet_of(this, pack, seconds, int(patches or 0), like, target, about, path)
    except ValueError as error:
        raise click.UsageError(str(error)) from None
    return _carry_out(plan, {**options, "made_for": made_for})


def _begin(
    pack: str, seconds: float | None, head: str | None, top: float | None, per_stop: float | None
) -> tuple[Head, heads.Setting, float]:
    """The head, what it is set to, and the time for that. Refused when something is missing."""
    this = chosen(head, top, per_stop)
    try:
        before = heads.parse_setting(pack, this.kind, this.per_stop)
    except ValueError as error:
        raise Refused(str(error)) from None
    if seconds is None and this.kind == "tricolour" and isinstance(before, Lights):
        seconds = max(amounts(before))
    if seconds is None:
        raise Refused("say the time that goes with the pack as it is: --seconds 10")
    return this, before, seconds


@click.command("drydown")
@click.option("--seconds", type=SECONDS, help="The time of the print that is right while wet.")
@click.option("--wet", metavar="DENSITIES", help="Instead: densities read on a wet print, like '0.15 0.62 1.05'.")
@click.option("--dry", metavar="DENSITIES", help="The same places of it read when dry, in the same order.")
@click.option("--paper", "paper_name", metavar="NAME", type=Line(60), help="With --wet: the paper, whose curve is kept.")
@click.option("--grade", type=click.Choice(GRADES), metavar="GRADE", help="With --wet: its grade, 00 to 5.")
@run_options
def drydown_command(
    seconds: float | None, wet: str | None, dry: str | None, paper_name: str | None, grade: str | None, **options: Any
) -> int:
    """Prints that find a paper's dry-down: a reference, and five with 8 to 12 % less light. Or, of a paper whose curve is
    kept (`lamphouse paper-curve`), the dry-down from densities of one print, wet and dry.

    \b
    Examples:
      lamphouse drydown --seconds 12 --show
      lamphouse drydown --wet "0.16 0.60 1.02" --dry "0.18 0.65 1.09" \\
          --paper Pearl --grade 2
    """
    if wet is not None or dry is not None:
        from timer.cli.dry_down import from_readings

        if wet is None or dry is None or paper_name is None or seconds is not None:
            raise click.UsageError("from readings: --wet, --dry and --paper (and its --grade), without --seconds")
        refuse_idle(RUN_ONLY, "from readings no light is given")
        from_readings(wet, dry, paper_name, grade or "", as_json=options["as_json"])
        return 0
    if seconds is None:
        raise click.UsageError(
            "say the time of the print that is right while wet, --seconds 12; or readings, --wet and --dry"
        )
    refuse_idle({"--paper": "paper_name", "--grade": "grade"}, "they go with readings, --wet and --dry")
    return _carry_out(dry_down_plan(seconds), options)


def _carry_out(plan: Plan, options: dict[str, Any]) -> int:
    from timer.cli.console import carry_out_within_limits

    return carry_out_within_limits(plan, **options)

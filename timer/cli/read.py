"""``lamphouse read``."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import click
import msgspec

from timer.app.jobs import Job
from timer.cli.options import json_option, notebook_option, refuse_idle
from timer.cli.show import echo_json
from timer.cli.values import FILE, SECONDS, Whole, as_stops
from timer.craft.read_by_area import Way, at_an_end, parse_place, ways
from timer.craft.read_strip import advice, seconds_at
from timer.craft.stops import digits, format_stops, stops_between, stops_text
from timer.craft.strip import MAX_PATCHES
from timer.documents.recipe import Recipe
from timer.errors import Refused
from timer.plans.from_areas import read
from timer.plans.model import Plan
from timer.plans.strip import strip_plan
from timer.text import unfit

WAYS = {"burn": "lowest base, with burns", "dodge": "higher base, with dodges", "both": "the base as read"}


@dataclass(frozen=True)
class _Test:
    """What is read, how it is called, and the recipe that it changes, if one is; ``run`` 0 is none."""

    job: Job
    name: str
    recipe: Recipe | None = None
    run: int = 0


@click.command("read")
@click.argument("what", nargs=-1, required=True, metavar="[PLACE | RUN] [AREA=PLACE]...")
@click.option("--from", "first", type=SECONDS, help="Seconds of patch 1, as the strip was made.")
@click.option("--around", "middle", type=SECONDS, help="Seconds of the middle, as the strip was made.")
@click.option("--step", metavar="STOPS", callback=as_stops, default="1/3", show_default=True, help="Stops between patches.")
@click.option(
    "--patches", "count", type=Whole("number", 2, MAX_PATCHES), default=5, show_default=True, help="How many the strip has."
)
@click.option("--way", type=click.Choice(["burn", "dodge"]), help="Lowest base with burns, or higher base with dodges.")
@click.option(
    "--title", metavar="TITLE", help="Of the recipe that is written; else as the strip's own print, or its negative."
)
@click.option("-o", "--output", type=FILE, help="Write the recipe here.")
@json_option
@notebook_option
def command(
    what: tuple[str, ...],
    first: float | None,
    middle: float | None,
    step: Fraction,
    count: int,
    way: str | None,
    title: str | None,
    output: Path | None,
    as_json: bool,
    notebook_path: Path | None,
) -> None:
    """What a test says. PLACE alone: 3 is patch 3, 3.5 or 3-4 is half-way between 3 and 4, counted in stops.

    With AREA=PLACE, what each area of the print needs, and from it a recipe: the lowest base with burns, or a higher one
    with dodges, the easier for the hands first. base=PLACE is the picture as a whole. RUN is a strip of the notebook.

    \b
    Examples:
      lamphouse read 3.5 --from 8 --step 1/3
      lamphouse read 12 window=4 wall=2.5 face=3-4
      lamphouse read 12 window=4 wall=2.5 face=3-4 --way burn -o stair.toml
      lamphouse read window=3 wall=1.5 base=2 --from 10 --step 5/12 \\
          --patches 3 -o stair.toml
    """
    if first is not None and middle is not None:
        raise click.UsageError("say the strip's first time with --from SECONDS, or its middle with --around SECONDS")
    alone = [word for word in what if "=" not in word]
    said = [word for word in what if "=" in word]
    if len(alone) > 1:
        raise click.UsageError(f"{alone[1]!r} is no reading; an area and its place are written window=4, or 'left wall=4'")
    if not said and (output or way):
        raise click.UsageError("a recipe is made of areas; say one at least, like window=4")
    made = first if first is not None else middle
    if made is None and not said:
        raise click.UsageError(_how_to(alone[0]))
    if made is not None and said and alone:
        raise click.UsageError(
            f"the strip is either run {alone[0]} of the notebook, or one made --from or --around a time; not both"
        )
    if made is None:
        refuse_idle(
            {"--step": "step", "--patches": "count"},
            "a strip of the notebook has its own patches; --step and --patches are for one made --from or --around a time",
        )
    else:
        refuse_idle({"--notebook": "notebook_path"}, "the strip is one made --from or --around a time")
    if output is None:
        refuse_idle("--title", "no recipe is written; -o FILE writes one")
    try:
        plan = strip_plan(made, step, count, "cover", around=first is None) if made is not None else None
        if plan and not said:
            _place(plan, _at(alone[0]), as_json=as_json)
            return
        places = [_reading(word) for word in said]
        test = _Test(Job(plan), "a strip") if plan else _of_notebook(alone, notebook_path)
        _by_area(test, places, way, title, output, as_json=as_json)
    except ValueError as error:
        raise Refused(str(error)) from None
    if output and test.run:
        from timer.app.archive import opened

        with opened(notebook_path, to_write=True) as archive:
            archive.mark_read(test.run)


def _how_to(number: str) -> str:
    return (
        f"how was the strip made? say its first time with --from SECONDS, or its middle with --around SECONDS; to read "
        f"strip {number} of the notebook, say what each area needs: lamphouse read {number} window=4 wall=2.5"
    )


def _place(plan: Plan, place: Fraction, *, as_json: bool) -> None:
    times = [patch.seconds for patch in plan.patches]
    seconds = seconds_at(times, float(place))
    stops = stops_between(times[0], seconds)
    says = advice(times, float(place))
    if as_json:
        echo_json({"seconds": seconds, "stops": stops, "advice": says})
        return
    click.echo(f"{digits(seconds)} s, {stops_text(stops)} stop from patch 1")
    if says:
        click.echo(says)


def _reading(word: str) -> tuple[str, Fraction]:
    area, _, place = word.partition("=")
    name = area.strip()
    if not name:
        raise click.UsageError(f"{word!r} names no area; write it like window=4")
    if found := unfit(name):
        raise click.UsageError(f"an area's name has {found}; write it in plain text")
    if len(name) > 60:
        raise click.UsageError(f"an area's name has 60 letters at most, and {name[:20]!r}... has {len(name)}")
    return name, _at(place, f"{name}: ")


def _at(place: str, of: str = "") -> Fraction:
    try:
        return parse_place(place)
    except ValueError as error:
        raise click.UsageError(f"{of}{error}") from None


def _of_notebook(alone: list[str], notebook_path: Path | None) -> _Test:
    """The strip that a run's number stands for."""
    from timer.app.archive import opened
    from timer.app.reading import begun_for

    if alone and not (alone[0].isdecimal() and alone[0].isascii() and 0 < int(alone[0][:19]) < 2**63):
        raise click.UsageError(f"{alone[0]!r} is no run's number; areas are read from a strip of the notebook, like 12")
    with opened(notebook_path, instead="say how the strip was made with --from SECONDS") as archive:
        if not alone:
            raise click.UsageError(_which([test.run for test in archive.tests_to_read()]))
        run = int(alone[0])
        job, negative = archive.test_as_made(run), archive.sheet(run).negative
    return _Test(job, f"strip {run}", begun_for(job, negative or f"From strip {run}", negative), run)


def _which(waiting: list[int]) -> str:
    listed = f"; to be read: {', '.join(map(str, waiting))}" if waiting else ""
    return f"which strip? give its run's number, or how it was made with --from SECONDS{listed}"


def _by_area(
    test: _Test,
    places: list[tuple[str, Fraction]],
    wanted: str | None,
    title: str | None,
    output: Path | None,
    *,
    as_json: bool,
) -> None:
    found = read(test.job.plan, places)
    offered = ways(found.areas, found.base)
    ends = at_an_end((*found.areas, *([found.base] if found.base else [])), len(test.job.plan.patches))
    chosen = next((way for way in offered if way.how == wanted), offered[0])
    if wanted and chosen.how not in (wanted, "burn"):
        raise ValueError("with base= the base is as read, one way only; leave --way out, or leave base= out")
    recipe = _written(chosen, test, title, output) if output else None
    if as_json:
        ways_json = [_way_json(way) for way in offered]
        areas = [_area_json(area) for area in (*found.areas, *([found.base] if found.base else []))]
        data: dict[str, Any] = {"run": test.run or None, "areas": areas, "ways": ways_json, "notes": list(ends)}
        echo_json(data | {"chosen": chosen.how, "recipe": recipe})
        return
    for area in (*found.areas, *([found.base] if found.base else [])):
        stops = format_stops(area.stops, signed=True)
        click.echo(f"{area.area:16} {float(area.place):g}: {digits(area.seconds)} s, {stops} stop from patch 1")
    for n, way in enumerate(offered):
        click.echo("\n" + "\n".join(_lines(way, "easier: " if len(offered) > 1 and n == 0 else "")))
    for note in ends:
        click.echo(f"- {note}")
    if output:
        click.echo(f"\nWritten to {output}: {WAYS[chosen.how]}.")


def _lines(way: Way, before: str) -> list[str]:
    lines = [f"{before}{WAYS[way.how]}: {way.changes} changes of the hands, {digits(way.light_s)} s of light"]
    alike = f"  ({', '.join(way.as_base)})" if way.as_base else ""
    lines.append(f"  base   {digits(way.base_s):>6} s{alike}")
    for word, found in (("dodge", way.dodges), ("burn", way.burns)):
        lines += [
            f"  {word:5}  {digits(each.seconds):>6} s  {each.area} {format_stops(each.stops, signed=True)}" for each in found
        ]
    return lines + [f"  - {conflict}" for conflict in way.conflicts]


def _area_json(area: Any) -> dict[str, Any]:
    return {"area": area.area, "place": float(area.place), "stops": float(area.stops), "seconds": area.seconds}


def _way_json(way: Way) -> dict[str, Any]:
    def local(each: Any) -> dict[str, Any]:
        return {"area": each.area, "stops": float(each.stops), "says": format_stops(each.stops), "seconds": each.seconds}

    return {
        "way": way.how,
        "base_s": way.base_s,
        "as_base": list(way.as_base),
        "dodges": [local(each) for each in way.dodges],
        "burns": [local(each) for each in way.burns],
        "fits": way.fits,
        "changes": way.changes,
        "light_s": way.light_s,
        "conflicts": list(way.conflicts),
    }


def _written(way: Way, test: _Test, title: str | None, output: Path) -> str:
    from timer.app.reading import begun_for, write_way

    begin = test.recipe or begun_for(test.job, title or output.stem.capitalize())
    if title:
        begin = msgspec.structs.replace(begin, title=title)
    return write_way(output, test.job, way, begin, test.name)

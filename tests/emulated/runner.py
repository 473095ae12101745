"""Builds what is needed, runs cases on their boards, both boards side by side, and collects the rows."""

import shutil
import threading
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from tests.emulated import fetch
from tests.emulated.cases import Boot, Case
from tests.emulated.guest_link import GuestError
from tests.emulated.image import Builder, Image
from tests.emulated.models import MODELS
from tests.emulated.rig import Rig
from tests.emulated.says import say
from tests.emulated.table import Row, tell


def run(cases: Sequence[Case], boards: Sequence[str], cache: Path, *, refresh: bool = False) -> list[Row]:
    """Every row of ``cases`` on ``boards``. Missing when something cannot be had."""
    fetch.tools()
    cache.mkdir(parents=True, exist_ok=True)
    images = _images(cases, boards, cache, refresh)
    logs = cache / "run"
    shutil.rmtree(logs, ignore_errors=True)
    rows: dict[str, list[Row]] = {board: [] for board in boards}
    lanes = [threading.Thread(target=_lane, args=(board, cases, images, logs, rows[board]), name=board) for board in boards]
    for lane in lanes:
        lane.start()
    for lane in lanes:
        lane.join()
    order = {case.name: number for number, case in enumerate(cases)}
    return sorted((row for board in boards for row in rows[board]), key=lambda row: order.get(row.case, len(order)))


def _images(cases: Sequence[Case], boards: Sequence[str], cache: Path, refresh: bool) -> dict[tuple[str, Boot], Image]:
    images: dict[tuple[str, Boot], Image] = {}
    builders: dict[str, Builder] = {}
    initrds: dict[tuple[str, bool], Path] = {}
    for case in cases:
        boot = case.boot
        for board in set(boards) & set(case.boards):
            builder = builders.get(boot.release) or Builder(fetch.RELEASES[boot.release], cache, refresh=refresh)
            builders[boot.release] = builder
            initrd = initrds.get((boot.release, boot.bare)) or (builder.bare() if boot.bare else builder.installed())
            initrds[boot.release, boot.bare] = initrd
            images[board, boot] = builder.image(MODELS[board], initrd)
    return images


def _lane(board: str, cases: Sequence[Case], images: dict[tuple[str, Boot], Image], logs: Path, rows: list[Row]) -> None:
    """One board's cases, one after another; those of one boot on one machine."""
    mine = [case for case in cases if board in case.boards]
    for boot in dict.fromkeys(case.boot for case in mine):
        name = f"{board} {boot.name}".strip()
        folder = logs / name.replace(" ", "-")
        rig: Rig | None = None
        try:
            say(f"{name}: starts")
            model = MODELS[board]
            if boot.outlives is not None:
                model = replace(model, outlives=boot.outlives)
            rig = Rig(name, model, images[board, boot], folder, init=boot.init, append=boot.append)
            say(f"{name}: up after {rig.boot_s:.0f} s")
            for case in (case for case in mine if case.boot == boot):
                rig.case = case.name
                _collect(rig, case, rows)
        except Exception as error:
            rows.append(Row(name, "boot", "the board runs", "FAILS", repr(error)))
            tell(rows[-1])
        finally:
            if rig:
                rig.close()


def _collect(rig: Rig, case: Case, rows: list[Row]) -> None:
    """The rows of one case. A case that breaks off leaves a row that fails, and a machine that is started anew."""
    try:
        for row in case.run(rig):
            rows.append(row)
            tell(row)
    except (GuestError, RuntimeError, OSError) as error:
        rows.append(rig.row("ran to its end", False, str(error)))
        tell(rows[-1])
        rig.close()
        rig.boot()

"""The README's lines for a Pi, as they stand, on a system that has no compiler and no package of ours."""

import re
from collections.abc import Iterator

from tests.emulated.layers import PROJECT
from tests.emulated.rig import Rig
from tests.emulated.table import Row

SOURCE, HOME_OF_PI = "/home/pi/source", "/home/pi/home"
OFFLINE = {"PIP_NO_INDEX": "1", "PIP_FIND_LINKS": "/emulated/wheels", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}
"""The guest has no network: the wheels that the registry has for it lie in a folder."""
VENV_S, INSTALL_S = 300.0, 900.0


def readme_lines(text: str) -> list[str]:
    """The commands under "On a Raspberry Pi"."""
    section = text.partition("\n## On a Raspberry Pi\n")[2].partition("\n## ")[0]
    return [line.strip().partition("  #")[0].strip() for line in re.findall(r"^    (\S.*)$", section, re.MULTILINE)]


def install(rig: Rig) -> Iterator[Row]:
    compiler = rig.guest.run("command -v gcc cc c++ || echo none").last
    yield rig.row("no compiler in this system", compiler == "none", compiler)
    lines = readme_lines((PROJECT / "README.md").read_text())
    pip = next((line for line in lines if "pip install" in line), "")
    doctor = next((line for line in lines if "lamphouse doctor" in line), "")
    light = next((line for line in lines if "lamphouse strip" in line), "")
    made = rig.guest.run("python3 -m venv .venv", user="pi", cwd=SOURCE, seconds=VENV_S)
    yield rig.row("python3 -m venv .venv", made.code == 0, made.last or "done")
    began = rig.now()
    done = rig.guest.run(pip, user="pi", cwd=SOURCE, seconds=INSTALL_S, **OFFLINE)
    yield rig.row(pip, done.code == 0, f"{rig.now() - began:.0f} s; {done.last}")
    rig.settings(HOME_OF_PI)
    rig.guest.run(f"chown -R pi {HOME_OF_PI}")
    found = rig.guest.run(doctor, user="pi", cwd=SOURCE, seconds=180, LAMPHOUSE_HOME=HOME_OF_PI)
    faults = [line for line in found.text.splitlines() if line.startswith("fault")]
    yield rig.row(doctor, found.code == 0 and not faults, "; ".join(faults) or "no fault")
    since = rig.now()
    rig.guest.start("app", light, user="pi", cwd=SOURCE, environ={"LAMPHOUSE_HOME": HOME_OF_PI})
    if not rig.said("app", "ready", 120):
        yield rig.row(light, False, f"is not ready: {rig.guest.wait('app', 0).text[-300:]}")
        return
    rig.guest.tell("app", "\n")
    edge = rig.witness.wait(rig.lamp, True, since, 10)
    off = rig.witness.wait(rig.lamp, False, since, 15) if edge else None
    seen = f"{off.at - edge.at:.3f} s" if edge and off else rig.guest.wait("app", 0).text[-200:]
    yield rig.row(light, edge is not None and off is not None, seen)

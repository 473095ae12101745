"""Every case, in the order in which they run."""

from tests.emulated.cases import Boot, Case
from tests.emulated.cases.given import print_, strip
from tests.emulated.cases.install import install
from tests.emulated.cases.killed import few_kills, kills
from tests.emulated.cases.off import few_off, off
from tests.emulated.cases.owner import owner
from tests.emulated.cases.panic import halts, restarts
from tests.emulated.cases.pedal import bounces, pedal
from tests.emulated.cases.quiet import boot, doctor
from tests.emulated.cases.screen import screen
from tests.emulated.cases.stall import stall
from tests.emulated.cases.unit import unit

SYSTEMD = Boot(
    "systemd",
    init="/usr/lib/systemd/systemd",
    append="systemd.unit=emulated.service systemd.show_status=0 systemd.log_level=err",
)
PANIC_1, PANIC_0 = Boot("panic=1", append="panic=1"), Boot("panic=0", append="panic=0")
NEWER = {
    outlives: Boot(
        f"6.12 persist={letter}",
        release="trixie",
        append=f"pinctrl_bcm2835.persist_gpio_outputs={letter}",
        outlives=outlives,
    )
    for outlives, letter in ((True, "y"), (False, "n"))
}
INSTALL = {
    python: Boot(f"Python {python}", release=release, bare=True)
    for python, release in (("3.11", "bookworm"), ("3.13", "trixie"))
}

CASES = (
    Case("boot", boot, ("smoke", "table", "full")),
    Case("doctor", doctor, ("smoke", "table", "full")),
    Case("strip", strip, ("smoke", "table", "full")),
    Case("print", print_, ("table", "full")),
    Case("pedal", bounces, ("smoke",), ("virt",)),
    Case("pedal", pedal, ("table", "full"), ("virt",)),
    Case("off", few_off, ("smoke",)),
    Case("off", off, ("table", "full")),
    Case("stall", stall, ("table", "full")),
    Case("owner", owner, ("table", "full")),
    Case("screen", screen, ("table", "full")),
    Case("killed", few_kills, ("smoke",)),
    Case("killed", kills, ("table", "full")),
    Case("unit", unit, ("table", "full"), ("virt",), SYSTEMD),
    Case("panic", restarts, ("table", "full"), ("virt",), PANIC_1),
    Case("panic", halts, ("table", "full"), boot=PANIC_0),
    *(
        Case(name, run, ("full",), ("raspi3b",), boot_)
        for boot_ in NEWER.values()
        for name, run in (("boot", boot), ("doctor", doctor), ("strip", strip), ("off", off), ("killed", few_kills))
    ),
    *(Case("install", install, ("full",), ("raspi3b",), boot_) for boot_ in INSTALL.values()),
)

"""Every case, in the order in which they run."""

from tests.emulated.cases import Case
from tests.emulated.cases.given import print_, strip
from tests.emulated.cases.killed import few_kills, kills
from tests.emulated.cases.off import few_off, off
from tests.emulated.cases.owner import owner
from tests.emulated.cases.pedal import bounces, pedal
from tests.emulated.cases.quiet import boot, doctor
from tests.emulated.cases.stall import stall

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
    Case("killed", few_kills, ("smoke",)),
    Case("killed", kills, ("table", "full")),
)

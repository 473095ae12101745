"""Every case, in the order in which they run."""

from tests.emulated.cases import Case
from tests.emulated.cases.given import print_, strip
from tests.emulated.cases.killed import few_kills, kills
from tests.emulated.cases.quiet import boot, doctor

CASES = (
    Case("boot", boot, ("smoke", "table", "full")),
    Case("doctor", doctor, ("smoke", "table", "full")),
    Case("strip", strip, ("smoke", "table", "full")),
    Case("print", print_, ("table", "full")),
    Case("killed", few_kills, ("smoke",)),
    Case("killed", kills, ("table", "full")),
)

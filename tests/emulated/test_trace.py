"""Edges out of trace lines, as QEMU 7.2 writes them."""

import time
from pathlib import Path

from tests.emulated.trace import Bcm2835, Edge, Pl061, Witness

PL061 = """\
7@1790000000.000001:pl061_set_output /machine/unattached/device[12] setting output 5 to 0
7@1790000000.100000:pl061_set_output /machine/unattached/device[12] setting output 5 to 1
7@1790000000.100001:pl061_write /machine/unattached/device[12] offset 0x80 value 0x20
7@1790000000.200000:pl061_set_output /machine/unattached/device[12] setting output 6 to 1
7@1790000001.100000:pl061_set_output /machine/unattached/device[12] setting output 5 to 0
"""
OUTPUT_17 = 0b001 << 3 * 7


def _write(at: float, register: int, value: int, block: str = "bcm2835_gpio") -> str:
    where = f"cpu 0 mr 0x55d addr {0x3F200000 + register:#x} value {value:#x} size 4 name '{block}'"
    return f"7@{at:.6f}:memory_region_ops_write {where}\n"


def _edges(decoder: Pl061 | Bcm2835, lines: str) -> list[Edge]:
    return [edge for line in lines.splitlines() for edge in decoder.feed(line)]


def test_pl061() -> None:
    assert _edges(Pl061(), PL061) == [
        Edge(5, True, 1790000000.1),
        Edge(6, True, 1790000000.2),
        Edge(5, False, 1790000001.1),
    ]


def test_a_pi_is_lit_when_the_pin_is_an_output_and_set() -> None:
    lines = [
        _write(1.0, 0x1C, 1 << 17),  # set, but not yet an output
        _write(2.0, 0x04, OUTPUT_17),
        _write(3.0, 0x28, 1 << 17),
        _write(4.0, 0x1C, 1 << 17),
        _write(5.0, 0x1C, 1 << 22),  # another pin
        _write(6.0, 0x04, 0),  # becomes an input: the resistor pulls it low
    ]
    lit = [(edge.high, edge.at) for edge in _edges(Bcm2835([17]), "".join(lines))]
    assert lit == [(True, 2.0), (False, 3.0), (True, 4.0), (False, 6.0)]


def test_a_pull_is_set_by_its_clock() -> None:
    decoder = Bcm2835([17])
    _edges(decoder, _write(1.0, 0x94, 0b01) + _write(1.1, 0x98, 1 << 22))
    assert decoder.pulls == {}
    _edges(decoder, _write(1.2, 0x98, 1 << 17))
    assert decoder.pulls == {17: "down"}


def test_other_blocks_are_not_pins() -> None:
    assert not _edges(Bcm2835([17]), _write(1.0, 0x04, OUTPUT_17, "pl011") + _write(2.0, 0x1C, 1 << 17, "bcm2835-sys"))


def test_a_witness_follows_a_file_that_grows(tmp_path: Path) -> None:
    path = tmp_path / "trace"
    path.write_text("")
    witness = Witness(path, Pl061())
    half = PL061.index("setting output 5 to 1") + 5
    with path.open("a") as file:
        file.write(PL061[:half])
        file.flush()
        time.sleep(0.05)
        file.write(PL061[half:])
    edge = witness.wait(5, False, 1790000000.5, 5)
    assert edge and edge.at == 1790000001.1
    assert witness.lights(5) == [(1790000000.1, 1790000001.1)]
    assert witness.high(6) and not witness.high(5)
    assert witness.wait(5, True, 1790000002.0, 0.05) is None
    witness.close()

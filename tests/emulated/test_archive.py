"""Archives against the tool that has always read them, and against the kernel's description of the form."""

import io
import stat
import subprocess

from tests.emulated.archive import ALIGNED, Tree, file, folder, link
from tests.tools.needs import need


def _tree() -> Tree:
    tree = Tree()
    tree.add("etc/group", file(b"root:x:0:\n"))
    tree.add("usr/bin/tool", file(b"#!/bin/sh\n", 0o755, 1000, 997))
    tree.add("bin", link("usr/bin"))
    tree.add("/tmp/", folder(0o1777))
    return tree


def _archive(tree: Tree) -> bytes:
    out = io.BytesIO()
    tree.write(out)
    return out.getvalue()


def _read(archive: bytes) -> dict[str, tuple[list[int], bytes]]:
    """Documentation/driver-api/early-userspace/buffer-format.rst: 6 bytes of magic, 13 fields of 8 hex digits, name, data."""
    found: dict[str, tuple[list[int], bytes]] = {}
    at = 0
    while True:
        assert archive[at : at + 6] == b"070701"
        fields = [int(archive[at + 6 + 8 * n : at + 14 + 8 * n], 16) for n in range(13)]
        size, length = fields[6], fields[11]
        name = archive[at + 110 : at + 110 + length - 1].decode()
        begin = (at + 110 + length + 3) // 4 * 4
        if name == "TRAILER!!!":
            return found
        found[name] = (fields, archive[begin : begin + size])
        at = (begin + size + 3) // 4 * 4


def test_the_kernels_form() -> None:
    found = _read(_archive(_tree()))
    assert list(found) == ["bin", "etc", "etc/group", "tmp", "usr", "usr/bin", "usr/bin/tool"]
    assert found["etc/group"][1] == b"root:x:0:\n"
    assert found["bin"][1] == b"usr/bin" and stat.S_ISLNK(found["bin"][0][1])
    assert stat.S_IMODE(found["tmp"][0][1]) == 0o1777 and stat.S_ISDIR(found["usr/bin"][0][1])
    assert found["usr/bin/tool"][0][1:4] == [stat.S_IFREG | 0o755, 1000, 997]


def test_archives_can_stand_behind_each_other() -> None:
    assert len(_archive(_tree())) % ALIGNED == 0


def test_the_later_of_two_entries_holds() -> None:
    tree = _tree()
    tree.add("etc/group", file(b"new\n"))
    assert _read(_archive(tree))["etc/group"][1] == b"new\n"


def test_cpio_lists_it() -> None:
    need("cpio", install="cpio")
    done = subprocess.run(["cpio", "-itv", "--quiet", "-n"], input=_archive(_tree()), capture_output=True, check=True)
    lines = done.stdout.decode().splitlines()
    assert len(lines) == 7
    assert any(line.startswith("-rwxr-xr-x") and " 1000 " in line and line.endswith("usr/bin/tool") for line in lines)
    assert any(line.startswith("drwxrwxrwt") and line.endswith("tmp") for line in lines)

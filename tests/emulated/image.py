"""What the boards boot: a kernel, a device tree, and an initramfs whose layers are kept as long as they hold."""

import hashlib
import lzma
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from tests.emulated import fetch, layers
from tests.emulated.archive import Tree
from tests.emulated.fetch import Release
from tests.emulated.layers import PROJECT
from tests.emulated.models import Model
from tests.emulated.says import say

EXTRAS = ("pi",)
RIG = ("gpiod>=2.2",)
"""What the agent in the guest needs itself, for the marker line."""
PI_REVISION = "a02082"
"""A Pi 3B's (Raspberry Pi documentation, revision codes); its firmware writes it into the device tree."""
MODULES = ("crc16", "crc32c_generic", "libcrc32c", "mbcache", "jbd2", "ext4", "loop")
"""For a disk that can be made to stall, in the order in which they are loaded."""


@dataclass(frozen=True)
class Image:
    """What a board boots. ``tree``: a device tree, None where the emulator makes its own. ``bare``: nothing is installed."""

    kernel: Path
    initrd: Path
    tree: Path | None
    bare: bool = False


class Builder:
    """Images of one release, in ``cache``; what was fetched for the same wants is not fetched again."""

    def __init__(self, release: Release, cache: Path, *, refresh: bool = False) -> None:
        self._release, self._place = release, cache / release.name
        self._wanted = fetch.requirements(PROJECT, EXTRAS)
        made_by = [Path(__file__), Path(layers.__file__)]
        asked = [*fetch.PACKAGES, *self._wanted, *RIG, sys.version, *(path.read_text() for path in made_by)]
        self._key = hashlib.sha256("\n".join(asked).encode()).hexdigest()[:12]
        self._system, self._site = (self._place / f"{name}-{self._key}.cpio" for name in ("system", "site"))
        self._kernel, self._trees, self._modules = (self._place / name for name in ("vmlinuz", "trees", "modules"))
        if refresh or not self._site.exists():
            self._fetch()
        else:
            say(f"{release.name}: packages, kernel and wheels of the last time; --refresh fetches them anew")

    def _fetch(self) -> None:
        fetched = fetch.packages(self._release, self._place.parent)
        wheels = self._place / "site"
        fetch.wheels(self._release, [*self._wanted, *RIG], wheels)
        say(f"{self._release.name}: root of {len(fetched.packages)} packages")
        for old in (*self._place.glob("*.cpio"), *self._place.glob("*.initrd")):
            old.unlink()
        self._unpack_kernel(fetched.kernel)
        _write(self._system, layers.system(fetched.packages, self._modules.glob("*.ko"), self._release.python))
        _write(self._site, layers.site(wheels, self._release.python))

    def installed(self) -> Path:
        """An initramfs with the project installed, for every board."""
        wheel = fetch.own_wheel(PROJECT, self._place / "own")
        own = self._place / "project.cpio"
        _write(own, layers.project(wheel, self._release.python))
        return self._join("installed", self._system, self._site, own)

    def bare(self) -> Path:
        """An initramfs with nothing installed, wheel files and the project's source beside it."""
        files, source = self._place / f"wheels-{self._key}", self._place / "source"
        if not files.exists():
            fetch.wheel_files(self._release, [*self._wanted, "setuptools>=68", "wheel"], files)
        shutil.rmtree(source, ignore_errors=True)
        fetch.copy_project(PROJECT, source)
        own = self._place / "install.cpio"
        _write(own, layers.to_install(source, files))
        return self._join("bare", self._system, own)

    def image(self, model: Model, initrd: Path) -> Image:
        """What ``model`` boots."""
        return Image(self._kernel, initrd, self._tree(model), initrd.stem == "bare")

    def _join(self, name: str, *parts: Path) -> Path:
        path = self._place / f"{name}.initrd"
        with path.open("wb") as out:
            for part in parts:
                with part.open("rb") as layer:
                    shutil.copyfileobj(layer, out)
        return path

    def _tree(self, model: Model) -> Path | None:
        """The board's device tree, as its firmware would hand it over, with the console on the first serial port."""
        if not model.tree:
            return None
        path = self._place / f"{model.kind}.dtb"
        shutil.copyfile(self._trees / Path(model.tree).name, path)
        for arguments in (
            ["-c", str(path), "/system"],
            ["-t", "x", str(path), "/system", "linux,revision", PI_REVISION],
            ["-r", str(path), "/soc/serial@7e201000/bluetooth"],
        ):
            subprocess.run(["fdtput", *arguments], check=True, capture_output=True)
        return path

    def _unpack_kernel(self, package: Path) -> None:
        for place in (self._trees, self._modules):
            shutil.rmtree(place, ignore_errors=True)
            place.mkdir(parents=True)
        with layers.contents(package) as members:
            for member in members:
                name = Path(member.name).name
                stem, is_module, packed = name.partition(".ko")
                if name.startswith("vmlinuz-"):
                    self._kernel.write_bytes(layers.data(members, member))
                elif name.startswith("bcm2837-rpi-3-b.dtb"):
                    (self._trees / name).write_bytes(layers.data(members, member))
                elif is_module and stem in MODULES:
                    module = layers.data(members, member)
                    path = self._modules / f"{MODULES.index(stem)}-{stem}.ko"
                    path.write_bytes(lzma.decompress(module) if packed == ".xz" else module)


def _write(path: Path, tree: Tree) -> None:
    """Whole or not at all."""
    part = path.with_suffix(".part")
    with part.open("wb") as out:
        tree.write(out)
    part.rename(path)

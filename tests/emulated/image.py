"""What the boards boot: a kernel, a device tree, and an initramfs in layers that are kept as long as they hold.

Nothing is unpacked on this machine's disk and nothing needs root: packages are read as archives and written as one.
"""

import hashlib
import importlib.util
import lzma
import marshal
import shutil
import stat
import subprocess
import sys
import tarfile
import warnings
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from tests.emulated import fetch
from tests.emulated.archive import Entry, Tree, file, folder, link
from tests.emulated.fetch import Release
from tests.emulated.models import Model
from tests.emulated.says import say

HERE = Path(__file__).parent
PROJECT = HERE.parent.parent
GUEST = HERE / "guest"
EXTRAS = ("pi",)
RIG = ("gpiod>=2.1",)
"""What the agent in the guest needs itself, for the marker line."""
USER = GROUP = 1000
GPIO_GROUP = 997
PI_REVISION = "a02082"
"""A Pi 3B's (Raspberry Pi documentation, revision codes); its firmware writes it into the device tree."""
BUILT = "/home/pi/lamphouse/.venv/bin/lamphouse"
"""Where the service unit that ships expects the program."""
MODULES = ("crc16", "crc32c_generic", "libcrc32c", "mbcache", "jbd2", "ext4", "loop")
"""For a disk that can be made to stall, in the order in which they are loaded."""
APPLETS = (
    "sh", "mount", "umount", "mkdir", "ls", "cat", "echo", "sleep", "kill", "ps", "stty", "hostname", "ip", "setsid", "ln",
    "chown", "chmod", "dmesg", "head", "tail", "grep", "sed", "date", "su", "id", "env", "rm", "cp", "poweroff", "reboot",
    "mknod", "find", "touch", "test", "true", "false", "dd", "insmod", "losetup", "fsfreeze", "sync", "tr", "wc", "uname",
)  # fmt: skip
_DROPPED = tuple(
    f"usr/share/{name}/"
    for name in (
        "doc", "man", "locale", "info", "lintian", "bash-completion", "zsh", "zoneinfo", "i18n", "perl5", "perl", "debconf",
        "initramfs-tools", "mime", "pixmaps", "applications", "apport", "bug",
    )
) + ("usr/lib/aarch64-linux-gnu/gconv/", "usr/lib/aarch64-linux-gnu/perl", "usr/include/", "boot/", "var/lib/dpkg/")  # fmt: skip
_DROPPED_PYTHON = ("test/", "idlelib/", "lib2to3/", "tkinter/", "turtledemo/", "pydoc_data/", "config-3")
_DROPPED_SITE = ("/tests/", "/f2py/", "bin/", "setuptools", "_distutils_hack", "pkg_resources", "distutils-precedence.pth")


@dataclass(frozen=True)
class Kernel:
    """The kernel of a release, and folders of what its package brings."""

    image: Path
    trees: Path
    modules: Path


@dataclass(frozen=True)
class Image:
    """What a board boots. ``tree``: a device tree, None where the emulator makes its own. ``bare``: nothing is installed."""

    kernel: Path
    initrd: Path
    tree: Path | None
    bare: bool = False


class Builder:
    """Images of one release, in ``cache``."""

    def __init__(self, release: Release, cache: Path, *, refresh: bool = False) -> None:
        self._release, self._place = release, cache / release.name
        self._wanted = fetch.requirements(PROJECT, EXTRAS)
        asked = [release.name, *fetch.PACKAGES, *self._wanted, *RIG, Path(__file__).read_text(), sys.version]
        self._key = hashlib.sha256("\n".join(asked).encode()).hexdigest()[:12]
        self._system_layer = self._place / f"system-{self._key}.cpio"
        self._base = self._place / f"site-{self._key}.cpio"
        self.kernel = Kernel(self._place / "vmlinuz", self._place / "trees", self._place / "modules")
        if refresh or not self._base.exists():
            self._fetch()
        else:
            say(f"{release.name}: packages, kernel and wheels of the last time")

    def _fetch(self) -> None:
        fetched = fetch.packages(self._release, self._place.parent)
        site = self._place / "site"
        fetch.wheels(self._release, [*self._wanted, *RIG], site)
        say(f"{self._release.name}: root of {len(fetched.packages)} packages")
        self._unpack_kernel(fetched.kernel)
        for old in self._place.glob("*.cpio"):
            old.unlink()
        self._write(self._system_layer, self._system(fetched.packages))
        self._write(self._base, self._site(site))

    def _write(self, path: Path, tree: Tree) -> None:
        part = path.with_suffix(".part")
        with part.open("wb") as out:
            tree.write(out)
        part.rename(path)

    # ── layers ───────────────────────────────────────────────────────────────

    def _system(self, packages: Iterable[Path]) -> Tree:
        """The distribution's part: files of the packages, users, a few names."""
        tree = Tree()
        for package in packages:
            _add_package(tree, package)
        for name in ("bin", "sbin", "lib"):
            tree.add(name, link(f"usr/{name}"))
        for name in APPLETS:
            if f"usr/bin/{name}" not in tree.entries:
                tree.add(f"usr/bin/{name}", link("/usr/bin/busybox"))
        tree.add("etc/passwd", file(b"root:x:0:0:root:/root:/bin/sh\npi:x:1000:1000:pi:/home/pi:/bin/sh\n"))
        groups = f"root:x:0:\ntty:x:5:\ndialout:x:20:pi\naudio:x:29:pi\nvideo:x:44:pi\npi:x:1000:\ngpio:x:{GPIO_GROUP}:pi\n"
        tree.add("etc/group", file(groups.encode()))
        tree.add("etc/machine-id", file(b"0123456789abcdef0123456789abcdef\n"))
        for path in ("proc", "sys", "dev", "run", "root", "home"):
            tree.add(path, folder())
        tree.add("tmp", folder(0o1777))
        tree.add("home/pi", folder(0o755, USER, GROUP))
        for path in self.kernel.modules.glob("*.ko"):
            tree.add(f"emulated/modules/{path.name}", file(path.read_bytes()))
        self._compile(tree)
        return tree

    def _site(self, site: Path) -> Tree:
        """The wheels that the project needs."""
        tree = Tree()
        for path in sorted(site.rglob("*")):
            name = str(path.relative_to(site))
            if path.is_file() and not any(part in f"{name}/" for part in _DROPPED_SITE):
                tree.add(f"{self._packages}/{name}", file(path.read_bytes(), 0o755 if ".so" in path.name else 0o644))
        self._compile(tree)
        return tree

    def _project(self, wheel: Path) -> Tree:
        """The project's own wheel, installed; the programs of this folder that run in the guest; the unit that ships."""
        tree = Tree()
        with zipfile.ZipFile(wheel) as whole:
            for name in whole.namelist():
                tree.add(f"{self._packages}/{name}", file(whole.read(name)))
        program = b"#!/usr/bin/python3\nimport sys\n\nfrom tui.entry import main\n\nsys.exit(main())\n"
        for path in ("usr/local/bin/lamphouse", BUILT):
            tree.add(path, file(program, 0o755))
        for path in ("home/pi/lamphouse", "home/pi/lamphouse/.venv", "home/pi/lamphouse/.venv/bin"):
            tree.add(path, folder(0o755, USER, GROUP))
        unit = PROJECT / "hardware/systemd/lamphouse.service"
        tree.add("etc/systemd/system/lamphouse.service", file(unit.read_bytes()))
        _add_guest(tree)
        self._compile(tree)
        return tree

    def _install(self, files: Path) -> Tree:
        """No wheel installed, but wheel files and the project's source: for trying the README's own lines."""
        tree = Tree()
        source = self._place / "source"
        shutil.rmtree(source, ignore_errors=True)
        fetch.copy_project(PROJECT, source)
        for path in filter(Path.is_file, source.rglob("*")):
            tree.add(f"home/pi/source/{path.relative_to(source)}", file(path.read_bytes(), 0o644, USER, GROUP))
        tree.add("home/pi/source", folder(0o755, USER, GROUP))
        for path in files.glob("*.whl"):
            tree.add(f"emulated/wheels/{path.name}", file(path.read_bytes()))
        _add_guest(tree)
        return tree

    @property
    def _packages(self) -> str:
        return f"usr/local/lib/python{self._release.python}/dist-packages"

    def _compile(self, tree: Tree) -> None:
        """Bytecode beside every module, if this Python is the guest's: compiling takes an emulated processor minutes."""
        if f"{sys.version_info.major}.{sys.version_info.minor}" != self._release.python:
            return
        for path, entry in list(tree.entries.items()):
            if path.endswith(".py") and "/pygments/lexers/" not in path and path.startswith("usr/"):
                where, _, name = path.rpartition("/")
                compiled = _bytecode(entry.data, f"/{path}")
                if compiled:
                    cached = f"{where}/__pycache__/{name[:-3]}.{sys.implementation.cache_tag}.pyc"
                    tree.add(cached, file(compiled))

    # ── images ───────────────────────────────────────────────────────────────

    def installed(self) -> Path:
        """An initramfs with the project installed, for every board."""
        wheel = fetch.own_wheel(PROJECT, self._place / "own")
        self._write(self._place / "project.cpio", self._project(wheel))
        return self._join("installed", self._system_layer, self._base, self._place / "project.cpio")

    def bare(self) -> Path:
        """An initramfs with nothing installed, wheel files and the project's source beside it."""
        files = self._place / f"wheels-{self._key}"
        if not files.exists():
            fetch.wheel_files(self._release, [*self._wanted, "setuptools>=68", "wheel"], files)
        self._write(self._place / "install.cpio", self._install(files))
        return self._join("bare", self._system_layer, self._place / "install.cpio")

    def image(self, model: Model, initrd: Path) -> Image:
        """What ``model`` boots."""
        return Image(self.kernel.image, initrd, self._tree(model), initrd.stem == "bare")

    def _join(self, name: str, *layers: Path) -> Path:
        path = self._place / f"{name}.initrd"
        with path.open("wb") as out:
            for layer in layers:
                with layer.open("rb") as part:
                    shutil.copyfileobj(part, out)
        return path

    def _tree(self, model: Model) -> Path | None:
        """The board's device tree, as its firmware would hand it over, with the console on the first serial port."""
        if not model.tree:
            return None
        path = self._place / f"{model.kind}.dtb"
        shutil.copyfile(self.kernel.trees / Path(model.tree).name, path)
        for arguments in (
            ["-c", str(path), "/system"],
            ["-t", "x", str(path), "/system", "linux,revision", PI_REVISION],
            ["-r", str(path), "/soc/serial@7e201000/bluetooth"],
        ):
            subprocess.run(["fdtput", *arguments], check=True, capture_output=True)
        return path

    def _unpack_kernel(self, package: Path) -> None:
        for place in (self.kernel.trees, self.kernel.modules):
            shutil.rmtree(place, ignore_errors=True)
            place.mkdir(parents=True)
        with _contents(package) as members:
            for member in members:
                name = Path(member.name).name
                stem = name.split(".ko")[0]
                if name.startswith("vmlinuz-"):
                    self.kernel.image.write_bytes(_data(members, member))
                elif name.startswith("bcm2837-rpi-3-b.dtb"):
                    (self.kernel.trees / name).write_bytes(_data(members, member))
                elif ".ko" in name and stem in MODULES:
                    data = _data(members, member)
                    number = MODULES.index(stem)
                    target = self.kernel.modules / f"{number}-{stem}.ko"
                    target.write_bytes(lzma.decompress(data) if name.endswith(".xz") else data)


def _contents(package: Path) -> tarfile.TarFile:
    """The files of a Debian package, as a stream."""
    read = subprocess.Popen(["dpkg-deb", "--fsys-tarfile", str(package)], stdout=subprocess.PIPE)
    return tarfile.open(fileobj=read.stdout, mode="r|")


def _data(members: tarfile.TarFile, member: tarfile.TarInfo) -> bytes:
    opened = members.extractfile(member)
    assert opened, f"{member.name} is no file"
    return opened.read()


def _add_package(tree: Tree, package: Path) -> None:
    with _contents(package) as members:
        for member in members:
            path = _merged(member.name.removeprefix("./").rstrip("/"))
            if not path or path.startswith(_DROPPED) or _dropped_python(path):
                continue
            if member.isdir():
                if path not in ("usr/bin", "usr/sbin", "usr/lib"):
                    tree.add(path, folder(member.mode & 0o7777, member.uid, member.gid))
            elif member.issym():
                tree.add(path, link(member.linkname))
            elif member.islnk():
                tree.add(path, tree.entries[_merged(member.linkname.removeprefix("./"))])
            elif member.isfile():
                tree.add(path, Entry(stat.S_IFREG | member.mode & 0o7777, _data(members, member), member.uid, member.gid))


def _merged(path: str) -> str:
    """/bin, /sbin and /lib are /usr's, as on every current Debian."""
    return f"usr/{path}" if path.split("/")[0] in ("bin", "sbin", "lib") else path


def _dropped_python(path: str) -> bool:
    if not path.startswith("usr/lib/python3"):
        return False
    return path.partition("/")[2].partition("/")[2].partition("/")[2].startswith(_DROPPED_PYTHON)


def _add_guest(tree: Tree) -> None:
    for path in sorted(GUEST.iterdir()):
        if path.is_file():
            tree.add(f"emulated/{path.name}", file(path.read_bytes(), 0o755))
    tree.add("init", link("emulated/init"))
    tree.add("etc/systemd/system/emulated.service", link("/emulated/emulated.service"))


def _bytecode(source: bytes, path: str) -> bytes:
    """A module's bytecode that is taken without looking at its source (PEP 552); empty if it does not compile."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            code = compile(source, path, "exec", dont_inherit=True)
    except (SyntaxError, ValueError):
        return b""
    head = importlib.util.MAGIC_NUMBER + (0b01).to_bytes(4, "little") + importlib.util.source_hash(source)
    return head + marshal.dumps(code)

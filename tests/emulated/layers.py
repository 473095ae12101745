"""The layers of an initramfs: the distribution, the wheels, the project; each a tree of entries, nothing on a disk.

Packages are read as archives and never unpacked, so nothing here needs root, and nothing foreign is run.
"""

import importlib.util
import marshal
import stat
import subprocess
import sys
import tarfile
import warnings
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.emulated.archive import Entry, Tree, file, folder, link

PROJECT = Path(__file__).parent.parent.parent
GUEST = Path(__file__).parent / "guest"
USER = GROUP = 1000
GPIO_GROUP = 997
PROGRAM = b"#!/usr/bin/python3\nimport sys\n\nfrom tui.entry import main\n\nsys.exit(main())\n"
APPLETS = (
    "sh", "mount", "umount", "mkdir", "ls", "cat", "echo", "sleep", "kill", "ps", "stty", "hostname", "ip", "setsid", "ln",
    "chown", "chmod", "dmesg", "head", "tail", "grep", "sed", "date", "su", "id", "env", "rm", "cp", "poweroff", "reboot",
    "mknod", "find", "touch", "test", "true", "false", "dd", "insmod", "losetup", "fsfreeze", "sync", "tr", "wc", "uname",
)  # fmt: skip
_SHARED = (
    "doc", "man", "locale", "info", "lintian", "bash-completion", "zsh", "zoneinfo", "i18n", "perl5", "perl", "debconf",
    "initramfs-tools", "mime", "pixmaps", "applications", "apport", "bug",
)  # fmt: skip
_DROPPED = (
    *(f"usr/share/{name}/" for name in _SHARED),
    *("usr/lib/aarch64-linux-gnu/gconv/", "usr/lib/aarch64-linux-gnu/perl", "usr/include/", "boot/", "var/lib/dpkg/"),
)
_DROPPED_PYTHON = ("test/", "idlelib/", "lib2to3/", "tkinter/", "turtledemo/", "pydoc_data/", "config-3")
_DROPPED_SITE = ("/tests/", "/f2py/", "bin/", "setuptools", "_distutils_hack", "pkg_resources", "distutils-precedence.pth")


def site_packages(python: str) -> str:
    """Where the distribution's Python ``python`` looks for what is not its own."""
    return f"usr/local/lib/python{python}/dist-packages"


def system(packages: Iterable[Path], modules: Iterable[Path], python: str) -> Tree:
    """The distribution's part: files of the packages, the kernel's modules, users, a few names."""
    tree = Tree()
    for package in packages:
        _add_package(tree, package)
    for name in ("bin", "sbin", "lib"):
        tree.add(name, link(f"usr/{name}"))
    for name in APPLETS:
        if f"usr/bin/{name}" not in tree.entries:
            tree.add(f"usr/bin/{name}", link("/usr/bin/busybox"))
    bundle = [entry.data for path, entry in tree.entries.items() if path.startswith("usr/share/ca-certificates/")]
    tree.add("etc/ssl/certs/ca-certificates.crt", file(b"".join(bundle)))  # a package's own script would make it
    tree.add("etc/passwd", file(b"root:x:0:0:root:/root:/bin/sh\npi:x:1000:1000:pi:/home/pi:/bin/sh\n"))
    groups = f"root:x:0:\ntty:x:5:\ndialout:x:20:pi\naudio:x:29:pi\nvideo:x:44:pi\npi:x:1000:\ngpio:x:{GPIO_GROUP}:pi\n"
    tree.add("etc/group", file(groups.encode()))
    tree.add("etc/machine-id", file(b"0123456789abcdef0123456789abcdef\n"))
    for name in ("proc", "sys", "dev", "run", "root", "home"):
        tree.add(name, folder())
    tree.add("tmp", folder(0o1777))
    tree.add("home/pi", folder(0o755, USER, GROUP))
    for module in modules:
        tree.add(f"emulated/modules/{module.name}", file(module.read_bytes()))
    _compile(tree, python)
    return tree


def site(wheels: Path, python: str) -> Tree:
    """Wheels that pip has put into the folder ``wheels``."""
    tree = Tree()
    for path in sorted(wheels.rglob("*")):
        name = str(path.relative_to(wheels))
        if path.is_file() and not any(part in f"{name}/" for part in _DROPPED_SITE):
            tree.add(f"{site_packages(python)}/{name}", file(path.read_bytes(), 0o755 if ".so" in path.name else 0o644))
    _compile(tree, python)
    return tree


def project(wheel: Path, python: str) -> Tree:
    """The project's own wheel, installed; and the programs of this folder that run in the guest."""
    tree = Tree()
    with zipfile.ZipFile(wheel) as whole:
        for name in whole.namelist():
            tree.add(f"{site_packages(python)}/{name}", file(whole.read(name)))
    tree.add("usr/local/bin/lamphouse", file(PROGRAM, 0o755))
    _add_guest(tree)
    _compile(tree, python)
    return tree


def to_install(source: Path, wheels: Path) -> Tree:
    """Nothing installed, but wheel files and the project's source: for trying the README's own lines."""
    tree = Tree()
    tree.add("home/pi/source", folder(0o755, USER, GROUP))
    for path in sorted(source.rglob("*")):
        name = f"home/pi/source/{path.relative_to(source)}"
        tree.add(name, folder(0o755, USER, GROUP) if path.is_dir() else file(path.read_bytes(), 0o644, USER, GROUP))
    for path in wheels.glob("*.whl"):
        tree.add(f"emulated/wheels/{path.name}", file(path.read_bytes()))
    _add_guest(tree)
    return tree


@contextmanager
def contents(package: Path) -> Iterator[tarfile.TarFile]:
    """The files of a Debian package, as a stream that is read once, in order."""
    with (
        subprocess.Popen(["dpkg-deb", "--fsys-tarfile", str(package)], stdout=subprocess.PIPE) as read,
        tarfile.open(fileobj=read.stdout, mode="r|") as members,
    ):
        yield members


def data(members: tarfile.TarFile, member: tarfile.TarInfo) -> bytes:
    opened = members.extractfile(member)
    assert opened, f"{member.name} is no file"
    return opened.read()


def _add_package(tree: Tree, package: Path) -> None:
    with contents(package) as members:
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
                tree.add(path, Entry(stat.S_IFREG | member.mode & 0o7777, data(members, member), member.uid, member.gid))


def _merged(path: str) -> str:
    """/bin, /sbin and /lib are /usr's, as on every current Debian."""
    return f"usr/{path}" if path.split("/")[0] in ("bin", "sbin", "lib") else path


def _dropped_python(path: str) -> bool:
    _, found, inside = path.partition("usr/lib/python3")
    return bool(found) and inside.partition("/")[2].startswith(_DROPPED_PYTHON)


def _add_guest(tree: Tree) -> None:
    for path in sorted(GUEST.iterdir()):
        if path.is_file():
            tree.add(f"emulated/{path.name}", file(path.read_bytes(), 0o755))
    tree.add("init", link("emulated/init"))
    tree.add("etc/systemd/system/emulated.service", link("/emulated/emulated.service"))


def _compile(tree: Tree, python: str) -> None:
    """Bytecode beside every module, if this Python is the guest's: compiling takes an emulated processor minutes."""
    if f"{sys.version_info.major}.{sys.version_info.minor}" != python:
        return
    for path, entry in list(tree.entries.items()):
        if path.startswith("usr/") and path.endswith(".py") and "/pygments/lexers/" not in path:
            where, _, name = path.rpartition("/")
            compiled = _bytecode(entry.data, f"/{path}")
            if compiled:
                tree.add(f"{where}/__pycache__/{name[:-3]}.{sys.implementation.cache_tag}.pyc", file(compiled))


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

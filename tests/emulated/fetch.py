"""What the boards are made of, fetched once and kept: packages and kernels from Debian, wheels from the Python registry.

Foreign packages are only downloaded and read here; nothing in them runs on this machine.
"""

import os
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.emulated.says import Missing, say

TOOLS = {
    "qemu-system-aarch64": "qemu-system-arm",
    "fdtput": "device-tree-compiler",
    "dpkg-deb": "dpkg",
    "apt-get": "apt",
}
KEYRING = Path("/usr/share/keyrings/debian-archive-keyring.gpg")
MIRROR = "http://deb.debian.org/debian"
PACKAGES = (
    "python3", "python3-venv", "libstdc++6", "busybox-static", "kmod", "e2fsprogs", "systemd-sysv",
)  # fmt: skip
PLATFORMS = tuple(f"manylinux{v}_aarch64" for v in ("_2_36", "_2_35", "_2_34", "_2_31", "_2_28", "_2_27", "_2_17", "2014"))


@dataclass(frozen=True)
class Release:
    """A Debian release that a Pi's system is made of, and its Python."""

    name: str
    python: str


RELEASES = {r.name: r for r in (Release("bookworm", "3.11"), Release("trixie", "3.13"))}


@dataclass(frozen=True)
class Fetched:
    """Files of one release: packages for the root, the kernel's package."""

    packages: tuple[Path, ...]
    kernel: Path


def tools() -> None:
    """See that the emulator and the few tools about it are there; install them if we are root. Missing if not."""
    absent = {package for tool, package in TOOLS.items() if not shutil.which(tool)}
    if not absent:
        return
    wanted = " ".join(sorted(absent))
    if os.geteuid() != 0 or not shutil.which("apt-get"):
        raise Missing(f"the emulator needs packages that are not here: sudo apt-get install {wanted}")
    say(f"installing {wanted}")
    _run(["apt-get", "update", "-q"], f"install {wanted} by hand")
    _run(["apt-get", "install", "-yq", "--no-install-recommends", *sorted(absent)], f"install {wanted} by hand")


def packages(release: Release, cache: Path) -> Fetched:
    """Packages of ``release`` for arm64, in ``cache``; what is there already is not fetched again. Missing if it cannot be."""
    place = cache / release.name
    conf = _private_apt(release, place)
    say(f"{release.name}: packages and kernel for arm64")
    _apt(conf, "update", "-q")
    asked = ("install", "-y", "--no-install-recommends", *PACKAGES)
    _apt(conf, *asked, "--download-only", "-q")
    # Apt names only what it would still have to fetch, so it is asked about a folder that has nothing.
    names = _apt(conf, *asked, "--print-uris", "-o", f"Dir::Cache::archives={place}/apt/none")
    depends = _apt(conf, "depends", "linux-image-arm64", tool="apt-cache")
    kernel = next(line.split()[1] for line in depends.splitlines() if line.strip().startswith("Depends:"))
    archives, kernels = place / "apt" / "archives", place / "kernel"
    kernels.mkdir(exist_ok=True)
    _apt(conf, "download", "-q", kernel, cwd=kernels)
    found = tuple(sorted(archives / row.split()[1] for row in names.splitlines() if row.startswith("'")))
    return Fetched(found, max(kernels.glob(f"{kernel}_*.deb"), key=lambda file: file.stat().st_mtime))


def wheels(release: Release, requirements: Sequence[str], target: Path) -> None:
    """Put ``requirements`` and what they need into the folder ``target``, from wheels for this Python on arm64 alone."""
    say(f"{release.name}: wheels for Python {release.python}")
    python = release.python.replace(".", "")
    shutil.rmtree(target, ignore_errors=True)
    _pip("install", "--target", str(target), "--no-compile", *_for(python), *requirements)


def wheel_files(release: Release, requirements: Sequence[str], target: Path) -> None:
    """The same as files in ``target``, for a pip in the guest."""
    say(f"{release.name}: wheel files for Python {release.python}")
    target.mkdir(parents=True, exist_ok=True)
    _pip("download", "--dest", str(target), *_for(release.python.replace(".", "")), *requirements)


def own_wheel(project: Path, target: Path) -> Path:
    """The project as the wheel that a user installs, built from what git knows in ``project``."""
    say("the project's own wheel")
    shutil.rmtree(target, ignore_errors=True)
    source = target / "source"
    copy_project(project, source)
    _pip("wheel", "--no-deps", "--wheel-dir", str(target), str(source))
    shutil.rmtree(source)
    return next(target.glob("*.whl"))


def copy_project(project: Path, target: Path) -> None:
    """What git knows of ``project``, or would take."""
    listed = subprocess.run(
        ["git", "-C", str(project), "ls-files", "-coz", "--exclude-standard"], capture_output=True, text=True, check=False
    )
    if listed.returncode:
        raise Missing(f"{project} is no git checkout: {listed.stderr.strip()}")
    for name in filter(None, listed.stdout.split("\0")):
        if (project / name).is_file():
            (target / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(project / name, target / name)


def requirements(project: Path, extras: Iterable[str]) -> list[str]:
    """What the project asks for in its pyproject.toml."""
    table = tomllib.loads((project / "pyproject.toml").read_text())["project"]
    extra: dict[str, list[str]] = table.get("optional-dependencies", {})
    return [*table["dependencies"], *(need for name in extras for need in extra.get(name, []))]


# ── the tools ────────────────────────────────────────────────────────────────


def _private_apt(release: Release, place: Path) -> Path:
    """Apt's own files for a system of this release that is not this machine; the configuration that says so."""
    if not KEYRING.exists():
        raise Missing(f"{KEYRING} is not here, so Debian's packages cannot be trusted: install debian-archive-keyring")
    apt = place / "apt"
    for folder in ("lists/partial", "archives/partial", "none/partial"):
        (apt / folder).mkdir(parents=True, exist_ok=True)
    (apt / "status").write_text("")
    (apt / "sources.list").write_text(f"deb [signed-by={KEYRING}] {_mirror()} {release.name} main\n")
    conf = apt / "apt.conf"
    conf.write_text(
        f'Dir::State "{apt}"; Dir::State::lists "{apt}/lists"; Dir::State::status "{apt}/status";\n'
        f'Dir::Cache "{apt}"; Dir::Cache::archives "{apt}/archives";\n'
        f'Dir::Etc::sourcelist "{apt}/sources.list"; Dir::Etc::sourceparts "-";\n'
        'APT::Architecture "arm64"; APT::Architectures { "arm64"; }; APT::Sandbox::User "root";\n'
    )
    return conf


def _mirror() -> str:
    """The mirror that this machine uses itself, if it is a Debian; else the public one."""
    command = ["apt-get", "indextargets", "--format", "$(REPO_URI)", "Created-By: Packages", "Origin: Debian"]
    told = subprocess.run(command, capture_output=True, text=True, check=False).stdout.split()
    return next((uri.rstrip("/") for uri in told if "security" not in uri), MIRROR)


def _apt(conf: Path, *arguments: str, tool: str = "apt-get", cwd: Path | None = None) -> str:
    return _run([tool, *arguments], "Debian's packages for arm64 cannot be had", {"APT_CONFIG": str(conf)}, cwd)


def _for(python: str) -> list[str]:
    platforms = [word for name in PLATFORMS for word in ("--platform", name)]
    abis = [word for name in (f"cp{python}", "abi3", "none") for word in ("--abi", name)]
    return [*platforms, "--python-version", python, "--implementation", "cp", *abis, "--only-binary=:all:"]


def _pip(*arguments: str) -> None:
    _run([sys.executable, "-m", "pip", *arguments, "--quiet"], "wheels for arm64 cannot be had")


def _run(command: Sequence[str], what: str, environ: dict[str, str] | None = None, cwd: Path | None = None) -> str:
    done = subprocess.run(
        command, capture_output=True, text=True, env={**os.environ, **(environ or {})}, cwd=cwd, check=False
    )
    if done.returncode:
        said = [line for line in (done.stderr + done.stdout).splitlines() if line.strip()]
        raise Missing(f"{what}: {' '.join(command[:3])} says {said[-1] if said else done.returncode!r}")
    return done.stdout

"""A disk that stands still on command: an ext4 file system in a file, frozen and thawed (fsfreeze(8)). Needs root."""

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

NEEDS = ("mkfs.ext4", "mount", "umount", "fsfreeze")


def possible() -> str:
    """Empty where a disk can be made to stall, else why not."""
    missing = [tool for tool in NEEDS if not shutil.which(tool)]
    return f"{', '.join(missing)} missing" if missing else "" if os.geteuid() == 0 else "not root"


class Disk:
    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._frozen = False

    def freeze(self) -> None:
        subprocess.run(["fsfreeze", "-f", str(self.folder)], check=True)
        self._frozen = True

    def thaw(self) -> None:
        if self._frozen:
            subprocess.run(["fsfreeze", "-u", str(self.folder)], check=True)
            self._frozen = False


@contextmanager
def disk(place: Path) -> Iterator[Disk]:
    """A small file system mounted below ``place``; CalledProcessError where the system does not let us."""
    image, folder = place / "disk.img", place / "disk"
    folder.mkdir()
    with image.open("wb") as out:
        out.truncate(64 * 2**20)
    subprocess.run(["mkfs.ext4", "-q", str(image)], check=True)
    subprocess.run(["mount", "-o", "loop", str(image), str(folder)], check=True)
    made = Disk(folder)
    try:
        yield made
    finally:
        made.thaw()
        subprocess.run(["umount", str(folder)], check=False)
        image.unlink()

"""One QEMU: started, asked by QMP, its input pins moved by the qtest protocol, ended."""

import json
import shutil
import socket
import subprocess
import tempfile
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

from tests.emulated.image import Image
from tests.emulated.models import Model

DIAL_S = 20.0


class Emulator:
    """A board that runs. ``folder`` gets its trace, its console and what the emulator says.

    ``append``: more for the kernel's command line. ``init``: the first process.
    """

    def __init__(self, model: Model, image: Image, folder: Path, *, append: str = "", init: str = "/init") -> None:
        self.model = model
        folder.mkdir(parents=True, exist_ok=True)
        self.trace = folder / "trace"
        self.trace.write_text("")
        self._errors = folder / "emulator"
        self._sockets = Path(tempfile.mkdtemp(prefix="emulated-"))  # a socket's name must be short
        self._pl061 = ""
        kernel = f"console=ttyAMA0,115200 quiet loglevel=1 rdinit={init} iomem=relaxed sysrq_always_enabled {append}"
        command = [
            "qemu-system-aarch64", *model.machine, "-accel", "tcg,thread=multi",
            "-display", "none", "-monitor", "none", "-nodefaults",
            "-kernel", str(image.kernel), "-initrd", str(image.initrd), "-append", kernel,
            *(["-dtb", str(image.tree)] if image.tree else []),
            *(word for event in model.trace for word in ("-trace", event)),
            "-msg", "timestamp=on", "-D", str(self.trace),
            "-qmp", self._listening("qmp"), "-qtest", self._listening("qtest"), "-qtest-log", "/dev/null",
            "-chardev", f"socket,id=console,path={self._sockets}/console,server=on,wait=off",
            "-serial", "chardev:console",
        ]  # fmt: skip
        self.began = time.time()
        with self._errors.open("w") as errors:
            self._process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=errors, stderr=errors)
        try:
            self.console = self._dial("console")
            self._qmp = self._dial("qmp").makefile("rw")
            self._qmp.readline()
            self.ask("qmp_capabilities")
            self._qtest = self._dial("qtest").makefile("rw")
        except BaseException:
            self.stop()
            raise

    def _listening(self, name: str) -> str:
        return f"unix:{self._sockets}/{name},server=on,wait=off"

    def _dial(self, name: str) -> socket.socket:
        end = time.monotonic() + DIAL_S
        while True:
            dialled = socket.socket(socket.AF_UNIX)
            try:
                dialled.connect(str(self._sockets / name))
                return dialled
            except OSError:
                dialled.close()
                if self._process.poll() is not None or time.monotonic() > end:
                    raise RuntimeError(f"the emulator does not start: {self._errors.read_text().strip()}") from None
                time.sleep(0.05)

    def ask(self, execute: str, **arguments: Any) -> Any:
        """A QMP command's answer."""
        self._qmp.write(json.dumps({"execute": execute, "arguments": arguments}) + "\n")
        self._qmp.flush()
        while True:
            told: dict[str, Any] = json.loads(self._qmp.readline())
            if "error" in told:
                raise RuntimeError(f"{execute}: {told['error']}")
            if "return" in told:
                return told["return"]

    def drive(self, pin: int, high: bool) -> float:
        """Move an input pin from outside (PL061 alone has such); when."""
        if not self._pl061:
            found = self.ask("qom-list", path="/machine/unattached")
            self._pl061 = next(f"/machine/unattached/{o['name']}" for o in found if o["type"] == "child<pl061>")
        at = time.time()
        self._qtest.write(f"set_irq_in {self._pl061} unnamed-gpio-in {pin} {int(high)}\n")
        self._qtest.flush()
        while (told := self._qtest.readline().strip()).startswith("IRQ"):
            pass
        if told != "OK":
            raise RuntimeError(f"the emulator does not move pin {pin}: {told}")
        return at

    @property
    def running(self) -> bool:
        return self._process.poll() is None

    def stop(self) -> None:
        with suppress(Exception):
            self._qmp.write('{"execute": "quit"}\n')
            self._qmp.flush()
        try:
            self._process.wait(3)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        shutil.rmtree(self._sockets, ignore_errors=True)

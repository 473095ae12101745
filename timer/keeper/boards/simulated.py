"""A lamp without hardware: its edges go nowhere, or down a wire to whoever wants to see them.

The wire is a Unix stream socket. Out, a line each: ``L1 <ns>`` and ``L0 <ns>`` (lamp), ``S1`` and
``S0`` (safelight), ``C<cue> <ns>`` (sound); with a ``bulb`` of the bench ``B graded=... red=...``, the full-light
seconds that the last burst added in each band, from a filament as warm as the bursts before left it.
In: ``P1``/``P0``, the footswitch down and up. When the process dies the kernel closes the wire, and whoever holds
the other end takes that as dark: just so a GPIO line falls back to its pull when its owner is gone.
"""

import queue
import socket
import threading
import time
from collections.abc import Sequence
from typing import Any

from timer.keeper.boards.line import Line


class SimulatedBoard:
    """``wire``: a socket's path, or empty for none. ``speed_permille``: lamp time a thousand real ms, for the bulb."""

    def __init__(self, wire: str = "", bulb: str = "", speed_permille: int = 1000) -> None:
        self.line: Line | None = None
        self.pedal_down = False
        self._wire: socket.socket | None = None
        self._lamp = False
        self._held = b""
        self._speed = speed_permille
        self._on_ns = 0
        self._bursts: queue.SimpleQueue[tuple[float, float] | None] = queue.SimpleQueue()
        self._telling: threading.Thread | None = None
        if bulb:
            # Edges in, band light out; calculated on another thread, since the next edge must not wait for it.
            self._telling = threading.Thread(target=self._tell_light, args=(bulb,), daemon=True)
            self._telling.start()
        if wire:
            self._wire = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
            self._wire.connect(wire)
            self._wire.setblocking(False)

    def lamp(self, on: bool) -> int:
        changed, self._lamp = self._lamp != on, on
        at = time.monotonic_ns()
        if changed:
            self._tell(b"L%d %d\n" % (on, at))
            if on:
                self._on_ns = at
            elif self._telling:
                self._bursts.put((self._lamp_s(self._on_ns), self._lamp_s(at)))
        return at

    def _lamp_s(self, ns: int) -> float:
        return ns * self._speed / 1e12

    def _tell_light(self, bulb: str) -> None:
        from timer.bench.lamps import Burning  # numpy: only for a lamp with a filament

        burning = Burning(bulb)
        while burst := self._bursts.get():
            light = burning.light(*burst)
            self._tell(("B " + " ".join(f"{band}={dose:.6f}" for band, dose in light.items()) + "\n").encode())

    def safelight(self, on: bool) -> None:
        self._tell(b"S%d\n" % on)

    def sound(self, cue: int) -> None:
        self._tell(b"C%d %d\n" % (cue, time.monotonic_ns()))

    def _tell(self, line: bytes) -> None:
        if self._wire:
            try:
                self._wire.send(line)
            except OSError:
                self._wire = None

    def inputs(self) -> Sequence[Any]:
        return [self._wire] if self._wire else []

    def pedal_edges(self) -> list[tuple[bool, int]]:
        """Edges since the last call: down or up, and when (ns)."""
        if not self._wire:
            return []
        try:
            data = self._wire.recv(4096)
        except BlockingIOError:
            return []
        except OSError:
            data = b""
        if not data:
            self._wire = None
            return []
        *lines, self._held = (self._held + data).split(b"\n")
        return [(line == b"P1", time.monotonic_ns()) for line in lines if line in (b"P1", b"P0")]

    def close(self) -> None:
        self.lamp(False)
        if self._telling:
            self._bursts.put(None)
            self._telling.join(2)  # dark already; what the paper had is still told

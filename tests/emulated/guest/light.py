"""A small app of the keeper room alone: starts a keeper, has it light, and says what it heard, a line each.

light.py LAMP_PIN FOOTSWITCH_PIN SECONDS [exposure|focus|armed] [HOW_MANY]
"""
import secrets
import sys
import time
import threading

from timer.errors import KeeperError, LamphouseError
from timer.keeper.config import Config
from timer.keeper.host.client import Lost
from timer.keeper.host.open import open_keeper
from timer.keeper.wire import messages

lamp, foot, seconds = int(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3])
how = sys.argv[4] if len(sys.argv) > 4 else "exposure"
times = int(sys.argv[5]) if len(sys.argv) > 5 else 1
done = threading.Event()
t0 = time.monotonic()

def heard(e: object) -> None:
    print(f"{time.monotonic() - t0:.3f}", e, flush=True)
    if isinstance(e, Lost) or (isinstance(e, messages.Dark)) or (isinstance(e, messages.FocusLightChanged) and e.limit_us == 0):
        done.set()

try:
    with open_keeper(Config("/tmp/home", lamp="gpio", lamp_pin=lamp, footswitch_pin=foot), heard) as k:
        print(f"{time.monotonic() - t0:.3f}", k.hello, flush=True)
        for _ in range(times):
            done.clear()
            if how == "focus":
                k.focus_light(seconds)
            else:
                k.expose(secrets.randbits(63) | 1, round(seconds * 1e6), now=how == "exposure")
            done.wait(seconds + 30)
            time.sleep(0.5)
except LamphouseError as e:
    print(f"{time.monotonic() - t0:.3f} ERROR", e, flush=True)
    sys.exit(1)

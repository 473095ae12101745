"""How long a test sheet's scan takes to be read, and how much memory, in a process of its own.

.venv/bin/python -m tests.benchmarks.scans            # 4800 x 6800, and 100 megapixels
.venv/bin/python -m tests.benchmarks.scans --small    # a tenth, to see that it runs
"""

import argparse
import json
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from tests.measure.test_scan import bed
from tests.tools.scans import png16, scanned, tiff16

SIZES = ((4800, 6800), (9000, 11100))
FORMS = ("tif 16", "tif 16 deflated", "png 16", "tif 8", "png 8", "jpg 8")
READ = """
import json, sys, time
from pathlib import Path
begun = time.perf_counter()
from timer.craft.filters import Pack
from timer.measure.picture import load
from timer.measure.scan import read_scan
from timer.plans.first_sheet import first_sheet_plan
found = read_scan(load(Path(sys.argv[1])), first_sheet_plan(Pack(0, 60, 50), 10.0, "dichroic"), {})
wall = time.perf_counter() - begun
used = time.process_time()
peak = next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(json.dumps({"wall": wall, "cpu": used, "mb": peak / 1024,
                  "follows": found.follows, "patches": len(found.patches)}))
"""


def large(width: int, height: int) -> np.ndarray:
    """The tests' own bed, upright, enlarged to so many pixels; 16 bits."""
    small = scanned(bed(upright=True), random.Random(1), noise=0.002)
    small = np.rot90(small)
    ys, xs = np.arange(height) * len(small) // height, np.arange(width) * small.shape[1] // width
    grain = np.random.default_rng(1).integers(-300, 300, (64, width, 3))
    out = np.empty((height, width, 3), dtype=np.uint16)
    for top in range(0, height, 64):
        rows = np.rint(small[ys[top : top + 64]][:, xs] * 65535) + grain[: len(ys[top : top + 64])]
        out[top : top + 64] = np.clip(rows, 0, 65535)
    return out


def write(path: Path, data: np.ndarray, form: str) -> None:
    from PIL import Image

    if "16" in form:
        path.write_bytes(png16(data, 2) if form.startswith("png") else tiff16(data, rows=64, deflate="deflated" in form))
        return
    Image.MAX_IMAGE_PIXELS = None
    Image.fromarray((data >> 8).astype(np.uint8)).save(path, compress_level=1)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--forms", nargs="*", default=FORMS)
    asked = parser.parse_args()
    print("| file | MB | pixels | wall, s | processor, s | memory, MB |\n|---|---|---|---|---|---|")
    for width, height in SIZES:
        if asked.small:
            width, height = width // 3, height // 3
        data = large(width, height)
        for form in asked.forms:
            with tempfile.TemporaryDirectory() as folder:
                path = Path(folder) / f"scan.{form.split()[0]}"
                write(path, data, form)
                time.sleep(0.2)
                done = subprocess.run([sys.executable, "-c", READ, str(path)], capture_output=True, text=True)
                size = path.stat().st_size / 2**20
            if done.returncode:
                print(f"| {form} | {size:.0f} | {width} x {height} | {done.stderr.strip().splitlines()[-1]} |")
                continue
            found = json.loads(done.stdout)
            assert found["patches"] == 6 and found["follows"] > 0.9, found
            print(
                f"| {form} | {size:.0f} | {width} x {height} | {found['wall']:.1f} | {found['cpu']:.1f} | {found['mb']:.0f} |"
            )


if __name__ == "__main__":
    main()

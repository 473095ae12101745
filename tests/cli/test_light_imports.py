"""No command that gives light loads numpy or Pillow: a Pi is slow, and they serve the virtual darkroom and pictures alone."""

import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = ("numpy", "PIL", "textual")
AT_ONCE = ("--advance", "auto", "--pause", "0.1", "--lamp", "simulated")
SCRIPT = """
import sys
from timer.cli import main
try:
    main(sys.argv[1:])
except SystemExit as end:
    assert not end.code, end.code
print("LOADED", *sorted({name.partition(".")[0] for name in sys.modules}))
"""


@pytest.mark.parametrize(
    "line",
    [
        ("strip", "--from", "1", "--patches", "2", *AT_ONCE),
        ("print", "{recipe}", *AT_ONCE, "--speed", "20"),
        ("lamp", "off"),
        ("lamp", "status"),
    ],
    ids=lambda line: " ".join(line[:2]),
)
def test_what_is_loaded(line: tuple[str, ...], home: Path, tmp_path: Path) -> None:
    recipe = tmp_path / "stair.toml"
    recipe.write_text('recipe = 1\ntitle = "Stair well"\nbase_s = 2.0\n\n[paper]\nkind = "bw"\n')
    words = [word.format(recipe=recipe) for word in line]
    (home / "settings.toml").write_text("ask = false\nspeech = false\n")
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, *words], capture_output=True, text=True, timeout=60, stdin=subprocess.DEVNULL
    )
    assert done.returncode == 0, done.stderr
    (loaded,) = [text for text in done.stdout.splitlines() if text.startswith("LOADED")]
    assert not set(loaded.split()) & set(HEAVY)

"""Files in: plain ones of a bounded size, never a wait. Out: a whole file or none, over nothing that is there."""

import os
import resource
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from timer.documents import files
from timer.documents.files import MAX_BYTES, edit, read_bytes, read_text, write_new, write_over
from timer.errors import LamphouseError


def _pipe(path: Path) -> None:
    os.mkfifo(path)


def _socket(path: Path) -> None:
    import socket

    with socket.socket(socket.AF_UNIX) as end:
        end.bind(str(path))


NO_FILES: dict[str, Callable[[Path], None]] = {
    "a pipe": _pipe,
    "a folder": Path.mkdir,
    "a device": lambda path: path.symlink_to("/dev/zero"),
    "a socket": _socket,
}


@pytest.mark.parametrize("kind", NO_FILES)
def test_what_is_no_file_is_not_opened(tmp_path: Path, kind: str) -> None:
    NO_FILES[kind](tmp_path / "x")
    (tmp_path / "link").symlink_to(tmp_path / "x")
    for path in (tmp_path / "x", tmp_path / "link"):
        with pytest.raises(LamphouseError, match=f"{kind}, not a file"):
            read_text(path)


def test_a_file_of_the_longest_length_and_one_more(tmp_path: Path) -> None:
    path = tmp_path / "r.toml"
    path.write_bytes(b"x" * MAX_BYTES)
    assert len(read_text(path)) == MAX_BYTES
    path.write_bytes(b"x" * (MAX_BYTES + 1))
    with pytest.raises(LamphouseError, match="256 KB at most"):
        read_text(path)
    os.truncate(path, 2**40)  # a gap: no memory is taken for it
    with pytest.raises(LamphouseError, match="256 KB at most"):
        read_bytes(path, MAX_BYTES)


@pytest.mark.parametrize(("data", "says"), [(b"\xff\xfea", "UTF-8"), (b"a\0b", "no text"), (b"\xed\xa0\x80", "UTF-8")])
def test_what_is_no_text(tmp_path: Path, data: bytes, says: str) -> None:
    (tmp_path / "r.toml").write_bytes(data)
    with pytest.raises(LamphouseError, match=says):
        read_text(tmp_path / "r.toml")


def test_a_mark_at_the_beginning_is_no_text(tmp_path: Path) -> None:
    (tmp_path / "r.toml").write_bytes(b"\xef\xbb\xbfrecipe = 1")
    assert read_text(tmp_path / "r.toml") == "recipe = 1"


@pytest.mark.parametrize(
    "path", ["x" * 5000, "caf\udce9", "\ud800", "a\0b", "none", "/", "/proc/self/mem", "/dev/tty", "A\x1b[2J"]
)
def test_any_name_gets_a_sentence(path: str) -> None:
    with pytest.raises(LamphouseError) as caught:
        read_text(Path(path))
    assert str(caught.value).isprintable()
    str(caught.value).encode()


@pytest.mark.parametrize("path", ["x" * 5000, "\ud800", "a\0b", "none/x", "/", "/proc/x", "."])
def test_any_name_that_cannot_be_written_gets_a_sentence(tmp_path: Path, path: str) -> None:
    for write in (write_new, write_over):
        if path == "none/x" and write is write_over:
            continue  # a folder is made for the printer's own files
        with pytest.raises(LamphouseError) as caught:
            write(tmp_path / path, b"x")
        assert str(caught.value).isprintable()
    assert not list(tmp_path.rglob("*"))


def test_nothing_is_written_over_or_through(tmp_path: Path) -> None:
    (tmp_path / "old").write_text("kept")
    (tmp_path / "link").symlink_to(tmp_path / "old")
    (tmp_path / "to nothing").symlink_to(tmp_path / "none")
    (tmp_path / "folder").mkdir()
    _pipe(tmp_path / "pipe")
    for name in ("old", "link", "to nothing", "folder", "pipe"):
        with pytest.raises(LamphouseError, match="exists already"):
            write_new(tmp_path / name, b"new")
    assert (tmp_path / "old").read_text() == "kept"
    assert not (tmp_path / "none").exists()
    write_new(tmp_path / "new", b"new")
    assert (tmp_path / "new").read_bytes() == b"new"
    assert not list(tmp_path.glob(".*"))


def test_one_that_comes_in_between_is_not_written_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "must_be_free", lambda path: None)
    (tmp_path / "x").write_text("kept")
    with pytest.raises(LamphouseError, match="exists already"):
        write_new(tmp_path / "x", b"new")
    assert (tmp_path / "x").read_text() == "kept"


def test_where_there_are_no_hard_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", none)
    write_new(tmp_path / "x", b"new")
    assert (tmp_path / "x").read_bytes() == b"new"
    with pytest.raises(LamphouseError, match="exists already"):
        write_new(tmp_path / "x", b"newer")
    assert [p.name for p in tmp_path.iterdir()] == ["x"]


FULL_DISK = """
import resource, signal, sys
from pathlib import Path
from timer.errors import LamphouseError
from timer.documents.files import edit, write_new
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
for write in (write_new, edit):
    try:
        write(Path(sys.argv[1]) / write.__name__, b"x" * 5000)
    except LamphouseError as error:
        print(error)
"""


def test_a_disk_that_fills_leaves_no_half_a_file(tmp_path: Path) -> None:
    (tmp_path / "edit").write_text("as it was")
    done = subprocess.run([sys.executable, "-c", FULL_DISK, str(tmp_path)], capture_output=True, text=True, check=True)
    assert done.stdout.count("cannot be written: file too large") == 2
    assert [p.name for p in tmp_path.iterdir()] == ["edit"]
    assert (tmp_path / "edit").read_text() == "as it was"
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[0] != 1000


def test_an_edit_keeps_link_and_mode(tmp_path: Path) -> None:
    real = tmp_path / "shelf" / "r.toml"
    real.parent.mkdir()
    real.write_text("old")
    real.chmod(0o640)
    (tmp_path / "r.toml").symlink_to("shelf/r.toml")
    edit(tmp_path / "r.toml", b"new")
    assert (tmp_path / "r.toml").is_symlink()
    assert real.read_text() == "new"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640


def test_writing_over_takes_the_link_and_not_what_it_leads_to(tmp_path: Path) -> None:
    (tmp_path / "old").write_text("kept")
    (tmp_path / "link").symlink_to(tmp_path / "old")
    write_over(tmp_path / "link", b"new")
    assert (tmp_path / "old").read_text() == "kept"
    assert (tmp_path / "link").read_text() == "new"
    with pytest.raises(LamphouseError, match="a folder"):
        write_over(tmp_path, b"x")

"""A notebook that somebody uses is not changed for another one."""

import os
from pathlib import Path

from tests.conftest import Run
from timer.app.darkroom import Darkroom
from timer.notebook import backup, in_use
from timer.notebook.store import Notebook


def test_it_is_in_use_until_the_last_has_left(tmp_path: Path) -> None:
    book = tmp_path / "n.db"
    assert in_use.user_of(book) is None
    screen, run = in_use.take_place(book), in_use.take_place(book)
    assert screen
    assert run
    screen.close()
    user = in_use.user_of(book)
    assert user
    assert user.process == os.getpid()
    run.close()
    assert in_use.user_of(book) is None


def test_another_name_of_the_same_file_is_the_same_notebook(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(tmp_path)
    place = in_use.take_place(tmp_path / "link" / "n.db")
    assert place
    assert in_use.user_of(tmp_path / "n.db")
    place.close()


def test_so_many_that_it_cannot_matter(tmp_path: Path) -> None:
    places = [in_use.take_place(tmp_path / "n.db") for _ in range(in_use.PLACES + 1)]
    assert places[-1] is None
    assert in_use.user_of(tmp_path / "n.db")
    for place in places:
        if place:
            place.close()


def test_nothing_is_imported_beside_an_open_screen(tmp_path: Path, home: Path, lamphouse: Run) -> None:
    with Notebook(tmp_path / "other.db") as other:
        backup.export(other, tmp_path / "copy.db")
    darkroom = Darkroom(lambda event: None)
    try:
        said = lamphouse("notebook", "import", str(tmp_path / "copy.db"), check=1).stderr
    finally:
        darkroom.close()
    assert f"Lamphouse (process {os.getpid()}) is using this notebook; end it" in said
    lamphouse("notebook", "import", str(tmp_path / "copy.db"))

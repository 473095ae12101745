"""Curves that are kept: read again as they were, replaced and forgotten, a damaged file said in one sentence."""

from pathlib import Path

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from timer.craft.bw_curve import iso_points
from timer.documents import paper_curves_file as documents
from timer.documents.paper_curves import KeptCurve, comparable, curve_named
from timer.documents.paper_curves_file import forget_curves, keep_curve, load_curves
from timer.errors import LamphouseError

X, D = (0.0, 0.3, 0.6, 0.9, 1.2, 1.5), (0.06, 0.08, 0.3, 1.1, 1.9, 2.0)


def curve(paper: str = "Pearl", grade: str = "2", **more: object) -> KeptCurve:
    made = KeptCurve(paper=paper, grade=grade, log_exposure=X, density=D, base=0.05, darkest=2.05)
    return msgspec.structs.replace(made, **more)


def test_kept_replaced_and_forgotten(tmp_path: Path) -> None:
    path = tmp_path / "a" / "curves.toml"
    assert load_curves(path) == ()
    assert keep_curve(path, curve()) is None
    assert keep_curve(path, curve(grade="4", sheets=(7, 8), set_up="tablet", lux=True)) is None
    assert keep_curve(path, curve("Matt", "")) is None
    better = curve("PEARL", "2", darkest=2.1)
    assert keep_curve(path, better) == curve()
    assert {each.name for each in load_curves(path)} == {"PEARL, grade 2", "Pearl, grade 4", "Matt"}
    assert curve_named(load_curves(path), "pearl", "2") == better
    assert curve_named(load_curves(path), "pearl", "") is None and curve_named(load_curves(path), "Matte", "") is None
    assert forget_curves(path, "pearl", "4") == [curve(grade="4", sheets=(7, 8), set_up="tablet", lux=True)]
    with pytest.raises(LamphouseError, match=r"no curve of paper 'pearl', grade 4 is kept; kept are: Matt; PEARL, grade 2"):
        forget_curves(path, "pearl", "4")
    keep_curve(path, curve("Pearl", "5"))
    assert len(forget_curves(path, "Pearl", None)) == 2
    assert forget_curves(path, "Matt", None) and load_curves(path) == ()
    with pytest.raises(LamphouseError, match="kept are: none yet"):
        forget_curves(path, "Matt", None)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=60),
    st.lists(st.floats(0.01, 0.4), min_size=4, max_size=30),
)
def test_read_again_as_it_was(tmp_path: Path, paper: str, steps: list[float]) -> None:
    path = tmp_path / "curves.toml"
    path.unlink(missing_ok=True)
    x = [sum(steps[:n]) for n in range(len(steps))]
    d = [0.1 + 1.8 * n / (len(x) - 1) for n in range(len(x))]
    kept = curve(paper, "", log_exposure=tuple(x), density=tuple(d), base=d[0], darkest=d[-1])
    keep_curve(path, kept)
    assert load_curves(path) == (kept,) and iso_points(load_curves(path)[0].curve) == iso_points(kept.curve)


GOOD = (
    '[[curve]]\npaper = "Pearl"\ngrade = "2"\nlog_exposure = [0, 0.5, 1]\ndensity = [0.1, 1, 2]\nbase = 0.1\ndarkest = 2.0\n'
)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("", "", ""),
        ("[0, 0.5, 1]", "[0, 1]", "curve 1, of Pearl, grade 2: a curve has 2 to 400"),
        ("[0, 0.5, 1]", "[0, 1, 0.5]", "its log exposures must rise"),
        ("[0.1, 1, 2]", "[0.1, 2, 1]", "its densities must not fall"),
        ("[0.1, 1, 2]", "[0.1, 0.2, 0.5]", "differ by less than"),
        ("[0.1, 1, 2]", "[0.1, 0.2, 0.6]", "a density of 0.70 is off"),
        ('"2"', '"7"', "'7' is no grade; the grades are 00, 0"),
        ("base = 0.1", "base = 0.2", "its densities must not fall"),
        ("base = 0.1", 'base = "0.1"', "curve 1, base: must be a number"),
        ("base = 0.1", "", "the key base is missing"),
        ("darkest", "blackest", "did you mean 'darkest'"),
        ('"Pearl"', '""', "1 or more of letters"),
        ("[0, 0.5, 1]", "[0]", "2 or more of entries"),
        ("darkest = 2.0", "darkest = inf", "must be a plain number"),
        ("darkest = 2.0", "darkest = 2.0\nsheets = [1", "not valid TOML"),
        ("darkest = 2.0\n", "darkest = 2.0\n" + GOOD, "curve 2, of Pearl, grade 2: the same paper and grade stands there"),
    ],
)
def test_a_damaged_file_is_one_sentence(tmp_path: Path, old: str, new: str, says: str) -> None:
    path = tmp_path / "curves.toml"
    path.write_text(GOOD.replace(old, new, 1) if old else GOOD)
    if not says:
        assert load_curves(path)[0].curve.density_at(0.5) == 1
        return
    before = path.read_bytes()
    for read in (
        lambda: load_curves(path),
        lambda: keep_curve(path, curve("Other")),
        lambda: forget_curves(path, "Pearl", "2"),
    ):
        with pytest.raises(LamphouseError) as error:
            read()
        assert str(error.value).startswith(f"{path}: ") and "\n" not in str(error.value)
        assert says.removesuffix(" of letters").removesuffix(" of entries") in str(error.value)
    assert path.read_bytes() == before


def test_what_could_not_be_read_again_is_not_written(tmp_path: Path) -> None:
    path = tmp_path / "curves.toml"
    keep_curve(path, curve())
    before = path.read_bytes()
    for bad in (
        curve("Other", "9"),
        curve("x" * 61),
        curve("Other", density=(*D[:-1], 0.1)),
        curve("A\nB"),
        curve("Other", set_up="\x1b[2J"),
    ):
        with pytest.raises(LamphouseError):
            keep_curve(path, bad)
    assert path.read_bytes() == before


def test_there_is_an_end_to_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "curves.toml"
    monkeypatch.setattr(documents, "MOST_CURVES", 2)
    keep_curve(path, curve())
    keep_curve(path, curve(grade="3"))
    with pytest.raises(LamphouseError, match="2 curves are kept already; forget some"):
        keep_curve(path, curve(grade="4"))
    keep_curve(path, curve(grade="3", darkest=2.2))  # in the place of another
    monkeypatch.setattr(documents, "MAX_BYTES", len(path.read_bytes()) - 1)
    with pytest.raises(LamphouseError, match="too long; forget some"):
        keep_curve(path, curve(grade="3", darkest=2.3))


def test_what_can_be_compared() -> None:
    a, b = curve(set_up="tablet, f/8"), curve(grade="4", set_up="tablet, f/8")
    assert comparable(a, b)
    assert not comparable(a, curve(grade="4", set_up="tablet, f/11"))
    assert not comparable(curve(), curve(grade="4"))  # nothing said of either
    assert comparable(curve(lux=True), curve(grade="4", lux=True))
    assert not comparable(curve(lux=True), curve(grade="4"))
    assert not comparable(a, msgspec.structs.replace(b, lux=True))

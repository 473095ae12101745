"""The benchmark's own figures, of few darkrooms and with room: it is not this test that they are read from."""

from tests.benchmarks.sheets_to_print import study


def test_solved_from_a_scan_is_nearer_than_by_eye_and_by_the_third_sheet_near() -> None:
    found = study(30, 4, ["eye, half rule", "solved, scan"])
    eye, scan = found["eye, half rule"], found["solved, scan"]
    assert scan.density[0] == eye.density[0]  # the same start
    assert scan.density[2][1] < 0.08 and scan.cast[2][1] < 0.09
    assert scan.density[2][1] < eye.density[2][1] / 2 and scan.cast[2][0] < eye.cast[2][0]
    assert scan.worse < 0.08

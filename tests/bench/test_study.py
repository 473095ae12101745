from tests.benchmarks.sheets_to_print import study


def test_the_advice_needs_half_the_sheets() -> None:
    found = study(150, seed=3)
    assert found["advice"]["median"] <= found["seconds"]["median"] / 2
    assert found["advice"]["never"] == 0

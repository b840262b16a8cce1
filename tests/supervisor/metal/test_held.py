"""What a firing without metal proves of what lay in the chamber: held at a temperature for a time."""

import pytest

from supervisor.metal.held import Held, Minute, best_held, longest_held


def minutes(*readings_c: float | None) -> list[Minute]:
    return [Minute(at, 60, 60 if c is not None else 0, c) for at, c in enumerate(readings_c)]


def test_the_longest_stretch_counts_and_its_least_reading_is_told() -> None:
    record = minutes(20.0, 151.0, 152.0, 149.9, 150.0, 160.0, 155.0, 100.0)
    assert longest_held(record, 150.0) == Held(4, 7, 150.0)


def test_a_minute_without_readings_or_missing_from_the_record_ends_a_stretch() -> None:
    blind = minutes(160.0, 160.0, None, 160.0, 160.0, 160.0)
    assert longest_held(blind, 150.0) == Held(3, 6, 160.0)
    gap = [each for each in minutes(*[160.0] * 10) if each.minute != 5]
    assert longest_held(gap, 150.0) == Held(0, 5, 160.0)


@pytest.mark.parametrize(("kind", "wanted"), [("lot", 120), ("ingot", 120), ("mould", 30)])
def test_one_minute_too_little_proves_nothing(kind: str, wanted: int) -> None:
    enough, why = best_held(minutes(*[200.0] * wanted), "dry", kind)
    assert enough == Held(0, wanted, 200.0)
    assert why == ""
    short, why = best_held(minutes(*[200.0] * (wanted - 1)), "dry", kind)
    assert short is None
    assert f"{wanted} min at 150 °C or more are wanted, the chamber was there for {wanted - 1} min" in why


def test_a_bar_that_got_too_hot_is_not_aged() -> None:
    held, why = best_held(minutes(*[300.0] * 300), "age", "ingot")
    assert held is None
    assert "never reached it" in why
    assert best_held(minutes(*[175.0] * 240), "age", "ingot")[0] == Held(0, 240, 175.0)

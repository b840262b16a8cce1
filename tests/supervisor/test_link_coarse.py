"""Nothing is said finer than it is known, and what is said covers what is known."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from supervisor.link.coarse import about, countdown, give_or_take, quarters, share


@pytest.mark.parametrize(
    ("c", "low_c", "high_c", "shown", "band_k"),
    [
        (641.3, 618.0, 663.0, 640, 25),
        (706.2, 697.0, 716.0, 705, 15),
        (713.4, 710.5, 716.0, 713, 3),
        (640.0, 640.0, 640.0, 640, 1),
        (212.0, 160.0, 290.0, 210, 80),
    ],
)
def test_a_temperature_is_as_coarse_as_its_band(c: float, low_c: float, high_c: float, shown: int, band_k: int) -> None:
    assert about(c, low_c, high_c) == (shown, band_k)


@given(st.floats(0, 1200), st.floats(0, 300), st.floats(0, 300))
def test_what_is_said_of_a_temperature_covers_its_band(c: float, below_k: float, above_k: float) -> None:
    said = about(c, c - below_k, c + above_k)
    assert said.c - said.band_k <= c - below_k
    assert said.c + said.band_k >= c + above_k
    assert said.band_k <= max(below_k, above_k) + 10  # and not much more


@pytest.mark.parametrize(
    ("low", "likely", "high", "words"),
    [
        (0.0, 0.0, 0.05, "all solid"),
        (0.6, 0.74, 0.86, "about three quarters molten"),
        (0.3, 0.5, 0.7, "about half molten"),
        (0.8, 0.95, 1.0, "molten but for little"),
        (0.1, 0.6, 1.0, "anything from solid to molten"),
        (0.25, 0.6, 1.0, "at least a quarter molten"),
        (0.0, 0.3, 0.75, "at most three quarters molten"),
    ],
)
def test_the_share_is_told_in_quarters_or_as_a_range(low: float, likely: float, high: float, words: str) -> None:
    assert share(low, likely, high) == words
    assert (quarters(low, likely, high) is None) == (words.split()[0] in {"anything", "at"})


@pytest.mark.parametrize(
    ("likely", "words"),
    [(52.4, "about 52 min"), (3.4, "about 3 min"), (3.0, "about 3 min"), (2.99, "nearly there"), (0.0, "nearly there")],
)
def test_the_countdown_stands_at_three_minutes_and_then_says_nearly_there(likely: float, words: str) -> None:
    assert countdown(likely) == words


def test_give_or_take_is_the_larger_side() -> None:
    assert give_or_take(12.0, 9.5, 15.2) == 4
    assert give_or_take(12.0, 11.9, 12.1) == 1

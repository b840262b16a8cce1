"""Numbers as people read them. Differences and rates take no offset of 32."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from web import words


@pytest.mark.parametrize(
    ("celsius", "fahrenheit"),
    # Fixed points of the two scales, exact by definition: NIST Special Publication 811 (2008), appendix B.8.
    [(0.0, "32 °F"), (100.0, "212 °F"), (-40.0, "-40 °F"), (660.323, "1221 °F"), (None, "–")],
)
def test_temperatures_in_fahrenheit(celsius: float | None, fahrenheit: str) -> None:
    assert words.temperature(celsius, "F") == fahrenheit


@pytest.mark.parametrize(
    ("sentence", "in_fahrenheit"),
    [
        ("Ramp to 740 °C at 600 °C/h.", "Ramp to 1364 °F at 1080 °F/h."),
        ("within 5 K of 555 °C", "within 9 °F of 1031 °F"),
        ("melts 585–650 °C", "melts 1085–1202 °F"),
        ("Hold 15 min, A-097, 2.40 kg, 230 V.", "Hold 15 min, A-097, 2.40 kg, 230 V."),
        ("rose 0.5 °C in 120 s", "rose 33 °F in 120 s"),
    ],
)
def test_sentences_of_the_supervisor_in_fahrenheit(sentence: str, in_fahrenheit: str) -> None:
    assert words.in_units(sentence, "C") == sentence
    assert words.in_units(sentence, "F") == in_fahrenheit


@given(st.floats(-50, 1500))
def test_a_difference_of_two_readings_is_the_difference_shown(celsius: float) -> None:
    shown = int(words.difference(celsius, "F").split()[0])
    assert shown == pytest.approx(words.fahrenheit(celsius) - words.fahrenheit(0), abs=0.51)


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(None, "–"), (0, "0 s"), (59.4, "59 s"), (60, "1 min"), (3599, "1 h"), (3900, "1 h 5 min"), (14400, "4 h")],
)
def test_durations(seconds: float | None, said: str) -> None:
    assert words.duration(seconds) == said


@pytest.mark.parametrize(("watt_hours", "said"), [(None, "–"), (812.4, "812 Wh"), (3300.0, "3.3 kWh")])
def test_energy(watt_hours: float | None, said: str) -> None:
    assert words.energy(watt_hours) == said

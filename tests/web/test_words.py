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
        ("within 5 K of 555 °C", "within 9\u00a0°F of 1031 °F"),
        ("melts 585–650 °C", "melts 1085–1202 °F"),
        ("Hold 15 min, A-097, 2.40 kg, 230 V.", "Hold 15 min, A-097, 2.40 kg, 230 V."),
        ("rose 0.5 °C in 120 s", "rose 33 °F in 120 s"),
    ],
)
def test_sentences_of_the_supervisor_in_fahrenheit(sentence: str, in_fahrenheit: str) -> None:
    assert words.in_units(sentence, "C") == sentence
    assert words.in_units(sentence, "F") == in_fahrenheit


def test_a_number_of_metal_is_not_parted_at_its_hyphen_and_stays_the_same_text() -> None:
    kept = words.unbroken("A-094/2 & <b> of L-31: first-out, -20 K")
    assert (
        kept
        == '<span class="nowrap">A-094/2</span> &amp; &lt;b&gt; of <span class="nowrap">L-31</span>: first-out, -20 K'
    )


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


@pytest.mark.parametrize(
    ("celsius", "kelvin", "in_celsius", "in_fahrenheit"),
    [(640, 25, "640 ± 25 K", "1180 ± 50 °F"), (705, 5, "705 ± 5 K", "1300 ± 15 °F")],
)
def test_an_estimate_is_as_coarse_in_either_unit(
    celsius: float, kelvin: float, in_celsius: str, in_fahrenheit: str
) -> None:
    for units, said in (("C", in_celsius), ("F", in_fahrenheit)):
        shown = f"{words.about(celsius, units)} {words.band(kelvin, units)}"  # type: ignore[arg-type]
        assert shown.replace(words.NBSP, " ") == said
    assert words.in_units(f"metal about {celsius} °C", "F") == f"metal about {in_fahrenheit.split()[0]} °F"


@given(st.floats(-50, 1500), st.integers(1, 200))
def test_a_band_in_fahrenheit_covers_what_it_covers_in_celsius(celsius: float, kelvin: int) -> None:
    shown, band = int(words.about(celsius, "F")), int(words.band(kelvin, "F").replace(words.NBSP, " ").split()[1])
    assert shown - band <= words.fahrenheit(celsius - kelvin)
    assert shown + band >= words.fahrenheit(celsius + kelvin)

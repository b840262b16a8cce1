"""Numbers with units come in and go out the same; a rule can only be made stricter; what cannot be gets a sentence."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from supervisor.refusal import InputRefused
from supervisor.sizing import quantities as q
from supervisor.sizing.asked import layer
from supervisor.sizing.circuits import circuit, rules
from supervisor.sizing.gauges import gauge
from tests.sized import refused, size

UNITS = [(kind, unit) for kind in q.KINDS for unit in kind.units]
EVERYTHING = (-1e12, 1e12)


@settings(max_examples=60)
@given(st.sampled_from(UNITS), st.floats(-1e4, 1e4).map(lambda value: round(value, 6)))
def test_units_there_and_back(of: tuple[q.Kind, str], value: float) -> None:
    kind, unit = of
    written = q.write(value, kind, unit)
    scale = abs(kind.units[unit].offset) + max(1.0, abs(value), 1e-9)
    assert q.read(written, kind, "x", *EVERYTHING) == pytest.approx(value, rel=1e-9, abs=1e-8 * scale)
    with_comma = written.replace(".", ",")
    if re.match(r"[+-]?[1-9][0-9]{0,2},[0-9]{3} ", with_comma + " "):
        with pytest.raises(InputRefused, match="which may be"):
            q.read(with_comma, kind, "x", *EVERYTHING)
    else:
        assert q.read(with_comma, kind, "x", *EVERYTHING) == pytest.approx(value, rel=1e-9, abs=1e-8 * scale)


@pytest.mark.parametrize(
    ("typed", "kind", "value"),
    [
        ("4,5 in", q.LENGTH, 114.3),
        ('4.5"', q.LENGTH, 114.3),
        ("114", q.LENGTH, 114.0),
        ("1600 °F", q.TEMPERATURE, 871.111),
        ("900 K", q.TEMPERATURE, 626.85),
        ("0.68 Btu/h·ft·°F", q.CONDUCTIVITY, 1.17690),
        ("65 W/(m²·K)", q.FILM, 65.0),
        ("109e-8 Ω·m", q.RESISTIVITY, 1.09),
        ("0.5369 ohm/ft", q.PER_LENGTH, 1.761483),
        ("2.3kW", q.POWER, 2300.0),
    ],
)
def test_as_people_write_them(typed: str, kind: q.Kind, value: float) -> None:
    assert q.read(typed, kind, "x", *EVERYTHING) == pytest.approx(value, rel=1e-5)


@pytest.mark.parametrize(
    "typed", ["", "abc", "nan", "inf", "1e999", "12 bananas", "1,600", "1.2.3", "--5", "٣", "5 V", "-1"]
)
def test_what_is_no_length_is_refused_with_what_is_allowed(typed: str) -> None:
    with pytest.raises(InputRefused, match=r"^across is '.*allowed: "):
        q.read(typed, q.LENGTH, "across", 20.0, 2000.0)


@pytest.mark.parametrize(
    ("typed", "mm"), [("1.4", 1.4), ("1,4 mm", 1.4), ("AWG 16", 1.2908), ("16 ga", 1.2908), ("1/0 AWG", 8.25)]
)
def test_a_wire_has_many_names(typed: str, mm: float) -> None:
    if mm > 8.0:
        with pytest.raises(InputRefused, match=r"8\.25 mm; allowed: 0\.15 to 8 mm"):
            gauge(typed)
    else:
        assert gauge(typed).mm == pytest.approx(mm, abs=0.0001)


@given(st.sampled_from(sorted(rules())), st.sampled_from(sorted(rules())), st.floats(1.0, 125.0))
@settings(max_examples=60)
def test_a_stricter_rule_can_be_picked_and_a_looser_one_cannot(here: str, other: str, breaker_a: float) -> None:
    own = circuit(230.0, breaker_a, here)
    if rules()[other].allowed_a(breaker_a) > own.allowed_a:
        with pytest.raises(InputRefused, match="allowed: one no looser than that of the place"):
            circuit(230.0, breaker_a, here, by_rule=other)
    else:
        assert circuit(230.0, breaker_a, here, by_rule=other).allowed_a <= own.allowed_a
    assert circuit(230.0, breaker_a, here, lower_a=own.allowed_a / 2.0).allowed_a == own.allowed_a / 2.0
    with pytest.raises(InputRefused, match="it can be lowered, not raised"):
        circuit(230.0, breaker_a, here, lower_a=1.01 * own.allowed_a)


def test_every_rule_says_what_it_asks_and_whose_it_is() -> None:
    for rule in rules().values():
        assert rule.name
        assert rule.asks
        assert rule.evidence
        assert 0.0 < rule.share <= 1.0


@pytest.mark.parametrize(
    "typed", ["114", "114 mm: nothing", "0 mm: 23", "114 mm: 0", "a: b: c", "114 mm: 23: 5", "114: -1"]
)
def test_a_layer_that_cannot_be(typed: str) -> None:
    with pytest.raises(InputRefused, match="allowed: "):
        layer(typed)


FURNACE = {
    "volts": "230", "breaker": "16", "place": "eu-fixed", "shape": "octagon", "across": "190", "depth": "230",
    "wall": "114: 23", "power": "2400",
}  # fmt: skip


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("volts", "9000", "volts is '9000'; allowed: 12 to 480 V"),
        ("volts", "", "volts is missing; allowed: a voltage of 12 to 480 V"),
        ("breaker", "0", "breaker is '0'; allowed: 1 to 125 A"),
        ("place", "", "place is missing; allowed: the place whose rule holds"),
        ("place", "moon", "place is 'moon'; allowed: us, ca, uk-fixed"),
        ("shape", "star", "shape is 'star'; allowed: round, square, octagon"),
        ("across", "1", "across is '1'; allowed: 20 to 2000 mm"),
        ("across", "20", "across is 20 mm; allowed: over 22.8 mm, a fifth of the wall"),
        ("target", "60 C", "target is '60 C'; allowed: 100 to 1200 °C"),
        ("metal", "-2", "metal is '-2'; allowed: 0.01 to 200 kg"),
        ("wall", "114", "wall is '114'; allowed: thickness, a colon, and one of"),
        ("wall", "114 mm: 0.16", "wall has a layer of k 0.16 W/m/K alone; allowed: its density"),
        ("rounds", "2,5", "rounds is '2,5'; allowed: a whole number"),
        ("alloy", "copper", "alloy is 'copper'; allowed: fecral-5.8"),
        ("alloy", "Plain Steel", "alloy is 'Plain Steel'; allowed: fecral-5.8"),
        ("gauges", "inches", "gauges is 'inches'; allowed: metric, awg, both"),
        ("join", "knot", "join is 'knot'; allowed: parallel, series"),
        ("rule", "nowhere", "rule is 'nowhere'; allowed: us"),
        ("allowed", "40", "allowed current is 40 A; allowed: above 0, up to 16 A by IEC 60364-4-43 (433.1)"),
        ("load", "nan", "load is 'nan'; allowed: a surface load of 0.1 to 20 W/cm²"),
    ],
)  # fmt: skip
def test_impossible_input_gets_a_sentence(field: str, typed: str, says: str) -> None:
    asked = {**FURNACE, field: typed}
    assert refused("element", *(f"--{name}={value}" for name, value in asked.items())).startswith(says)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--wire=1.4",), "alloy is missing; allowed: the wire's alloy"),
        (("--wire=1.4", "--alloy=fecral-5.8"), "length is missing; allowed: the wire's length"),
        (("--wire=", "--alloy=fecral-5.8", "--length=2m"), "wire is ''; allowed: a length of 0.15 to 8 mm"),
        (("--wire=1.4", "--resistivity=0.17", "--length=20m", "--ratio=6.5"), "ratio of hot to cold resistance is 6.5"),
        (("--wire=1.4", "--alloy=fecral-5.8", "--length=22.5m", "--cold=9"), "cold is 9 ohm; allowed: about 21.2 ohm"),
        (("--wire=1.4", "--alloy=nicr-80", "--length=22m", "--factors=x"), "table is 'x'; allowed: 0Cr21Al6"),
        (("--wire=1.4", "--alloy=nicr-80", "--length=22m", "--outside=2.5"), "coil is 2.5 mm outside; allowed"),
        (("--wire=1", "--per-length=1", "--length=2m", "--volts=9e1", "--breaker=9", "--place=us"), "alloy is missing"),
    ],
)  # fmt: skip
def test_an_impossible_coil_gets_a_sentence(words: tuple[str, ...], says: str) -> None:
    assert refused("coil", *words).startswith(says)


def test_two_figures_that_disagree_a_little_are_told() -> None:
    found = size("coil", "--wire", "1.4", "--alloy", "fecral-5.8", "--length", "22.5 m", "--cold", "24")
    assert "measured 24 ohm, 21.2 by the length: 13 % off" in found["remarks"][0]["words"]
    assert found["cold_ohm"] == 24.0

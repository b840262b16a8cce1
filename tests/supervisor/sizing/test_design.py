"""Elements that fit and elements that do not: what follows from what, and what is refused by which rule."""

from functools import partial

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from supervisor.furnace.shape import FORMS, Chamber, inside_m2, outside_m2, shape_factor_m
from supervisor.sizing.alloys import table
from supervisor.sizing.asked import wanted
from supervisor.sizing.bricks import WORDS, material, of_conductivity
from supervisor.sizing.chamber import SEAMS
from supervisor.sizing.coils import drawn, wound
from supervisor.sizing.design import Candidate, candidate, candidates
from supervisor.sizing.gauges import Gauge, american, metric
from supervisor.sizing.having import having
from tests.sized import size

COIL = {"alloy": "fecral-5.8", "wire": "1.4", "length": "22.5 m", "breaker": "125", "place": "eu-fixed"}
FURNACE = {
    "volts": "230", "breaker": "16", "place": "eu-fixed", "shape": "octagon", "across": "190", "depth": "230",
    "metal": "2", "power": "2400",
}  # fmt: skip

alloys = st.sampled_from(sorted(table()))


@settings(max_examples=40)
@given(alloys, st.floats(20.0, 250.0), st.floats(1.0, 1.5))
def test_more_voltage_is_never_less_power(alloy: str, volts: float, more: float) -> None:
    def watts(at_v: float) -> float:
        found = having({**COIL, "alloy": alloy, "volts": f"{at_v:.9f}"}).watts
        assert found is not None
        return found

    assume(volts * more < 300.0)  # hotter than a table goes is refused, not reckoned
    assert watts(volts * more) >= watts(volts) * (1.0 - 1e-9)


@settings(max_examples=40)
@given(alloys, st.floats(0.5, 4.0), st.floats(1.01, 2.0), st.floats(600.0, 3000.0))
def test_a_thicker_wire_never_has_a_higher_surface_load_at_equal_power(
    alloy: str, mm: float, thicker: float, watts: float
) -> None:
    asked = wanted({**FURNACE, "power": f"{watts:.6f}"}, ["114: 23"], [], [alloy])
    one = partial(candidate, asked, table()[alloy])
    thin, thick = one(Gauge("thin", mm), 0.0), one(Gauge("thick", mm * thicker), 0.0)
    assume(thin is not None)  # hotter than its table goes
    assert thin is not None
    assert thick is not None
    assert thick.load_w_cm2 <= thin.load_w_cm2
    assert thick.element_c <= thin.element_c


@settings(max_examples=30)
@given(st.sampled_from(sorted(FORMS)), st.floats(0.05, 1.0), st.floats(0.05, 1.0), st.floats(0.01, 0.2))
def test_a_box_conducts_more_than_its_inside_and_less_than_its_shell(
    form: str, across: float, depth: float, thick: float
) -> None:
    assume(min(across, depth) > thick / 5.0)
    chamber = Chamber(next(each for each in FORMS if each == form), across, depth)
    factor = shape_factor_m(chamber, thick)
    shell_m2 = inside_m2(Chamber(chamber.form, across + 2.0 * thick, depth + 2.0 * thick))
    assert inside_m2(chamber) / thick < factor < shell_m2 / thick
    assert inside_m2(chamber) < outside_m2(chamber, thick)


@given(st.floats(0.5, 3.0), st.floats(5.0, 14.0), st.floats(5.0, 60.0), st.floats(1.5, 4.5))
@settings(max_examples=40)
def test_a_coil_holds_its_wire(mm: float, ratio: float, metres: float, stretch: float) -> None:
    close = wound(mm, mm * ratio, metres)
    out = drawn(mm, mm * ratio, metres, min(stretch * close.closed_mm, 900.0 * metres))
    turn_m = ((3.141592653589793 * out.mean_mm) ** 2 + out.pitch_mm**2) ** 0.5 / 1000.0
    assert out.turns * turn_m == pytest.approx(metres, rel=1e-9)
    assert out.turns <= close.turns * (1.0 + 1e-9)
    assert out.pitch_mm == pytest.approx(out.stretch * mm)


def found(**changed: str) -> list[Candidate]:
    walls = [changed.pop("wall", "114: 23")]
    asked = wanted({**FURNACE, **changed}, walls, [], [])
    return candidates(asked, SEAMS * asked.place.loss().whole_w)


def test_the_invented_workshops_element_is_found_again() -> None:
    """1.4 mm, 22.5 m, 21.2 ohm cold, 22.0 hot, 10.5 A, 2.40 kW, 2.4 W/cm²: invented, and worked by another script."""
    best = found()[0]
    assert (best.wire.name, best.alloy.name, best.verdict) == ("1.4 mm", "fecral-5.8", "fits")
    assert best.length_m == pytest.approx(22.5, abs=0.1)
    assert (best.cold_ohm, best.hot_ohm) == pytest.approx((21.2, 22.0), abs=0.1)
    assert best.load_w_cm2 == pytest.approx(2.4, abs=0.05)


def test_without_a_wish_the_circuit_is_never_overdrawn() -> None:
    for place, volts, breaker in (
        ("us", "120", "15"),
        ("us", "240", "30"),
        ("uk-plug", "230", "13"),
        ("eu-plug", "230", "16"),
    ):
        best = found(place=place, volts=volts, breaker=breaker, power="")[0]
        said = wanted({**FURNACE, "place": place, "volts": volts, "breaker": breaker}, ["114: 23"], [], []).circuit
        assert said.most_v / best.cold_ohm <= said.allowed_a * 1.001
        assert not [each for each in best.remarks if each.rule.startswith(said.rule.name)]


@pytest.mark.parametrize(
    ("changed", "kind", "words", "rule"),
    [
        ({"power": "4000"}, "refused", "17.4 A hot is more than the 16 A allowed for hours", "IEC 60364-4-43 (433.1)"),
        ({"power": "2400", "place": "us"}, "warned", "over the 12.8 A for hours", "NEC 210.19(A)(1)"),
        ({"power": "3500"}, "refused", "over the breaker", "IEC 60364-4-43 (433.1)"),
        ({"power": "400"}, "refused", "and holding 800 °C takes", "heat loss as reckoned here"),
        ({"power": "2400", "rounds": "30"}, "refused", "", "geometry"),
        ({"load": "6"}, "warned", "surface load", "common practice, no source"),
        ({"wall": "114: dense", "target": "1000"}, "refused", "and holding 1000 °C takes", "heat loss"),
    ],
)  # fmt: skip
def test_what_exceeds_a_limit_is_said_with_its_rule(changed: dict[str, str], kind: str, words: str, rule: str) -> None:
    if changed.get("place") == "us":
        changed = {**changed, "power": "2900"}
    remarks = [remark for each in found(**changed) for remark in each.remarks]
    assert [each for each in remarks if each.kind == kind and words in each.words and rule in each.rule], remarks[:5]


def test_an_alloy_whose_table_ends_below_the_target_is_left_out() -> None:
    hot = found(target="1150", wall="228: 28", power="3300")
    assert "nicr-60" not in {each.alloy.name for each in hot}
    assert "fecral-5.8" in {each.alloy.name for each in hot}


@settings(max_examples=40)
@given(st.sampled_from(sorted(WORDS)), st.floats(-60.0, 1600.0))
def test_conductivity_integrated_and_back(name: str, at_c: float) -> None:
    brick = material(name)
    assert brick.where_c(brick.integral_w_m(at_c)) == pytest.approx(at_c, abs=1e-6)
    flat_one = of_conductivity(0.5)
    assert flat_one.where_c(flat_one.integral_w_m(at_c)) == pytest.approx(at_c, abs=1e-6)


def test_a_wall_in_the_cold_conducts_as_fourier_says() -> None:
    asked = size("wall", "--wall", "100 mm: 0.5", "--inside", "60 C", "--outer", "-40 C")
    assert asked["flow_w"] == pytest.approx(500.0)
    assert asked["faces_c"] == pytest.approx([60.0, -40.0])


def test_when_nothing_fits_it_says_what_may_help() -> None:
    answer = size(
        "element", "--wall=114: 23", *(f"--{name}={each}" for name, each in {**FURNACE, "power": "400"}.items())
    )
    assert answer["headline"].startswith(
        "No wire of the list fits: with 207 V it gives 324 W, and holding 800 °C takes"
    )
    assert "two elements side by side" in answer["remarks"][0]["words"]


def test_refused_ones_stand_last() -> None:
    order = [each.refused for each in found()]
    assert order == sorted(order)
    assert any(order)
    assert not all(order)


def test_two_elements_in_parallel_have_twice_the_ohms_and_half_the_watts_each() -> None:
    one = found(elements="1")[0]
    both = found(elements="2", join="parallel")[0]
    assert both.each_hot_ohm == pytest.approx(2.0 * both.hot_ohm)
    assert both.watts == pytest.approx(one.watts)
    line = found(elements="2", join="series")[0]
    assert line.each_hot_ohm == pytest.approx(line.hot_ohm / 2.0)


def test_the_whole_answer_has_what_a_person_asks() -> None:
    answer = size(
        "element", "--wall=64: 23", "--wall=25: board", "--lid=50: blanket", "--ramp=300", "--gauges=both",
        *(f"--{name}={value}" for name, value in FURNACE.items()),
    )  # fmt: skip
    heat, best = answer["heat"], answer["best"]
    assert sum(heat["loss_parts_w"].values()) == pytest.approx(heat["closed_wall_loss_w"])
    assert heat["hold_w"] == pytest.approx(SEAMS * heat["closed_wall_loss_w"])
    assert heat["empty"]["minutes"] < heat["liquid"]["minutes"] < heat["pour"]["minutes"] < 120.0
    assert heat["pour"]["kwh"] == pytest.approx(best["power_w"] / 1000.0 * heat["pour"]["minutes"] / 60.0, rel=0.05)
    assert heat["ramp_w"] > heat["hold_w"]
    assert heat["shell_mean_c"] < heat["shell_face_middle_c"] < heat["joints_c"][0] < 800.0
    assert best["groove_length_mm"] == pytest.approx(best["coil"]["stretched_mm"])
    assert answer["picture_svg"].count("<svg") == 1
    assert answer["sources"]
    assert answer["circuit"]["defers"].startswith("A licensed person decides")
    assert "voltage_v = 230" in answer["furnace_file"]
    assert answer["answers"]["chamber"] == "octagon 190 230"


def test_a_furnace_file_takes_the_sizing() -> None:
    """Its lines, put into a file that ships, describe the same element; the loss of the wall is the same within 3 %."""
    import tomllib

    from supervisor.furnace.description import Wall
    from supervisor.furnace.reckoning import through_wall

    answer = size("element", "--wall", "114: 23", *(f"--{name}={value}" for name, value in FURNACE.items()))
    read = tomllib.loads(answer["furnace_file"])
    assert read["element"]["cold_ohm"] == pytest.approx(answer["best"]["cold_ohm"], rel=1e-3)
    assert 1.0 <= read["element"]["hot_ratio"] <= 1.3
    wall = read["wall"]
    same = Wall(
        wall["thickness_mm"] / 1000.0, wall["inside_m2"], wall["outside_m2"], wall["conductivity_w_m_k"],
        wall["conductivity_per_k"], wall["density_kg_m3"], wall["specific_heat_j_kg_k"],
    )  # fmt: skip
    assert through_wall(same, 800.0).flow_w == pytest.approx(answer["heat"]["closed_wall_loss_w"], rel=0.04)


def test_the_ten_questions_take_the_sizings_answers() -> None:
    from supervisor.furnace.answers import furnace_file
    from supervisor.furnace.asked import QUESTIONS

    answer = size("element", "--wall", "114: 23", *(f"--{name}={value}" for name, value in FURNACE.items()))
    made = furnace_file({**{name: each.example for name, each in QUESTIONS.items()}, **answer["answers"]})
    assert "cold_ohm = 21.21\n" in made
    assert "# Octagon, 190 mm across and 230 mm deep inside." in made


def test_lists_of_wires_are_sorted_and_within_what_is_wound() -> None:
    for gauges in (metric(), american()):
        sizes = [each.mm for each in gauges]
        assert sizes == sorted(sizes)

"""Heat through walls against published worked examples, by `meltkeeper size wall --json`, inputs as printed there."""

import pytest

from supervisor.sizing.films import Outside, still_air
from tests.sized import size


def fahrenheit(at_c: float) -> float:
    return at_c * 9.0 / 5.0 + 32.0


def test_a_wall_of_three_layers() -> None:
    """8 in firebrick, k 0.68, 4 in insulating brick, 0.15, 6 in building brick, 0.40 Btu/h ft °F; 1600 and 125 °F.

    Answer: 332 Btu/h ft²; 1275 and 537 °F between them. D. Q. Kern, Process Heat Transfer (1950), example 2.2, as
    worked in the open textbook companion. Exact thicknesses give 331.3.
    """
    found = size(
        "wall", "--wall", "8 in: 0.68 Btu/h/ft/F", "--wall", "4 in: 0.15 Btu/h/ft/F", "--wall", "6 in: 0.40 Btu/h/ft/F",
        "--inside", "1600 °F", "--outer", "125 °F",
    )  # fmt: skip
    assert found["flux_inside_w_m2"] / 3.15459 == pytest.approx(332.0, rel=0.005)
    assert found["flux_inside_w_m2"] == pytest.approx(1046.0, rel=0.002)
    assert [fahrenheit(at_c) for at_c in found["faces_c"][1:3]] == pytest.approx([1275.0, 537.0], abs=3.0)


def test_a_cubical_furnace_with_edges_and_corners() -> None:
    """A cube of 50 cm inside, wall 10 cm, k 1.04 W/m °C, 500 and 50 °C: S = 15 + 3.24 + 0.12 = 18.36 m, 8.592 kW.

    J. P. Holman, Heat Transfer, example 3-2, as worked in the open textbook companion.
    """
    found = size(
        "wall", "--shape", "square", "--across", "0.5 m", "--depth", "0.5 m", "--wall", "0.1 m: 1.04", "--inside",
        "500 °C", "--outer", "50 °C",
    )  # fmt: skip
    assert found["shape_factor_m"] == pytest.approx(18.36, abs=0.005)
    parts = found["shape_parts_m"]
    assert parts["sides"] + parts["floor"] + parts["lid"] == pytest.approx(15.0)
    assert (parts["edges"], parts["corners"]) == pytest.approx((3.24, 0.12))
    assert found["flow_w"] == pytest.approx(8592.0, abs=5.0)


def test_a_wall_with_a_film_outside() -> None:
    """6 mm k 39, 75 mm k 1.1, 200 mm k 0.66, outside 65 W/m²K, 900 K inside, 300 K air: 1551.4 W/m², face 323.9 K.

    K. A. Gavhane, Heat Transfer, example 2.28, as worked in the open textbook companion.
    """
    found = size(
        "wall", "--wall", "6 mm: 39", "--wall", "75 mm: 1.1", "--wall", "200 mm: 0.66", "--film", "65 W/m²K",
        "--inside", "900 K", "--room", "300 K",
    )  # fmt: skip
    assert found["flux_inside_w_m2"] == pytest.approx(1551.4, abs=0.5)
    assert found["faces_c"][-1] + 273.15 == pytest.approx(323.9, abs=0.1)


def test_still_air_along_a_hot_pane() -> None:
    """A firescreen 0.71 m high at 232 °C in a room of 23 °C: Ra 1.813e9, Nu 147, 7.0 W/m²K by Churchill and Chu.

    F. P. Incropera and D. P. DeWitt, Fundamentals of Heat and Mass Transfer, example 9.2 (from memory). The book takes
    air at 400 K, here it is 400.65 K.
    """
    found = still_air(232.0, 23.0, 0.71)
    assert found.rayleigh == pytest.approx(1.813e9, rel=0.01)
    assert found.nusselt == pytest.approx(147.0, rel=0.005)
    assert found.w_m2_k == pytest.approx(7.0, abs=0.03)


@pytest.mark.parametrize(("shell_c", "w_m2_k"), [(40, 10.0), (60, 11.5), (80, 12.7), (100, 13.8), (150, 16.6)])
def test_air_and_radiation_together(shell_c: float, w_m2_k: float) -> None:
    """Still air along 0.3 m, emissivity 0.9, room 20 °C: worked by another script from the same two laws."""
    assert Outside().flux_w_m2(shell_c) / (shell_c - 20.0) == pytest.approx(w_m2_k, abs=0.06)


FLAT = [
    ("23", 750, {64: (1419, 116), 76: (1211, 106), 114: (828, 84), 128: (742, 79), 178: (541, 66)}),
    ("23", 800, {64: (1547, 123), 114: (902, 88), 178: (589, 69)}),
    ("23", 900, {64: (1814, 135), 114: (1055, 97)}),
    ("26", 800, {64: (2753, 174), 114: (1641, 127), 178: (1087, 99)}),
    ("dense", 800, {64: (8203, 318), 114: (5211, 251), 178: (3603, 204)}),
]


@pytest.mark.parametrize(
    ("brick", "hot_c", "rows"), FLAT, ids=lambda value: str(value) if not isinstance(value, dict) else ""
)
def test_a_flat_wall_of_brick(brick: str, hot_c: int, rows: dict[int, tuple[int, int]]) -> None:
    """Brick of the VDI Heat Atlas (2nd ed., Springer 2010, by way of the ht library): by another script."""
    for mm, (w_m2, shell_c) in rows.items():
        found = size("wall", "--wall", f"{mm} mm: {brick}", "--inside", f"{hot_c} °C")
        assert found["flow_w"] == pytest.approx(w_m2, rel=0.001)
        assert found["faces_c"][-1] == pytest.approx(shell_c, abs=1.0)


def test_brick_with_a_board_behind_it() -> None:
    """64 mm of group 23 at 800 °C, 25 mm of k 0.10 behind: 1073 W/m², joint 366 °C, shell 98 °C: by another script."""
    found = size("wall", "--wall", "64 mm: 23", "--wall", "25 mm: 0.10", "--inside", "800 °C")
    assert found["flow_w"] == pytest.approx(1073.0, abs=1.0)
    assert found["faces_c"][1:] == pytest.approx([366.0, 98.0], abs=0.7)


def test_a_bright_shell_runs_hotter_for_almost_the_same_loss() -> None:
    """114 mm of group 23 at 800 °C, emissivity 0.1: shell 132 °C in place of 88 °C: by another script."""
    found = size("wall", "--wall", "114 mm: 23", "--inside", "800 °C", "--emissivity", "0.1")
    assert found["faces_c"][-1] == pytest.approx(132.0, abs=1.0)


def test_a_small_box_loses_much_through_edges_and_corners() -> None:
    """165 by 165 by 190 mm in 114 mm of group 23 at 800 °C: S 2.838 m, 304 W, shell 49 °C, 44 % by edges and corners.

    Worked by another script from Holman's factors (Heat Transfer, example 3-2); no published answer.
    """
    found = size(
        "wall",
        "--shape",
        "square",
        "--across",
        "165 mm",
        "--depth",
        "190 mm",
        "--wall",
        "114 mm: 23",
        "--inside",
        "800",
    )
    assert found["shape_factor_m"] == pytest.approx(2.838, abs=0.001)
    assert found["flow_w"] == pytest.approx(304.0, abs=1.0)
    assert found["faces_c"][-1] == pytest.approx(49.0, abs=0.5)
    assert (found["parts_w"]["edges"] + found["parts_w"]["corners"]) / found["flow_w"] == pytest.approx(0.44, abs=0.005)


@pytest.mark.parametrize(("target_c", "kw_m2"), [(700, 50.4), (750, 61.7), (800, 74.8)])
def test_an_open_mouth_radiates(target_c: int, kw_m2: float) -> None:
    """A black opening into a cold room: worked by another script from Stefan and Boltzmann's law."""
    from supervisor.sizing.films import radiated_w_m2

    assert radiated_w_m2(target_c, 20.0) / 1000.0 == pytest.approx(kw_m2, abs=0.06)


STEEL = "100 mm: 45 W/m/K: 7850 kg/m3: 409.46 J/kg/K"  # diffusivity 1.4e-5 m²/s


def test_a_thick_block_whose_face_is_suddenly_hot() -> None:
    """Steel, k 45 W/m °C, 1.4e-5 m²/s, at 35 °C; its face goes to 250 °C: 118.5 °C at 2.5 cm after half a minute.

    J. P. Holman, Heat Transfer, example 4-2 (from memory; the closed form, Schneider's error function, says the same).
    """
    found = size(
        "wall", "--wall", STEEL, "--inside", "250 °C", "--start", "35 °C", "--after", "0.5 min", "--at", "2.5 cm"
    )
    assert found["temperature_c"] == pytest.approx(118.5, abs=0.5)


def test_a_thick_block_under_a_steady_flux() -> None:
    """The same steel with 3.2e5 W/m² into its face: 79.3 °C at 2.5 cm after half a minute.

    J. P. Holman, Heat Transfer, example 4-2 (from memory; the closed form says the same).
    """
    found = size(
        "wall", "--wall", STEEL, "--flux", "3.2e5 W/m²", "--start", "35 °C", "--after", "0.5 min", "--at", "2.5 cm"
    )
    assert found["temperature_c"] == pytest.approx(79.3, abs=0.5)
    assert found["stored_kj"] == pytest.approx(found["supplied_kj"], rel=1e-6)


def test_how_deep_frost_goes_in_two_months() -> None:
    """Soil at 20 °C, k 0.52, 2050 kg/m³, 1840 J/kg K; its surface is -15 °C for 60 days: 0 °C is 0.68 m deep.

    F. P. Incropera and D. P. DeWitt, Fundamentals of Heat and Mass Transfer, example 5.6 (from memory; the closed form
    says 0.677 m).
    """
    found = size(
        "wall", "--wall", "5 m: 0.52 W/m/K: 2050 kg/m³: 1840 J/kg/K", "--inside", "-15 °C", "--start", "20 °C",
        "--after", "60 d", "--reaches", "0 °C",
    )  # fmt: skip
    assert found["reaches_mm"] / 1000.0 == pytest.approx(0.68, abs=0.005)


def test_a_wall_that_had_time_enough_is_settled() -> None:
    """Both of ours agree: ten days after it was lit a wall conducts what the settled reckoning says."""
    wall = (
        "--shape",
        "octagon",
        "--across",
        "190 mm",
        "--depth",
        "230 mm",
        "--wall",
        "64 mm: 23",
        "--wall",
        "25 mm: board",
    )
    settled = size("wall", *wall, "--inside", "800 °C", "--room", "20 °C")
    long = size("wall", *wall, "--inside", "800 °C", "--room", "20 °C", "--after", "10 d", "--at", "64 mm")
    assert long["temperature_c"] == pytest.approx(settled["faces_c"][1], abs=8.0)
    longer = size("wall", *wall, "--inside", "800 °C", "--room", "20 °C", "--after", "11 d")
    assert (longer["supplied_kj"] - long["supplied_kj"]) / 86.4 == pytest.approx(settled["flow_w"], rel=0.01)

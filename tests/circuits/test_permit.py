"""Both permit circuits in ngspice: held in by the supervisor, let go by everything else. Simulated, not built."""

from itertools import pairwise
from math import log

import pytest

from supervisor.firing.start import DROP_OUT_S
from supervisor.watches.chain import LoopLate
from tests.circuits.__main__ import one
from tests.circuits.cases import CASES, TO_S
from tests.circuits.permit import (
    ARMATURE_S,
    CIRCUITS,
    OPEN_WITHIN_S,
    Came,
    Pattern,
    late,
    rising_gaps_s,
    run,
    steady,
)
from tests.supervisor.furnace_at_hand import bake, furnace_at_hand

BUILDS = range(1, 11)


def lets_go_in_time(came: Came) -> bool:
    return came.poles_open_s is not None and came.poles_open_s + ARMATURE_S <= OPEN_WITHIN_S


@pytest.mark.parametrize("circuit", CIRCUITS)
@pytest.mark.parametrize("name", CASES)
def test_the_contactor_is_in_while_the_pin_is_toggled_well_and_out_soon_after(circuit: str, name: str) -> None:
    case = CASES[name]
    came = case.run(circuit)
    if case.b_alone and circuit == "permit-a":  # a racing pin looks to a pump like a good one: said in docs/permit.md
        assert came.closed_s is not None
        return
    assert (came.closed_s is not None) == case.closes
    if case.holds is not None:
        assert came.held == case.holds
    if case.closes:
        assert lets_go_in_time(came), came


@pytest.mark.parametrize("circuit", CIRCUITS)
@pytest.mark.parametrize("seed", BUILDS)
def test_a_build_with_every_part_off_holds_in_and_lets_go(circuit: str, seed: int) -> None:
    came = one(circuit, seed)
    assert came.held, came
    assert lets_go_in_time(came), came


@pytest.mark.parametrize("circuit", CIRCUITS)
def test_the_start_test_of_the_supervisor_passes_on_the_circuit(circuit: str) -> None:
    at_hand = furnace_at_hand("bench")
    at_hand.start(bake())
    began_s = [edge.time_s for edge in at_hand.furnace.edges if edge.line == "permit"]
    stuck = next(number for number, (before, after) in enumerate(pairwise(began_s)) if after - before > 0.6)
    edges_s = tuple(at_s - began_s[0] + 1.0 for at_s in began_s[: stuck + 1])
    assert len(edges_s) % 2, "the first time the start test leaves the pin high"
    came = run(circuit, Pattern(edges_s, edges_s[-1] + 4.0))
    assert came.held
    assert came.permit_open_s is not None
    assert DROP_OUT_S[0] <= came.permit_open_s <= DROP_OUT_S[1]


def test_a_firing_toggles_the_pin_no_faster_and_no_slower_than_the_circuits_allow() -> None:
    at_hand = furnace_at_hand("bench")
    at_hand.start(bake())
    at_hand.wait(60.0)
    edges_s = [edge.time_s for edge in at_hand.furnace.edges if edge.line == "permit"][-200:]
    assert {round(after - before, 3) for before, after in pairwise(edges_s)} == {0.25}


def test_late_toggles_stay_within_what_the_supervisor_lets_pass() -> None:
    for seed in range(200):
        edges_s = late(30.0, seed)
        assert min(after - before for before, after in pairwise(edges_s)) >= 0.2
        assert max(rising_gaps_s(edges_s)) <= LoopLate().limit_s + 1e-6


def test_a_circuit_that_lets_go_later_than_these_may_fails_the_start_test() -> None:
    assert DROP_OUT_S[1] <= OPEN_WITHIN_S


def test_without_its_resistor_to_ground_circuit_a_would_hold_for_too_long() -> None:
    came = run("permit-a", Pattern(steady(TO_S), 20.0), {"ra": 1e9})
    assert came.poles_open_s is not None
    assert came.poles_open_s > 2.0 * OPEN_WITHIN_S


def test_circuit_a_discharges_as_a_capacitor_does() -> None:
    """R C ln(V0 / V): textbook discharge, from memory; V0 is 12 V less three diodes, V the gate threshold + 0.3 V."""
    came = run("permit-a", Pattern(steady(TO_S), 20.0))
    assert came.permit_open_s is not None
    assert came.permit_open_s == pytest.approx(910e3 * 1e-6 * log(10.4 / 2.0), rel=0.05)


def test_circuit_b_opens_after_its_two_widths() -> None:
    """Width = R C for both monostables (4538 class, data-sheet figure as quoted in the netlist, from memory)."""
    came = run("permit-b", Pattern(steady(TO_S), 20.0))
    assert came.permit_open_s is not None
    assert came.permit_open_s == pytest.approx(180e3 * 1e-6 + 1.35e6 * 1e-6, rel=0.02)


def test_a_value_that_the_netlist_does_not_have_is_refused() -> None:
    with pytest.raises(ValueError, match="r9 stands 0 times"):
        run("permit-a", Pattern(steady(TO_S), 14.0), {"r9": 1.0})

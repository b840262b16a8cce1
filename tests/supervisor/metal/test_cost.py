"""What a melt costs: by hand, head by head; what has no price counts nothing and is not named."""

import pytest

from supervisor.metal.cost import as_object, cost

PRICES = {
    "currency": "EUR",
    "per_kwh": 0.21,
    "per_melt": 1.1,
    "per_hour": 12.0,
    "scrap_per_kg": 0.8,
    "bought_per_kg": 6.0,
}
MELT = {"kwh": 3.4, "hours": 2.0, "scrap_kg": 1.9, "bought_kg": 0.1, "usable_kg": 1.9}


def test_every_head_counts_once() -> None:
    """By hand: 3.4 x 0.21 + 1.1 + 2 x 12 + 1.9 x 0.8 + 0.1 x 6 = 0.714 + 1.1 + 24 + 1.52 + 0.6 = 27.934."""
    found = cost(PRICES, **MELT)
    assert found is not None
    assert (found.energy, found.upkeep, found.work, found.metal) == pytest.approx((0.714, 1.1, 24.0, 2.12))
    assert found.total == pytest.approx(27.934)
    assert found.per_usable_kg == pytest.approx(27.934 / 1.9)
    assert found.words == "27.93 EUR, 14.70 EUR for each usable kg (energy 0.71, wear 1.10, work 24.00, metal 2.12)."
    shown = as_object(found)
    assert shown is not None
    assert shown["per_usable_kg"] == found.per_usable_kg


def test_what_has_no_price_counts_nothing_and_nothing_usable_has_no_price_a_kg() -> None:
    found = cost({"currency": "EUR", "per_kwh": 0.21}, **{**MELT, "usable_kg": 0.0})
    assert found is not None
    assert found.words == "0.71 EUR (energy 0.71)."
    assert cost(None, **MELT) is None
    assert as_object(None) is None

"""A log with one whole melt, its estimates and two models of the furnace, by the real scribe. All data are invented."""

from math import exp
from pathlib import Path
from typing import Any

from supervisor.logbook.records import EstimateRow, EventRow, FiringClosed, FiringOpened, ModelRow
from supervisor.model import reduced
from supervisor.model.learned import Model, Spread
from tests.supervisor.logbook import UTC_MS, sample, scribe_of

LASTED_S = 4800
GIVEN = {
    "power": (-0.013, 0.01),
    "loss": (0.12, 0.03),
    "capacity": (0.05, 0.08),
    "leak": (0.4, 0.3),
    "lid_loss": (-0.1, 0.4),
    "wall_to_pot": (0.1, 0.11),
    "element_to_pot": (-0.08, 0.14),
    "sensor_wall": (0.21, 0.06),
    "sensor_element": (0.0, 0.31),
    "sensor_stem": (0.1, 0.3),
    "sheath": (-0.3, 0.05),
    "pot_capacity": (0.02, 0.1),
}
FACTORS = {name: GIVEN.get(name, (0.0, 0.4)) for name in reduced.FACTORS}
"""Each factor's logarithm and its standard error."""
CHARGE = {"mass_kg": 2.0, "alloy": "6082", "form": "off-cuts", "solidus_c": 575.0, "liquidus_c": 650.0}
FORECAST = {
    "minutes": {"likely": 62.0, "low": 54.0, "high": 71.0},
    "kwh": 2.31,
    "cost": 0.49,
    "currency": "EUR",
    "gate_asks_min": {"early": 24.0, "likely": 27.0},
    "learned": True,
}


def chamber_c(t_s: float) -> float:
    """Up to a boost at 800 °C, there for a while, then back to the metal's target of 740 °C."""
    if t_s < 2700:
        return min(800.0, 20 + t_s / 2700 * 790)
    return 800.0 if t_s < 3300 else 740 + 60 * exp(-(t_s - 3300) / 240)


def metal_c(t_s: float) -> float:
    """Behind the chamber, flat while it melts, then up to the chamber."""
    if t_s < 2500:
        return 20 + 555 * float((t_s / 2500) ** 1.5)
    if t_s < 3400:
        return 575 + 75 * (t_s - 2500) / 900
    return 735 - 85 * exp(-(t_s - 3400) / 420)


def estimate(t_s: int) -> EstimateRow:
    mean_c, band_k = metal_c(t_s), 12.0 if t_s > 3400 else 22.0
    phase = "solid" if mean_c < 575 else "melting" if mean_c < 650 else "liquid"
    share = min(1.0, max(0.0, (mean_c - 575) / 75))
    left = max(0.0, (3720 - t_s) / 60)
    near = left < 3
    return EstimateRow(
        1,
        t_s * 1000,
        phase,
        mean_c,
        mean_c - band_k,
        mean_c + band_k,
        share,
        share,
        share,
        None if near else 0.85 * left,
        None if near else left,
        None if near else 1.2 * left + 1,
        2300 < t_s < 3300,
        "",
        740.0,
        "",
    )


def against(firing_id: int, off_k: float) -> dict[str, Any]:
    """What the probe read, and a model that is up to off_k beside it."""
    t_s = list(range(0, LASTED_S, 60))
    measured = [round(chamber_c(t), 1) for t in t_s]
    predicted = [round(c + off_k * (t / 1500 - 1) * exp(-t / 2000), 1) for t, c in zip(t_s, measured, strict=True)]
    return {"firing_id": firing_id, "t_s": t_s, "measured_c": measured, "predicted_c": predicted}


def learned(from_firings: list[int], loss: float) -> Model:
    """A model as the learner makes it."""
    sd = [sd for _, sd in FACTORS.values()]
    return Model(
        log_factors=tuple(loss if name == "loss" else log for name, (log, _) in FACTORS.items()),
        log_sd=tuple(sd),
        covariance=tuple(tuple(a * a if i == j else 0.0 for j in range(len(sd))) for i, a in enumerate(sd)),
        learned_from=tuple(from_firings),
        metered=True,
        residual_k={"solid": Spread(1.2, 5.4, 90), "melting": Spread(-0.3, 6.1, 40), "liquid": Spread(-4.0, 7.7, 30)},
        low_c=18.0,
        high_c=802.0,
        furnace_digest="0" * 64,
        made_utc_ms=UTC_MS,
    )


def keep_a_melt(data: Path, *, as_far_as_s: int = LASTED_S) -> None:
    """A-098, as far as it has come; a model of one firing, one of three in use, and a newer one that waits."""
    frozen = {"charge": CHARGE, "pour_c": 720.0, "forecast": FORECAST}
    with scribe_of(data) as scribe:
        scribe.put([FiringOpened(1, 100.0, "A-098", "A-098", "Ingots, 2 kg", frozen, "simulated")])
        scribe.put(
            [
                sample(t * 1000, hot_junction_c=chamber_c(t), setpoint_c=chamber_c(t), energy_wh=t * 0.6)
                for t in range(0, as_far_as_s, 4)
            ]
        )
        scribe.put([estimate(t) for t in range(60, as_far_as_s, 60)])
        happened = (
            (20_000, "state", {"to": "running"}),
            (1_680_000, "question", {"asked": "gate"}),
            (1_700_000, "press", {"answers": "gate"}),
            (4_350_000, "note", {"kind": "dip reading", "temperature_c": 727.0}),
            (4_620_000, "note", {"kind": "pour"}),
        )
        scribe.put(
            [
                EventRow(1, t_ms, kind, "Ada’s phone", "page", detail)
                for t_ms, kind, detail in happened
                if t_ms <= 1000 * as_far_as_s
            ]
        )
        if as_far_as_s == LASTED_S:
            results = {"peak_c": 800.0, "energy_wh": 2880.0}
            scribe.put([FiringClosed(1, LASTED_S * 1000, "complete", None, results)])
        scribe.put([_model([1], 0.18, "the first"), _model([1, 2, 3], 0.12, "", against(1, 9.0), against(2, -7.0))])
        doubted = "The loss through the lining is 121 % of what it was since the last model; allowed: 105 % of."
        scribe.put([_model([1, 2, 3, 4], 0.31, doubted, against(1, 30.0))._replace(adopted=False)])


def _model(from_firings: list[int], loss: float, note: str, *series: dict[str, Any]) -> ModelRow:
    found = learned(from_firings, loss).to_json()
    return ModelRow(1, True, None, "supervisor", "after a firing", found, {"series": list(series)}, note)

"""The furnace's figures for machines that collect them, as OpenMetrics 1.0 families.

Base units, one label (the furnace's name), never a heat number or an alarm's text. What is old or not known is NaN, and
the state is then left out: a collector must not go on drawing yesterday's temperature.
"""

from collections.abc import Iterator
from typing import Any

from prometheus_client.core import (
    CounterMetricFamily,
    GaugeMetricFamily,
    InfoMetricFamily,
    Metric,
    StateSetMetricFamily,
)
from prometheus_client.openmetrics.exposition import CONTENT_TYPE_LATEST as CONTENT_TYPE
from prometheus_client.openmetrics.exposition import generate_latest
from prometheus_client.registry import Collector

from web.view import OLD_S

__all__ = ["CONTENT_TYPE", "as_text"]

J_PER_WH = 3600.0
STATES = (
    "stopped",
    "idle",
    "starting",
    "running",
    "holding",
    "held",
    "stopping",
    "completing",
    "complete",
    "aborting",
    "aborted",
)
NAN = float("nan")

Snapshot = dict[str, Any]


class Now(Collector):
    """The figures of one furnace at one moment."""

    def __init__(self, snapshot: Snapshot | None, age_s: float, streams: int):
        self._families = tuple(_families(snapshot, age_s, streams))

    def collect(self) -> Iterator[Metric]:
        """What the exposition is written from."""
        yield from self._families


def as_text(snapshot: Snapshot | None, age_s: float, streams: int) -> bytes:
    """The exposition. snapshot None: the supervisor has never answered. age_s: seconds since the snapshot was true."""
    return bytes(generate_latest(Now(snapshot, age_s, streams)))  # type: ignore[no-untyped-call]


def _families(snapshot: Snapshot | None, age_s: float, streams: int) -> Iterator[Metric]:
    yield _gauge("pages_streams", "Pages that are open and listen", "", {}, streams)
    if snapshot is None:
        yield _gauge("supervisor_up", "1 while the supervisor speaks", "", {}, 0.0)
        return
    known = age_s <= OLD_S
    label = {"furnace": str(snapshot["furnace"]["name"])}
    yield _gauge("supervisor_up", "1 while the supervisor speaks", "", label, float(known))
    yield _gauge("sample_age_seconds", "Seconds since what is told here was true", "seconds", label, age_s)
    said = {"backend": str(snapshot["furnace"]["backend"]), "version": str(snapshot["version"])}
    info = InfoMetricFamily("meltkeeper_furnace", "What is watched here", labels=list(label))
    info.add_metric(list(label.values()), said)
    yield info
    if known:
        states = StateSetMetricFamily("meltkeeper_firing_state", "State of the firing", labels=list(label))
        states.add_metric(list(label.values()), {state: state == snapshot["state"] for state in STATES})
        yield states
    for name, text, unit, value in _figures(snapshot):
        yield _gauge(name, text, unit, label, value if known and value is not None else NAN)
    yield from _energy(snapshot, label)


def _figures(s: Snapshot) -> Iterator[tuple[str, str, str, float | None]]:
    hot, metal, firing = s["hot_junction"], s["metal"], s["firing"]
    yield "hot_junction_celsius", "Chamber as read", "celsius", None if hot["fault"] else hot["c"]
    yield "cold_junction_celsius", "Cold junction of the thermocouple", "celsius", s["cold_junction_c"]
    yield "setpoint_celsius", "Setpoint of the chamber", "celsius", s["setpoint_c"]
    yield "duty_ratio", "Fraction of time that the element is switched on", "ratio", s["duty"]
    yield "metal_celsius", "Metal as estimated, likely mean", "celsius", metal["c"] if metal else None
    yield "metal_molten_ratio", "Share molten as estimated", "ratio", metal["share_molten"] if metal else None
    yield "firing_elapsed_seconds", "Time since the firing began", "seconds", firing["elapsed_s"] if firing else None
    yield "heat_allowed", "1 while heat is allowed", "", float(s["heat"]["allowed"])
    yield "heat_off_proved", "1 while heat is proved off", "", float(s["heat"]["off"] == "proved")
    yield "alarms", "Alarms that stand", "", float(len(s["alarms"]))


def _energy(s: Snapshot, label: dict[str, str]) -> Iterator[Metric]:
    """Counts from the start of each firing, which is its creation time."""
    firing = s["firing"]
    if firing is None or firing["started_utc_ms"] is None:
        return
    energy = CounterMetricFamily("meltkeeper_energy_joules", "Energy of this firing", labels=list(label), unit="joules")
    energy.add_metric(list(label.values()), firing["energy_wh"] * J_PER_WH, created=firing["started_utc_ms"] / 1000)
    yield energy


def _gauge(name: str, text: str, unit: str, label: dict[str, str], value: float) -> Metric:
    family = GaugeMetricFamily(f"meltkeeper_{name}", text, labels=list(label), unit=unit)
    family.add_metric(list(label.values()), float(value))
    return family

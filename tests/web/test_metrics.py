"""The figures for machines, held against the text format of OpenMetrics 1.0.

Source: OpenMetrics, "a cloud-native, highly scalable metrics protocol", version 1.0.0 of 2020-11 (as Internet-Draft
draft-richih-opsawg-openmetrics-00), sections "Text format: ABNF", "MetricFamily", "Gauge", "Counter", "Info" and
"StateSet". The rules are quoted from memory; the second check is the parser of prometheus-client, another reader of the
same specification.
"""

import math
import re
from collections import defaultdict

from prometheus_client.openmetrics.parser import text_string_to_metric_families

from tests.web.conftest import Browser, Clock
from tests.web.melting import METAL
from tests.web.scripted import Scripted
from tests.web.snapshots import HEATING, STOPPED
from tests.web.snapshots_trouble import TRIPPED

SAMPLE = re.compile(r"([a-zA-Z_:][a-zA-Z0-9_:]*)(\{[^}]*\})? (NaN|[+-]Inf|[+-]?[0-9.eE+-]+)")
SUFFIXES = {"counter": ("_total", "_created"), "info": ("_info",), "gauge": ("",), "stateset": ("",)}


def against_the_format(text: str) -> None:
    """The rules of the text format that one furnace's exposition can break."""
    assert text.endswith("# EOF\n")
    assert text.count("# EOF") == 1
    assert "\r" not in text
    family = kind = ""
    done: set[str] = set()
    seen: set[tuple[str, str]] = set()
    described: dict[str, set[str]] = defaultdict(set)
    for line in text.splitlines()[:-1]:
        if line.startswith("# "):
            word, name, said = line[2:].split(" ", 2)
            assert word in {"TYPE", "UNIT", "HELP"}, line
            assert word not in described[name], f"twice: {line}"
            described[name].add(word)
            if name != family:
                assert name not in done, f"not in one piece: {name}"
                done.add(name)
                family, kind = name, ""
            if word == "TYPE":
                assert said in SUFFIXES, line
                kind = said
            if word == "UNIT":
                assert name.endswith(f"_{said}"), line
            continue
        found = SAMPLE.fullmatch(line)
        assert found, line
        assert found[1] in {family + suffix for suffix in SUFFIXES[kind]}, line
        assert (found[1], found[2]) not in seen, f"twice: {line}"
        seen.add((found[1], found[2]))
        value = float(found[3])
        if kind == "counter":
            assert value >= 0, line
        if kind == "info":
            assert value == 1, line
        if kind == "stateset":
            assert value in {0, 1}, line
            assert f'{family}="' in found[2], line
    assert all("TYPE" in words for words in described.values())


def values(text: str) -> dict[str, float]:
    return {
        sample.name: sample.value
        for family in text_string_to_metric_families(text)  # type: ignore[no-untyped-call]
        for sample in family.samples
        if family.type != "stateset"
    }


def test_a_firing_is_told_in_base_units(stranger: Browser, furnace: Scripted) -> None:
    furnace.show(HEATING)
    answer = stranger.get("/metrics")
    assert answer.content_type == "application/openmetrics-text; version=1.0.0; charset=utf-8"
    against_the_format(answer.text)
    told = values(answer.text)
    assert told["meltkeeper_hot_junction_celsius"] == 276.3
    assert told["meltkeeper_energy_joules_total"] == HEATING["firing"]["energy_wh"] * 3600
    assert told["meltkeeper_energy_joules_created"] == HEATING["firing"]["started_utc_ms"] / 1000
    assert told["meltkeeper_supervisor_up"] == 1
    assert 'meltkeeper_firing_state{furnace="workshop",meltkeeper_firing_state="running"} 1.0' in answer.text
    assert answer.text.count("meltkeeper_firing_state{") == 11


def test_every_state_keeps_to_the_format(stranger: Browser, furnace: Scripted, time: Clock) -> None:
    for snapshot in (STOPPED, HEATING, TRIPPED, *METAL.values()):
        time.ahead_s += 1
        furnace.show(snapshot)
        against_the_format(stranger.get("/metrics").text)


def test_what_is_old_is_no_number(stranger: Browser, furnace: Scripted, time: Clock) -> None:
    furnace.show(HEATING)
    furnace.turning = False
    time.ahead_s += 11
    text = stranger.get("/metrics").text
    against_the_format(text)
    told = values(text)
    assert math.isnan(told["meltkeeper_hot_junction_celsius"])
    assert told["meltkeeper_supervisor_up"] == 0
    assert told["meltkeeper_sample_age_seconds"] >= 11
    assert "meltkeeper_firing_state{" not in text


def test_a_broken_sensor_is_no_number(stranger: Browser, furnace: Scripted) -> None:
    furnace.show(TRIPPED)
    assert math.isnan(values(stranger.get("/metrics").text)["meltkeeper_hot_junction_celsius"])


def test_it_names_no_heat_number_and_no_alarm(stranger: Browser, furnace: Scripted) -> None:
    furnace.show(TRIPPED)
    text = stranger.get("/metrics").text
    assert "A-09" not in text
    assert TRIPPED["alarms"][0]["watch"] not in text

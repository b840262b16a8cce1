"""Numbers as a person reads them: temperatures in the unit of their choice, durations, hours of the day."""

import re
from datetime import UTC, datetime
from math import ceil
from typing import Any

from markupsafe import Markup, escape

from web.book import Units

UNKNOWN = "–"
NBSP = "\u00a0"
NOW_S = 60.0  # an act with no more time than this is wanted now
SOON_S = 600.0  # nor one with more than this in the next minutes
_RATE = re.compile(r"(-?\d+(?:\.\d+)?) °C/h")
_TEMPERATURE = re.compile(r"(-?\d+(?:\.\d+)?)(–(\d+(?:\.\d+)?))? °C(?!/h)")
_ABOUT = re.compile(r"about (-?\d+(?:\.\d+)?) °C")
_NUMBER = re.compile(r"\b[A-Z]+-\d+(?:/\d+)?\b")
_BAND = re.compile(r"(\d+(?:\.\d+)?) K\b")


def fahrenheit(celsius: float) -> float:
    """°C to °F."""
    return celsius * 9 / 5 + 32


def degrees(celsius: float | None, units: Units) -> str:
    """A temperature without its unit, whole degrees: '276', or a dash when there is none."""
    if celsius is None:
        return UNKNOWN
    return f"{round(fahrenheit(celsius) if units == 'F' else celsius)}"


def temperature(celsius: float | None, units: Units) -> str:
    """'276 °C', or '529 °F', or a dash when there is none."""
    return UNKNOWN if celsius is None else f"{degrees(celsius, units)} °{units}"


def difference(kelvin: float, units: Units) -> str:
    """A difference or band, which takes no offset: '11 K', or '20 °F'."""
    return f"{round(kelvin)}{NBSP}K" if units == "C" else f"{round(kelvin * 9 / 5)}{NBSP}°F"


def about(celsius: float, units: Units) -> str:
    """An estimate without its unit, as coarse in °F as it is in °C: '640', '1180'."""
    return degrees(celsius, "C") if units == "C" else f"{round(fahrenheit(celsius) / 10) * 10}"


def band(kelvin: float, units: Units) -> str:
    """How far an estimate may be off, never less than it is: '± 25 K', '± 50 °F'."""
    return f"±{NBSP}{ceil(kelvin)}{NBSP}K" if units == "C" else f"±{NBSP}{ceil((kelvin * 9 / 5 + 5) / 5) * 5}{NBSP}°F"


def in_units(sentence: str, units: Units) -> str:
    """A sentence of the supervisor, which speaks °C, in the unit of the reader's choice."""
    if units == "C":
        return sentence

    def read(match: re.Match[str]) -> str:
        low, high = float(match[1]), match[3]
        return f"{degrees(low, 'F')}{'–' + degrees(float(high), 'F') if high else ''} °F"

    sentence = _ABOUT.sub(lambda match: f"about {about(float(match[1]), 'F')} °F", sentence)
    sentence = _RATE.sub(lambda match: f"{round(float(match[1]) * 9 / 5)} °F/h", sentence)
    return _BAND.sub(lambda match: difference(float(match[1]), "F"), _TEMPERATURE.sub(read, sentence))


def unbroken(sentence: str) -> Markup:
    """A sentence in which no number of a melt, ingot or lot is parted at its hyphen by the end of a line."""
    return Markup(_NUMBER.sub(r'<span class="nowrap">\g<0></span>', str(escape(sentence))))


def duration(seconds: float | None) -> str:
    """'40 s', '12 min', '4 h', '1 h 5 min', or a dash."""
    if seconds is None:
        return UNKNOWN
    if seconds < 60:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def how_soon(alarm: dict[str, Any]) -> str:
    """How much time is left for the act of an alarm: 'now', 'within 9 min', 'in this melt'."""
    if alarm["act_within_s"] <= NOW_S or alarm["act_left_s"] <= 0.0:
        return "now"
    if alarm["act_within_s"] > SOON_S:
        return "in this melt"
    return f"within {duration(60.0 * ceil(alarm['act_left_s'] / 60.0))}"


def energy(watt_hours: float | None) -> str:
    """'812 Wh', '3.3 kWh', or a dash."""
    if watt_hours is None:
        return UNKNOWN
    return f"{watt_hours:.0f} Wh" if watt_hours < 1000 else f"{watt_hours / 1000:.1f} kWh"


def mass(kilograms: float | None) -> str:
    """'2.40 kg', or 'no metal'."""
    return "no metal" if kilograms is None else f"{kilograms:.2f} kg"


def _local(utc_ms: int) -> datetime:
    return datetime.fromtimestamp(utc_ms / 1000, UTC).astimezone()


def hour(utc_ms: int | None) -> str:
    """'14:05', on the clock of the machine that watches the furnace."""
    return UNKNOWN if utc_ms is None else _local(utc_ms).strftime("%H:%M")


def second(utc_ms: int | None) -> str:
    """'14:05:13', on the same clock."""
    return UNKNOWN if utc_ms is None else _local(utc_ms).strftime("%H:%M:%S")


def day(utc_ms: int | None) -> str:
    """'5 Sep 2026', on the same clock."""
    if utc_ms is None:
        return UNKNOWN
    moment = _local(utc_ms)
    return f"{moment.day} {moment.strftime('%b %Y')}"


def offset_s(utc_ms: int) -> int:
    """How far the local clock is ahead of UTC, s: charts label their axis with it."""
    ahead = _local(utc_ms).utcoffset()
    assert ahead is not None
    return round(ahead.total_seconds())

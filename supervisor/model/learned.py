"""What was learned of one furnace: a record for the log, when it may be used, and when a person must be asked."""

import hashlib
import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, dataclass
from math import exp, hypot, log
from sys import float_info
from typing import Any, NamedTuple

from supervisor.furnace.description import FurnaceDescription
from supervisor.model.reduced import FACTORS, prior_sd
from supervisor.model.series import Series

PHASES = ("empty", "solid", "melting", "liquid", "dip")
"""What residuals are kept apart by: the reading's by what the metal is doing, and the metal's own at dip readings."""

WIDENS_PER_FIRING = 0.05
"""Standard deviation, as a logarithm, by which a furnace may have changed from one firing to the next."""

MOST_PER_FIRING = 0.05
MOST_FROM_COMMISSIONING = 0.30
LIMITS_HEAT = ("power", "loss", "capacity", "leak", "lid_loss", "pot_capacity", "facing")
"""Factors that forecast, allowance and settled duty follow from; where the sensor sits is free to differ more."""

MOST_FROM_DATA_SHEETS = 0.7
"""Of a factor's logarithm, half to double: as far as the estimator itself lets one go."""

MOST_LOG = 5.0
"""Of a factor's logarithm, 150 times: no furnace is so far from its data sheets, and nothing can be reckoned there."""

LEAST_FIRINGS = 3
_SURPRISING_SD = 3.0
_MOST_SENTENCES = 3

MEANS = {
    "power": "the heating power",
    "loss": "the loss through the lining",
    "capacity": "the heat that the lining takes up",
    "leak": "the leak round lid and openings",
    "lid_loss": "the loss while the lid is open",
    "wall_to_pot": "the heat from wall to pot",
    "element_to_pot": "the heat from element to pot",
    "sensor_wall": "how much of the wall the sensor sees",
    "sensor_element": "how much of the element the sensor sees",
    "sensor_stem": "how much the sensor's stem is cooled",
    "sheath": "how slow the sensor is",
    "pot_capacity": "the heat that the pot takes up",
    "facing": "the weight of the hot face",
    "contact_solid": "the contact of pot and solid metal",
    "contact_liquid": "the contact of pot and liquid metal",
    "contact_between": "the contact of lower and upper metal",
    "contact_fill": "how contact grows with the metal's mass",
    "wetting": "how long molten metal takes to wet the pot",
}
"""Each factor in words that a person can use."""


class Spread(NamedTuple):
    """Statistics of what was measured less what the model says, open loop, K."""

    bias: float
    rms: float
    n: int


@dataclass(frozen=True)
class Model:
    """What a fit found. Factors are logarithms on what the furnace file says, in the order of FACTORS."""

    log_factors: tuple[float, ...]
    log_sd: tuple[float, ...]  # standard errors
    covariance: tuple[tuple[float, ...], ...]
    learned_from: tuple[int, ...]  # every firing that it rests on, earlier fits included
    metered: bool  # learned with the power as metered
    residual_k: Mapping[str, Spread]  # by PHASES; a phase that was not seen is not in it
    low_c: float  # the reading that it was learned over
    high_c: float
    furnace_digest: str
    made_utc_ms: int  # the end of the newest firing that it was learned from
    power_share: float = 1.0  # metered over ordered power at nominal supply in those firings; 1 where it is not known

    def factor(self, name: str) -> float:
        """A factor itself: 1 is what the furnace file says."""
        return exp(self.log_factors[FACTORS.index(name)])

    def to_json(self) -> str:
        """As text for the log: logarithmic factors by name, each with its standard errors now and before any firing."""
        before = prior_sd(metered=self.metered)
        factors = {
            name: {"log": log_factor, "sd": sd, "prior_sd": before[name]}
            for name, log_factor, sd in zip(FACTORS, self.log_factors, self.log_sd, strict=True)
        }
        fields = {
            "factors": factors,
            "covariance": self.covariance,  # in the order of the factors
            "learned_from": self.learned_from,
            "metered": self.metered,
            "residual_k": {phase: found._asdict() for phase, found in self.residual_k.items()},
            "reading_c": [self.low_c, self.high_c],
            "furnace_digest": self.furnace_digest,
            "made_utc_ms": self.made_utc_ms,
            "power_share": self.power_share,
        }
        return json.dumps(fields, allow_nan=False)

    @classmethod
    def from_json(cls, text: str) -> "Model":
        """Read it back.

        Raises:
            ValueError: it is not such a text, its factors are not those of this version, or a number is not finite or
                no furnace's.
        """
        try:
            fields: dict[str, Any] = json.loads(text)
            factors = fields["factors"]
            if tuple(factors) != FACTORS:
                raise ValueError(f"factors are {', '.join(factors)}; allowed: {', '.join(FACTORS)}")
            low_c, high_c = fields["reading_c"]
            return cls(
                log_factors=tuple(_finite(factors[name]["log"], MOST_LOG) for name in FACTORS),
                log_sd=tuple(_finite(factors[name]["sd"], MOST_LOG) for name in FACTORS),
                covariance=_square(fields["covariance"]),
                learned_from=tuple(int(number) for number in fields["learned_from"]),
                metered=bool(fields["metered"]),
                residual_k={
                    phase: Spread(_finite(found["bias"]), _finite(found["rms"]), int(found["n"]))
                    for phase, found in fields["residual_k"].items()
                },
                low_c=_finite(low_c),
                high_c=_finite(high_c),
                furnace_digest=str(fields["furnace_digest"]),
                made_utc_ms=int(fields["made_utc_ms"]),
                power_share=_finite(fields.get("power_share", 1.0)),  # models of before had none
            )
        except (KeyError, TypeError, AttributeError, OverflowError) as error:
            raise ValueError(f"the model cannot be read: {error!r}; allowed: what to_json writes") from error


def parts_digest(furnace: FurnaceDescription) -> str:
    """SHA-256, hex, of what a model is made of: supply, element, wall, crucible and the sensor's response.

    A new title, pin, meter or limiter setting does not change it, so that what was learned stays.
    """
    parts = (
        furnace.supply_v,
        furnace.element_cold_ohm,
        furnace.element_hot_ratio,
        asdict(furnace.wall),
        asdict(furnace.crucible),
        asdict(furnace.response),
    )
    return hashlib.sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()


def objections(
    new: Model,
    adopted: Model | None,
    commissioning: Model | None,
    *firings: Series,
    refused: Collection[int] = (),
) -> list[str]:
    """Why a fit may not be adopted without a person at the furnace, one sentence each; empty: it may.

    A poisoned model would widen limits melt by melt until nothing trips. firings: those that are new in `new`. adopted:
    the model in use; commissioning: the first in use that had learned from three firings. While fewer were learned a
    fit moves as a matter of course, from the furnace file towards this furnace, and nothing is allowed because of it.
    refused: firings that a fit before this one was refused with; they buy no further way.
    """
    found = []
    for firing in firings:
        if firing.findings:
            found.append(f"In firing {firing.firing_id} watches found something {firing.findings} times.")
        if not firing.outcome:
            found.append(f"Nobody has confirmed mass and outcome of firing {firing.firing_id}.")
    if adopted is not None and _firings(adopted) >= LEAST_FIRINGS:
        count = max(1, len(set(new.learned_from) - set(adopted.learned_from) - set(refused)))
        found += _moved(new, adopted, log(1.0 + MOST_PER_FIRING) * count, "since the last model")
    if commissioning is not None:
        found += _moved(new, commissioning, log(1.0 + MOST_FROM_COMMISSIONING), "since this furnace was commissioned")
    return found + _beyond_data_sheets(new)


def _beyond_data_sheets(model: Model) -> list[str]:
    """What is so far from the data sheets that somebody at the furnace should take it, one sentence each."""
    return [
        f"{_capital(MEANS[name])} is {_percent(value)} of what the furnace file says."
        for name, value in zip(FACTORS, model.log_factors, strict=True)
        if name in LIMITS_HEAT and not abs(value) <= MOST_FROM_DATA_SHEETS
    ]


def surprising(new: Model, before: Model) -> list[str]:
    """Every factor that moved by more than three times what a furnace may change, one sentence each, three at most.

    Something at the furnace has changed then, or the log of a firing is wrong. Power, losses and the sensor's place are
    told apart only jointly, so none of it is a verdict on a part. While fewer than three firings are learned a factor
    is on its way from the furnace file, and its standard error counts too.
    """
    changes = WIDENS_PER_FIRING * max(1, len(set(new.learned_from) - set(before.learned_from))) ** 0.5
    on_its_way = _firings(before) < LEAST_FIRINGS
    moves = [here - there for here, there in zip(new.log_factors, before.log_factors, strict=True)]
    jumped = [
        (move, name)
        for move, name, sd in zip(moves, FACTORS, before.log_sd, strict=True)
        if not abs(move) <= _SURPRISING_SD * (hypot(sd, changes) if on_its_way else changes)
    ]
    jumped.sort(key=lambda each: -abs(each[0]))
    found = [
        f"{_capital(MEANS[name])} is {_percent(move)} of what it was: has something changed at the furnace?"
        for move, name in jumped[:_MOST_SENTENCES]
    ]
    if len(jumped) > _MOST_SENTENCES:
        found.append(f"And {len(jumped) - _MOST_SENTENCES} more have moved: this firing is not like those before it.")
    return found


def usable_for_boost(model: Model, furnace: FurnaceDescription) -> str | None:
    """Why a model does not allow the chamber to be hotter than the metal's target; None: it does."""
    if model.furnace_digest != parts_digest(furnace):
        return "Element, wall, crucible or sensor are not those that this model was learned with."
    count = _firings(model)
    if count < LEAST_FIRINGS:
        return f"The model has learned from {count} of {LEAST_FIRINGS} firings."
    return None


def _firings(model: Model) -> int:
    """How many firings it rests on; one that is named twice is one."""
    return len(set(model.learned_from))


def _moved(new: Model, old: Model, most: float, since: str) -> list[str]:
    allowed = f"allowed: {_percent(-most)} to {_percent(most)}"
    return [
        f"{_capital(MEANS[name])} is {_percent(here - there)} of what it was {since}; {allowed}."
        for name, here, there in zip(FACTORS, new.log_factors, old.log_factors, strict=True)
        if not abs(here - there) <= most
    ]


def _percent(log_ratio: float) -> str:
    return f"{100.0 * exp(log_ratio):.0f} %"


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]


def _finite(value: Any, most: float = float_info.max) -> float:
    number = float(value)
    if not abs(number) <= most:
        raise ValueError(f"the model holds {value!r}; allowed: numbers from {-most:g} to {most:g}")
    return number


def _square(rows: Any) -> tuple[tuple[float, ...], ...]:
    found = tuple(tuple(_finite(value, MOST_LOG**2) for value in row) for row in rows)
    if len(found) != len(FACTORS) or any(len(row) != len(FACTORS) for row in found):
        raise ValueError(f"covariance has {len(found)} rows; allowed: {len(FACTORS)}, and as many columns")
    return found


def spread(residuals_k: Sequence[float]) -> Spread:
    """Bias, root mean square and number of residuals."""
    count = len(residuals_k)
    bias = sum(residuals_k) / count
    return Spread(bias, (sum(each * each for each in residuals_k) / count) ** 0.5, count)

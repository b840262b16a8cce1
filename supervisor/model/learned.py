"""What was learned of one furnace: a record for the log, when it may be used, and when a person must be asked."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from math import hypot, isfinite, log
from typing import Any, NamedTuple

from supervisor.furnace.description import FurnaceDescription
from supervisor.model.reduced import FACTORS
from supervisor.model.series import Series

PHASES = ("empty", "solid", "melting", "liquid", "dip")
"""What residuals are kept apart by: the reading's by what the metal is doing, and the metal's own at dip readings."""

WIDENS_PER_FIRING = 0.05
"""Standard deviation, as a logarithm, by which a furnace may have changed from one firing to the next."""

MOST_PER_FIRING = 0.05
MOST_FROM_COMMISSIONING = 0.30
LEAST_FIRINGS_FOR_BOOST = 3
_SURPRISING_SD = 3.0

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
    "contact_solid": "the contact of pot and solid metal",
    "contact_liquid": "the contact of pot and liquid metal",
    "contact_between": "the contact of lower and upper metal",
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

    def factor(self, name: str) -> float:
        """A factor itself: 1 is what the furnace file says."""
        return float(2.718281828459045 ** self.log_factors[FACTORS.index(name)])

    def to_json(self) -> str:
        """As text for the log: names with units, factors by name."""
        fields = asdict(self)
        fields["factors"] = list(FACTORS)
        fields["residual_k"] = {phase: spread._asdict() for phase, spread in self.residual_k.items()}
        return json.dumps(fields, allow_nan=False)

    @classmethod
    def from_json(cls, text: str) -> "Model":
        """Read it back. Factors that this version does not know are left out, new ones are as the furnace file says.

        Raises:
            ValueError: it is not such a text, or a number in it is not finite.
        """
        try:
            fields: dict[str, Any] = json.loads(text)
            order = [fields.pop("factors").index(name) for name in FACTORS]
            return cls(
                log_factors=tuple(_finite(fields["log_factors"][i]) for i in order),
                log_sd=tuple(_finite(fields["log_sd"][i]) for i in order),
                covariance=tuple(tuple(_finite(fields["covariance"][i][j]) for j in order) for i in order),
                learned_from=tuple(int(number) for number in fields["learned_from"]),
                metered=bool(fields["metered"]),
                residual_k={
                    phase: Spread(_finite(found["bias"]), _finite(found["rms"]), int(found["n"]))
                    for phase, found in fields["residual_k"].items()
                },
                low_c=_finite(fields["low_c"]),
                high_c=_finite(fields["high_c"]),
                furnace_digest=str(fields["furnace_digest"]),
                made_utc_ms=int(fields["made_utc_ms"]),
            )
        except (KeyError, TypeError, IndexError, AttributeError) as error:
            raise ValueError(f"the model cannot be read: {error!r}; allowed: what to_json writes") from error


def objections(new: Model, adopted: Model | None, commissioning: Model | None, *firings: Series) -> list[str]:
    """Why a fit may not be adopted without a person at the furnace; empty: it may.

    firings: those that are new in it. adopted: the model in use, commissioning: the first that a person adopted; with
    none there is nothing that a first fit could have drifted from. A poisoned model widens limits melt by melt until
    nothing trips: hence both rules.
    """
    found = []
    for firing in firings:
        if firing.findings:
            found.append(f"In firing {firing.firing_id} watches found something {firing.findings} times.")
        if not firing.outcome:
            found.append(f"Nobody has confirmed mass and outcome of firing {firing.firing_id}.")
    if adopted is not None:
        count = max(1, len(set(new.learned_from) - set(adopted.learned_from)))
        found += _moved(new, adopted, log(1.0 + MOST_PER_FIRING) * count, "since the last model")
    if commissioning is not None:
        found += _moved(new, commissioning, log(1.0 + MOST_FROM_COMMISSIONING), "since this furnace was commissioned")
    return found


def surprising(new: Model, before: Model) -> list[str]:
    """Every factor that moved by more than three standard deviations: something at the furnace has changed.

    One sentence each. Power, losses and the sensor's place are told apart only jointly, so none is a verdict on a part.
    """
    count = max(1, len(set(new.learned_from) - set(before.learned_from)))
    found = []
    for name, here, there, sd, sd_before in zip(
        FACTORS, new.log_factors, before.log_factors, new.log_sd, before.log_sd, strict=True
    ):
        allowed = _SURPRISING_SD * hypot(sd, sd_before, WIDENS_PER_FIRING * count**0.5)
        if not abs(here - there) <= allowed:
            found.append(f"{_capital(MEANS[name])} is {_percent(here - there)} what it was: has something changed?")
    return found


def usable_for_boost(model: Model, furnace: FurnaceDescription) -> str | None:
    """Why a model does not allow the chamber to be hotter than the metal's target; None: it does."""
    if model.furnace_digest != furnace.digest:
        return "The furnace file has changed since this model was learned."
    count = len(model.learned_from)
    if count < LEAST_FIRINGS_FOR_BOOST:
        return f"The model has learned from {count} of {LEAST_FIRINGS_FOR_BOOST} firings."
    return None


def _moved(new: Model, old: Model, most: float, since: str) -> list[str]:
    return [
        f"{_capital(MEANS[name])} is {_percent(here - there)} what it was {since}; allowed: {_percent(most)}."
        for name, here, there in zip(FACTORS, new.log_factors, old.log_factors, strict=True)
        if not abs(here - there) <= most
    ]


def _percent(log_ratio: float) -> str:
    return f"{100.0 * 2.718281828459045**log_ratio:.0f} % of"


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]


def _finite(value: Any) -> float:
    number = float(value)
    if not isfinite(number):
        raise ValueError(f"the model holds {value!r}; allowed: finite numbers")
    return number


def spread(residuals_k: Sequence[float]) -> Spread:
    """Bias, root mean square and number of residuals."""
    count = len(residuals_k)
    bias = sum(residuals_k) / count
    return Spread(bias, (sum(each * each for each in residuals_k) / count) ** 0.5, count)

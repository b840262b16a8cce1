"""What a circuit carries for hours on end: the rule of the place, as far as it is known here. Local codes decide."""

from dataclasses import dataclass
from functools import cache

from supervisor.refusal import InputRefused
from supervisor.sizing.tables import rows

DEFERS = (
    "A licensed person decides what this circuit may carry, and does or checks the wiring to the local code; nothing"
    " here does that."
)


@dataclass(frozen=True, slots=True)
class Rule:
    """The rule of one place and kind of outlet. most_a None: the breaker alone counts."""

    place: str
    words: str
    share: float  # of the breaker's rating
    most_a: float | None
    band: float  # of the supply's voltage, either way, share
    name: str  # of the rule
    asks: str
    evidence: str

    def allowed_a(self, breaker_a: float) -> float:
        """The largest current for hours, A."""
        share_a = self.share * breaker_a
        return share_a if self.most_a is None else min(share_a, self.most_a)


@dataclass(frozen=True, slots=True)
class Circuit:
    """A supply with what it may carry, and whose rule says so."""

    volts: float
    breaker_a: float
    allowed_a: float
    rule: Rule  # of the place
    stricter: str  # what made it less than the place's own rule gives; empty: nothing

    @property
    def most_v(self) -> float:
        """The top of the supply's band."""
        return self.volts * (1.0 + self.rule.band)

    @property
    def least_v(self) -> float:
        """The bottom of it."""
        return self.volts * (1.0 - self.rule.band)


@cache
def rules() -> dict[str, Rule]:
    """Every rule by its place."""
    found = {}
    for row in rows("circuits"):
        most_a = float(row["most_a"]) if row["most_a"] else None
        found[row["place"]] = Rule(
            row["place"], row["words"], float(row["share"]), most_a, float(row["band_pct"]) / 100.0, row["rule"],
            row["asks"], row["evidence"],
        )  # fmt: skip
    return found


def rule(place: str, field: str = "place") -> Rule:
    """A rule by its place.

    Raises:
        InputRefused: no such place.
    """
    if place not in rules():
        raise InputRefused(f"{field} is {place.strip()[:40]!r}; allowed: {', '.join(rules())}")
    return rules()[place]


def circuit(
    volts: float, breaker_a: float, place: str, *, by_rule: str | None = None, lower_a: float | None = None
) -> Circuit:
    """The circuit, with the place's rule, or a stricter one, or a lower current still.

    Raises:
        InputRefused: the other rule, or the current, would allow more than the rule of the place.
    """
    here = rule(place)
    allowed_a, stricter = here.allowed_a(breaker_a), ""
    if by_rule is not None and by_rule != place:
        other = rule(by_rule, "rule")
        if other.allowed_a(breaker_a) > allowed_a:
            raise InputRefused(
                f"rule is {by_rule!r}, which allows {other.allowed_a(breaker_a):g} A; allowed: one no looser than that"
                f" of the place, {here.name}: {allowed_a:g} A on {breaker_a:g} A"
            )
        allowed_a, stricter = other.allowed_a(breaker_a), other.name
    if lower_a is not None:
        if not 0.0 < lower_a <= allowed_a:
            raise InputRefused(
                f"allowed current is {lower_a:g} A; allowed: above 0, up to {allowed_a:g} A by {stricter or here.name};"
                " it can be lowered, not raised"
            )
        allowed_a, stricter = lower_a, f"lowered to {lower_a:g} A"
    return Circuit(volts, breaker_a, allowed_a, here, stricter)

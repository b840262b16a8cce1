"""The metal in these pots: any number of lumps, melting by the lever rule, a contact that grows as the metal wets.

The lever rule is equilibrium solidification: the solid is of one composition throughout (textbook; the opposite limit
to Scheil's). Latent heats and contacts are our choice.
"""

from bisect import bisect_right
from functools import lru_cache
from typing import NamedTuple

PURE_C = 660.3  # melting point of aluminium (ITS-90: 660.323)
_SOLID_J_KG_K, _SOLID_J_KG_K2 = 900.0, 0.45  # fits 0.90 at 25 °C and 1.20 kJ/kg/K at the melting point (from memory)
_LIQUID_J_KG_K = 1177.0  # NIST Chemistry WebBook, aluminium, liquid: 31.75 J/mol/K
_HOTTEST_C = 1400.0


class Alloy(NamedTuple):
    """Where it melts and what that takes."""

    solidus_c: float
    liquidus_c: float
    latent_j_kg: float


# Solidus and liquidus as the trade prints them (the sources stand in supervisor/metal/alloys.csv); latent heat: 397
# kJ/kg of pure aluminium, more with much silicon (from memory: 389 to 500 for the casting alloys; our choice between).
ALLOYS = {
    "aluminium": Alloy(660.0, 660.3, 397e3),
    "1100": Alloy(643.0, 657.0, 397e3),
    "5083": Alloy(591.0, 638.0, 390e3),
    "6060": Alloy(585.0, 650.0, 395e3),
    "6061": Alloy(582.0, 652.0, 395e3),
    "6082": Alloy(585.0, 650.0, 395e3),
    "356.0": Alloy(555.0, 615.0, 425e3),
    "A356.0": Alloy(555.0, 615.0, 425e3),
    "380.0": Alloy(540.0, 595.0, 430e3),
    "unknown": Alloy(540.0, 640.0, 400e3),
}


def alloy(name: str) -> Alloy:
    """Look one up.

    Raises:
        KeyError: not known here.
    """
    if name not in ALLOYS:
        raise KeyError(f"alloy is {name!r}; allowed: {', '.join(ALLOYS)}")
    return ALLOYS[name]


def _lever(metal: Alloy, temperature_c: float) -> float:
    """Share molten at a temperature by the lever rule, with straight liquidus and solidus lines from pure aluminium."""
    if temperature_c >= metal.liquidus_c:
        return 1.0
    one_less_k = (metal.liquidus_c - metal.solidus_c) / (PURE_C - metal.solidus_c)
    return 1.0 - (metal.liquidus_c - temperature_c) / (PURE_C - temperature_c) / one_less_k


class Curve:
    """Temperature and share molten against enthalpy above 20 °C."""

    def __init__(self, metal: Alloy) -> None:
        """Lay it through some hundred knots, straight between."""
        cold = [(c, 0.0) for c in (-40.0, *[20.0 * i for i in range(40)]) if c < metal.solidus_c]
        steps = 60
        width_c = metal.liquidus_c - metal.solidus_c
        mushy_c = [metal.solidus_c + width_c * i / steps for i in range(steps + 1)]
        hot = [(c, 1.0) for c in (metal.liquidus_c + 1.0, _HOTTEST_C)]
        knots = cold + [(c, max(0.0, _lever(metal, c))) for c in mushy_c] + hot
        self._metal = metal
        self._j_kg = [self.at(c, f) for c, f in knots]
        self._knots = knots

    def at(self, temperature_c: float, molten: float) -> float:
        """Enthalpy above 20 °C, J/kg."""
        solid_c = min(temperature_c, self._metal.liquidus_c)
        j = _SOLID_J_KG_K * (solid_c - 20.0) + _SOLID_J_KG_K2 / 2.0 * (solid_c**2 - 400.0)
        return j + _LIQUID_J_KG_K * max(0.0, temperature_c - solid_c) + molten * self._metal.latent_j_kg

    def enthalpy_j_kg(self, temperature_c: float) -> float:
        """Give the enthalpy of metal at a temperature; solid below the solidus."""
        return self.at(
            temperature_c, 0.0 if temperature_c < self._metal.solidus_c else _lever(self._metal, temperature_c)
        )

    def liquid_j_kg(self, temperature_c: float) -> float:
        """Enthalpy of its liquid alone."""
        return self.at(temperature_c, 1.0)

    def temperature_and_molten(self, j_kg: float) -> tuple[float, float]:
        """°C, and 0 to 1."""
        i = min(max(bisect_right(self._j_kg, j_kg) - 1, 0), len(self._knots) - 2)
        (c0, f0), (c1, f1) = self._knots[i], self._knots[i + 1]
        part = (j_kg - self._j_kg[i]) / (self._j_kg[i + 1] - self._j_kg[i])
        return c0 + part * (c1 - c0), min(max(f0 + part * (f1 - f0), 0.0), 1.0)


@lru_cache(maxsize=64)
def curve(metal: Alloy) -> Curve:
    """The curve of an alloy; made once for each."""
    return Curve(metal)


class Contact(NamedTuple):
    """Between a node of the pot and a lump, or between two lumps, W/K at the full charge: dry, and wetted through."""

    here: str | int  # node of the network, or number of a lump
    there: int
    dry_w_k: float
    wet_w_k: float


class Charge:
    """Lumps of fixed shares of the mass, bottom first. `wetting` of each follows its share molten with a delay."""

    def __init__(self, shares: tuple[float, ...], contacts: tuple[Contact, ...], full_kg: float, wetting_s: float):
        """Start empty. full_kg: at which the contacts hold; less metal touches less."""
        self.shares, self._contacts = shares, contacts
        self._full_kg, self._wetting_s = full_kg, wetting_s
        self.roof = 1.0  # factor on what reaches the uppermost lump: a hung-up charge has little
        self._metal = ALLOYS["unknown"]
        self._curve = curve(self._metal)
        self.mass_kg = 0.0
        self.j_kg = [0.0] * len(shares)
        self.wetting = [0.0] * len(shares)
        self._look()

    def _look(self) -> None:
        found = [self._curve.temperature_and_molten(j) for j in self.j_kg]
        self.c = [c for c, _ in found]
        self.molten = [f for _, f in found]

    @property
    def stored_j(self) -> float:
        """Above 20 °C."""
        return sum(self.mass_kg * share * j for share, j in zip(self.shares, self.j_kg, strict=True))

    @property
    def share_molten(self) -> float:
        """Of the whole mass."""
        return sum(share * f for share, f in zip(self.shares, self.molten, strict=True)) if self.mass_kg else 0.0

    @property
    def mean_c(self) -> float:
        """Mean by mass."""
        return sum(share * c for share, c in zip(self.shares, self.c, strict=True))

    def add(self, mass_kg: float, temperature_c: float, name: str) -> float:
        """Lay metal on top and cut the stack anew; the enthalpy that comes in, J."""
        added = alloy(name)
        j_kg = curve(added).enthalpy_j_kg(temperature_c)
        stack = [(self.mass_kg * share, j) for share, j in zip(self.shares, self.j_kg, strict=True)]
        stack.append((mass_kg, j_kg))
        part = mass_kg / (self.mass_kg + mass_kg)
        mixed = Alloy(*(a * (1.0 - part) + b * part for a, b in zip(self._metal, added, strict=True)))
        self._metal = added if part == 1.0 or added == self._metal else mixed
        self._curve = curve(self._metal)
        self.mass_kg += mass_kg
        self.j_kg = [_cut(stack, self.mass_kg * share) for share in self.shares]
        self.wetting = [wetting * (1.0 - part) for wetting in self.wetting]
        self._look()
        return mass_kg * j_kg

    def pour(self) -> tuple[float, float]:
        """Let out what is liquid: kg and J. What is solid stays."""
        out_kg = self.mass_kg * self.share_molten
        before_j, left_kg = self.stored_j, self.mass_kg - out_kg
        left_j = 0.0
        for share, j, c, f in zip(self.shares, self.j_kg, self.c, self.molten, strict=True):
            left_j += self.mass_kg * share * (j - f * self._curve.liquid_j_kg(c))
        if left_kg < 1e-9:
            left_kg = left_j = 0.0
        self.mass_kg = left_kg
        self.j_kg = [left_j / left_kg if left_kg else 0.0] * len(self.shares)
        self._look()
        return out_kg, before_j - left_j

    def step(
        self, network_c: list[float], number: dict[str, int], from_above_w: float, dt_s: float
    ) -> dict[int, float]:
        """Go on by dt_s; what each node of the pot gives, W. from_above_w goes into the uppermost lump."""
        c, wetting = self.c, self.wetting
        top = len(self.shares) - 1
        touch = min(1.0, 0.4 + 0.6 * self.mass_kg / self._full_kg)
        into = [0.0] * len(self.shares)
        into[top] += from_above_w
        given: dict[int, float] = {}
        for here, there, dry_w_k, wet_w_k in self._contacts:
            wet = (
                wetting[there]
                if isinstance(here, str)
                else min(wetting[here], wetting[there]) * 0.5 + wetting[here] * 0.5
            )
            w_k = (dry_w_k + (wet_w_k - dry_w_k) * wet) * touch * (self.roof if there == top else 1.0)
            if isinstance(here, str):
                node = number[here]
                w = w_k * (network_c[node] - c[there])
                given[node] = given.get(node, 0.0) + w
            else:
                w = w_k * (c[here] - c[there])
                into[here] -= w
            into[there] += w
        for i, share in enumerate(self.shares):
            self.j_kg[i] += into[i] * dt_s / (self.mass_kg * share)
            wetting[i] += (self.molten[i] - wetting[i]) * dt_s / self._wetting_s
        self._look()
        return given


def _cut(stack: list[tuple[float, float]], mass_kg: float) -> float:
    """Take so much off the bottom of the stack; its mean enthalpy, J/kg."""
    taken_j, wanted_kg = 0.0, mass_kg
    while wanted_kg > 1e-12 and stack:
        kg, j = stack.pop(0)
        used_kg = min(kg, wanted_kg)
        taken_j += used_kg * j
        wanted_kg -= used_kg
        if kg - used_kg > 1e-12:
            stack.insert(0, (kg - used_kg, j))
    return taken_j / mass_kg

"""The metal in the pot: two lumps by enthalpy, one that touches the pot and one that lies on it."""

from hardware.simulated.plant_alloys import MeltingRange, enthalpy_of, melting_range

# All our choice and the least certain numbers of the plant. They set the sag of the arrest and the spread in the metal.
LOWER_SHARE = 0.6  # of the mass: touches the pot
UPPER_SHARE = 0.4
COLD_LOWER_SHARE = 0.3  # of metal that is added: most of it lies on top
SOLID_CONTACT_W_K, LIQUID_CONTACT_W_K = 5.0, 30.0  # pot to lower lump, 2 kg and more
SOLID_BETWEEN_W_K, LIQUID_BETWEEN_W_K = 2.5, 40.0  # lower to upper lump
_WETTING_W_K = LIQUID_CONTACT_W_K - SOLID_CONTACT_W_K
_MIXING_W_K = LIQUID_BETWEEN_W_K - SOLID_BETWEEN_W_K
_WHOLE_CONTACT_KG = 2.0  # less metal touches less of the pot, down to half


class Charge:
    """What is in the pot. Enthalpies count from 20 °C; an empty pot has the last metal's temperatures, unused."""

    __slots__ = (
        "_contact",
        "_enthalpy",
        "_melts",
        "lower_c",
        "lower_j_kg",
        "lower_molten",
        "mass_kg",
        "upper_c",
        "upper_j_kg",
        "upper_molten",
    )

    def __init__(self, contact: float) -> None:
        """Start empty. contact: factor on all contact conductances."""
        self._contact = contact
        self._melts = melting_range("unknown")
        self._enthalpy = enthalpy_of(self._melts)
        self.mass_kg = 0.0
        self.lower_j_kg = self.upper_j_kg = 0.0
        self._look_up()

    def add(self, mass_kg: float, temperature_c: float, alloy: str) -> float:
        """Put metal in; the enthalpy that it brings, J over 20 °C.

        Of the addition 30 % goes to the lower lump, and as much of the old upper lump sinks with it as the lump lacks.
        Alloys mix by mass: so do, as our simplification, their solidus and liquidus.

        Raises:
            KeyError: unknown alloy.
        """
        added_melts = melting_range(alloy)
        added_j_kg = enthalpy_of(added_melts).enthalpy_j_kg(temperature_c)
        old_kg, whole_kg = self.mass_kg, self.mass_kg + mass_kg
        to_lower_kg = LOWER_SHARE * mass_kg
        new_kg = max(COLD_LOWER_SHARE * mass_kg, to_lower_kg - UPPER_SHARE * old_kg)
        sinks_kg = to_lower_kg - new_kg
        lower_j = LOWER_SHARE * old_kg * self.lower_j_kg + sinks_kg * self.upper_j_kg + new_kg * added_j_kg
        upper_kg = UPPER_SHARE * old_kg - sinks_kg
        upper_j = upper_kg * self.upper_j_kg + (mass_kg - new_kg) * added_j_kg
        self._melts = _mixed(self._melts, old_kg / whole_kg, added_melts)
        self._enthalpy = enthalpy_of(self._melts)
        self.mass_kg = whole_kg
        self.lower_j_kg = lower_j / (LOWER_SHARE * whole_kg)
        self.upper_j_kg = upper_j / (UPPER_SHARE * whole_kg)
        self._look_up()
        return mass_kg * added_j_kg

    def pour(self) -> tuple[float, float]:
        """Let out what is liquid; its mass, kg, and its enthalpy, J over 20 °C. What is solid stays as it is."""
        left_kg = left_j = out_j = 0.0
        lumps = (
            (LOWER_SHARE, self.lower_j_kg, self.lower_c, self.lower_molten),
            (UPPER_SHARE, self.upper_j_kg, self.upper_c, self.upper_molten),
        )
        for share, j_kg, temperature_c, molten in lumps:
            lump_kg = self.mass_kg * share
            poured_j = lump_kg * molten * self._enthalpy.liquid_j_kg(temperature_c) if molten < 1.0 else lump_kg * j_kg
            left_kg += lump_kg * (1.0 - molten)
            left_j += lump_kg * j_kg - poured_j
            out_j += poured_j
        out_kg, self.mass_kg = self.mass_kg - left_kg, left_kg
        if left_kg:
            self.lower_j_kg = self.upper_j_kg = left_j / left_kg
        self._look_up()
        return out_kg, out_j

    def step(self, pot_c: float, from_above_w: float, dt_s: float) -> float:
        """Go on by dt_s between the pot below and from_above_w; what the pot gives, W. Not for an empty pot."""
        lower_c, molten, mass_kg = self.lower_c, self.lower_molten, self.mass_kg
        contact = self._contact
        if mass_kg < _WHOLE_CONTACT_KG:
            contact *= 0.5 + 0.5 * mass_kg / _WHOLE_CONTACT_KG
        from_pot_w = contact * (SOLID_CONTACT_W_K + _WETTING_W_K * molten) * (pot_c - lower_c)
        upward_w = contact * (SOLID_BETWEEN_W_K + _MIXING_W_K * molten) * (lower_c - self.upper_c)
        per_kg_s = dt_s / mass_kg
        self.lower_j_kg += (from_pot_w - upward_w) * per_kg_s / LOWER_SHARE
        self.upper_j_kg += (upward_w + from_above_w) * per_kg_s / UPPER_SHARE
        self._look_up()
        return from_pot_w

    def _look_up(self) -> None:
        self.lower_c, self.lower_molten = self._enthalpy.temperature_and_molten(self.lower_j_kg)
        self.upper_c, self.upper_molten = self._enthalpy.temperature_and_molten(self.upper_j_kg)


def _mixed(old: MeltingRange, old_share: float, added: MeltingRange) -> MeltingRange:
    """Melting range of a mixture. Equal ones stay what they are, so that their table is found again."""
    if old == added or not old_share:
        return added
    return MeltingRange(*(a * old_share + b * (1.0 - old_share) for a, b in zip(old, added, strict=True)))

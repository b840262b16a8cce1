"""The bench furnace with a charge that can hang up: a solid roof that little heat reaches, over metal that melts."""

from hardware.simulated.plant import Bench
from hardware.simulated.plant_charge import (
    LIQUID_BETWEEN_W_K,
    LIQUID_CONTACT_W_K,
    LOWER_SHARE,
    SOLID_BETWEEN_W_K,
    SOLID_CONTACT_W_K,
    UPPER_SHARE,
    Charge,
)

_WHOLE_CONTACT_KG = 2.0


class HungUpCharge(Charge):
    """A charge whose upper lump is coupled by a share of what is usual."""

    __slots__ = ("roof",)

    def __init__(self, contact: float) -> None:
        """Start empty and not hung up. contact: factor on all contact conductances."""
        super().__init__(contact)
        self.roof = 1.0

    def step(self, pot_c: float, from_above_w: float, dt_s: float) -> float:
        """As the charge that it is made from, with less between the lumps."""
        molten, mass_kg = self.lower_molten, self.mass_kg
        contact = self._contact * min(1.0, 0.5 + 0.5 * mass_kg / _WHOLE_CONTACT_KG)
        from_pot_w = (SOLID_CONTACT_W_K + (LIQUID_CONTACT_W_K - SOLID_CONTACT_W_K) * molten) * (pot_c - self.lower_c)
        between_w_k = SOLID_BETWEEN_W_K + (LIQUID_BETWEEN_W_K - SOLID_BETWEEN_W_K) * molten
        upward_w = self.roof * contact * between_w_k * (self.lower_c - self.upper_c)
        from_pot_w *= contact
        self.lower_j_kg += (from_pot_w - upward_w) * dt_s / mass_kg / LOWER_SHARE
        self.upper_j_kg += (upward_w + from_above_w) * dt_s / mass_kg / UPPER_SHARE
        self._look_up()
        return from_pot_w


class RoofableBench(Bench):
    """The bench furnace, with the disturbance `hung_up`: 0 is as usual, 1 is a roof that nothing reaches."""

    def __init__(self, seed: int, spread: float = 0.0, start_c: float = 20.0) -> None:
        """Make it from a seed, as the bench furnace of that seed."""
        super().__init__(seed, spread, start_c)
        self._charge: HungUpCharge = HungUpCharge(self._constants.contact)

    def disturb(self, name: str, value: float) -> None:
        """See `Bench`.

        Raises:
            KeyError: unknown name.
            ValueError: value out of range.
        """
        if name != "hung_up":
            super().disturb(name, value)
            return
        if not 0.0 <= value <= 1.0:
            raise ValueError(f"hung_up is {value}; allowed: 0 to 1")
        self._charge.roof = 1.0 - value

"""A body of one temperature whose heat capacity grows evenly with it: a + b T, T in °C."""

from math import sqrt


def temperature_of(energy_j: float, a_j_k: float, b_j_k2: float) -> float:
    """Temperature, °C, of a body with so much energy over 0 °C: E = aT + bT²/2 solved for T."""
    if b_j_k2 == 0.0:
        return energy_j / a_j_k
    return (sqrt(a_j_k * a_j_k + 2.0 * b_j_k2 * energy_j) - a_j_k) / b_j_k2


class Body:
    """One node. Its energy is the state, so that nothing is lost when it warms by several kelvin in one step."""

    __slots__ = ("_a_j_k", "_b_j_k2", "stored_j", "temperature_c")

    def __init__(self, mass_kg: float, specific_heat: tuple[float, float], start_c: float) -> None:
        """specific_heat: a and b per kg, J/kg/K and J/kg/K²."""
        self._a_j_k = mass_kg * specific_heat[0]
        self._b_j_k2 = mass_kg * specific_heat[1]
        self.temperature_c = start_c
        self.stored_j = self.energy_at(start_c)

    def energy_at(self, temperature_c: float) -> float:
        """Energy over 0 °C at a temperature, J."""
        return (self._a_j_k + self._b_j_k2 / 2.0 * temperature_c) * temperature_c

    def step(self, inflow_w: float, dt_s: float) -> None:
        """Go on by dt_s with so much heat flowing in, W."""
        self.stored_j = stored_j = self.stored_j + inflow_w * dt_s
        self.temperature_c = temperature_of(stored_j, self._a_j_k, self._b_j_k2)

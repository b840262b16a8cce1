"""The thermocouple: where it sits, how late its sheath is, and the warm box where its cold junction lives."""

from math import sqrt
from random import Random

STEFAN_BOLTZMANN = 5.670374e-8  # W/m²/K⁴
_SHEATH_J_M2_K = 4900.0  # 4.5 mm steel sheath, heat capacity over its surface
_SHEATH_EMISSIVITY = 0.8
_SHEATH_FILM_W_M2_K = 12.0
_JUNCTION_LAG_S = 4.0  # of the junction behind its sheath
_NOISE_C = 0.3  # standard deviation
_NOISE_OF_FOUR_C = _NOISE_C * sqrt(3.0)  # four even draws have a variance of 4 / 12
_SLIP_S = 15.0  # a sensor that falls out of its hole is out after this time
_BOX_LAG_S = 1200.0
_BIAS_AT_C = 660.0
_BOX_OWN_C = 1.0
_BOX_SHARE = 0.06  # of the outer face's excess over the room


class Sensor:
    """One hot junction. Its surroundings are a mixture of wall, pot, element and stem: the placement."""

    __slots__ = (
        "_ambient_c",
        "_random",
        "_sheath",
        "bias_per_k",
        "box_c",
        "drift_c",
        "drift_c_per_s",
        "junction_c",
        "sheath_c",
        "slip",
        "slip_goal",
        "slip_per_s",
    )

    def __init__(self, seed: int, sheath: float, start_c: float, ambient_c: float) -> None:
        """sheath: factor on its heat capacity."""
        self._random = Random(f"{seed} noise").random
        self._sheath = _SHEATH_J_M2_K * sheath
        self._ambient_c = ambient_c
        self.sheath_c = self.junction_c = start_c
        self.box_c = ambient_c + _BOX_OWN_C
        self.slip = self.slip_goal = 0.0
        self.slip_per_s = 1.0 / _SLIP_S
        self.drift_c = self.drift_c_per_s = 0.0
        self.bias_per_k = 0.0

    def step(self, surroundings_c: float, dt_s: float) -> None:
        """Go on by dt_s. A sheath that radiates badly when cold makes the reading dead for the first half minute."""
        if self.slip != self.slip_goal:
            self._slip_on(dt_s)
        if self.slip:
            surroundings_c -= self.slip * (surroundings_c - self._ambient_c)
        sheath_c = self.sheath_c
        a = surroundings_c + 273.15
        b = sheath_c + 273.15
        a *= a
        b *= b
        radiation = _SHEATH_EMISSIVITY * STEFAN_BOLTZMANN * (a * a - b * b)
        per_m2_w = radiation + _SHEATH_FILM_W_M2_K * (surroundings_c - sheath_c)
        self.sheath_c = sheath_c + per_m2_w * dt_s / self._sheath
        self.junction_c += (sheath_c - self.junction_c) * dt_s / _JUNCTION_LAG_S
        self.drift_c += self.drift_c_per_s * dt_s

    def _slip_on(self, dt_s: float) -> None:
        way = self.slip_goal - self.slip
        most = self.slip_per_s * dt_s
        self.slip = self.slip_goal if abs(way) <= most else self.slip + (most if way > 0.0 else -most)

    def reading_c(self) -> float:
        """Give the hot junction as the thermocouple shows it: noise and drift in it, not yet rounded.

        The sum of four even draws is near enough to a normal one, at a third of the time.
        """
        random = self._random
        noise_c = (random() + random() + random() + random() - 2.0) * _NOISE_OF_FOUR_C
        return self.junction_c + self.bias_per_k * (self.junction_c - self.box_c) + self.drift_c + noise_c

    def warm_box(self, outer_face_c: float, dt_s: float) -> None:
        """Let the box follow the furnace's outer face slowly."""
        goal_c = self._ambient_c + _BOX_OWN_C + _BOX_SHARE * (outer_face_c - self._ambient_c)
        self.box_c += (goal_c - self.box_c) * dt_s / _BOX_LAG_S

    def fall_out(self, share: float) -> None:
        """Slip out by a share of the way within 15 s; 0 is back in place, at once."""
        self.slip_goal, self.slip_per_s = share, 1.0 / _SLIP_S
        if share == 0.0:
            self.slip = 0.0

    def creep_out(self, share_per_s: float) -> None:
        """Creep out until it is out; 0 stops it where it is."""
        self.slip_goal, self.slip_per_s = (1.0, share_per_s) if share_per_s else (self.slip, 0.0)

    def age(self, bias_c: float) -> None:
        """Read wrong by so much at 660 °C, and in proportion to hot less cold junction: cold, nothing shows."""
        self.bias_per_k = bias_c / (_BIAS_AT_C - self._ambient_c)

    def walk_off(self, drift_c_per_s: float) -> None:
        """Read wrong by more and more; 0 is a new sensor, which reads right."""
        self.drift_c_per_s = drift_c_per_s
        if drift_c_per_s == 0.0:
            self.drift_c = 0.0

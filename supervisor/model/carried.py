"""The belief about one firing, carried from step to step: what both filters are made of.

States, learned factors and mass of `outset`, for the belief's own points and for columns beside them that go by the
power alone. The loose filter says what the metal does (`estimate`), the stiff one what the reading should do (`stiff`).
"""

from math import exp

import numpy as np
from numpy.typing import NDArray

from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.reckoning import ROOM_C
from supervisor.metal.charge import Charge
from supervisor.model.bands import offset_sd_k
from supervisor.model.follower import Belief, Correction, belief_of, corrected_sum, points_of
from supervisor.model.learned import Model
from supervisor.model.melting import Melting, melting, mixed
from supervisor.model.outset import MASS, OFFSET, WARM_C, N, S, factors_of, learns, noise_per_s, outset
from supervisor.model.reduced import LOWER, SHEATH, Reduced

Array = NDArray[np.float64]

READING_SD_K = 3.0  # of the reading against model and offset, in 5 s: its noise is 0.3 K, the rest is what they lack
_ADDED_HEAT_SD = 0.08  # of the metal's heat when something is added: how far it mixes is not known
_COLD_HEAT_SD = 2000.0  # J/kg, of what is added: its temperature is not known to the degree
_WAITED, _WAITED_SD = 0.05, 0.06  # metal lies in a warm furnace before the start: share of what it reads over the room
_SOLID_J_KG_K = 950.0
MOST_FACTOR = 0.7  # of a log factor from where it began
_OFFSET_S = 600.0  # how long an offset of the reading lasts
_LID_NOISE = 9.0  # on what disturbs the furnace, while the lid is off


class Carried:
    """One firing's belief. beside: masses over the entered one, for the columns that are never corrected."""

    def __init__(
        self,
        furnace: FurnaceDescription,
        model: Model | None,
        *,
        reading_c: float,
        charge: Charge | None,
        beside: tuple[float, ...] = (),
    ) -> None:
        self._reduced = Reduced(furnace)
        self._beside = np.array(beside)
        self._metal: Melting | None = None
        self._entered_kg = 0.0
        self._offset_k = offset_sd_k(model)
        self._centre, _ = factors_of(self._reduced, model)
        self._least, self._most = self._centre - MOST_FACTOR, self._centre + MOST_FACTOR
        self._centre_beside = np.repeat(self._centre[:, None], len(beside), axis=1)
        self._belief = outset(self._reduced, model, reading_c)
        self._open = np.repeat(self._belief.mean[:S, None], len(beside), axis=1)
        self._learns, self._noise = learns(), noise_per_s()
        if charge is not None:
            over_k = max(0.0, reading_c - WARM_C)
            self._charged(charge.mass_kg, charge, _WAITED * over_k, _WAITED_SD * over_k)

    def _carry(self, power_w: float, *, lid_open: bool, dt_s: float) -> None:
        """Go on by dt_s with this mean power."""
        points = points_of(self._belief)
        count = points.shape[1]
        x, factors, mass = points[:S], points[S:MASS], np.exp(points[MASS])
        if self._beside.size:
            x = np.concatenate([x, self._open], axis=1)
            factors = np.concatenate([factors, self._centre_beside], axis=1)
            mass = np.concatenate([mass, self._beside])
        kept = exp(-dt_s / _OFFSET_S)
        noise = self._noise * (dt_s * (_LID_NOISE if lid_open else 1.0))
        noise[OFFSET] = (1.0 - kept * kept) * self._offset_k**2
        with np.errstate(all="ignore"):  # what is no number any more is found by the next root
            x = self._reduced.step(
                x,
                factors,
                power_w=power_w,
                lid_open=lid_open,
                mass_kg=self._entered_kg * mass,
                metal=self._metal,
                dt_s=dt_s,
            )
            points[:S] = x[:, :count]
            self._open = x[:, count:]
            points[OFFSET] *= kept
            self._belief = belief_of(points, noise)

    def _read(self, reading_c: float, dt_s: float) -> float:
        """Correct by the reading; measured less expected, K."""
        variance = READING_SD_K**2 * 5.0 / dt_s
        correction: Correction = corrected_sum(self._belief, (SHEATH, OFFSET), reading_c, variance, self._learns)
        self._take(correction.belief)
        return correction.innovation

    def _take(self, belief: Belief) -> None:
        factors = belief.mean[S:MASS]
        np.maximum(factors, self._least, out=factors)
        np.minimum(factors, self._most, out=factors)
        self._belief = belief

    def put_in(self, mass_kg: float, charge: Charge | None) -> None:
        """Metal goes into the pot, at the room's temperature. charge: None if nobody knows what it is.

        Raises:
            ValueError: mass_kg out of range.
        """
        self._charged(mass_kg, charge, 0.0, 0.0)

    def _charged(self, mass_kg: float, charge: Charge | None, over_room_k: float, sd_k: float) -> None:
        if not 0.0 < mass_kg < 1000.0:
            raise ValueError(f"mass_kg is {mass_kg}; allowed: over 0 to 1000 kg")
        added = melting(charge or Charge(mass_kg, "unknown", "", None, None))
        before_kg, points = self._entered_kg, points_of(self._belief)
        mass = np.exp(points[MASS])
        at_c = min(ROOM_C, float(self._belief.mean[SHEATH])) + over_room_k
        heat_sd = _ADDED_HEAT_SD * float(self._reduced.heat_j_kg(self._belief.mean[:, None])[0]) if before_kg else 0.0
        points[:S] = self._reduced.add(points[:S], before_kg * mass, mass_kg * mass, at_c, added)
        self._open = self._reduced.add(self._open, before_kg * self._beside, mass_kg * self._beside, at_c, added)
        noise = np.zeros(N)
        noise[LOWER:S] = heat_sd**2 + _COLD_HEAT_SD**2 + (_SOLID_J_KG_K * sd_k) ** 2
        self._metal = added if self._metal is None else mixed(self._metal, before_kg, added, mass_kg)
        self._belief = belief_of(points, noise)
        self._entered_kg += mass_kg

    def pour(self) -> None:
        """The metal was poured: the pot is taken to be empty."""
        self._metal, self._entered_kg = None, 0.0

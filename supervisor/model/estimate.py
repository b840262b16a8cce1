"""What is believed of the metal while nobody can look under the lid: temperature, share molten, minutes to pour.

One reading and the power are all there is. A cubature Kalman filter carries the furnace's temperatures, the heat of the
metal and the learned factors; mass and contact of the metal are considered, never learned.
"""

from dataclasses import dataclass
from math import exp, hypot, isfinite, log2

import numpy as np
from numpy.typing import NDArray

from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.reckoning import ROOM_C
from supervisor.metal.charge import Charge
from supervisor.model.bands import Z90, Width, offset_sd_k, strangeness, width
from supervisor.model.countdown import Countdown, Course
from supervisor.model.follower import (
    Belief,
    belief_of,
    corrected,
    corrected_beyond,
    corrected_sum,
    points_of,
)
from supervisor.model.learned import Model
from supervisor.model.melting import Melting, melting, mixed
from supervisor.model.outset import MASS, OFFSET, WARM_C, N, S, factors_of, learns, noise_per_s, outset
from supervisor.model.reduced import LOWER, LOWER_SHARE, SHEATH, Reduced
from supervisor.model.suspicion import LASTS_S, is_off, sentence

Array = NDArray[np.float64]

READING_SD_K = 3.0  # of the reading against model and offset, in 5 s: its noise is 0.3 K, the rest is what they lack
DIP_SD_K = 3.0  # of a dip reading against the metal's mean
_ADDED_HEAT_SD = 0.08  # of the metal's heat when something is added: how far it mixes is not known
_COLD_HEAT_SD = 2000.0  # J/kg, of what is added: its temperature is not known to the degree
_WAITED, _WAITED_SD = 0.05, 0.06  # metal lies in a warm furnace before the start: share of what it reads over the room
_SOLID_J_KG_K = 950.0
_LOOKED_SD = 4000.0  # J/kg: a person sees the last solid go, or its skin
MOST_FACTOR = 0.7  # of a log factor from where it began

_OFFSET_S = 600.0  # how long an offset of the reading lasts
_LID_NOISE = 9.0  # on what disturbs the furnace, while the lid is off

MOST_LIQUID_K = 40.0  # half width of the band beyond which it does not know
_MOST_SILENT_S = 60.0
_HEALTHY_OFF_K = 20.0
_SOME = 0.005  # share molten

OPEN_LOOP_MASSES = (1.0, 0.5, 2.0)  # of the entered one: what the reading would be with power alone


@dataclass(frozen=True, slots=True)
class Estimate:
    """What is known of the metal now. Temperatures are of its mean by mass, °C."""

    metal_c: float
    low_c: float  # 90 % band
    high_c: float
    upper_c: float  # 95 % lie below
    sd_c: float
    share_low: float
    share_molten: float
    share_high: float
    phase: str  # solid, melting or liquid
    doubt: str  # '' or one sentence that says why it does not know


class Estimator:
    """Follows one firing from its start. A copy goes its own way."""

    def __init__(
        self,
        furnace: FurnaceDescription,
        model: Model | None,
        *,
        reading_c: float,
        charge: Charge | None,
        drained: bool,
    ) -> None:
        self._reduced = Reduced(furnace)
        self._model = model
        self._drained = drained
        self._metal: Melting | None = None
        self._entered_kg = 0.0
        self._frozen = self._dipped = False
        self._silent_s = 0.0
        self.residual_k: float | None = None
        self._offset_k, self._strange = offset_sd_k(model), strangeness(model)
        self._learned_dips = model.residual_k["dip"].n if model is not None and "dip" in model.residual_k else 0
        self._centre, _ = factors_of(self._reduced, model)
        self._belief = outset(self._reduced, model, reading_c)
        self._open = np.repeat(self._belief.mean[:S, None], len(OPEN_LOOP_MASSES), axis=1)
        self._learns, self._noise = learns(), noise_per_s()
        self._warm = reading_c > WARM_C
        self._elapsed_s = self._off_s = self._off_k = 0.0  # reading less what the power alone would give
        self.suspicions: tuple[str, ...] = ()
        if charge is not None:
            over_k = max(0.0, reading_c - WARM_C)
            self._charged(charge.mass_kg, charge, _WAITED * over_k, _WAITED_SD * over_k)

    def go_on(self, reading_c: float | None, power_w: float, *, lid_open: bool, dt_s: float = 5.0) -> None:
        """Carry the belief on by dt_s with this mean power, then correct it by the reading (None: there is none).

        Raises:
            ValueError: a number that is none, or dt_s out of range.
            LinAlgError: the belief fell apart; the estimate is of no use from here on.
        """
        if not (0.0 < dt_s <= 60.0 and isfinite(power_w) and (reading_c is None or isfinite(reading_c))):
            raise ValueError(f"the estimate was given reading {reading_c}, power {power_w}, dt {dt_s}")
        points = points_of(self._belief)
        count = points.shape[1]
        x = np.concatenate([points[:S], self._open], axis=1)
        factors = np.concatenate(
            [points[S:MASS], np.repeat(self._centre[:, None], self._open.shape[1], axis=1)], axis=1
        )
        mass_kg = self._entered_kg * np.concatenate([np.exp(points[MASS]), OPEN_LOOP_MASSES])
        with np.errstate(all="ignore"):
            x = self._reduced.step(
                x, factors, power_w=power_w, lid_open=lid_open, mass_kg=mass_kg, metal=self._metal, dt_s=dt_s
            )
        points[:S] = x[:, :count]
        self._open = x[:, count:]
        kept = exp(-dt_s / _OFFSET_S)
        points[OFFSET] *= kept
        noise = self._noise * (dt_s * (_LID_NOISE if lid_open else 1.0))
        noise[OFFSET] = (1.0 - kept * kept) * self._offset_k**2
        self._belief = belief_of(points, noise)
        self._believe(reading_c, dt_s)
        self._suspect(reading_c, dt_s)

    def _suspect(self, reading_c: float | None, dt_s: float) -> None:
        self._elapsed_s += dt_s
        if reading_c is None or self._metal is None or self._model is None:
            return
        off_k = self._off_k = reading_c - float(self._open[SHEATH, 0])
        solid = self._at(0.0)[1] < _SOME
        off = is_off(off_k, self._elapsed_s, solid=solid, warm=self._warm, metered=self._model.metered)
        self._off_s = self._off_s + dt_s if off else 0.0
        if self._off_s > LASTS_S:
            self.suspicions = (sentence(off_k, self._entered_kg, solid=solid),)

    def _believe(self, reading_c: float | None, dt_s: float) -> None:
        if reading_c is None or self._frozen:
            self._silent_s += dt_s
            self.residual_k = None
            return
        self._silent_s = 0.0
        variance = READING_SD_K**2 * 5.0 / dt_s
        correction = corrected_sum(self._belief, (SHEATH, OFFSET), reading_c, variance, self._learns)
        self.residual_k = correction.innovation
        self._take(correction.belief)

    def _take(self, belief: Belief) -> None:
        factors = belief.mean[S:MASS]
        np.clip(factors, self._centre - MOST_FACTOR, self._centre + MOST_FACTOR, out=factors)
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
        mass, open_mass = np.exp(points[MASS]), np.array(OPEN_LOOP_MASSES)
        at_c = min(ROOM_C, float(self._belief.mean[SHEATH])) + over_room_k
        heat_sd = _ADDED_HEAT_SD * float(self._reduced.heat_j_kg(self._belief.mean[:, None])[0]) if before_kg else 0.0
        points[:S] = self._reduced.add(points[:S], before_kg * mass, mass_kg * mass, at_c, added)
        self._open = self._reduced.add(self._open, before_kg * open_mass, mass_kg * open_mass, at_c, added)
        noise = np.zeros(N)
        noise[LOWER:S] = heat_sd**2 + _COLD_HEAT_SD**2 + (_SOLID_J_KG_K * sd_k) ** 2
        self._metal = added if self._metal is None else mixed(self._metal, before_kg, added, mass_kg)
        self._belief = belief_of(points, noise)
        self._entered_kg += mass_kg
        self._dipped = False

    def pour(self) -> None:
        """The metal was poured: the pot is taken to be empty."""
        self._metal, self._entered_kg, self._drained, self._dipped = None, 0.0, True, False

    def dip(self, metal_c: float) -> None:
        """Correct the belief by a dip reading, °C.

        Raises:
            ValueError: metal_c out of range.
        """
        if not 0.0 <= metal_c <= 1400.0:
            raise ValueError(f"metal_c is {metal_c}; allowed: 0 to 1400 °C")
        if self._metal is None:
            return
        points = points_of(self._belief)
        expected = self._reduced.metal_c(points[:S], self._metal)
        self._take(corrected(self._belief, points, expected, metal_c, DIP_SD_K**2, self._learns).belief)
        self._dipped = True

    def all_molten(self) -> None:
        """Somebody looked: all of it is liquid."""
        if self._metal is None:
            return
        points = points_of(self._belief)
        least_j_kg = float(self._metal.enthalpy_j_kg(self._metal.liquidus_c))
        coldest_j_kg = points[LOWER:S].min(axis=0)
        self._take(corrected_beyond(self._belief, points, coldest_j_kg, least_j_kg, _LOOKED_SD**2, self._learns).belief)

    def freeze(self) -> None:
        """A finding stands against the sensor: believe the reading no longer, go on by the power alone."""
        self._frozen = True

    def estimate(self) -> Estimate | None:
        """What is known now; None while there is no metal in the pot."""
        if self._metal is None:
            return None
        metal_c, share = self._at(0.0)
        phase = "solid" if share < _SOME else "liquid" if share > 1.0 - _SOME else "melting"
        wide = self._width(phase)
        low_c, share_low = self._at(-Z90 * wide.heat_j_kg)
        high_c, share_high = self._at(Z90 * wide.heat_j_kg)
        low_c = metal_c - hypot(metal_c - low_c, Z90 * wide.beside_k)
        high_c = metal_c + hypot(high_c - metal_c, Z90 * wide.beside_k)
        sd_c = (high_c - low_c) / (2.0 * Z90)
        upper_c = high_c + max(0.0, -self._off_k - _HEALTHY_OFF_K)  # a reading that is too low hides hot metal
        doubt = self._doubt(phase, sd_c * Z90)
        return Estimate(metal_c, low_c, high_c, upper_c, sd_c, share_low, share, share_high, phase, doubt)

    def _at(self, shift_j_kg: float) -> tuple[float, float]:
        """Temperature, °C, and share molten of the metal with so much more heat than believed."""
        assert self._metal is not None
        x = self._belief.mean[:S, None].copy()
        x[LOWER:] += shift_j_kg
        return float(self._reduced.metal_c(x, self._metal)[0]), float(self._reduced.share_molten(x, self._metal)[0])

    def _width(self, phase: str) -> Width:
        lumps = self._belief.covariance[LOWER:S, LOWER:S]
        shares = np.array([LOWER_SHARE, 1.0 - LOWER_SHARE])
        return width(phase, float(shares @ lumps @ shares), self._strange, self._learned_dips, dipped=self._dipped)

    def _doubt(self, phase: str, half_k: float) -> str:
        if self._frozen:
            return "A finding stands against the sensor, so the metal is reckoned by the power alone."
        if self._silent_s > _MOST_SILENT_S:
            return f"There has been no reading for {self._silent_s:.0f} s."
        if not self._drained:
            return "The pot was not known to be drained: there may be metal in it of which nothing is known."
        if self.suspicions:
            return self.suspicions[0]
        if phase == "liquid" and half_k > MOST_LIQUID_K:
            return f"The liquid metal is known to no more than {half_k:.0f} K either way."
        return ""

    def countdown(self, pour_c: float, course: Course) -> Countdown | None:
        """Begin to look ahead to when the coldest metal is at pour_c; None: there is no metal."""
        if self._metal is None or self._entered_kg == 0.0:
            return None
        mean, covariance = self._belief
        return Countdown(self._reduced, mean, covariance, self._entered_kg, self._metal, pour_c=pour_c, course=course)

    def expected_reading_c(self, mass_kg: float) -> float:
        """What the reading would be now with mass_kg of metal, by the model and the power alone.

        Between half and twice the entered mass.

        Raises:
            ValueError: mass_kg out of that range, or no metal was entered.
        """
        if not (self._entered_kg and 0.5 <= mass_kg / self._entered_kg <= 2.0):
            raise ValueError(f"mass_kg is {mass_kg}; allowed: half to twice the entered {self._entered_kg} kg")
        likely_c, half_c, double_c = (float(c) for c in self._open[SHEATH])
        doublings = log2(mass_kg / self._entered_kg)
        return likely_c + doublings * (double_c - half_c) / 2.0 + doublings**2 * ((double_c + half_c) / 2.0 - likely_c)

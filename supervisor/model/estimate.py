"""What is believed of the metal while nobody can look under the lid: temperature, share molten, minutes to pour.

One reading and the power are all there is. A cubature Kalman filter carries the furnace's temperatures, the heat of the
metal and the learned factors; mass and contact of the metal are considered, never learned.
"""

from collections import deque
from dataclasses import dataclass
from math import hypot, isfinite, log2

import numpy as np
from numpy.typing import NDArray

from supervisor.furnace.description import FurnaceDescription
from supervisor.metal.charge import Charge
from supervisor.model.bands import Z90, Width, strangeness, width
from supervisor.model.carried import Carried
from supervisor.model.cooldown import Cooldown
from supervisor.model.countdown import Countdown, Course
from supervisor.model.follower import corrected, corrected_beyond, points_of
from supervisor.model.learned import Model
from supervisor.model.outset import WARM_C, S
from supervisor.model.reduced import LOWER, LOWER_SHARE, SHEATH
from supervisor.model.stiff import QUIET
from supervisor.model.suspicion import LASTS_S, SANK_S, is_off, sank_k, sentence

Array = NDArray[np.float64]

DIP_SD_K = 3.0  # of a dip reading against the metal's mean
_LOOKED_SD = 4000.0  # J/kg: a person sees the last solid go, or its skin
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
    missing: str = ""  # the reading has gone above what the power gives: metal is missing, or hangs over the melt
    sank_k: float | None = None  # the reading against what the power gives, over SANK_S; None: nobody knows


class Estimator(Carried):
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
        super().__init__(furnace, model, reading_c=reading_c, charge=charge, beside=OPEN_LOOP_MASSES)
        self._model = model
        self._drained = drained
        self._frozen = self._dipped = self._far = False
        self._silent_s = 0.0
        self.residual_k: float | None = None
        self._strange = strangeness(model)
        self._learned_dips = model.residual_k["dip"].n if model is not None and "dip" in model.residual_k else 0
        self._warm = reading_c > WARM_C
        self._elapsed_s = self._off_s = self._off_k = 0.0  # reading less what the power alone would give
        self._offs: deque[tuple[float, float]] = deque()  # when and by how much, over SANK_S
        self._rests_s: float = 0.0
        self.suspicions: tuple[str, ...] = ()
        self._missing = ""

    def go_on(self, reading_c: float | None, power_w: float, *, lid_open: bool, dt_s: float = 5.0) -> None:
        """Carry the belief on by dt_s with this mean power, then correct it by the reading (None: there is none).

        Raises:
            ValueError: a number that is none, or dt_s out of range.
            LinAlgError: the belief fell apart; the estimate is of no use from here on.
        """
        if not (0.0 < dt_s <= 60.0 and isfinite(power_w) and (reading_c is None or isfinite(reading_c))):
            raise ValueError(f"the estimate was given reading {reading_c}, power {power_w}, dt {dt_s}")
        self._carry(power_w, lid_open=lid_open, dt_s=dt_s)
        self._believe(reading_c, dt_s)
        self._suspect(reading_c, dt_s)
        self._remember(reading_c, lid_open=lid_open, dt_s=dt_s)

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
            self._missing = self.suspicions[0] if off_k > 0.0 else self._missing

    def _remember(self, reading_c: float | None, *, lid_open: bool, dt_s: float) -> None:
        self._rests_s = QUIET.lid_s if lid_open else max(0.0, self._rests_s - dt_s)
        if self._rests_s or reading_c is None or self._metal is None or self._model is None or not self._model.metered:
            self._offs.clear()
            return
        self._offs.append((self._elapsed_s, self._off_k))
        while self._offs[0][0] < self._elapsed_s - SANK_S - 0.5:
            self._offs.popleft()

    def _believe(self, reading_c: float | None, dt_s: float) -> None:
        if reading_c is None or self._frozen:
            self._silent_s += dt_s
            self.residual_k = None
            return
        self._silent_s = 0.0
        self.residual_k = self._read(reading_c, dt_s)

    def put_in(self, mass_kg: float, charge: Charge | None) -> None:
        """Metal goes into the pot, at the room's temperature. charge: None if nobody knows what it is.

        Raises:
            ValueError: mass_kg out of range.
        """
        super().put_in(mass_kg, charge)
        self._dipped, self._rests_s = False, QUIET.addition_s

    def pour(self) -> None:
        """The metal was poured: the pot is taken to be empty."""
        super().pour()
        self._drained, self._dipped, self._rests_s = True, False, QUIET.addition_s

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
        self._dipped, self._far = True, False

    def doubt_by_dip(self) -> None:
        """Somebody read a temperature far from this one: nothing is said of the metal until another dip is believed."""
        self._far = True

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
        shares = share_low, share, share_high
        return Estimate(metal_c, low_c, high_c, upper_c, sd_c, *shares, phase, doubt, self._missing, sank_k(self._offs))

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
            return "A finding stood against the sensor in this firing, so the metal is reckoned by the power alone."
        if self._far:
            return "The last dip reading is far from what is reckoned: dip again."
        if self._silent_s > _MOST_SILENT_S:
            return f"There has been no reading for {self._silent_s:.0f} s."
        if not self._drained:
            return "The pot was not known to be drained: there may be metal in it of which nothing is known."
        if self.suspicions:
            return self.suspicions[0]
        if phase == "liquid" and half_k > MOST_LIQUID_K:
            return f"The liquid metal is known to no more than {half_k:.0f} K either way."
        return ""

    def countdown(self, pour_c: float, course: Course, gate_c: float | None = None) -> Countdown | None:
        """Begin to look ahead to when the coldest metal is at pour_c, and the chamber at gate_c; None: no metal."""
        if self._metal is None or self._entered_kg == 0.0:
            return None
        mean, covariance = self._belief
        return Countdown(
            self._reduced, mean, covariance, self._entered_kg, self._metal, pour_c=pour_c, course=course, gate_c=gate_c
        )

    def cooldown(self, to_c: float, *, lid_open: bool) -> Cooldown | None:
        """Begin to look ahead to when the metal, without heat, is below to_c; None: there is no metal."""
        if self._metal is None or self._entered_kg == 0.0:
            return None
        mean, covariance = self._belief
        return Cooldown(self._reduced, mean, covariance, self._entered_kg, self._metal, to_c=to_c, lid_open=lid_open)

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

"""The stiff filter of one firing, fed by the second: how far the reading runs from what was ordered.

The power is what was ordered, with the meter's slow word on the mains reckoned in: a relay that does not let go, or an
element that does not heat, must not be explained by the meter. It advises the watches alone and never adds heat.
"""

from dataclasses import dataclass

from supervisor.furnace.description import FurnaceDescription
from supervisor.metal.charge import Charge
from supervisor.model.learned import Model
from supervisor.model.outset import WARM_C
from supervisor.model.stiff import WINDOWS_S, Stiff
from supervisor.watches.view import Innovations

KNOWN_AGAIN_S = 600
"""A mass that is not as entered spoils what is expected of the reading while it melts (by up to 30 K a second with half
of it); ten minutes after all was called liquid half as much and half more stayed within 2.2 K (simulated)."""

CANNOT = (ArithmeticError, ValueError)
"""What numerical work raises when it cannot go on; numpy's LinAlgError is a ValueError."""


@dataclass(slots=True)
class Follow:
    """Made anew for each firing. innovations: None while nothing is reckoned, or when it cannot be any more."""

    stiff: Stiff | None = None
    charge: Charge | None = None
    learned: bool = False
    innovations: Innovations | None = None
    liquid_s: int = 0  # for how long the estimate has called all metal liquid
    other_mass: bool = False  # a doubted mass was said to be as entered

    def begin(
        self,
        furnace: FurnaceDescription,
        model: Model | None,
        reading_c: float,
        charge: Charge | None,
        *,
        learned: bool,
    ) -> None:
        """Heat is allowed. learned: the model is one of this very furnace, from enough firings.

        One of fewer is left out: it is sure of itself and wrong, and a healthy light charge came to 96 % of a limit by
        it, to 35 % by the data sheets, whose wide factors fit themselves as the firing goes (simulated).
        """
        warm = charge is not None and reading_c > WARM_C
        model = model if learned else None
        self.charge, self.learned, self.other_mass = charge, learned, False
        try:
            self.stiff = Stiff(furnace, model, reading_c=reading_c, charge=charge, warm=warm)
        except CANNOT:
            self.end()

    def end(self) -> None:
        """Nothing is reckoned any more in this firing."""
        self.stiff = self.innovations = None

    def second(self, reading_c: float | None, power_w: float, *, lid_open: bool) -> None:
        """Take one second."""
        stiff = self.stiff
        if stiff is None:
            return
        try:
            stiff.go_on(reading_c, power_w, lid_open=lid_open)
        except CANNOT:
            self.end()
            return
        if self.other_mass and self.liquid_s < KNOWN_AGAIN_S:
            self.innovations = None
            return
        mean_10_k, mean_30_k, mean_120_k, mean_300_k, mean_3_k, mean_600_k = (stiff.mean_k(s) for s in WINDOWS_S)
        self.innovations = Innovations(
            mean_10_k,
            mean_30_k,
            mean_120_k,
            mean_300_k,
            self.learned,
            mean_3_k,
            mean_600_k,
            stiff.sunk_k(),
            stiff.breaks_k(),
            stiff.broke_k(),
        )

    def act(self, kind: str, value: float) -> None:
        """What a person did to the metal, or `freeze` by a watch."""
        if self.stiff is None:
            return
        try:
            if kind == "add":
                self.stiff.put_in(value, self.charge)
            elif kind == "pour":
                self.stiff.pour()
            elif kind == "freeze":
                self.stiff.freeze()
        except CANNOT:
            self.end()

    def weighed_again(self, mass_kg: float) -> None:
        """The whole charge was weighed again."""
        self.other_mass = False
        if self.stiff is not None:
            self.stiff.weigh(mass_kg)

"""What duty the furnace is expected to need: losses, and what lining and pot take up on the way.

A thick lining takes hours to fill, so what it takes up now depends on where the chamber has been. A wall in layers
follows it; factors that were learned scale the data sheets.
"""

from dataclasses import replace

from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.reckoning import FILM_W_M2_K, ROOM_C, SEAMS, pot_j_k, through_wall
from supervisor.furnace.warming import WarmingWall
from supervisor.model.learned import Model

EVERY_S = 5.0


class FeedForward:
    """One furnace's. It follows the chamber from when the supervisor began, in firings and between them."""

    def __init__(self, furnace: FurnaceDescription, model: Model | None) -> None:
        """From data sheets (None) or as learned; the lining is taken to be at the room's temperature."""
        loss, self._leak, capacity, pot, power = 1.0, 1.0, 1.0, 1.0, 1.0
        if model is not None:
            loss, self._leak, capacity = model.factor("loss"), model.factor("leak"), model.factor("capacity")
            pot, power = model.factor("pot_capacity"), model.factor("power")
        wall = furnace.wall
        self._wall = replace(
            wall,
            conductivity_w_m_k=loss * wall.conductivity_w_m_k,
            conductivity_per_k=loss * wall.conductivity_per_k,
            density_kg_m3=capacity * wall.density_kg_m3,
        )
        self._furnace, self._pot, self._full_w = furnace, pot, power * furnace.full_power_w
        self._lining = WarmingWall(self._wall, ROOM_C, FILM_W_M2_K)
        self._lining_w = 0.0
        self._since_s = 0.0
        self._warm = False  # the first temperature has been seen

    def goes_on_from(self, other: "FeedForward") -> None:
        """The lining is as warm as the other one's."""
        self._lining.layers_c, self._warm = list(other._lining.layers_c), other._warm

    def settled_duty(self, at_c: float) -> float:
        """The duty that keeps at_c once all is settled."""
        return self._seams(at_c, 1.0) / self._full_w if at_c > ROOM_C else 0.0

    def follow(self, chamber_c: float, dt_s: float) -> None:
        """The chamber has been there for dt_s. A furnace that was found warm is taken for half warmed through."""
        if not self._warm:
            self._warm = True
            count = len(self._lining.layers_c)
            fall_k = max(0.0, chamber_c - ROOM_C) / count
            self._lining.layers_c = [chamber_c - fall_k * (n + 0.5) for n in range(count)]
        self._since_s += dt_s
        if self._since_s >= EVERY_S:
            self._lining_w = self._lining.step(chamber_c, self._since_s) / self._since_s
            self._since_s = 0.0

    def duty(self, at_c: float, ramp_c_per_s: float) -> float:
        """What keeps the chamber at at_c and lets it move at this rate now; may be below 0 or above 1."""
        pot_w = self._pot * pot_j_k(self._furnace, at_c) * ramp_c_per_s
        return (self._lining_w + self._seams(at_c, 0.0) + pot_w) / self._full_w

    def _seams(self, at_c: float, walls: float) -> float:
        """Loss through the seams, and `walls` times that through the settled wall, W."""
        flow_w = through_wall(self._wall, at_c).flow_w
        return (walls + (SEAMS - 1.0) * self._leak) * flow_w

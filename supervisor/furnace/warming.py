"""The lining on its way to being warm: what its hot face takes up while the chamber follows a plan.

The settled state alone would not do: a thick wall takes many hours to fill, and a firing is over long before.
"""

from supervisor.furnace.description import Wall

LAYERS = 12


class WarmingWall:
    """A wall in equal layers whose hot face is held at the chamber's temperature.

    Fourier's law between layer centres, area growing evenly outward, implicit steps: stable for any step.
    """

    def __init__(self, wall: Wall, room_c: float, film_w_m2_k: float) -> None:
        """Begin at the room's temperature throughout."""
        self._wall = wall
        self._room_c = room_c
        self._layer_m = wall.thickness_m / LAYERS
        growth_m2 = (wall.outside_m2 - wall.inside_m2) / LAYERS
        self._edges_m2 = [wall.inside_m2 + growth_m2 * edge for edge in range(LAYERS + 1)]
        j_m2_k = wall.density_kg_m3 * wall.specific_heat_j_kg_k * self._layer_m
        self._heat_j_k = [j_m2_k * (inner + growth_m2 / 2.0) for inner in self._edges_m2[:-1]]
        self._film_k_w = 1.0 / (film_w_m2_k * wall.outside_m2)
        self.layers_c = [room_c] * LAYERS

    @property
    def stored_j(self) -> float:
        """Heat above the room's temperature."""
        return sum(j_k * (at_c - self._room_c) for j_k, at_c in zip(self._heat_j_k, self.layers_c, strict=True))

    def step(self, face_c: float, dt_s: float) -> float:
        """Go on by dt_s with the hot face at face_c; the heat that the face took up, J."""
        inner, links, outer = self._conductances(face_c)
        last = LAYERS - 1
        left = [inner, *links]  # W/K towards the hot side
        right = [*links, outer]
        # Energy of each layer at the end of the step: a tridiagonal system, eliminated downwards, solved upwards.
        ratio, value = [0.0] * LAYERS, [0.0] * LAYERS
        for n in range(LAYERS):
            held = self._heat_j_k[n] / dt_s
            known = held * self.layers_c[n]
            if n == 0:
                known += inner * face_c
            if n == last:
                known += outer * self._room_c
            from_left = left[n] if n else 0.0
            pivot = held + left[n] + right[n] - from_left * (ratio[n - 1] if n else 0.0)
            ratio[n] = right[n] / pivot if n != last else 0.0
            value[n] = (known + from_left * (value[n - 1] if n else 0.0)) / pivot
        for n in range(last, -1, -1):
            self.layers_c[n] = value[n] + (ratio[n] * self.layers_c[n + 1] if n != last else 0.0)
        return inner * (face_c - self.layers_c[0]) * dt_s

    def _conductances(self, face_c: float) -> tuple[float, list[float], float]:
        """From face to first layer, between layers, and from last layer to the room, W/K."""
        wall, layers_c, edges_m2 = self._wall, self.layers_c, self._edges_m2

        def conductivity(at_c: float) -> float:
            return wall.conductivity_w_m_k + wall.conductivity_per_k * at_c

        inner = conductivity((face_c + layers_c[0]) / 2.0) * edges_m2[0] / (self._layer_m / 2.0)
        links = [
            conductivity((layers_c[n] + layers_c[n + 1]) / 2.0) * edges_m2[n + 1] / self._layer_m
            for n in range(LAYERS - 1)
        ]
        half_k_w = self._layer_m / 2.0 / (conductivity(layers_c[-1]) * edges_m2[-1])
        return inner, links, 1.0 / (half_k_w + self._film_k_w)

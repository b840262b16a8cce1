"""From a surface to the room: still air that rises along it, and radiation."""

from typing import NamedTuple

from supervisor.sizing.tables import between

STEFAN_BOLTZMANN = 5.670374419e-8  # W/m²/K⁴, CODATA 2018
KELVIN = 273.15
GRAVITY = 9.80665  # m/s², standard

# Air at 1 atm: K, kinematic viscosity 1e-6 m²/s, conductivity 1e-3 W/m/K, diffusivity 1e-6 m²/s, Prandtl number.
# Source: Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, table A.4 (from memory).
_AIR = (
    (250.0, 11.44, 22.3, 15.9, 0.720),
    (300.0, 15.89, 26.3, 22.5, 0.707),
    (350.0, 20.92, 30.0, 29.9, 0.700),
    (400.0, 26.41, 33.8, 38.3, 0.690),
    (450.0, 32.39, 37.3, 47.2, 0.686),
    (500.0, 38.79, 40.7, 56.7, 0.684),
    (550.0, 45.57, 43.9, 66.7, 0.683),
    (600.0, 52.69, 46.9, 76.9, 0.685),
)


class Still(NamedTuple):
    """Natural convection along an upright face of some height, Churchill and Chu; W/m²/K, and what it came from."""

    rayleigh: float
    nusselt: float
    w_m2_k: float


def still_air(face_c: float, room_c: float, height_m: float) -> Still:
    """Air that rises along an upright face.

    Source: Churchill and Chu, International Journal of Heat and Mass Transfer 18 (1975) 1323, the form for all flows.
    """
    film_k = (face_c + room_c) / 2.0 + KELVIN
    viscosity, conductivity, diffusivity, prandtl = (
        between([(row[0], row[n]) for row in _AIR], film_k) for n in range(1, 5)
    )
    rise_k = abs(face_c - room_c)
    rayleigh = GRAVITY * rise_k / film_k * height_m**3 / (viscosity * diffusivity * 1e-12)
    damped = (1.0 + (0.492 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    nusselt = float((0.825 + 0.387 * rayleigh ** (1.0 / 6.0) / damped) ** 2)
    return Still(rayleigh, nusselt, nusselt * conductivity * 1e-3 / height_m)


def radiated_w_m2(hot_c: float, cold_c: float, emissivity: float = 1.0) -> float:
    """Radiation of a grey face into surroundings much larger than itself, W/m²."""
    return emissivity * STEFAN_BOLTZMANN * ((hot_c + KELVIN) ** 4 - (cold_c + KELVIN) ** 4)


class Outside(NamedTuple):
    """What the outer face meets. w_m2_k None: still air along it, and radiation."""

    room_c: float = 20.0
    height_m: float = 0.3
    emissivity: float = 0.9  # painted or oxidised; bright metal 0.1 runs hotter
    w_m2_k: float | None = None

    def flux_w_m2(self, face_c: float) -> float:
        """What leaves a face of this temperature, W/m²."""
        if self.w_m2_k is not None:
            return self.w_m2_k * (face_c - self.room_c)
        carried = still_air(face_c, self.room_c, self.height_m).w_m2_k * (face_c - self.room_c)
        return carried + radiated_w_m2(face_c, self.room_c, self.emissivity)

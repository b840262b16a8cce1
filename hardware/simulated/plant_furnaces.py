"""The two furnaces that ship with the simulation, as numbers. Neither was ever built; nothing here was measured."""

from dataclasses import dataclass, replace
from random import Random

from hardware.simulated.plant_lining import Brick, Slab, growing_layers


@dataclass(frozen=True, slots=True)
class FurnaceConstants:
    """All constants of one plant. Areas that exchange radiation carry their emissivities and view factors."""

    supply_v: float
    element_ohm: float  # cold
    wire_kg: float
    element_to_wall_m2: float  # radiating
    element_to_pot_m2: float  # radiating
    element_film_w_k: float  # element to hot face
    wall: Slab
    lid: Slab
    brick: Brick
    wall_to_pot_m2: float  # radiating
    wall_to_pot_w_k: float  # convection, and the pedestal
    wall_to_lid_m2: float  # radiating
    pot_kg: float
    pot_to_lid_m2: float  # radiating
    bath_to_lid_m2: float  # radiating
    opening_m2: float  # under an open lid
    wall_to_opening_m2: float  # radiating to the room through it
    leak_m2: float  # radiating
    leak_w_k: float
    contact: float  # factor on all contacts of the charge
    sensor_wall: float  # share of what the sensor sees
    sensor_element: float
    sensor_stem: float  # lining beside its stem; the rest is pot
    sensor_stem_layer: int
    sheath: float  # factor on its heat capacity
    mains_offset: float  # of this firing, share of nominal


# Soft insulating brick of group 23 (ASTM C155): 500 kg/m³, between makers' 370 and 650. Conductivity from memory of
# data sheets, 15 % added for joints and grooves (our choice). Specific heat from memory: 750 to 960 cold, 1050 hot.
_GROUP_23 = Brick(500.0, 0.075 * 1.15, 1.15e-4 * 1.15, 840.0, 0.25)
_POT_M2 = 0.045
_WIRE_M2 = 0.094 * 0.6  # 60 % of 21.2 m of 1.4 mm wire is seen (our choice)
_OXIDISED = 0.70  # emissivity of oxidised FeCrAl, from memory

BENCH = FurnaceConstants(
    supply_v=230.0,
    element_ohm=20.0,
    wire_kg=0.235,
    element_to_wall_m2=_WIRE_M2 * _OXIDISED * 0.65,
    element_to_pot_m2=_WIRE_M2 * _OXIDISED * 0.35,
    element_film_w_k=1.0,
    wall=Slab(growing_layers(0.065, 0.002, 10), inside_m2=0.154, outside_m2=0.30, film_w_m2_k=11.0),
    lid=Slab((0.003, 0.006, 0.009, 0.012, 0.015, 0.020), inside_m2=0.0284, outside_m2=0.062, film_w_m2_k=11.0),
    brick=_GROUP_23,
    wall_to_pot_m2=_POT_M2 * 0.78,
    wall_to_pot_w_k=8.0 * _POT_M2 + 0.25,
    wall_to_lid_m2=0.0145,
    pot_kg=1.0,
    pot_to_lid_m2=0.008,
    bath_to_lid_m2=0.0075 * 0.3,
    opening_m2=0.0284,
    wall_to_opening_m2=0.0284 * 0.68,
    leak_m2=5e-4,
    leak_w_k=0.10,
    contact=1.0,
    sensor_wall=0.52,
    sensor_element=0.08,
    sensor_stem=0.03,
    sensor_stem_layer=5,
    sheath=1.0,
    mains_offset=0.0,
)
"""A 6 litre round furnace in 65 mm brick, 2.6 kW: the subject of all benchmarks."""

_SHOP_POT_M2 = 0.060
_SHOP_WIRE_M2 = 0.099 * 0.6  # 22.5 m of 1.4 mm wire

WORKSHOP = FurnaceConstants(
    supply_v=230.0,
    element_ohm=21.2,
    wire_kg=0.246,
    element_to_wall_m2=_SHOP_WIRE_M2 * _OXIDISED * 0.65,
    element_to_pot_m2=_SHOP_WIRE_M2 * _OXIDISED * 0.35,
    element_film_w_k=1.0,
    wall=Slab(growing_layers(0.114, 0.003, 12), inside_m2=0.175, outside_m2=0.52, film_w_m2_k=11.0),
    lid=Slab(growing_layers(0.114, 0.004, 8), inside_m2=0.030, outside_m2=0.11, film_w_m2_k=11.0),
    brick=Brick(780.0, 0.17, 1.3e-4, 1050.0, 0.0),
    wall_to_pot_m2=0.075 * 0.55,
    wall_to_pot_w_k=8.0 * _SHOP_POT_M2 + 0.30,
    wall_to_lid_m2=0.0153,
    pot_kg=1.9,
    pot_to_lid_m2=0.008,
    bath_to_lid_m2=0.0071 * 0.3,
    opening_m2=0.030,
    wall_to_opening_m2=0.030 * 0.68,
    leak_m2=5e-4,
    leak_w_k=0.10,
    contact=1.0,
    sensor_wall=0.52,
    sensor_element=0.08,
    sensor_stem=0.03,
    sensor_stem_layer=5,
    sheath=1.0,
    mains_offset=0.0,
)
"""Invented: furnace A of the shipped example, an octagon of 190 mm across flats in 114 mm brick, 2.4 kW hot, 2.5 kg."""


def varied(furnace: FurnaceConstants, spread: float, seed: int) -> FurnaceConstants:
    """Draw another furnace of the same kind: what its owner's tape measure and data sheets would not tell apart.

    spread 0.2: areas, brick, contacts, sheath and leaks uniform within ±20 %, the element within ±4 %, the pot within
    ±5 %, the sensor's share of wall within ±0.1 and of element within ±40 %, mains with a standard deviation of 3 %.
    Other spreads scale all of it. Radiating areas of one surface keep their proportion.
    """
    random = Random(f"{seed} furnace")

    def factor(share: float = 1.0) -> float:
        return 1.0 + share * spread * random.uniform(-1.0, 1.0)

    brick, conductivity, lining, pot, seen = furnace.brick, factor(), factor(), factor(), factor()
    leak, opening = factor(), factor()
    return replace(
        furnace,
        element_ohm=furnace.element_ohm * factor(0.2),
        element_to_wall_m2=furnace.element_to_wall_m2 * seen,
        element_to_pot_m2=furnace.element_to_pot_m2 * seen,
        wall=_resized(furnace.wall, lining),
        lid=_resized(furnace.lid, lining),
        brick=brick._replace(
            density_kg_m3=brick.density_kg_m3 * factor(),
            conductivity_w_m_k=brick.conductivity_w_m_k * conductivity,
            conductivity_per_k=brick.conductivity_per_k * conductivity,
        ),
        wall_to_pot_m2=furnace.wall_to_pot_m2 * pot,
        wall_to_pot_w_k=furnace.wall_to_pot_w_k * pot,
        pot_kg=furnace.pot_kg * factor(0.25),
        wall_to_lid_m2=furnace.wall_to_lid_m2 * opening,
        pot_to_lid_m2=furnace.pot_to_lid_m2 * opening,
        opening_m2=furnace.opening_m2 * opening,
        wall_to_opening_m2=furnace.wall_to_opening_m2 * opening,
        leak_m2=furnace.leak_m2 * leak,
        leak_w_k=furnace.leak_w_k * leak,
        contact=factor(),
        sensor_wall=furnace.sensor_wall + 0.5 * (factor() - 1.0),
        sensor_element=furnace.sensor_element * factor(2.0),
        sheath=factor(),
        mains_offset=random.gauss(0.0, 0.15 * spread),
    )


def _resized(slab: Slab, factor: float) -> Slab:
    return slab._replace(inside_m2=slab.inside_m2 * factor, outside_m2=slab.outside_m2 * factor)

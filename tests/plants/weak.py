"""A weak furnace on a 120 V, 15 A outlet: a dense shell before fibre, in steel; the sensor hangs in the gas by the lid.

Invented. Two materials in the wall, a floor of its own, a node of gas between everything; three lumps of metal.
"""

from pathlib import Path

from tests.plants.furnace import Build, Dice, Sensing, StrangeFurnace
from tests.plants.metal import Charge, Contact
from tests.plants.network import ROOM_C, Layer, Link, Node, wall

_POT_M2 = 0.030
_OPENING_M2 = 0.0154


class WeakFurnace(StrangeFurnace):
    """120 V, 1.65 kW hot, pot for 1.3 kg: full power for most of a melt."""

    furnace_file = str(Path(__file__).with_name("weak.toml"))
    alloy = "A356.0"

    def __init__(self, seed: int, spread: float = 0.0, start_c: float = ROOM_C) -> None:
        """Make it from a seed; spread 0.2 varies its constants within 20 %.

        Raises:
            ValueError: spread or start_c out of range.
        """
        super().__init__(_build(Dice(seed, spread, "weak")), seed, start_c)


def _build(dice: Dice) -> Build:
    area, conducts, heavy = dice.factor(), dice.factor(), dice.factor()
    shell = Layer("shell", 0.015, 3, 1300.0 * heavy, 1000.0, 0.45 * conducts)
    fibre = Layer("fibre", 0.045, 4, 130.0 * heavy, 1050.0, 0.06 * conducts, 1.9e-4 * conducts)
    walls, wall_links = wall((shell, fibre), 0.062 * area, 0.135 * area, 12.0)
    brick = Layer("floor", 0.05, 4, 800.0 * heavy, 1000.0, 0.20 * conducts, 1.0e-4 * conducts)
    floors, floor_links = wall((brick,), 0.0154 * area, 0.030 * area, 8.0)
    board = Layer("lid", 0.04, 4, 300.0 * heavy, 1050.0, 0.09 * conducts, 1.3e-4 * conducts)
    lids, lid_links = wall((board,), _OPENING_M2, 0.033, 12.0)
    pot, sees, leak, contact = dice.factor(0.25), dice.factor(), dice.factor(), dice.factor()
    nodes = (
        Node("element", 0.16, 450.0, 0.25),
        Node("gas", 0.008, 1100.0),
        Node("pot", 0.75 * pot, 850.0, 0.55),
        *walls,
        *floors,
        *lids,
    )
    always = (
        Link("element", "shell 0", 0.6, m2=0.0215 * sees),
        Link("element", "pot", m2=0.0115 * sees),
        Link("element", "gas", 0.5),
        Link("shell 0", "pot", m2=0.024 * sees),
        Link("shell 0", "gas", 0.55),
        Link("pot", "gas", 8.0 * _POT_M2),
        Link("pot", "floor 0", 0.20),
        Link("shell 0", "floor 0", m2=0.006),
        Link("gas", "room", 0.06 * leak),
        *wall_links,
        *floor_links,
        *lid_links,
    )
    shut = (
        Link("shell 0", "lid 0", m2=0.0085),
        Link("pot", "lid 0", m2=0.0045),
        Link("gas", "lid 0", 0.12),
    )
    opened = (
        Link("shell 0", "room", m2=0.0105),
        Link("pot", "room", m2=0.0045),
        Link("gas", "room", 1.4),
        Link("lid 0", "room", 0.15, m2=0.012),
    )
    gas, element = 0.55, 0.05 * dice.factor(2.0)
    lid = 0.20 + 0.3 * (dice.factor() - 1.0)
    sensing = Sensing(
        (("gas", gas), ("element", element), ("lid 0", lid), ("shell 0", 1.0 - gas - element - lid)),
        3300.0 * dice.factor(),
        0.8,
        18.0,
        3.0,
        0.25,
    )
    charge = Charge(
        (0.35, 0.35, 0.30),
        (
            Contact("pot", 0, 3.0 * contact, 14.0 * contact),
            Contact("pot", 1, 1.8 * contact, 12.0 * contact),
            Contact(0, 1, 1.5 * contact, 25.0 * contact),
            Contact(1, 2, 1.3 * contact, 20.0 * contact),
        ),
        full_kg=1.3,
        wetting_s=20.0,
    )
    return Build(
        120.0,
        8.35 * dice.factor(0.2),
        nodes,
        always + shut,
        always + opened,
        charge,
        ("lid 0", 0.0045 * 0.3),
        sensing,
        face="shell 0",
        leak_at="gas",
        wet_at="shell 1",
        box_at="fibre 3",
        mains_offset=dice.offset(),
    )

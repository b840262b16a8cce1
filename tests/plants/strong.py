"""A strong furnace between two phases of 400 V: brick before board, a pot for 8 kg, the sensor touches the pot.

Invented. No gas; a heavy lid; one lump of metal whose contact grows minutes after it melts and stays while it freezes.
"""

from pathlib import Path

from tests.plants.furnace import Build, Dice, Sensing, StrangeFurnace
from tests.plants.metal import Charge, Contact
from tests.plants.network import ROOM_C, Layer, Link, Node, wall


class StrongFurnace(StrangeFurnace):
    """400 V, 5.6 kW hot, pot for 8 kg: reaches any setpoint long before its metal does."""

    furnace_file = str(Path(__file__).with_name("strong.toml"))
    alloy = "380.0"

    def __init__(self, seed: int, spread: float = 0.0, start_c: float = ROOM_C) -> None:
        """Make it from a seed; spread 0.2 varies its constants within 20 %.

        Raises:
            ValueError: spread or start_c out of range.
        """
        super().__init__(_build(Dice(seed, spread, "strong")), seed, start_c)


def _build(dice: Dice) -> Build:
    area, conducts, heavy = dice.factor(), dice.factor(), dice.factor()
    brick = Layer("brick", 0.064, 6, 530.0 * heavy, 1000.0, 0.11 * conducts, 1.3e-4 * conducts)
    board = Layer("board", 0.038, 3, 250.0 * heavy, 900.0, 0.065 * conducts, 0.7e-4 * conducts)
    walls, wall_links = wall((brick, board), 0.40 * area, 0.78 * area, 10.0)
    castable = Layer("lid", 0.075, 6, 1250.0 * heavy, 980.0, 0.36 * conducts)
    lids, lid_links = wall((castable,), 0.072, 0.13, 11.0)
    pot, sees, leak, contact = dice.factor(0.25), dice.factor(), dice.factor(), dice.factor()
    nodes = (Node("element", 0.75, 460.0, 0.2), Node("pot", 3.8 * pot, 820.0, 0.6), *walls, *lids)
    always = (
        Link("element", "brick 0", 2.2, m2=0.080 * sees),
        Link("element", "pot", m2=0.042 * sees),
        Link("brick 0", "pot", 0.9, m2=0.088 * sees),
        Link("brick 0", "room", 0.25 * leak, m2=8e-4 * leak),
        *wall_links,
        *lid_links,
    )
    shut = (Link("brick 0", "lid 0", m2=0.036), Link("pot", "lid 0", 0.1, m2=0.016))
    opened = (
        Link("brick 0", "room", 1.3, m2=0.048),
        Link("pot", "room", m2=0.016),
        Link("lid 0", "room", 0.6, m2=0.054),
    )
    touch, element = 0.72 + 0.4 * (dice.factor() - 1.0), 0.04 * dice.factor(2.0)
    sensing = Sensing(
        (("pot", touch), ("element", element), ("brick 0", 1.0 - touch - element)),
        6200.0 * dice.factor(),
        0.75,
        25.0,
        5.0,
        0.3,
    )
    charge = Charge((1.0,), (Contact("pot", 0, 13.0 * contact, 70.0 * contact),), full_kg=8.0, wetting_s=150.0)
    return Build(
        400.0,
        27.5 * dice.factor(0.2),
        nodes,
        always + shut,
        always + opened,
        charge,
        ("lid 0", 0.02 * 0.25),
        sensing,
        face="brick 0",
        leak_at="brick 0",
        wet_at="brick 1",
        box_at="board 2",
        mains_offset=dice.offset(),
    )

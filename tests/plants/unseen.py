"""The furnace that nobody may calibrate on: bands, factors, priors and gains are chosen without it, then judged by it.

Invented. 230 V, 10 A; light fibre walls whose conductivity grows fast with temperature, a dense floor, a steel shell;
the pot in two nodes; three lumps of metal, the uppermost badly coupled; the sensor is buried in the wall.
"""

from pathlib import Path

from tests.plants.furnace import Build, Dice, Sensing, StrangeFurnace
from tests.plants.metal import Charge, Contact
from tests.plants.network import ROOM_C, Layer, Link, Node, wall


class UnseenFurnace(StrangeFurnace):
    """230 V, 2.1 kW hot, pot for 2.2 kg. Not for calibration: figures on it count because nothing was fitted to it."""

    furnace_file = str(Path(__file__).with_name("unseen.toml"))
    alloy = "5083"

    def __init__(self, seed: int, spread: float = 0.0, start_c: float = ROOM_C) -> None:
        """Make it from a seed; spread 0.2 varies its constants within 20 %.

        Raises:
            ValueError: spread or start_c out of range.
        """
        super().__init__(_build(Dice(seed, spread, "unseen")), seed, start_c)


def _build(dice: Dice) -> Build:
    area, conducts, heavy = dice.factor(), dice.factor(), dice.factor()
    lining = Layer("lining", 0.012, 3, 420.0 * heavy, 1050.0, 0.13 * conducts, 0.8e-4 * conducts)
    fibre = Layer("fibre", 0.075, 6, 160.0 * heavy, 1080.0, 0.035 * conducts, 2.6e-4 * conducts)
    steel = Layer("steel", 0.0015, 1, 7800.0, 480.0, 40.0)
    walls, wall_links = wall((lining, fibre, steel), 0.150 * area, 0.34 * area, 10.5)
    dense = Layer("floor", 0.064, 6, 1900.0 * heavy, 900.0, 0.55 * conducts)
    under = Layer("under", 0.03, 3, 260.0 * heavy, 1000.0, 0.08 * conducts, 1.0e-4 * conducts)
    floors, floor_links = wall((dense, under), 0.040, 0.075, 7.0)
    cover = Layer("lid", 0.06, 5, 240.0 * heavy, 1080.0, 0.05 * conducts, 2.2e-4 * conducts)
    lids, lid_links = wall((cover,), 0.036, 0.075, 11.0)
    pot, sees, leak, contact = dice.factor(0.25), dice.factor(), dice.factor(), dice.factor()
    nodes = (
        Node("element", 0.21, 460.0, 0.22),
        Node("side", 1.05 * pot, 880.0, 0.55),
        Node("base", 0.40 * pot, 880.0, 0.55),
        *walls,
        *floors,
        *lids,
    )
    always = (
        Link("element", "lining 0", 0.8, m2=0.026 * sees),
        Link("element", "side", m2=0.012 * sees),
        Link("lining 0", "side", 0.30, m2=0.031 * sees),
        Link("lining 0", "base", 0.03, m2=0.004 * sees),
        Link("side", "base", 1.6),
        Link("base", "floor 0", 0.55),
        Link("lining 0", "floor 0", m2=0.016),
        Link("lining 0", "room", 0.12 * leak, m2=4e-4 * leak),
        *wall_links,
        *floor_links,
        *lid_links,
    )
    shut = (Link("lining 0", "lid 0", m2=0.019), Link("side", "lid 0", m2=0.007))
    opened = (
        Link("lining 0", "room", 0.65, m2=0.025),
        Link("side", "room", m2=0.007),
        Link("lid 0", "room", 0.3, m2=0.027),
    )
    depth, element = 0.45 + 0.4 * (dice.factor() - 1.0), 0.03 * dice.factor(2.0)
    sensing = Sensing(
        (("lining 1", depth), ("lining 0", 1.0 - depth - element), ("element", element)),
        5200.0 * dice.factor(),
        0.85,
        30.0,
        6.0,
        0.2,
    )
    charge = Charge(
        (0.30, 0.30, 0.40),
        (
            Contact("base", 0, 1.6 * contact, 9.0 * contact),
            Contact("side", 1, 3.0 * contact, 15.0 * contact),
            Contact("side", 2, 0.6 * contact, 6.0 * contact),
            Contact(0, 1, 1.2 * contact, 25.0 * contact),
            Contact(1, 2, 1.2 * contact, 18.0 * contact),
        ),
        full_kg=2.2,
        wetting_s=60.0,
    )
    return Build(
        230.0,
        24.0 * dice.factor(0.2),
        nodes,
        always + shut,
        always + opened,
        charge,
        ("lid 0", 0.0065 * 0.3),
        sensing,
        face="lining 0",
        leak_at="lining 0",
        wet_at="floor 1",
        box_at="steel 0",
        mains_offset=dice.offset(),
    )

"""Letting a simulated furnace run for a while."""

from hardware.ports import Plant, PlantState


def run(
    furnace: Plant, seconds: float, *, on: bool = True, lid_open: bool = False, mains_factor: float = 1.0
) -> PlantState:
    """Go on in steps of one cycle with constant outputs; the state at the end."""
    for _ in range(int(seconds * 4)):
        furnace.step(0.25, element_on=on, lid_open=lid_open, mains_factor=mains_factor)
    return furnace.state

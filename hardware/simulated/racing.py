"""The fast-toggle test on a simulated furnace: the same program, on pins of its own, in the furnace's own time."""

from hardware.fast_toggle import FastToggle, fast_toggle, permit_only
from hardware.simulated.furnace import Furnace
from hardware.simulated.pins import Board


def race(furnace: Furnace) -> FastToggle:
    """Toggle the permit too fast. The furnace's clock goes on by as long as that takes, at once."""
    wiring = permit_only(furnace.wiring)
    board = Board(wiring, furnace.set_output)

    def sleep_until(moment_s: float) -> None:
        while furnace.next_grid_s <= moment_s:
            furnace.step()
        if moment_s > furnace.time_s:
            furnace.advance(moment_s)
        board.drive(furnace.interlock.inputs())

    sleep_until(furnace.time_s)
    return fast_toggle(wiring, board.factory, now_s=lambda: furnace.time_s, sleep_until_s=sleep_until)

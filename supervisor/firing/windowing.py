"""The pour window, once a second: has it opened, is it over, how long is left of it without heat.

It advises the page alone. Whether anybody may look is said in `supervisor.link.pour`, by the contactor's own word.
"""

from supervisor.firing.advise import pour_c
from supervisor.firing.firing import Run
from supervisor.firing.turn import Turn
from supervisor.firing.window import PourWindow

STEPS_AT_ONCE = 4
LOOKS_EVERY_S = 10.0
UNKNOWN_LIQUIDUS_C = 660.0  # of pure aluminium: no alloy of it begins to freeze above


def see(turn: Turn) -> None:
    """Once a second: what the estimate says of the window. A change of it makes every picture of the furnace old."""
    firing, run = turn.firing, turn.firing.run
    if run is None or run.profile.charge is None:
        return
    if firing.window.firing_id != run.firing_id:
        firing.window = PourWindow(run.firing_id)
    window, estimate = firing.window, firing.adviser.estimate
    liquid = estimate is not None and not estimate.doubt and estimate.phase == "liquid" and not run.poured
    window.liquid_since_s = (window.liquid_since_s or turn.now_s) if liquid else None
    fit = liquid and estimate is not None and estimate.metal_c >= pour_c(run.profile)
    if fit != window.fit:
        window.fit = fit
        firing.change()
    if fit and not firing.enable:
        window.was_fit_s = turn.now_s
    _look(turn, run, window)


def entered_already(turn: Turn, text: str) -> str:
    """Why a mould is not counted as full: its name was; empty: it is new, or has no name. A second tap is no mould."""
    return f"Mould {text} is entered already." if text and text in turn.firing.window.moulds else ""


def mould_full(turn: Turn, text: str) -> None:
    """One mould is full."""
    window = turn.firing.window
    window.moulds.append(text)
    window.poured_from_s = window.poured_from_s or turn.now_s


def _look(turn: Turn, run: Run, window: PourWindow) -> None:
    """Ahead, a little at a time, while heat is off: a heated window has no end."""
    if window.liquid_since_s is None or turn.firing.enable:
        window.left = window.freezes = window.cooling = None
        return
    if not window.fit:
        window.left = None
    if window.cooling is None and (window.freezes is None or turn.now_s >= window.looked_s + LOOKS_EVERY_S):
        window.to_pour = window.fit and not window.to_pour  # by turns: to where it pours, to where it freezes
        to_c = pour_c(run.profile) if window.to_pour else _freezes_c(run)
        window.cooling = turn.firing.adviser.cooldown(to_c, lid_open=turn.lid_open)
        window.looked_s = turn.now_s
    if window.cooling is None or not window.cooling.go_on(STEPS_AT_ONCE):
        return
    found, window.cooling = window.cooling.minutes, None
    if window.to_pour:
        window.left, window.left_from_s = found, window.looked_s
    else:
        window.freezes, window.freezes_from_s = found, window.looked_s


def _freezes_c(run: Run) -> float:
    charge = run.profile.charge
    return UNKNOWN_LIQUIDUS_C if charge is None or charge.liquidus_c is None else charge.liquidus_c

"""What a proof was about, in words: another pin, setting or line is not proved by it."""

from collections.abc import Callable

from supervisor.furnace.description import FurnaceDescription

Of = Callable[[FurnaceDescription], str]


def pin(line: str) -> Of:
    """The pin of a line."""

    def about(furnace: FurnaceDescription) -> str:
        return f"BCM {getattr(furnace.wiring, line)}"

    return about


def has(line: str) -> Callable[[FurnaceDescription], bool]:
    """The line is wired."""

    def fitted(furnace: FurnaceDescription) -> bool:
        return getattr(furnace.wiring, line) is not None

    return fitted


def permit(furnace: FurnaceDescription) -> str:
    """The permit's pin and everything that shows what it does."""
    wiring = furnace.wiring
    return f"permit {wiring.permit}, relays {wiring.permit_relay_1} and {wiring.permit_relay_2}, chain {wiring.chain}"


def contactor(furnace: FurnaceDescription) -> str:
    """What lets the contactor in, and what shows it."""
    wiring = furnace.wiring
    return f"enable {wiring.enable}, mirror {wiring.mirror}, relay {wiring.relay}"


def not_fitted(furnace: FurnaceDescription) -> str:
    """What is signed for as not fitted."""
    said = furnace.not_fitted
    return "nothing" if said is None or not said.lines else ", ".join(sorted(said.lines))


def limiter(furnace: FurnaceDescription) -> str:
    """The limiter's setting."""
    return f"{furnace.limiter_c:g} °C"


def sensors(furnace: FurnaceDescription) -> str:
    """Where the thermocouples hang."""
    return f"chip selects {', '.join(map(str, furnace.wiring.sensors))}"

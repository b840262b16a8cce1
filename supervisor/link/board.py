"""The computer's own health for the pages: one row for each thing, and the one thing to do about it."""

from typing import Any, Literal, NamedTuple

from hardware.ports import UNKNOWN_BOARD, BoardHealth
from supervisor.cycle import Memory

HOT_PROCESSOR_C = 80.0
"""From here on a Pi slows itself (its makers' figure for the soft limit, from memory)."""
LITTLE_ROOM_MB = 500.0

State = Literal["good", "look", "unknown"]


class Row(NamedTuple):
    """One thing of the computer. do: empty while nothing is to be done."""

    name: str
    state: State
    says: str
    do: str = ""


def parts(memory: Memory) -> dict[str, Any]:
    """The snapshot's part `board`."""
    board = UNKNOWN_BOARD if memory.sample is None else memory.sample.board
    return {"board": [row._asdict() for row in rows(board, memory.log.free_mb)]}


def rows(board: BoardHealth, free_mb: float | None) -> tuple[Row, ...]:
    """Every row, in the order in which a person would look. What cannot be told is unknown, never good."""
    return (_supply(board), _processor(board), _card(board, free_mb), _date(board), _wifi(board), _pins(board))


def _supply(board: BoardHealth) -> Row:
    do = "Use the supply that is made for this Pi, on a short thick cable, with nothing else hanging on it."
    if board.under_voltage:
        return Row("Supply", "look", "The computer's supply sags now. Reading and log can go wrong with it.", do)
    if board.under_voltage_before:
        return Row("Supply", "look", "The computer's supply has sagged since it was switched on.", do)
    if board.under_voltage is None:
        return Row("Supply", "unknown", "This computer does not say whether its supply sags.")
    return Row("Supply", "good", "The computer's supply has held.")


def _processor(board: BoardHealth) -> Row:
    at_c = board.processor_c
    at = "" if at_c is None else f" It is at {at_c:.0f} °C."
    if board.throttled or (at_c is not None and at_c >= HOT_PROCESSOR_C):
        what = "slows itself" if board.throttled else "is hot"
        do = "Give it air or a heat sink, and move it away from the furnace."
        return Row("Processor", "look", f"The processor {what}.{at}", do)
    if at_c is None:
        return Row("Processor", "unknown", "This computer does not say how hot it is.")
    return Row("Processor", "good", f"The processor keeps up.{at}")


def _card(board: BoardHealth, free_mb: float | None) -> Row:
    room = "" if free_mb is None else f" {free_mb / 1000.0:.1f} GB are free."
    if board.card_failing:
        do = "Copy the data directory to another machine today, then change the card."
        return Row("Card", "look", f"The card has counted errors, or says that it is worn.{room}", do)
    if free_mb is not None and free_mb < LITTLE_ROOM_MB:
        return Row("Card", "look", f"The card is nearly full.{room}", "Make room, or use a larger card.")
    if board.card_failing is None:
        return Row("Card", "unknown", f"The card does not say how worn it is.{room}")
    return Row("Card", "good", f"The card has counted no errors.{room}")


def _date(board: BoardHealth) -> Row:
    if board.clock_trusted:
        return Row("Date", "good", "The date comes from the network.")
    do = "Let it reach the network once after each start, or fit a clock chip."
    if board.clock_trusted is None:
        return Row("Date", "unknown", "Nothing says where the date comes from: no date is counted on.", do)
    return Row("Date", "look", "The date was not set since the start: no date is counted on, durations are right.", do)


def _wifi(board: BoardHealth) -> Row:
    if board.wifi_saves_power is False:
        return Row("Wi-Fi", "good", "Wi-Fi does not save power, or is not in use.")
    do = "Put wifi.powersave = 2 under [connection] into a file of /etc/NetworkManager/conf.d, and start the Pi again."
    if board.wifi_saves_power:
        return Row("Wi-Fi", "look", "Wi-Fi saves power: the page on a phone can stand still for seconds.", do)
    return Row("Wi-Fi", "unknown", "Nothing says whether Wi-Fi saves power; on a Pi it does unless told.", do)


def _pins(board: BoardHealth) -> Row:
    if board.keeps_outputs is False:
        return Row("Pins after a crash", "good", "When a program dies, the kernel lets go of its pins.")
    do = "Put dtparam=strict_gpiod into config.txt of the boot partition, and start the Pi again."
    if board.keeps_outputs:
        says = "When a program dies, its pins stay as they were. The heat permit lets go all the same."
        return Row("Pins after a crash", "look", says, do)
    return Row("Pins after a crash", "unknown", "This kernel does not say what becomes of a dead program's pins.", do)

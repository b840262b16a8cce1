"""The lid: open means no heat; how heat comes back depends on how long it was open and on what was done."""

from dataclasses import dataclass

from hardware.ports import Level

SHORT_S = 5.0  # an opening longer than this opens the contactor
CLOSED_FOR_S = 5.0  # without a break, before heat returns by itself
WARNING_S = 3.0  # of lamp and sounder before that


@dataclass(slots=True)
class Lid:
    """What is known of the lid in this firing. Changed by `see` alone."""

    opened_s: float | None = None  # since when it is open
    closed_s: float | None = None  # since when it is shut again after an opening; None: nothing is owed
    needs_press: bool = False
    openings: int = 0
    last_shut_s: float | None = None
    open_s: float = 0.0  # in all

    def see(self, level: Level, now_s: float, *, hands_in: bool) -> None:
        """Take the switch. hands_in: metal may be liquid, or a note said that something was done inside."""
        if level is Level.OPEN:
            if self.opened_s is None:
                self.opened_s, self.closed_s = now_s, None
                self.openings += 1
            if now_s - self.opened_s > SHORT_S or hands_in:
                self.needs_press = True
            return
        if self.opened_s is not None:
            self.open_s += now_s - self.opened_s
            self.opened_s, self.closed_s, self.last_shut_s = None, now_s, now_s
        if self.closed_s is not None and not self.needs_press and now_s - self.closed_s >= CLOSED_FOR_S:
            self.closed_s = None

    def open_for_s(self, now_s: float) -> float:
        """How long it has been open; 0 when shut."""
        return 0.0 if self.opened_s is None else now_s - self.opened_s

    def warns(self, now_s: float) -> bool:
        """Heat is about to return by itself."""
        if self.closed_s is None or self.needs_press:
            return False
        return now_s - self.closed_s >= CLOSED_FOR_S - WARNING_S

    @property
    def bars_heat(self) -> bool:
        """Open, or shut again but heat has not been given back yet."""
        return self.opened_s is not None or self.closed_s is not None

    def given_back(self) -> None:
        """A held press with the lid shut gave heat back."""
        self.closed_s, self.needs_press = None, False

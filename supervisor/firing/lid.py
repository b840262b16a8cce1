"""The lid: open means no heat; how heat comes back depends on how long it was open and on what was done."""

from dataclasses import dataclass

from hardware.ports import Level

SHORT_S = 5.0  # an opening longer than this opens the contactor
CLOSED_FOR_S = 5.0  # without a break, before heat returns by itself
WARNING_S = 3.0  # of lamp and sounder before that


@dataclass(slots=True)
class Lid:
    """What is known of the lid in this firing. Changed by `see` alone.

    A lid that bounces is one opening: it goes on until the lid has read closed for 5 s without a break.
    """

    began_s: float | None = None  # since when this opening goes on; None: nothing is owed
    opened_s: float | None = None  # since when it reads open
    closed_s: float | None = None  # since when it is shut again after an opening
    needs_press: bool = False
    openings: int = 0
    last_shut_s: float | None = None

    def see(self, level: Level, now_s: float, *, hands_in: bool) -> None:
        """Take the switch. hands_in: metal may be liquid, or a note said that something was done inside."""
        if level is Level.OPEN:
            if self.opened_s is None:
                self.opened_s, self.closed_s = now_s, None
                if self.began_s is None:
                    self.began_s = now_s
                    self.openings += 1
            if hands_in or self.open_for_s(now_s) > SHORT_S:
                self.needs_press = True
            return
        if self.opened_s is not None:
            self.opened_s, self.closed_s, self.last_shut_s = None, now_s, now_s
        if self.closed_s is not None and not self.needs_press and now_s - self.closed_s >= CLOSED_FOR_S:
            self.given_back()

    def open_for_s(self, now_s: float) -> float:
        """How long this opening has lasted; 0 while the lid reads shut."""
        return 0.0 if self.opened_s is None or self.began_s is None else now_s - self.began_s

    def warns(self, now_s: float) -> bool:
        """Heat is about to return by itself."""
        if self.closed_s is None or self.needs_press:
            return False
        return now_s - self.closed_s >= CLOSED_FOR_S - WARNING_S

    @property
    def bars_heat(self) -> bool:
        """Open, or shut again but heat has not been given back yet."""
        return self.began_s is not None

    def given_back(self) -> None:
        """The lid has been shut for long enough, or a held press with the lid shut gave heat back."""
        self.began_s, self.closed_s, self.needs_press = None, None, False

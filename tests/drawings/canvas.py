"""A sheet to draw circuits on, written as SVG: lines, words, and the few symbols that our drawings need.

Symbols after IEC 60617 as far as they go: a make contact is a blade that stands off, a break contact one that rests on
its stop, a resistor a box, a coil a box across the wire. Sizes are pixels; a symbol lies along a wire and takes 40.
"""

from html import escape

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}"'
    ' role="img" aria-label="{title}" font-family="DejaVu Sans, Verdana, sans-serif" font-size="14">'
)
INK, WEAK, HEAVY = "#1d2124", "#5c666e", "#1d2124"


class Canvas:
    """One drawing. Coordinates are of the sheet; nothing is drawn outside of it."""

    def __init__(self, width: int, height: int, title: str, notes: tuple[str, ...]) -> None:
        """notes: said at the foot of the sheet."""
        self._size = (width, height + 22 * len(notes) + 16)
        self._title = title
        self._parts: list[str] = []
        self.text(20, 30, title, size=18, bold=True)
        for number, note in enumerate(notes):
            self.text(20, height + 12 + 22 * number, note, weak=True)

    def svg(self) -> str:
        """The whole file."""
        width, height = self._size
        paper = f'<rect width="{width}" height="{height}" fill="#fff"/>'
        head = HEAD.format(width=width, height=height, title=escape(self._title, quote=True))
        return "\n".join([head, paper, *self._parts, "</svg>"]) + "\n"

    # -- lines and words ---------------------------------------------------------------------------------------------

    def line(self, *points: tuple[float, float], wide: float = 1.5, dashed: bool = False, weak: bool = False) -> None:
        """A wire through these points. wide: mains are drawn 3 wide."""
        path = " ".join(f"{x:g},{y:g}" for x, y in points)
        more = ' stroke-dasharray="5 4"' if dashed else ""
        ink = WEAK if weak else INK
        self._parts.append(f'<polyline points="{path}" fill="none" stroke="{ink}" stroke-width="{wide:g}"{more}/>')

    def text(self, x: float, y: float, words: str, *, anchor: str = "start", size: int = 14, bold: bool = False,
             weak: bool = False) -> None:  # fmt: skip
        """Words with their foot at y. anchor: start, middle or end."""
        more = (' font-weight="bold"' if bold else "") + (f' font-size="{size}"' if size != 14 else "")
        ink = WEAK if weak else INK
        self._parts.append(
            f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}" fill="{ink}"{more}>{escape(words)}</text>'
        )

    def box(self, x: float, y: float, width: float, height: float, *words: str, dashed: bool = False) -> None:
        """A box with centred words, a line each."""
        more = ' stroke-dasharray="5 4"' if dashed else ""
        self._parts.append(f'<rect x="{x:g}" y="{y:g}" width="{width:g}" height="{height:g}" fill="#fff" stroke="{INK}"'
                           f' stroke-width="1.5"{more}/>')  # fmt: skip
        top = y + height / 2 - 9 * len(words) + 14
        for number, line in enumerate(words):
            self.text(x + width / 2, top + 18 * number, line, anchor="middle")

    def dot(self, x: float, y: float) -> None:
        """A joint."""
        self._parts.append(f'<circle cx="{x:g}" cy="{y:g}" r="3.5" fill="{INK}"/>')

    def ring(self, x: float, y: float) -> None:
        """A terminal."""
        self._parts.append(f'<circle cx="{x:g}" cy="{y:g}" r="4" fill="#fff" stroke="{INK}" stroke-width="1.5"/>')

    # -- symbols on a wire that goes down: from y to y + 40 ----------------------------------------------------------

    def makes(self, x: float, y: float, *, wide: float = 1.5) -> None:
        """A contact that is open at rest."""
        self.line((x, y), (x, y + 10), wide=wide)
        self.line((x - 12, y + 12), (x, y + 30), (x, y + 40), wide=wide)

    def breaks(self, x: float, y: float, *, wide: float = 1.5) -> None:
        """A contact that is closed at rest."""
        self.line((x, y), (x, y + 10), (x + 9, y + 10), wide=wide)
        self.line((x + 7, y + 8), (x, y + 30), (x, y + 40), wide=wide)

    def resistor(self, x: float, y: float, value: str = "", *, left: bool = False) -> None:
        """A resistor, its value beside it."""
        self.line((x, y), (x, y + 8))
        self.box(x - 6, y + 8, 12, 24)
        self.line((x, y + 32), (x, y + 40))
        self._beside(x, y, value, left=left)

    def capacitor(self, x: float, y: float, value: str = "", *, left: bool = False) -> None:
        """A capacitor, its value beside it."""
        self.line((x, y), (x, y + 17))
        self.line((x - 11, y + 17), (x + 11, y + 17), wide=2.5)
        self.line((x - 11, y + 23), (x + 11, y + 23), wide=2.5)
        self.line((x, y + 23), (x, y + 40))
        self._beside(x, y, value, left=left, off=16)

    def diode(self, x: float, y: float, value: str = "", *, up: bool = False, zener: bool = False, left: bool = False,
              ) -> None:  # fmt: skip
        """A diode that lets current down, or up."""
        base, tip = (y + 28, y + 14) if up else (y + 12, y + 26)
        self.line((x, y), (x, y + 40))
        self._parts.append(f'<polygon points="{x - 9:g},{base:g} {x + 9:g},{base:g} {x:g},{tip:g}" fill="#fff"'
                           f' stroke="{INK}" stroke-width="1.5"/>')  # fmt: skip
        bend = 4 if zener else 0
        self.line((x - 9, tip + bend), (x - 9, tip), (x + 9, tip), (x + 9, tip - bend), wide=2)
        self._beside(x, y, value, left=left)

    def coil(self, x: float, y: float, name: str) -> None:
        """A coil of relay or contactor, its name inside."""
        self.line((x, y), (x, y + 8))
        self.box(x - 24, y + 8, 48, 24, name)
        self.line((x, y + 32), (x, y + 40))

    def zero(self, x: float, y: float) -> None:
        """0 V."""
        for number, half in enumerate((12, 8, 4)):
            self.line((x - half, y + 4 * number), (x + half, y + 4 * number), wide=2)

    # -- symbols on a wire that goes right: from x to x + 40 ---------------------------------------------------------

    def resistor_across(self, x: float, y: float, value: str = "") -> None:
        """A resistor, its value above it."""
        self.line((x, y), (x + 8, y))
        self.box(x + 8, y - 6, 24, 12)
        self.line((x + 32, y), (x + 40, y))
        self.text(x + 20, y - 12, value, anchor="middle")

    def capacitor_across(self, x: float, y: float, value: str = "") -> None:
        """A capacitor, its value above it."""
        self.line((x, y), (x + 17, y))
        self.line((x + 17, y - 11), (x + 17, y + 11), wide=2.5)
        self.line((x + 23, y - 11), (x + 23, y + 11), wide=2.5)
        self.line((x + 23, y), (x + 40, y))
        self.text(x + 20, y - 16, value, anchor="middle")

    def diode_across(self, x: float, y: float) -> None:
        """A diode that lets current to the right."""
        self.line((x, y), (x + 40, y))
        self._parts.append(f'<polygon points="{x + 12:g},{y - 9:g} {x + 12:g},{y + 9:g} {x + 26:g},{y:g}" fill="#fff"'
                           f' stroke="{INK}" stroke-width="1.5"/>')  # fmt: skip
        self.line((x + 26, y - 9), (x + 26, y + 9), wide=2)

    def opto(self, x: float, y: float) -> None:
        """An opto-coupler, 60 x 56: LED from (x, y + 8) to (x, y + 48), transistor from (x + 60, y + 8) to 48."""
        self._parts.append(f'<rect x="{x - 16:g}" y="{y:g}" width="92" height="56" fill="none" stroke="{WEAK}"'
                           ' stroke-width="1.5" stroke-dasharray="5 4"/>')  # fmt: skip
        self.diode(x, y + 8)
        for down in (22, 30):
            self.line((x + 16, y + down), (x + 32, y + down), weak=True)
            self.line((x + 28, y + down - 3), (x + 32, y + down), (x + 28, y + down + 3), weak=True)
        self.line((x + 42, y + 14), (x + 42, y + 42), wide=2.5)
        self.line((x + 60, y + 8), (x + 60, y + 14), (x + 42, y + 23))
        self.line((x + 42, y + 33), (x + 60, y + 42), (x + 60, y + 48))
        self.line((x + 52, y + 43), (x + 60, y + 42), (x + 56, y + 35))

    def transistor(self, x: float, y: float) -> None:
        """An n-channel MOSFET, gate at (x - 20, y + 24), drain at (x, y), source at (x, y + 40)."""
        self.line((x - 20, y + 24), (x - 14, y + 24))
        self.line((x - 14, y + 8), (x - 14, y + 32), wide=2)
        self.line((x - 9, y + 8), (x - 9, y + 32), wide=2.5)
        self.line((x, y), (x, y + 10), (x - 9, y + 10))
        self.line((x - 9, y + 30), (x, y + 30), (x, y + 40))
        self.line((x - 9, y + 20), (x, y + 20), (x, y + 30))
        self.line((x - 4, y + 16), (x - 9, y + 20), (x - 4, y + 24))

    def _beside(self, x: float, y: float, value: str, *, left: bool, off: int = 14) -> None:
        if value:
            self.text(x - off if left else x + off, y + 25, value, anchor="end" if left else "start")

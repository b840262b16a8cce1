"""The wiring that carries the heat and holds the contactor in, a drawing for each step."""

from tests.drawings.canvas import Canvas
from tests.drawings.lines import INPUTS, OUTPUTS

MAINS = (
    "Mains: by a licensed person, to the local code. Isolate, lock off, prove dead.",
    "Our own drawing; not built.",
)
LOW = ("24 V, safety extra-low voltage. Our own drawing; the circuit was simulated, not built.",)


def power() -> Canvas:
    """Step 1: from the mains to the element."""
    c = Canvas(800, 800, "1  Mains to element", MAINS)
    left, right = 250, 390
    for x, name in ((left, "L"), (right, "N")):
        c.text(x, 62, name, anchor="middle", bold=True)
        c.ring(x, 74)
        c.line((x, 78), (x, 100), wide=3)
    y = 100
    for first, second in (
        ("isolator,", "can be locked off"),
        ("earth-leakage protection 30 mA,", "trips both poles"),
        ("circuit breaker,", "matched to wire and relay"),
    ):
        for x in (left, right):
            c.makes(x, y, wide=3)
        c.line((left - 6, y + 21), (right - 6, y + 21), dashed=True, weak=True)
        c.text(right + 40, y + 18, first)
        c.text(right + 40, y + 36, second)
        y += 62
        for x in (left, right):
            c.line((x, y - 22), (x, y), wide=3)
    for x in (left, right):
        c.dot(x, y)
    c.line((left, y), (110, y), (110, y + 40))
    c.text(20, y + 60, "L and N: to the limiter's")
    c.text(20, y + 78, "own supply, and to the")
    c.text(20, y + 96, "24 V supply (step 2)")
    c.line((right, y), (right + 30, y), dashed=True, weak=True)
    c.text(right + 40, y + 5, "mains presence, where fitted", weak=True)
    y += 120
    for x in (left, right):
        c.line((x, y - 120), (x, y), wide=3)
        c.makes(x, y, wide=3)
        c.line((x, y + 40), (x, y + 80), wide=3)
        c.makes(x, y + 80, wide=3)
        c.line((x, y + 120), (x, y + 160), wide=3)
    for down, name, words in ((0, "Q1", "safety contactor, both poles, mirror contact"),
                              (80, "Q2", "second contactor: strongly advised, step 6")):  # fmt: skip
        c.line((left - 6, y + down + 21), (right - 6, y + down + 21), dashed=True, weak=True)
        c.text(left - 28, y + down + 26, name, anchor="end", bold=True)
        c.text(right + 40, y + down + 26, words)
    y += 160
    c.box(left - 60, y, 120, 56, "solid-state", "relay, in L")
    c.text(left - 72, y + 20, "+ −", anchor="end")
    c.text(left - 72, y + 38, "step 2", anchor="end", weak=True)
    c.line((right, y), (right, y + 130), wide=3)
    c.line((left, y + 56), (left, y + 84), wide=3)
    c.text(left - 28, y + 90, "current, where fitted", anchor="end", weak=True)
    c.line((left, y + 84), (left, y + 130), (left + 30, y + 130), wide=3)
    c.box(left + 30, y + 116, 80, 28, "element")
    c.line((left + 110, y + 130), (right, y + 130), wide=3)
    c.line((right + 120, y + 130), (right + 120, y + 150))
    c.zero(right + 120, y + 150)
    c.text(right + 40, y + 90, "Shell, lid frame, metal sheath, heatsink and rail")
    c.text(right + 40, y + 108, "to protective earth at one star point.")
    return c


CHAIN = (
    ("fuse", "F2, 1 A", ""),
    ("breaks", "S0 emergency stop", "T1"),
    ("makes", "limiter: held in while healthy, reset by hand", "T2"),
    ("makes", "S2 key: remote permit", ""),
    ("makes", "K0 enable", ""),
    ("makes", "K1 permit relay", ""),
    ("makes", "K2 permit relay (circuit B)", "T3"),
)


def chain() -> Canvas:
    """Step 2: the chain that holds the contactor in, and what feeds the solid-state relay."""
    c = Canvas(800, 860, "2  The 24 V chain", LOW)
    x, y = 340, 60
    c.text(x, y, "24 V", anchor="middle", bold=True)
    c.line((x, y + 8), (x, y + 20))
    y += 20
    taps = {line.at: line for line in INPUTS}
    for kind, words, tap in CHAIN:
        if kind == "fuse":
            c.resistor(x, y)
            c.line((x, y + 8), (x, y + 32))
        else:
            getattr(c, kind)(x, y)
        c.text(x + 30, y + 26, words)
        c.line((x, y + 40), (x, y + 62))
        y += 62
        if tap:
            line = taps[tap]
            c.dot(x, y - 11)
            c.line((x, y - 11), (x - 40, y - 11))
            c.text(x - 48, y - 6, f"{tap}: {line.words}, BCM {line.bcm}", anchor="end", size=12)
    c.dot(x, y)
    c.line((x, y), (x + 130, y), (x + 130, y + 8))
    c.makes(x, y + 8)
    c.makes(x + 130, y + 8)
    c.text(x - 24, y + 34, "S1 reset button", anchor="end")
    c.text(x + 156, y + 34, "Q1 auxiliary: seals itself in")
    c.line((x, y), (x, y + 8))
    c.line((x + 130, y + 48), (x + 130, y + 62), (x, y + 62))
    c.line((x, y + 48), (x, y + 84))
    y += 62
    c.dot(x, y)
    c.text(x - 48, y + 5, "T4", anchor="end")
    c.line((x, y), (x - 40, y))
    y += 22
    c.dot(x, y)
    c.line((x, y), (x - 110, y), (x - 110, y + 10))
    c.diode(x - 110, y + 10)
    c.makes(x - 110, y + 60)
    c.line((x - 110, y + 50), (x - 110, y + 60))
    c.text(x - 136, y + 86, "lid switch, closed", anchor="end")
    c.text(x - 136, y + 104, "while the lid is shut", anchor="end")
    c.line((x - 110, y + 100), (x - 110, y + 110))
    c.box(x - 170, y + 110, 120, 44, "solid-state", "relay, + and −")
    c.line((x - 110, y + 154), (x - 110, y + 164))
    relay = next(line for line in OUTPUTS if line.name == "relay")
    c.box(x - 190, y + 164, 160, 30, f"opto, BCM {relay.bcm}")
    c.line((x - 110, y + 194), (x - 110, y + 214))
    c.zero(x - 110, y + 214)
    c.line((x, y), (x, y + 20))
    c.coil(x, y + 20, "Q1")
    c.line((x, y + 12), (x + 100, y + 12), (x + 100, y + 14))
    c.dot(x, y + 12)
    c.diode(x + 100, y + 8, "39 V", zener=True, left=True)
    c.diode(x + 100, y + 44, "", up=True)
    c.line((x + 100, y + 84), (x, y + 84))
    c.dot(x, y + 84)
    c.line((x, y + 60), (x, y + 114))
    c.zero(x, y + 114)
    c.text(x + 130, y + 34, "clamp: with a plain diode")
    c.text(x + 130, y + 52, "it would open late")
    c.text(x + 30, y + 130, "0 V, earthed at one point: an earth fault blows F2")
    return c


def second_contactor() -> Canvas:
    """Step 6: the second contactor."""
    c = Canvas(
        700,
        360,
        "6  A second contactor",
        (MAINS[0], "Strongly advised: else every way to stop ends in one contact that can weld."),
    )
    x = 160
    c.text(x, 70, "T2: behind emergency stop and limiter", anchor="start")
    c.line((x, 80), (x, 120))
    c.ring(x, 80)
    c.coil(x, 120, "Q2")
    c.line((x, 108), (x + 90, 108), (x + 90, 112))
    c.dot(x, 108)
    c.diode(x + 90, 112, "39 V", zener=True)
    c.diode(x + 90, 150, "", up=True)
    c.line((x + 90, 190), (x, 190))
    c.dot(x, 190)
    c.line((x, 160), (x, 230))
    c.zero(x, 230)
    c.text(330, 140, "Its poles lie in series with those of Q1 (step 1).")
    c.text(330, 160, "It follows emergency stop and limiter alone:")
    c.text(330, 180, "the program neither needs nor reaches it.")
    c.text(20, 290, "Q1 welds: emergency stop and limiter still open Q2.")
    c.text(20, 312, "Q2 welds: nothing notices, until the yearly look with the supply isolated and locked off.")
    c.text(20, 334, "A welded Q1 is told by its mirror contact at each start and stop.")
    return c


SHEETS = {
    "wiring-1-mains": power,
    "wiring-2-chain": chain,
    "wiring-6-second-contactor": second_contactor,
}

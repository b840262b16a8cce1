"""The wiring, a drawing for each step."""

from tests.drawings.canvas import Canvas
from tests.drawings.lines import INPUTS, OPTIONAL, OUTPUTS, header, places

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


def inputs() -> Canvas:
    """Step 3: one input, and the list of them."""
    height = 330 + 26 * len(INPUTS)
    c = Canvas(860, height, "3  Inputs: each through an opto-coupler of its own", LOW)
    c.text(20, 58, "tap or contact, 24 V", weak=True)
    c.line((60, 90), (90, 90))
    c.ring(56, 90)
    c.resistor_across(90, 90, "3.9 kΩ")  # 24 V less 1.2 V: 5.8 mA
    c.line((130, 90), (190, 90), (190, 118))
    c.opto(190, 110)
    c.line((190, 158), (190, 200))
    c.zero(190, 200)
    c.text(200, 232, "0 V of the 24 V", anchor="end", weak=True)
    c.line((250, 118), (250, 90), (330, 90))
    c.dot(330, 90)
    c.line((330, 90), (330, 100))
    c.line((330, 90), (420, 90))
    c.ring(424, 90)
    c.text(438, 95, "the line's pin")
    c.line((250, 158), (250, 200))
    c.zero(250, 200)
    c.text(262, 232, "0 V of the Pi", weak=True)
    c.line((330, 100), (330, 110))
    c.resistor(330, 110, "10 kΩ")
    c.line((330, 150), (330, 170))
    c.ring(330, 174)
    c.text(344, 179, "3.3 V of the Pi")
    c.text(470, 140, "Healthy, or pressed: LED on, the pin is low.")
    c.text(470, 160, "A broken wire, a blown fuse or a dead opto-coupler")
    c.text(470, 180, "reads as open: not healthy.")
    c.text(470, 200, "All LEDs hang from a tap to 0 V, so that none can")
    c.text(470, 220, "ever feed the contactor's coil.")
    y = 280
    for x, words in ((20, "line"), (190, "closed means"), (450, "taken from"), (740, "BCM"), (800, "place")):
        c.text(x, y, words, bold=True)
    c.line((20, y + 8), (840, y + 8), weak=True)
    for line in INPUTS:
        y += 26
        c.text(20, y, line.name + (" *" if line.name in OPTIONAL else ""))
        c.text(190, y, line.words)
        c.text(450, y, line.at, size=12)
        c.text(770, y, str(line.bcm), anchor="end")
        c.text(836, y, str(line.place), anchor="end")
    c.text(20, y + 30, "* may be left out; what is not fitted proves nothing, and the page says so", weak=True)
    return c


def outputs() -> Canvas:
    """Step 4: one output, and the list of them."""
    c = Canvas(860, 290 + 26 * len(OUTPUTS), "4  Outputs: pulled down, through an opto-coupler of its own", LOW)
    c.text(20, 58, "the line's pin", weak=True)
    c.ring(44, 90)
    c.line((48, 90), (110, 90))
    c.dot(80, 90)
    c.line((80, 90), (80, 110))
    c.resistor(80, 110, "10 kΩ", left=True)
    c.line((80, 150), (80, 200))
    c.zero(80, 200)
    c.text(96, 206, "0 V of the Pi", weak=True)
    c.resistor_across(110, 90, "330 Ω")
    c.line((150, 90), (230, 90), (230, 118))
    c.opto(230, 110)
    c.line((230, 158), (230, 180), (80, 180))
    c.dot(80, 180)
    c.line((290, 118), (290, 90), (330, 90))
    c.box(330, 70, 110, 40, "what it drives")
    c.line((440, 90), (480, 90))
    c.ring(484, 90)
    c.text(496, 95, "24 V (relay: from T4, by the lid)")
    c.line((290, 158), (290, 200))
    c.zero(290, 200)
    c.text(306, 206, "0 V of the 24 V", weak=True)
    c.text(400, 140, "Nobody drives the pin, or the Pi is off: it is low, nothing is on.")
    c.text(400, 160, "Coils and lamps over 20 mA: a small transistor behind the")
    c.text(400, 180, "opto-coupler, and a diode across each coil.")
    y = 260
    for x, words in ((20, "line"), (150, "high means"), (430, "drives"), (740, "BCM"), (800, "place")):
        c.text(x, y, words, bold=True)
    c.line((20, y + 8), (840, y + 8), weak=True)
    for line in OUTPUTS:
        y += 26
        c.text(20, y, line.name)
        c.text(150, y, "a toggle a cycle: all checks passed" if line.name == "permit" else f"{line.words} on")
        c.text(430, y, line.at)
        c.text(770, y, str(line.bcm), anchor="end")
        c.text(836, y, str(line.place), anchor="end")
    return c


def sensor() -> Canvas:
    """Step 5: thermocouple and its board."""
    c = Canvas(860, 400, "5  The sensor", ("Our own drawing; not built.",))
    c.box(330, 80, 170, 170, "MAX31855 board", "mounted where the", "box is warmest")
    c.line((330, 130), (260, 130))
    c.line((330, 190), (260, 190))
    c.text(322, 124, "T+", anchor="end", size=12)
    c.text(322, 208, "T−", anchor="end", size=12)
    c.capacitor(260, 140, "10 nF", left=True)
    c.line((260, 130), (260, 140))
    c.line((260, 180), (260, 190))
    c.dot(260, 130)
    c.dot(260, 190)
    c.line((260, 130), (70, 130))
    c.line((260, 190), (70, 190))
    c.box(40, 122, 30, 76, "")
    c.text(40, 112, "type K, insulated junction")
    c.text(
        40,
        290,
        "Extension wire of type K, twisted, 100 mm from element and relay wires, crossing them at right angles.",
    )
    for number, (bcm, name) in enumerate(((11, "SCLK"), (9, "MISO"), (8, "CE0"))):
        y = 120 + 40 * number
        c.line((500, y), (540, y))
        c.resistor_across(540, y, "120 Ω" if number == 0 else "")
        c.line((580, y), (640, y))
        c.ring(644, y)
        c.text(658, y + 5, f"{name}: BCM {bcm}, place {places()[bcm]}")
    c.line((500, 240), (640, 240))
    c.ring(644, 240)
    c.text(658, 245, "3.3 V and 0 V of the Pi")
    c.text(40, 340, f"A second board: the same wires, but for CE1: BCM 7, place {places()[7]}.")
    c.text(40, 315, "Leads from board to Pi under 150 mm. BCM 10 (MOSI) stays free.")
    c.text(40, 365, "The limiter has a thermocouple of its own, beside this one.")
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


def header_map() -> Canvas:
    """Where each line lies on the Pi's header."""
    c = Canvas(
        640,
        640,
        "The Pi's header, seen from above",
        ("Place 1 is the corner with the square pad, farthest from the USB sockets.",),
    )
    for number, words in header():
        row, right = (number - 1) // 2, number % 2 == 0
        y = 70 + 28 * row
        x = 330 if right else 290
        c.box(x, y, 36, 24, str(number))
        c.text(x + 46 if right else x - 10, y + 17, words or "free", anchor="start" if right else "end", weak=not words)
    return c


SHEETS = {
    "wiring-1-mains": power,
    "wiring-2-chain": chain,
    "wiring-3-inputs": inputs,
    "wiring-4-outputs": outputs,
    "wiring-5-sensor": sensor,
    "wiring-6-second-contactor": second_contactor,
    "wiring-header": header_map,
}

"""The wiring between furnace and Pi: inputs, outputs, sensor and header, a drawing for each step."""

from tests.drawings.canvas import Canvas
from tests.drawings.lines import INPUTS, OPTIONAL, OUTPUTS, header, places
from tests.drawings.wiring import LOW


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
    "wiring-3-inputs": inputs,
    "wiring-4-outputs": outputs,
    "wiring-5-sensor": sensor,
    "wiring-header": header_map,
}

"""Both permit circuits. Values come from the netlists that were simulated: drawing and figures are of one circuit."""

import re
from pathlib import Path

from tests.drawings.canvas import Canvas
from tests.drawings.lines import OUTPUTS

CIRCUITS = Path(__file__).resolve().parents[2] / "docs" / "circuits"
NOTES = ("Simulated, not built: docs/circuits. Film capacitors, 1 % resistors, diodes 1N4148 class.",
         "Whoever builds it answers for it. It shows that the program runs, not that it is right.")  # fmt: skip


def values(circuit: str) -> dict[str, str]:
    """The part values of a netlist, as people write them: `910 kΩ`, `4.7 µF`."""
    text = (CIRCUITS / f"{circuit}.cir").read_text(encoding="utf-8")
    found: dict[str, str] = {}
    for line in re.findall(r"^\.param (.+)$", text, re.MULTILINE):
        for name, value in re.findall(r"(\w+)=([\d.]+(?:meg|[kunmg])?)", line):
            found[name] = value
    for name, value in re.findall(r"^(R\w+) \S+ \S+ ([\d.]+(?:meg|k)?)$", text, re.MULTILINE):
        found[name] = value
    return {name: _words(name, value) for name, value in found.items()}


def _words(name: str, value: str) -> str:
    number = re.match(r"[\d.]+", value)
    assert number is not None
    unit = value[number.end() :]
    if unit == "u":
        return f"{number[0]} µF"
    return f"{number[0]} {({'meg': 'M', 'k': 'k', '': ''}).get(unit, unit)}Ω".replace(" Ω", " Ω")


def _front(c: Canvas, v: dict[str, str], y: float) -> float:
    """Pin, opto-coupler and emitter follower; the x at which its output, at height y, goes on."""
    permit = next(line for line in OUTPUTS if line.name == "permit")
    c.text(20, y - 54, f"BCM {permit.bcm}, permit")
    c.ring(24, y - 20)
    c.line((28, y - 20), (90, y - 20))
    c.dot(60, y - 20)
    c.line((60, y - 20), (60, y + 10))
    c.resistor(60, y + 10, v["Rpd"], left=True)
    c.line((60, y + 50), (60, y + 80))
    c.dot(60, y + 80)
    c.zero(60, y + 110)
    c.line((60, y + 80), (60, y + 110))
    c.resistor_across(90, y - 20, v["R1"])
    c.line((130, y - 20), (180, y - 20), (180, y - 4))
    c.opto(180, y - 12)
    c.line((180, y + 36), (180, y + 80), (60, y + 80))
    c.line((240, y - 4), (240, y - 60))
    c.text(240, y - 68, "12 V", anchor="middle")
    c.line((240, y + 36), (240, y + 60))
    c.dot(240, y + 60)
    c.resistor(240, y + 70, v["rx"], left=True)
    c.line((240, y + 60), (240, y + 70))
    c.zero(240, y + 110)
    c.line((240, y + 60), (290, y + 60))
    return 290


def _cell(c: Canvas, x: float, y: float, cap: str, res: str) -> None:
    """A storage capacitor with its resistor to 0 V, from a wire at height y."""
    c.dot(x, y)
    c.line((x, y), (x, y + 20))
    c.capacitor(x, y + 20, cap, left=True)
    c.line((x, y + 60), (x, y + 70))
    c.zero(x, y + 70)
    c.dot(x + 60, y)
    c.line((x, y), (x + 60, y), (x + 60, y + 20))
    c.resistor(x + 60, y + 20, res)
    c.line((x + 60, y + 60), (x + 60, y + 70))
    c.zero(x + 60, y + 70)


def _relay(c: Canvas, x: float, y: float, name: str) -> None:
    """A relay's coil with its clamp, from 24 V at y to y + 110."""
    c.text(x, y - 8, "24 V", anchor="middle")
    c.line((x, y), (x, y + 30))
    c.dot(x, y + 15)
    c.coil(x, y + 30, name)
    c.line((x, y + 70), (x, y + 110))
    c.dot(x, y + 95)
    c.line((x, y + 15), (x + 70, y + 15))
    c.diode(x + 70, y + 15, "36 V", zener=True)
    c.diode(x + 70, y + 55, "", up=True)
    c.line((x + 70, y + 95), (x, y + 95))


def _pump(c: Canvas, x: float, y: float, cap: str, ra: str) -> float:
    """The pump's capacitor and what makes it forget; the x of its output."""
    c.capacitor_across(x, y, cap)
    c.line((x + 40, y), (x + 130, y))
    for at in (x + 60, x + 130):
        c.dot(at, y)
        c.line((at, y), (at, y + 20))
    c.diode(x + 60, y + 20, up=True)
    c.resistor(x + 130, y + 20, ra)
    for at in (x + 60, x + 130):
        c.line((at, y + 60), (at, y + 70))
        c.zero(at, y + 70)
    return x + 130


def circuit_a() -> Canvas:
    """Circuit A: a pump with two storage cells."""
    v = values("permit-a")
    c = Canvas(1060, 480, "Permit circuit A: pump", NOTES)
    y = 200
    x = _pump(c, _front(c, v, y), y + 60, v["c1v"], v["ra"])
    y += 60
    c.line((x, y), (x + 30, y), (x + 30, y - 90), (x + 50, y - 90))
    c.dot(x + 30, y)
    c.line((x + 30, y), (x + 30, y + 70), (x + 50, y + 70))
    for top, cap, res in ((y - 90, v["c2a"], v["r2a"]), (y + 70, v["c2b"], v["r2b"])):
        c.diode_across(x + 50, top)
        c.line((x + 90, top), (x + 150, top))
        _cell(c, x + 150, top, cap, res)
        c.line((x + 210, top), (x + 280, top))
        c.resistor_across(x + 280, top, v["Rg1"])
    right = x + 400
    c.line((x + 320, y - 90), (x + 350, y - 90), (x + 350, y - 6), (right - 20, y - 6))
    c.line((x + 320, y + 70), (x + 350, y + 70), (x + 350, y + 54), (right - 20, y + 54))
    _relay(c, right, y - 140, "K1")
    c.transistor(right, y - 30)
    c.text(right + 12, y - 6, "M1")
    c.line((right, y + 10), (right, y + 30))
    c.transistor(right, y + 30)
    c.text(right + 12, y + 54, "M2")
    c.zero(right, y + 70)
    c.text(20, 440, "Each rising edge lifts both cells. The 22 kΩ are never left out: without them it holds for 4.8 s"
                    " after a pin that sticks high.".replace("22 kΩ", v["ra"]))  # fmt: skip
    c.text(20, 462, "A pin that races is not noticed; a welded K1 does not let go.")
    return c


def circuit_b() -> Canvas:
    """Circuit B: a window, two channels of different kind."""
    v = values("permit-b")
    c = Canvas(1100, 560, "Permit circuit B: window", NOTES)
    y = 260
    x = _front(c, v, y)
    y += 60
    c.box(x, y - 34, 130, 68, "monostable U1B,", f"{v['t1r']} × {v['t1c']}:", "0.18 s")
    c.text(x + 65, y + 52, "from a rising edge", anchor="middle", size=12)
    x += 130
    c.line((x, y), (x + 20, y))
    c.dot(x + 20, y)
    top, low = y - 160, y + 110
    c.line((x + 20, low), (x + 20, top), (x + 40, top))
    c.line((x + 20, low), (x + 40, low))
    px = _pump(c, x + 40, top, v["c1v"], v["ra"])
    c.line((px, top), (px + 40, top))
    c.diode_across(px + 40, top)
    c.line((px + 80, top), (px + 120, top))
    _cell(c, px + 120, top, v["c2a"], v["r2a"])
    gate = px + 180
    c.line((gate, top), (gate + 50, top))
    c.resistor_across(gate + 50, top, v["Rg1"])
    right = gate + 170
    c.line((gate + 90, top), (gate + 120, top), (gate + 120, top + 34), (right - 20, top + 34))
    _relay(c, right, top - 100, "K1")
    c.transistor(right, top + 10)
    c.text(right + 12, top + 34, "M1")
    c.zero(right, top + 50)
    c.box(x + 40, low - 34, 150, 68, "monostable U1A,", f"{v['t2r']} × {v['t2c']}:", "1.35 s, retriggered")
    c.text(x + 115, low + 52, "from the end of each pulse", anchor="middle", size=12)
    c.line((x + 190, low), (gate + 50, low))
    c.resistor_across(gate + 50, low, v["Rg2"])
    c.line((gate + 90, low), (gate + 120, low), (gate + 120, low + 24), (right - 20, low + 24))
    _relay(c, right, low - 110, "K2")
    c.transistor(right, low)
    c.text(right + 12, low + 24, "M2")
    c.zero(right, low + 40)
    c.text(
        20,
        520,
        "Edges closer than 0.18 s melt into one level: a pin that races lets both relays go, as does one that stands.",
    )
    c.text(
        20,
        542,
        "U1: dual retriggerable precision monostable of the 4538 class at 12 V, width = R × C, clamped at 15 V.",
    )
    return c


SHEETS = {"permit-a": circuit_a, "permit-b": circuit_b}

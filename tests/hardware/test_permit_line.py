"""The heat permit says that every check of a cycle passed: so nothing but a cycle may move its line."""

import ast
from itertools import pairwise
from pathlib import Path
from threading import Thread
from typing import NamedTuple

from hardware.ports import OFF, Permit
from hardware.simulated.furnace import Furnace
from tests.hardware.mock_pi import MockPi
from tests.hardware.tiny import TOGGLE, WIRING, TinyPlant

ROOT = Path(__file__).parents[2]
LINES, FAST_TOGGLE = "hardware/lines.py", "hardware/fast_toggle.py"
PULSING = ("blink", "pulse", "PWMOutputDevice", "PWMLED", "tx_pwm", "tx_pulse", "tx_servo", "tx_wave")
LOOKED_FOR = {*PULSING, "OutputDevice", "_write", "_move_permit", "on", "off", "toggle", "apply", "cycle"}


class Called(NamedTuple):
    """One call in the sources."""

    file: str
    function: str  # the innermost one that it stands in
    name: str  # of what is called, without what stands in front of a dot
    text: str
    line: int


class Reader(ast.NodeVisitor):
    """Everything in one file that could move a pin, in one walk."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.functions = [""]
        self.calls: list[Called] = []
        self.imports: set[str] = set()
        self.set: dict[str, str] = {}  # attribute that is assigned, and the statement

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        self.functions.append(node.name)
        self.generic_visit(node)
        self.functions.pop()

    def visit_Call(self, node: ast.Call) -> None:
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        if name in LOOKED_FOR:
            self.calls.append(Called(self.file, self.functions[-1], name, ast.unparse(node), node.lineno))
        self.generic_visit(node)

    def visit_Import(self, node: ast.Import) -> None:
        self.imports |= {alias.name for alias in node.names}

    def visit_ImportFrom(self, node: ast.ImportFrom) -> None:
        self.imports |= {node.module or "", *(f"{node.module}.{alias.name}" for alias in node.names)}

    def visit_Assign(self, node: ast.Assign) -> None:
        for target in node.targets:
            if isinstance(target, ast.Attribute) and target.attr.startswith(("source", "when_")):
                self.set[target.attr] = ast.unparse(node)
        self.generic_visit(node)


def read(file: Path) -> Reader:
    reader = Reader(str(file.relative_to(ROOT)))
    reader.visit(ast.parse(file.read_text(encoding="utf-8")))
    return reader


SOURCES = [read(file) for folder in ("hardware", "supervisor", "web") for file in sorted((ROOT / folder).rglob("*.py"))]


def calls(name: str, file: str = "") -> list[Called]:
    """Every call of a function or method of this name."""
    return [call for source in SOURCES for call in source.calls if call.name == name and file in ("", call.file)]


def importing(*packages: str) -> set[str]:
    return {source.file for source in SOURCES if any(name.startswith(packages) for name in source.imports)}


def test_outputs_are_opened_in_one_module_and_in_the_program_for_commissioning() -> None:
    assert {call.file for call in calls("OutputDevice")} == {LINES, FAST_TOGGLE}
    assert importing("gpiozero", "lgpio") == {LINES, FAST_TOGGLE, "hardware/pi.py", "hardware/simulated/pins.py"}


def test_the_permit_is_written_at_one_place_which_one_place_calls() -> None:
    writes = [call for call in calls("_write", LINES) if "self._permit" in call.text]
    assert [call.function for call in writes] == ["_move_permit"]
    assert [call.function for call in calls("_move_permit")] == ["apply"]
    direct = [call.text for name in ("on", "off", "toggle") for call in calls(name, LINES)]
    assert sorted(direct) == ["device.off()", "device.off()", "device.on()"]


def test_nothing_that_pulses_by_itself_is_used() -> None:
    assert [call for helper in PULSING for call in calls(helper)] == []


def test_no_source_and_no_callback_drives_an_output() -> None:
    hardware = [source for source in SOURCES if source.file.startswith("hardware/")]
    assert not [source.file for source in hardware if "source" in source.set]
    watching = {name: text for source in SOURCES for name, text in source.set.items() if name.startswith("when_")}
    assert watching == {"when_activated": "meter.when_activated = self._count_pulse"}


def test_outputs_are_applied_by_loops_over_cycles_and_by_the_guided_check_alone() -> None:
    applying = {call.file for call in calls("apply") if "hardware.apply(" in call.text or "lines.apply(" in call.text}
    backends = {"hardware/pi.py", "hardware/simulated/in_process.py", "hardware/simulated/client.py"}
    loops = {"supervisor/loop.py", "supervisor/rehearsal/rehearse.py", "supervisor/rehearsal/drill/trial.py"} | {
        "supervisor/example/fire.py"
    }
    assert applying == backends | loops | {"supervisor/cli/check_rig.py"}


def test_the_loop_applies_what_the_cycle_decided_after_all_else_and_once() -> None:
    (call,) = calls("apply", "supervisor/loop.py")
    (cycle,) = calls("cycle", "supervisor/loop.py")
    assert (call.function, call.text) == ("_turn", "self._hardware.apply(step.outputs)")
    assert cycle.function == "_turn"
    assert cycle.line < call.line


def test_the_program_that_races_the_line_is_no_part_of_the_supervisor() -> None:
    assert importing("hardware.fast_toggle") == {"hardware/simulated/racing.py"}


def test_no_edge_comes_while_no_cycle_is_made() -> None:
    pi = MockPi(Furnace(TinyPlant(), WIRING, seed=1, limiter_c=900.0))
    for _ in range(8):
        pi.hardware.sample()
        pi.hardware.apply(TOGGLE)
    before = len(pi.furnace.edges)
    meanwhile = [Thread(target=pi.hardware.sample) for _ in range(1)]  # a thread that reads moves nothing
    for thread in meanwhile:
        thread.start()
        thread.join()
    pi.wait(60.0)
    edges = [edge for edge in pi.furnace.edges[before:] if edge.line == "permit"]
    assert edges == []
    assert not pi.furnace.interlock.chain_made


def test_a_cycle_gives_one_edge_at_most_and_still_gives_none() -> None:
    pi = MockPi(Furnace(TinyPlant(), WIRING, seed=1, limiter_c=900.0))
    for _ in range(8):
        pi.hardware.sample()
        for _ in range(5):  # whoever applies again in the same cycle moves nothing more
            pi.hardware.apply(TOGGLE)
    times_s = [edge.time_s for edge in pi.furnace.edges if edge.line == "permit"]
    assert len(times_s) == 8
    assert all(later - earlier >= 0.2 for earlier, later in pairwise(times_s))
    for _ in range(8):
        pi.hardware.sample()
        pi.hardware.apply(OFF)
    assert len([edge for edge in pi.furnace.edges if edge.line == "permit"]) == 8
    assert OFF.permit is Permit.STILL

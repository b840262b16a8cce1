"""Cut one firing anywhere: a new supervisor begins on the log as it was on disk then, beside the furnace as it was.

`python -m tests.campaigns.restart --cuts 10000 --seed 1`. Each cut is a kill or a power cut; what had not reached the
disk is lost. For a minute somebody presses whenever the lamp asks, and a page asks to go on. Nothing may heat. Every
figure is of the simulated furnace, in virtual time; whether it heated is read from the furnace's own record.
"""

import json
import os
import shutil
import tempfile
import traceback
from collections import deque
from collections.abc import Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from contextlib import ExitStack
from math import inf
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

import click

from hardware.clock import monotonic_s
from hardware.lines import OUTPUT_LINES
from hardware.ports import CYCLE_S
from hardware.simulated.in_process import InProcess
from supervisor.begin import begin
from supervisor.firing import commands as c
from supervisor.firing.states import State
from supervisor.logbook.directory import open_directory
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import Record
from supervisor.logbook.scribe import BATCH_MS, Scribe
from supervisor.model.cooling import slowest_cooling
from tests.campaigns.ended import end
from tests.supervisor.furnace_at_hand import BENCH, FurnaceAtHand, furnace_at_hand, melt

LAGS = (0, 1, 4, 8)
"""Cycles by which the disk is behind: a log of the firing for each."""
RUNS_FOR_S = 60.0
OPEN_WITHIN_S = 3.0
UTC_MS = 1_789_000_000_000


class Cut(NamedTuple):
    """One restart."""

    cycle: int
    state: str  # of the firing at the cut
    power: bool  # the mains went, and the computer with them; else the program was killed
    left_open: bool  # the log had a firing without its closing record
    share_molten: float
    fault: str  # empty: nothing went wrong


def firing(hand: FurnaceAtHand) -> Iterator[None]:
    """A whole firing as a person does it, one cycle at a time: hold, lid, addition, trip, reset, and a second start."""
    hand.furnace.add_charge(1.5, 20.0, "6082")
    yield from _for(1.0)
    yield from _said(hand, c.Prepare(hand.by(), melt(mass_kg=1.5, rate_c_per_h=2400.0), None))
    yield from _said(hand, hand.start_command())
    hand.answer_everything(2.0)
    yield from _until(lambda: hand.state is State.RUNNING)
    yield from _until(lambda: hand.reading_c > 400.0)
    yield from _said(hand, c.Hold(hand.by()))
    yield from _for(20.0)
    yield from _said(hand, c.Resume(hand.by(), hand.epoch))
    yield from _until(lambda: hand.reading_c > 640.0)
    hand.furnace.lid(True)
    yield from _for(15.0)
    hand.furnace.add_charge(0.3, 20.0, "6082")
    yield from _said(hand, c.Note(hand.by(), c.NoteKind.ADDITION, hand.epoch, mass_kg=0.3))
    hand.furnace.lid(False)
    yield from _until(lambda: hand.memory.firing.run is not None and hand.memory.firing.run.gate.may_be_liquid)
    yield from _until(lambda: hand.furnace.plant.state.share_molten > 0.5)
    hand.furnace.mains(False)
    yield from _for(20.0)
    hand.furnace.mains(True)
    yield from _until(lambda: hand.state is State.ABORTED)
    yield from _for(20.0)
    yield from _said(hand, c.Reset(hand.by(), "the mains went"))
    yield from _until(lambda: hand.state is State.STOPPED)
    yield from _for(10.0)
    yield from _said(hand, c.Prepare(hand.by(), melt(mass_kg=1.8, word=False), None))
    yield from _for(5.0)
    hand.memory.firing.cold_checked = True
    yield from _said(hand, hand.start_command())
    yield from _until(lambda: hand.state is State.RUNNING)
    yield from _for(60.0)
    yield from _said(hand, c.Stop(hand.by()))
    yield from _for(20.0)


_WAITING: deque[c.Command] = deque()


def _said(hand: FurnaceAtHand, command: c.Command) -> Iterator[None]:
    _WAITING.append(command)
    yield
    yield


def _for(seconds: float) -> Iterator[None]:
    for _ in range(round(seconds / CYCLE_S)):
        yield


def _until(done: Any) -> Iterator[None]:
    for _ in range(round(4 * 3600.0 / CYCLE_S)):
        if done():
            return
        yield
    raise AssertionError("the firing does not come as far as it should")


class Log:
    """The log of the firing as a disk has it that is some cycles behind."""

    def __init__(self, directory: Path, lag: int, hand: FurnaceAtHand, parts: ExitStack) -> None:
        self.directory = directory
        self._lag = lag
        self._unwritten: deque[list[Record]] = deque()
        kept = parts.enter_context(open_directory(directory, backend="simulated", furnace=BENCH.name))
        self._scribe = parts.enter_context(
            Scribe(kept, boot_id="boot-1", utc_ms=lambda: UTC_MS + round(hand.now_s * 1000), threaded=False)
        )
        self._scribe._batch_ms = BATCH_MS  # as on a real clock
        self._scribe.clock(hand.now_s, UTC_MS, "network")

    def put(self, records: list[Record]) -> None:
        """Take what a cycle gave, and write what came so many cycles before."""
        self._unwritten.append(records)
        if len(self._unwritten) > self._lag:
            self._scribe.put(self._unwritten.popleft())


def run(directory: Path, cuts: Mapping[int, frozenset[int]], seed: int) -> tuple[int, list[Cut]]:
    """Run the firing once, cut it at these cycles, and go on; how many cycles it has, and what came of each cut.

    cuts: by the lag of the disk.
    """
    found: list[Cut] = []
    hand, cycle = furnace_at_hand(seed=seed), 0
    slowest = slowest_cooling(BENCH, None)
    with ExitStack() as parts:
        logs = {lag: Log(directory / str(lag), lag, hand, parts) for lag in cuts}
        for _ in firing(hand):
            before = len(hand.records)
            answers = hand.turn(*_WAITING)
            _WAITING.clear()
            assert all(answer.accepted for answer in answers), answers
            for lag, log in logs.items():
                log.put(hand.records[before:])
                if cycle in cuts[lag]:
                    found.append(_in_a_child(hand, log.directory, cycle, seed, slowest))
            cycle += 1
    return cycle, found


def _in_a_child(hand: FurnaceAtHand, directory: Path, cycle: int, seed: int, slowest: Any) -> Cut:
    """Fork: the child has furnace and log as they are now, and goes its own way."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        try:
            _tell(writer, hand, directory, cycle, seed, slowest)
        finally:
            os._exit(0)  # whatever happens: it must never go on as if it were the parent
    os.close(writer)
    with os.fdopen(reader, "rb") as pipe:
        told = pipe.read()
    os.waitpid(child, 0)
    return Cut(*json.loads(told))


def _tell(writer: int, hand: FurnaceAtHand, directory: Path, cycle: int, seed: int, slowest: Any) -> None:
    with tempfile.TemporaryDirectory(prefix="cut") as home:
        try:
            cut = _cut(hand, directory, Path(home), cycle, seed, slowest)
        except BaseException:  # noqa: BLE001 - told to the parent, which fails
            cut = Cut(cycle, hand.state.value, False, False, 0.0, traceback.format_exc())
        os.write(writer, json.dumps(cut).encode())


def _cut(hand: FurnaceAtHand, directory: Path, home: Path, cycle: int, seed: int, slowest: Any) -> Cut:
    random = Random(f"{seed} {cycle}")
    power, state, furnace = random.random() < 0.5, hand.state.value, hand.furnace
    data = home / "data"
    shutil.copytree(directory, data)
    if power:
        furnace.mains(False)
        for line in OUTPUT_LINES:
            furnace.set_output(line, False)
    for _ in range(round((random.uniform(0.1, 30.0) if power else random.uniform(0.5, 3.0)) / CYCLE_S)):
        furnace.step()
    if power:
        furnace.mains(True)
    for line in OUTPUT_LINES:  # as opening real pins does
        furnace.set_output(line, False)
    hardware = InProcess(furnace)
    boot = "boot-2" if power else "boot-1"
    with open_directory(data, backend="simulated", furnace=BENCH.name) as kept:
        utc_ms = UTC_MS + round(furnace.time_s * 1000)
        scribe = Scribe(kept, boot_id=boot, utc_ms=lambda: UTC_MS + round(furnace.time_s * 1000), threaded=False)
        with open_log(data) as log:
            begun = begin(
                log, BENCH, hardware.sample(), backend="simulated", boot_id=boot, utc_ms=utc_ms, slowest=slowest
            )
        scribe.put(begun.records)
        again = FurnaceAtHand(furnace, hardware, begun.memory)
        again.answer_everything(1.0)
        left_open = begun.memory.firing.left_open is not None
        fault = _watch(again, scribe)
    return Cut(cycle, state, power, left_open, furnace.plant.state.share_molten, fault)


def _watch(again: FurnaceAtHand, scribe: Scribe) -> str:
    """A minute of it: what went wrong, in a sentence; empty: nothing."""
    furnace, began_s = again.furnace, again.furnace.time_s
    first = len(furnace.edges)
    joules = inf
    if again.state is not State.STOPPED:
        return f"it came back {again.state.value}"
    liquid = furnace.plant.state.share_molten > 0.05
    for number in range(round(RUNS_FOR_S / CYCLE_S)):
        before = len(again.records)
        commands = [c.Resume(again.by(), again.epoch)] if number % 40 == 20 else []
        again.turn(*commands)
        scribe.put(again.records[before:])
        if joules is inf and furnace.time_s - began_s >= OPEN_WITHIN_S:
            joules = furnace.plant.state.supplied_j
        if again.memory.outputs.relay or again.memory.outputs.enable:
            return f"after {furnace.time_s - began_s:.2f} s it gave {again.memory.outputs}"
    on = [
        edge
        for edge in furnace.edges[first:]
        if edge.level and edge.line in ("relay", "enable", "contactor", "element")
    ]
    if on:
        return f"{on[0].line} went on {on[0].time_s - began_s:.2f} s after it began"
    if furnace.plant.state.supplied_j > joules:
        return f"{furnace.plant.state.supplied_j - joules:.0f} J were supplied"
    if liquid and not again.shown()["may_be_liquid"] and furnace.plant.state.share_molten > 0.05:
        return f"{furnace.plant.state.share_molten:.2f} of the metal is liquid, and nobody says so"
    return ""


def _job(cuts: Mapping[int, frozenset[int]], seed: int) -> tuple[int, list[Cut]]:
    with tempfile.TemporaryDirectory(prefix="restart") as directory:
        return run(Path(directory), cuts, seed)


def restarts(cuts: int, seed: int, workers: int) -> list[Cut]:
    """So many cuts, spread over the runs."""
    with ProcessPoolExecutor(workers) as pool:
        length, _ = pool.submit(_job, {}, seed).result()  # what is kept of it changes nothing
        places = {}
        for number, lag in enumerate(LAGS):
            share = cuts // len(LAGS) + (number < cuts % len(LAGS))
            places[lag] = Random(f"{seed} {lag}").sample(range(length), min(share, length))
        shares = [{lag: frozenset(at[part::workers]) for lag, at in places.items()} for part in range(workers)]
        jobs = [pool.submit(_job, share, seed) for share in shares]
        return sorted(cut for job in jobs for cut in job.result()[1])


@click.command()
@click.option("--cuts", type=click.IntRange(1), default=10_000, show_default=True)
@click.option("--seed", type=int, default=1, show_default=True)
@click.option("--workers", type=click.IntRange(1), default=os.cpu_count() or 1, show_default=True)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def main(cuts: int, seed: int, workers: int, as_json: bool) -> None:
    """Cut one firing anywhere, begin anew, and see that nothing heats. Exit status: 0 nothing did, 1 something did."""
    began_s = monotonic_s()
    found = restarts(cuts, seed, workers)
    took_s = monotonic_s() - began_s
    bad = [cut for cut in found if cut.fault]
    by_state = {state: sum(cut.state == state for cut in found) for state in dict.fromkeys(cut.state for cut in found)}
    told = {
        "cuts": len(found),
        "by_state": by_state,
        "power_cuts": sum(cut.power for cut in found),
        "with_an_open_firing": sum(cut.left_open for cut in found),
        "with_liquid_metal": sum(cut.share_molten > 0.05 for cut in found),
        "went_wrong": len(bad),
        "seconds": round(took_s, 1),
        "faults": [cut._asdict() for cut in bad[:10]],
    }
    end(told, went_wrong=bool(bad), as_json=as_json)


if __name__ == "__main__":
    main()

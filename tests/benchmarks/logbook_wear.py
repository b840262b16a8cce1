"""What a firing hour costs a card: a supervisor at true pace, its data on an ext4 image of its own, counted by Linux.

Bytes are those that the image's block device was given; syncs are the supervisor's own calls. Needs root, for the image
and its mount, and strace. A faster pace would mislead: it is the time between two batches that the file system counts.
"""

import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from hardware.clock import monotonic_s, sleep_s
from supervisor.link.client import SOCKET_NAME, Link
from supervisor.logbook.reading import open_log
from supervisor.refusal import InputRefused
from tests.benchmarks.figure import Figure
from tests.end_to_end.site import PROGRAM, Site

IMAGE_MB = 600
"""Smaller ones get blocks of 1 KiB by default, which halves the figures."""
SECTOR_B = 512
WARM_UP_S, COUNTED_S, IDLE_S = 7 * 60.0, 10 * 60.0, 120.0
SETTLES_S = 90.0
"""After a start: the kernel writes what nobody synced within 35 s, and puts its journal in place 30 s later."""
NOTES_PER_H = 20
"""Remarks that somebody writes meanwhile, each an event and a command: what a busy firing has."""
_SYNC = re.compile(r"^(?:\d+ +)?(\d+\.\d+) f(?:data)?sync\(")


class Counted(NamedTuple):
    """What the image's device took so far."""

    written_b: int
    flushes: int


def can_count() -> str:
    """Why this cannot be counted here; empty: it can."""
    missing = [tool for tool in ("mkfs.ext4", "losetup", "mount", "umount", "strace") if shutil.which(tool) is None]
    if os.geteuid() != 0:
        return "it takes root, to mount an image"
    return f"{', '.join(missing)} missing" if missing else ""


def figures(*, share: float, tell: Callable[[str], None]) -> list[Figure]:
    """Count a firing and an idle supervisor. share: of the ten minutes and the seven before them.

    Raises:
        InputRefused: it cannot be counted here.
    """
    if why := can_count():
        raise InputRefused(f"logbook, the wear of a card: {why}.")
    with tempfile.TemporaryDirectory(prefix="wear") as name, _image(Path(name)) as (mounted, device):
        return _count(Path(name), mounted, device, share, tell)


def _count(place: Path, mounted: Path, device: str, share: float, tell: Callable[[str], None]) -> list[Figure]:
    trace = place / "syncs"
    site = Site(place, rate_c_per_h=150.0)
    site.data = mounted / "data"  # the simulated furnace's own record is none of the card's
    site.link = Link(site.data / SOCKET_NAME)
    with site:
        traced = ("strace", "-f", "--seccomp-bpf", "-ttt", "-e", "trace=fsync,fdatasync", "-o", str(trace))
        site.supervisor = (*traced, *PROGRAM)
        site.start()
        tell("idle")
        sleep_s(SETTLES_S * share)
        before = _taken(device, mounted)
        sleep_s(IDLE_S * share)
        idle_b = _taken(device, mounted).written_b - before.written_b
        site.fire()
        tell("warming up")
        _pass(site, WARM_UP_S * share)
        tell("counting")
        before, began_s, events = _taken(device, mounted), monotonic_s(), _events(site)
        syncs = _syncs(trace)
        _pass(site, COUNTED_S * share)
        syncs = _syncs(trace) - syncs
        after, hours = _taken(device, mounted), (monotonic_s() - began_s) / 3600.0
        events = _events(site) - events
        site.send(command="stop")
        site.wait_for("stopped")
    note = f"{hours * 60:.1f} min at true pace after {WARM_UP_S * share / 60:.1f} of warming up"
    note += f"; {events / hours:.0f} events an hour"
    mb = (after.written_b - before.written_b) / 1e6
    return [
        Figure("log_mb_per_firing_hour", mb / hours, "MB/h", 12.0, f"written to the device, {note}"),
        Figure(
            "log_syncs_per_firing_hour", syncs / hours, "1/h", 450.0, "calls of the supervisor; baseline: the limit"
        ),
        Figure("log_flushes_per_firing_hour", (after.flushes - before.flushes) / hours, "1/h", None, "of the device"),
        Figure("log_idle_bytes", idle_b, "B", None, f"in {IDLE_S * share:.0f} s of a supervisor at rest"),
    ]


def _pass(site: Site, seconds: float) -> None:
    """Let time pass while somebody writes remarks. Signs of somebody are not due within it."""
    until_s, note_s = monotonic_s() + seconds, monotonic_s() + 3600.0 / NOTES_PER_H
    while (now_s := monotonic_s()) < until_s:
        if now_s >= note_s:
            note_s += 3600.0 / NOTES_PER_H
            site.send(command="note", kind="remark", text="a word", epoch=site.link.snapshot()["epoch"])
        sleep_s(0.2)


def _events(site: Site) -> int:
    with open_log(site.data) as log:
        return int(log.rows("SELECT count(*) FROM event")[0][0])


def _syncs(trace: Path) -> int:
    return sum(_SYNC.match(line) is not None for line in trace.read_text(errors="replace").splitlines())


def _taken(device: str, mounted: Path) -> Counted:
    """What the device took, what the file system still holds back included: the kernel writes it within 5 s."""
    sleep_s(6.0)
    fields = (Path("/sys/block") / Path(device).name / "stat").read_text().split()
    return Counted(int(fields[6]) * SECTOR_B, int(fields[15]))


@contextmanager
def _image(place: Path) -> Iterator[tuple[Path, str]]:
    """An ext4 file system with blocks of 4 KiB in a sparse file, mounted: where, and its device."""
    image, mounted = place / "image", place / "m"
    with image.open("wb") as file:
        file.truncate(IMAGE_MB * 1_000_000)
    mounted.mkdir()
    _run("mkfs.ext4", "-q", "-b", "4096", "-E", "lazy_itable_init=0,lazy_journal_init=0", str(image))
    device = _run("losetup", "--find", "--show", str(image)).strip()
    try:
        _run("mount", "-o", "noatime", device, str(mounted))
        try:
            yield mounted, device
        finally:
            _run("umount", str(mounted))
    finally:
        _run("losetup", "--detach", device)


def _run(*command: str) -> str:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise InputRefused(f"{' '.join(command)}: {done.stderr.strip()}")
    return done.stdout

"""`python -m tests.installer`: the installer in a clean Debian root with a systemd of its own, dry and real.

Needs root, and Debian's packages mmdebstrap and systemd-container. The root is a plain Debian on this computer's
processor: no Pi and no Raspberry Pi OS, whose boot files are put there by hand. The supervisor runs under its unit as
it is shipped, but for a drop-in that points it at a simulated furnace. What is committed is installed.
"""

import json
import shutil
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import click

from hardware.clock import monotonic_s, sleep_s
from tests.installer.root import CLONE, CONFIG, CONFIG_TEXT, Booted, differences, make, snapshot, write_firing

PROGRAM = "/opt/meltkeeper/current/.venv/bin/meltkeeper"
DATA_STAYS = ("var/lib/meltkeeper", "etc/meltkeeper")
PEOPLE = ("etc/passwd", "etc/group", "etc/shadow", "etc/gshadow")
SOCKET = "/run/simulated/furnace.sock"
DROP_IN = f"""\
[Service]
ExecStart=
ExecStart={PROGRAM} daemon --furnace workshop --data /var/lib/meltkeeper --furnace-socket {SOCKET}
"""
SIMULATOR = (
    "systemd-run", "--quiet", "--unit=simulated", "--uid=meltkeeper", "--gid=meltkeeper",
    "--property=RuntimeDirectory=simulated", PROGRAM, "furnace", "simulate", "--furnace",
    "workshop", "--socket", SOCKET, "--times-real", "1",
)  # fmt: skip

Check = tuple[str, str | None]
"""What was looked at, and what was wrong; None: nothing."""


def _wants(what: str, *, holds: bool, said: object = "") -> Check:
    return what, None if holds else (str(said) or "not so")


def _until(happens: Callable[[], bool], *, within_s: float = 60.0) -> bool:
    end_s = monotonic_s() + within_s
    while not happens():
        if monotonic_s() > end_s:
            return False
        sleep_s(0.5)
    return True


def refusals(root: Booted, before: dict[str, str]) -> Iterator[Check]:
    """What it does not do."""
    said = root.install()
    yield _wants(
        "a computer that is no Pi is refused", holds=said.status == 2 and "no Raspberry Pi" in said.text, said=said
    )
    said = root.install("--any-machine", "--dry-run")
    yield _wants(
        "dry: says what it would do",
        holds=said.status == 0 and "would: Add the user meltkeeper" in said.text,
        said=said,
    )
    yield _wants("dry, refused: nothing changed", holds=not (d := differences(before, snapshot(root.root))), said=d)


def installing(root: Booted) -> Iterator[Check]:
    """From nothing to a working installation, and again."""
    said = root.install("--any-machine")
    yield _wants("real, with nobody to ask", holds=said.status == 0, said=said)
    text = (root.root / CONFIG).read_text(encoding="utf-8")
    yield _wants(
        "real: the start of the Pi is left alone unasked",
        holds=text == CONFIG_TEXT and "Left as it was" in said.text,
        said=said,
    )
    said = root.install("--any-machine", "--yes")
    text = (root.root / CONFIG).read_text(encoding="utf-8")
    wanted = text.startswith(CONFIG_TEXT) and "\n[all]\ndtparam=spi=on\ndtparam=strict_gpiod\n" in text
    yield _wants("agreed: bus and strict pins in the boot configuration", holds=said.status == 0 and wanted, said=said)
    kept = (root.root / f"{CONFIG}.before-meltkeeper").read_text(encoding="utf-8")
    yield _wants("agreed: a copy of it is kept", holds=kept == CONFIG_TEXT)
    _settled(root)
    before = snapshot(root.root)
    said = root.install("--any-machine", "--yes")
    yield _wants(
        "again: everything is as wanted", holds=said == (0, "Everything is as wanted; nothing was changed."), said=said
    )
    yield _wants("again: nothing changed", holds=not (d := differences(before, snapshot(root.root))), said=d)


def _settled(root: Booted) -> None:
    """The services write their first files."""
    _until(lambda: (root.root / "var/lib/meltkeeper/messenger").exists(), within_s=20.0)
    sleep_s(2.0)


MENDED = {
    "a unit that was changed": ("sh", "-c", "echo '# mine' >> /etc/systemd/system/meltkeeper-web.service"),
    "a service that was disabled": ("systemctl", "disable", "--quiet", "meltkeeper-messenger"),
    "a user who left a group": ("gpasswd", "-d", "meltkeeper", "gpio"),
    "the command": ("rm", "/usr/local/bin/meltkeeper"),
    "the watchdog of the machine": ("rm", "-r", "/etc/systemd/system.conf.d"),
    "the name on the network": ("rm", "/etc/avahi/services/meltkeeper.service"),
    "the boot configuration": ("sed", "-i", "/strict_gpiod/d", "/boot/firmware/config.txt"),
}


def mending(root: Booted) -> Iterator[Check]:
    """Each step by itself: one thing is broken, and that one is put right and no other."""
    before = snapshot(root.root)
    for what, command in MENDED.items():
        root.run(*command)
        broken = differences(before, snapshot(root.root))
        said = root.install("--any-machine", "--yes")
        left = [name for name in differences(before, snapshot(root.root)) if not name.startswith(DATA_STAYS)]
        yield _wants(f"mends {what}, and nothing else", holds=bool(broken) and not left, said=(broken, left, said))


def working(root: Booted) -> Iterator[Check]:
    """The three services at work, each in its sandbox."""
    shown = root.run("systemctl", "show", "meltkeeper", "--property=ConditionResult,ActiveState", "--value")
    yield _wants("without a furnace file the supervisor waits", holds="inactive" in shown.text, said=shown)
    file = root.root / "etc/meltkeeper/furnace.toml"
    shutil.copyfile(root.root / CLONE / "supervisor/furnace/files/workshop.toml", file)
    drop_in = root.root / "etc/systemd/system/meltkeeper.service.d/simulated.conf"
    drop_in.parent.mkdir()
    drop_in.write_text(DROP_IN, encoding="utf-8")
    root.run("systemctl", "daemon-reload")
    yield _wants("a simulated furnace", holds=(said := root.run(*SIMULATOR)).status == 0, said=said)
    _until(lambda: root.run("test", "-S", SOCKET).status == 0, within_s=20.0)
    said = root.run("systemctl", "start", "meltkeeper")
    yield _wants("the supervisor says that it is ready", holds=said.status == 0, said=(said, _journal(root)))
    said = root.run("meltkeeper", "status")
    yield _wants("the command asks it, as its user", holds=said.status == 0 and "stopped" in said.text, said=said)
    said = root.run("setpriv", "--reuid=pi", "--regid=pi", "--init-groups", "meltkeeper", "status")
    yield _wants("and so may whoever installed it", holds=said.status == 0, said=said)
    said = root.run(
        "sh", "-c", "grep -E 'Seccomp:|NoNewPrivs:|CapEff:' /proc/$(systemctl show -P MainPID meltkeeper)/status"
    )
    sandboxed = (
        "Seccomp:\t2" in said.text and "NoNewPrivs:\t1" in said.text and "CapEff:\t0000000000000000" in said.text
    )
    yield _wants("the supervisor is sandboxed", holds=sandboxed, said=said)
    # As root: a container may be forbidden to raise the limit that the unit asks for, and the filter is what is tried.
    lines = (root.root / "etc/systemd/system/meltkeeper.service").read_text(encoding="utf-8").splitlines()
    filters = [f"--property={line}" for line in lines if line.startswith("SystemCall")]
    said = root.run("systemd-run", "--quiet", "--wait", "--pipe", *filters, "chrt", "-f", "20", "true")
    yield _wants("its filter lets the loop have real-time priority", holds=said.status == 0, said=said)
    said = root.run("systemd-run", "--quiet", "--wait", "--pipe", *filters, "unshare", "--mount", "true")
    yield _wants("and lets nothing be mounted", holds=said.status != 0, said=said)
    yield from _pages(root)


def _pages(root: Booted) -> Iterator[Check]:
    said = root.run("meltkeeper", "pair")
    yield _wants("a code for a phone", holds=said.status == 0, said=said)
    page = "import urllib.request as r; print(r.urlopen('http://127.0.0.1:8080/').read().decode()[:20000])"
    shown = _until(lambda: root.run("/usr/bin/python3", "-c", page).status == 0)
    yield _wants("the pages answer", holds=shown and "Furnace A" in root.run("/usr/bin/python3", "-c", page).text,
                 said=root.run("journalctl", "-u", "meltkeeper-web", "-n", "20", "--no-pager"))  # fmt: skip
    said = root.run("sh", "-c", "nsenter -t $(systemctl show -P MainPID meltkeeper-web) -m ls /dev")
    names = said.text.split()
    yield _wants(
        "the pages see no hardware",
        holds="null" in names and not any(n.startswith(("gpio", "spi", "mem", "tty0")) for n in names),
        said=said,
    )
    said = root.run("systemctl", "is-active", "meltkeeper-messenger")
    yield _wants("the messenger is there", holds=said.text == "active", said=said)


def _journal(root: Booted) -> str:
    return root.run("journalctl", "-u", "meltkeeper", "-n", "15", "--no-pager").text


def ending(root: Booted) -> Iterator[Check]:
    """Killed and stalled: systemd brings it back, for ever, and it says so after the third time."""
    for number in range(1, 5):
        before = _pid(root)
        root.run("systemctl", "kill", "--signal=KILL", "--kill-who=main", "meltkeeper")
        back = _until(lambda old=before: _pid(root) not in ("0", old) and root.run("meltkeeper", "status").status == 0)  # type: ignore[misc]
        yield _wants(f"killed, it is back ({number})", holds=back, said=_journal(root))
    said = root.run("meltkeeper", "status")
    yield _wants("begun a fourth time in ten minutes it stays stopped", holds="stays stopped" in said.text, said=said)
    before = _pid(root)
    root.run("systemctl", "kill", "--signal=STOP", "--kill-who=main", "meltkeeper")
    back = _until(lambda: _pid(root) not in ("0", before) and root.run("meltkeeper", "status").status == 0)
    yield _wants(
        "stalled, the watchdog ends it and it is back",
        holds=back and "watchdog" in _journal(root).lower(),
        said=_journal(root),
    )


def _pid(root: Booted) -> str:
    return root.run("systemctl", "show", "-P", "MainPID", "meltkeeper").text


def updating(root: Booted) -> Iterator[Check]:
    """Another release: not while hot or unknown, then in one step, after a backup."""
    changed = root.root / CLONE / "web/replies.py"
    changed.write_text(changed.read_text(encoding="utf-8") + "\n# another release\n", encoding="utf-8")
    before = snapshot(root.root)
    said = root.install("--any-machine", "--yes")
    yield _wants(
        "refused while a restart waits for its reset",
        holds=said.status == 2 and "Reset it at the furnace" in said.text,
        said=said,
    )
    root.run("systemctl", "stop", "meltkeeper")
    write_firing(root.root / "var/lib/meltkeeper/furnace.db", hot_c=412.0, closed=False)
    said = root.install("--any-machine", "--yes")
    yield _wants(
        "refused while a firing has no closing record",
        holds=said.status == 2 and "no closing record" in said.text,
        said=said,
    )
    write_firing(root.root / "var/lib/meltkeeper/furnace.db", hot_c=412.0, closed=True)
    said = root.install("--any-machine", "--yes")
    yield _wants("refused while the last record is hot", holds=said.status == 2 and "412 °C" in said.text, said=said)
    names = {name for name in differences(before, snapshot(root.root)) if not name.startswith("var/lib/meltkeeper")}
    yield _wants("refused: nothing was replaced", holds=not names, said=names)
    said = root.install("--any-machine", "--yes", "--looked-cold")
    yield _wants("put in use once somebody has looked", holds=said.status == 0, said=said)
    kept = next((root.root / "var/lib/meltkeeper").glob("before-*"), None)
    names = {path.name for path in kept.iterdir()} if kept else set()
    yield _wants(
        "the backup has log, book and furnace file",
        holds={"furnace.db", "book.db", "furnace.toml"} <= names,
        said=names,
    )
    releases = [path for path in (root.root / "opt/meltkeeper").iterdir() if path.is_dir() and not path.is_symlink()]
    yield _wants("the release before stays", holds=len(releases) == 2, said=releases)


def leaving(root: Booted, before: dict[str, str]) -> Iterator[Check]:
    """Away again."""
    root.run("systemctl", "stop", "simulated")
    root.run("rm", "-r", "/etc/systemd/system/meltkeeper.service.d")
    said = root.install("--uninstall", "--dry-run", "--looked-cold")
    yield _wants("uninstall, dry", holds=said.status == 0 and "would: Remove /opt/meltkeeper" in said.text, said=said)
    said = root.install("--uninstall", "--looked-cold")
    left = {n for n in differences(before, snapshot(root.root)) if n not in PEOPLE and not n.startswith(DATA_STAYS)}
    yield _wants(
        "uninstall leaves what was there, and the data", holds=said.status == 0 and not left, said=(left, said)
    )
    said = root.install("--any-machine", "--yes")
    refused = said.status == 2 and "Everything is set up, but the supervisor does not start" in said.text
    yield _wants("a supervisor that finds no pins here is told of in its own words", holds=refused, said=said)
    (root.root / "etc/meltkeeper/furnace.toml").unlink()
    root.run("systemctl", "stop", "meltkeeper")
    said = root.install("--any-machine", "--yes")
    yield _wants("installed again over the data", holds=said.status == 0, said=said)
    said = root.install("--uninstall", "--with-data", "--looked-cold")
    left = set(differences(before, snapshot(root.root)))
    yield _wants(
        "uninstall with data leaves what was there, and nothing else",
        holds=said.status == 0 and not left,
        said=(left, said),
    )


@click.command()
@click.option("--suite", type=click.Choice(["bookworm", "trixie"]), default="bookworm", show_default=True)
@click.option("--json", "as_json", is_flag=True)
@click.option("--keep", is_flag=True, help="Leave the root where it is, and say where.")
def main(suite: str, as_json: bool, keep: bool) -> None:
    """Install, break, update and remove in a clean Debian root. Exit status: 0 as wanted, 1 something was not."""
    directory = Path(tempfile.mkdtemp(prefix="installer"))
    wrong = 0
    try:
        root = make(suite, directory)
        with Booted(root) as booted:
            before = snapshot(root)
            stages = (refusals(booted, before), installing(booted), mending(booted), working(booted), ending(booted),
                      updating(booted), leaving(booted, before))  # fmt: skip
            for what, problem in (check for stage in stages for check in stage):
                wrong += problem is not None
                if as_json:
                    click.echo(json.dumps({"check": what, "wrong": problem}))
                else:
                    click.echo(f"{'as wanted' if problem is None else 'WRONG    '}  {what}")
                    if problem is not None:
                        click.echo(f"           {problem}")
    finally:
        if keep:
            click.echo(f"The root is {directory}.")
        else:
            shutil.rmtree(directory)
    raise SystemExit(1 if wrong else 0)


if __name__ == "__main__":
    main()

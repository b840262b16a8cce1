"""What a Pi needs, part by part, and how each part is taken away again."""

import os
import pwd
import shutil
import subprocess
import tomllib
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from systemd.installer import boot
from systemd.installer.machine import (
    CONFIGURATION,
    DATA,
    GROUP,
    UNITS,
    Change,
    Machine,
    NotPossible,
    file_as,
    is_group,
    is_user,
    members,
    no_file,
    replace,
    run,
    systemctl,
    systemd_runs,
)
from systemd.installer.release import as_owner

UNIT_FILES = Path("/etc/systemd/system")
WATCHDOG = Path("/etc/systemd/system.conf.d/50-meltkeeper.conf")
WATCHDOG_TEXT = """\
# Written by meltkeeper's installer. When the kernel or systemd itself hangs for so long, the Pi starts anew.
# The Pi's timer holds 16 s at most; a larger value was silently refused by kernels before 6.8.
[Manager]
RuntimeWatchdogSec=10
"""
SERVICE = Path("/etc/avahi/services/meltkeeper.service")
SERVICE_TEXT = """\
<?xml version="1.0" standalone='no'?>
<!DOCTYPE service-group SYSTEM "avahi-service.dtd">
<!-- Written by meltkeeper's installer: where the pages are. -->
<service-group>
  <name replace-wildcards="yes">meltkeeper on %h</name>
  <service><type>_http._tcp</type><port>8080</port></service>
</service-group>
"""
CONFIG, COMMAND_LINE = Path("/boot/firmware/config.txt"), Path("/boot/firmware/cmdline.txt")
USERS = {
    "meltkeeper": "the supervisor",
    "meltkeeper-web": "the pages",
    "meltkeeper-messenger": "the messages to the outside",
}
HARDWARE_GROUPS = ("gpio", "spi")
SERIAL_PINS = (14, 15)
FURNACE_FILE = CONFIGURATION / "furnace.toml"


def packages(machine: Machine) -> Iterator[Change]:
    """Debian's packages. They stay when all else is taken away: others may have come to need them."""
    wanted = {"python3-venv": _has_ensurepip(), "avahi-daemon": Path("/usr/sbin/avahi-daemon").exists()}
    if machine.found.python >= (3, 13) and machine.found.model:
        wanted["python3-lgpio"] = any(Path("/usr/lib/python3/dist-packages").glob("lgpio.py"))
    missing = [name for name, there in wanted.items() if not there]
    if missing:

        def install() -> None:
            environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
            run("apt-get", "update", "-qq", env=environment)
            run("apt-get", "install", "-y", "-qq", "--no-install-recommends", *missing, env=environment)

        yield Change(f"Install Debian's packages: {' '.join(missing)}", install)


def _has_ensurepip() -> bool:
    return any(Path("/usr/lib").glob("python3*/ensurepip/__init__.py"))


def people(machine: Machine) -> Iterator[Change]:
    """Groups and users: one each, so that no part can do what another may."""
    for name in (GROUP, *HARDWARE_GROUPS):
        if not is_group(name):
            yield Change(f"Add the group {name}", partial(_add_group, machine, name))
    for name, what in USERS.items():
        if not is_user(name):

            def add(name: str = name, what: str = what) -> None:
                run("useradd", "--system", "--no-create-home", "--home-dir", str(DATA), "--shell", "/usr/sbin/nologin",
                    "--gid", GROUP, "--comment", f"meltkeeper, {what}", name)  # fmt: skip
                machine.remember("users", name)

            yield Change(f"Add the user {name}, for {what}", add)
    # The unit gives the service these groups; the user needs them too, for `meltkeeper check` with the service stopped.
    for group in HARDWARE_GROUPS:
        if "meltkeeper" not in members(group):
            yield Change(f"Put meltkeeper into the group {group}", partial(run, "usermod", "-aG", group, "meltkeeper"))
    person = os.environ.get("SUDO_USER", "root")
    if person != "root" and person not in members(GROUP):

        def join() -> None:
            run("usermod", "-aG", GROUP, person)
            machine.remember("members", person)

        yield Change(
            f"Put {person} into the group {GROUP}: may ask the supervisor and stop it (after a new login)", join
        )


def _add_group(machine: Machine, name: str) -> None:
    run("groupadd", "--system", name)
    machine.remember("groups", name)


def places(machine: Machine) -> Iterator[Change]:
    """The directories of furnace file and data, and the book, which pages and command line both write."""
    wanted = ((CONFIGURATION, "meltkeeper", 0o750), (DATA, "meltkeeper", 0o770))
    for path, user, mode in wanted:
        if not path.is_dir() or not is_user(user) or _as_is(path) != (user, mode):

            def make(path: Path = path, user: str = user, mode: int = mode) -> None:
                path.mkdir(parents=True, exist_ok=True)
                as_owner(path, *_ids(user), mode)

            yield Change(f"A place of its own: {path}", make)
    book = DATA / "book.db"
    if not book.exists() or _as_is(book)[1] != 0o660:

        def begin() -> None:
            book.touch(0o660)
            as_owner(book, *_ids("meltkeeper-web"), 0o660)

        yield Change(f"The book, for pages and command line: {book}", begin)


def _ids(user: str) -> tuple[int, int]:
    entry = pwd.getpwnam(user)
    return entry.pw_uid, entry.pw_gid


def _as_is(path: Path) -> tuple[str, int]:
    found = path.stat()
    try:
        owner = pwd.getpwuid(found.st_uid).pw_name
    except KeyError:
        owner = ""
    return owner, found.st_mode & 0o777


def units(machine: Machine, repository: Path) -> Iterator[Change]:
    """The three services."""
    changed = False
    for name in UNITS:
        text = (repository / "systemd" / name).read_text(encoding="utf-8")
        for change in file_as(UNIT_FILES / name, text, "The service"):
            changed = True
            yield change
    if changed:
        yield Change("Have systemd read the services", partial(systemctl, "daemon-reload"))
    for name in UNITS:
        if not (UNIT_FILES / "multi-user.target.wants" / name).is_symlink():
            yield Change(f"Start {name} with the Pi", partial(systemctl, "enable", name))


def units_differ(repository: Path) -> bool:
    """Whether a unit that is there is another than this clone's."""
    there = [name for name in UNITS if (UNIT_FILES / name).exists()]
    return any((UNIT_FILES / name).read_bytes() != (repository / "systemd" / name).read_bytes() for name in there)


def watchdog(machine: Machine) -> Iterator[Change]:
    """The Pi's own watchdog, for what no service can see."""
    yield from file_as(WATCHDOG, WATCHDOG_TEXT, "The Pi starts anew when it hangs for 10 s",
                       then=partial(systemctl, "daemon-reexec"))  # fmt: skip


def name_on_the_network(machine: Machine) -> Iterator[Change]:
    """The pages under a name: the Pi's own, with .local behind it."""
    yield from file_as(
        SERVICE, SERVICE_TEXT, f"Tell the network where the pages are (http://{os.uname().nodename}.local:8080/)"
    )


def start_of_the_pi(machine: Machine) -> Iterator[Change]:
    """Sensor bus and pins in the boot configuration; asked first, and a copy is kept."""
    if CONFIG.exists():
        text = CONFIG.read_text(encoding="utf-8")
        if (wanted := boot.with_ours(text)) != text:
            yield Change(
                f"Switch on the sensor's bus and strict ownership of pins in {CONFIG}; a copy of it stays beside it",
                lambda: _keep_and_write(CONFIG, wanted),
                ask=f"May {CONFIG} be changed, which decides how the Pi starts? It counts after the next start.",
            )
    if COMMAND_LINE.exists() and _uses_serial_pins():
        line = COMMAND_LINE.read_text(encoding="utf-8")
        if (without := boot.without_serial_console(line)) != line:
            yield Change(
                f"Take the serial console off BCM 14 and 15 in {COMMAND_LINE}; a copy of it stays beside it",
                lambda: _keep_and_write(COMMAND_LINE, without),
                ask=f"May {COMMAND_LINE} be changed? The furnace file uses a pin of the serial console.",
            )


def _keep_and_write(path: Path, text: str) -> None:
    copy = _copy_of(path)
    if not copy.exists():
        shutil.copy2(path, copy)
    replace(path, text, path.stat().st_mode & 0o777)
    os.sync()  # a FAT partition, and somebody is about to switch the Pi off and on


def _copy_of(path: Path) -> Path:
    return path.with_name(f"{path.name}.before-meltkeeper")


def _uses_serial_pins() -> bool:
    try:
        pins = tomllib.loads(FURNACE_FILE.read_text(encoding="utf-8"))["pins"]
        return any(pin in SERIAL_PINS for pin in pins.values())
    except (OSError, ValueError, KeyError, AttributeError):
        return False


# -- and back --------------------------------------------------------------------------------------------------------


def units_gone(machine: Machine) -> Iterator[Change]:
    """The services stopped, the supervisor last: it switches off and proves it."""
    there = [name for name in UNITS if (UNIT_FILES / name).exists()]
    if there:
        stop = partial(systemctl, "disable", "--now", *reversed(there))
        yield Change("Stop the services; the supervisor switches the furnace off and proves it", stop)
        for name in there:
            yield from no_file(UNIT_FILES / name)
        yield Change("Have systemd forget the services", partial(systemctl, "daemon-reload"))


def settings_gone(machine: Machine) -> Iterator[Change]:
    """Watchdog, name and our part of the boot lines taken back; what others changed there since then stays."""
    yield from no_file(WATCHDOG, then=partial(systemctl, "daemon-reexec"))
    yield from no_file(SERVICE)
    if CONFIG.exists():
        text = CONFIG.read_text(encoding="utf-8")
        if (before := boot.without_ours(text)) != text:
            yield Change(f"Take our lines out of {CONFIG}", partial(_put_back, CONFIG, before))
    if COMMAND_LINE.exists() and _copy_of(COMMAND_LINE).exists():
        line, before = (path.read_text(encoding="utf-8") for path in (COMMAND_LINE, _copy_of(COMMAND_LINE)))
        yield Change(
            f"Put the serial console back into {COMMAND_LINE}",
            partial(_put_back, COMMAND_LINE, boot.with_serial_console(line, before)),
        )


def _put_back(path: Path, text: str) -> None:
    replace(path, text, path.stat().st_mode & 0o777)
    _copy_of(path).unlink(missing_ok=True)
    os.sync()


def people_gone(machine: Machine) -> Iterator[Change]:
    """Users and groups that were made here. Only with the data: somebody else would inherit what stays."""
    for person in machine.made.get("members", []):
        if person in members(GROUP):
            yield Change(f"Take {person} out of the group {GROUP}", partial(run, "gpasswd", "-d", person, GROUP))
    for name in machine.made.get("users", []):
        if is_user(name):
            yield Change(f"Remove the user {name}", partial(run, "userdel", name))
    for name in reversed(machine.made.get("groups", [])):
        if is_group(name):
            yield Change(f"Remove the group {name}", partial(run, "groupdel", name))


def data_gone(machine: Machine) -> Iterator[Change]:
    """Log, book and furnace file: only when that was asked for."""
    for path in (DATA, CONFIGURATION):
        if path.exists():
            yield Change(f"Remove {path} with everything in it", partial(shutil.rmtree, path))


def running(machine: Machine, *, anew: bool) -> Iterator[Change]:
    """The services at work. Anew only with another release: what runs is not disturbed for less."""
    if systemd_runs():
        words = "Start the services" + (" anew" if anew else ", where they do not run")
        yield Change(words, partial(_start, "restart" if anew else "start"))


def _start(how: str) -> None:
    """Start them, and where one does not come up say its own last words."""
    try:
        systemctl(how, *UNITS)
    except NotPossible as error:
        command = ["journalctl", "--unit=meltkeeper", "--lines=8", "--no-pager", "--output=cat"]
        last = subprocess.run(command, capture_output=True, text=True, check=False).stdout.strip()
        raise NotPossible(f"Everything is set up, but the supervisor does not start. It says:\n{last}") from error

"""`systemd/install`: see there."""

import argparse
import os
import sys
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from pathlib import Path

from systemd.installer import release, steps, update
from systemd.installer.machine import DATA, Change, Machine, NotPossible, facts, unsupported

REPOSITORY = Path(__file__).resolve().parents[2]
CAUTION = """\
meltkeeper is not the safety device: over-temperature limiter, emergency stop, safety contactor, breaker and
earth-leakage protection must be enough with everything in this Pi assumed wrong. Mains work is done or checked by a
licensed person, to the local code.
"""

Part = Callable[[], Iterable[Change]]


class Work:
    """Carries changes out, or only says them."""

    def __init__(self, *, dry: bool, yes: bool) -> None:
        self._dry, self._yes = dry, yes
        self.done = 0
        self.declined: list[str] = []

    def through(self, parts: Iterable[Part]) -> None:
        """Part by part: each looks at what the ones before it have left."""
        for part in parts:
            for change in part():
                if change.ask and not self._dry and not self._agreed(change.ask):
                    self.declined.append(change.sentence)
                    continue
                self.done += 1
                _say(f"{'would: ' if self._dry else ''}{change.sentence}")
                if not self._dry:
                    change.do()

    def _agreed(self, question: str) -> bool:
        if self._yes:
            return True
        if not sys.stdin.isatty():
            return False
        return input(f"{question} [y/N] ").strip().lower() in {"y", "yes"}


def main() -> int:
    """Install, or take away. Exit status: 0 as wanted now, 1 something failed, 2 not possible here or not now."""
    asked = _asked()
    try:
        return _uninstall(asked) if asked.uninstall else _install(asked)
    except NotPossible as sentence:
        _say(str(sentence))
        return 2
    except OSError as error:
        _say(f"{error}. What was done until here stays; run this again when that is mended.")
        return 1


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="systemd/install", description="Set this Raspberry Pi up for a furnace.",
                                     epilog="Exit status: 0 done, 1 something failed, 2 not possible.")  # fmt: skip
    parser.add_argument("--dry-run", action="store_true", help="say what would be changed, and change nothing")
    parser.add_argument("--yes", action="store_true", help="do not ask before the start of the Pi is changed")
    parser.add_argument("--uninstall", action="store_true", help="take the program and its settings away; data stay")
    parser.add_argument("--with-data", action="store_true", help="with --uninstall: log, book and furnace file too")
    parser.add_argument("--any-machine", action="store_true", help="a computer that is no Pi, to look at the services")
    parser.add_argument("--looked-cold", action="store_true",
                        help="somebody looked: the furnace is cold, though the supervisor cannot say so")  # fmt: skip
    asked = parser.parse_args()
    if asked.with_data and not asked.uninstall:
        parser.error("--with-data goes with --uninstall alone")
    return asked


def _install(asked: argparse.Namespace) -> int:
    found = facts()
    against = unsupported(found, any_machine=asked.any_machine)
    if against:
        raise NotPossible("\n".join([*against, "Nothing was changed."]))
    machine = Machine(found)
    work = Work(dry=asked.dry_run, yes=asked.yes)
    is_new = release.is_new(REPOSITORY)
    replaces = release.in_use() is not None and (is_new or steps.units_differ(REPOSITORY))
    if replaces:
        _say(f"What runs is replaced. {update.refuse_while_hot(looked=asked.looked_cold)}")
    work.through(
        [partial(steps.packages, machine), partial(steps.people, machine), partial(steps.places, machine),
         partial(release.prepared, REPOSITORY, found)]
    )  # fmt: skip
    if replaces and is_new:  # it took minutes: somebody may have begun a firing meanwhile
        update.refuse_while_hot(looked=asked.looked_cold)
        work.through([_backup])
    work.through(
        [partial(release.used, REPOSITORY, machine), release.command, partial(steps.units, machine, REPOSITORY),
         partial(steps.watchdog, machine), partial(steps.name_on_the_network, machine),
         partial(steps.start_of_the_pi, machine)]
    )  # fmt: skip
    if work.done:
        work.through([partial(steps.running, machine, anew=is_new or replaces)])
    _conclude(work, asked)
    return 0


def _backup() -> Iterator[Change]:
    name = release.name_of(REPOSITORY)
    if DATA.exists():
        yield Change(
            f"Copy log, book and furnace file to {DATA / f'before-{name}'}", lambda: update.keep_a_backup(name)
        )


def _conclude(work: Work, asked: argparse.Namespace) -> None:
    for sentence in work.declined:
        _say(f"Left as it was: {sentence}. Run this again, with --yes where nobody can be asked.")
    if asked.dry_run:
        _say(f"{work.done} changes would be made; nothing was changed." if work.done else "Everything is as wanted.")
        return
    if not work.done:
        _say("Everything is as wanted; nothing was changed.")
        return
    _say("")
    _say(CAUTION)
    if not steps.FURNACE_FILE.exists():
        _say(f"Next: describe the furnace in {steps.FURNACE_FILE} (docs/installation.md leads through it), then")
        _say("  sudo systemctl start meltkeeper")
    _say("A phone is paired with: sudo meltkeeper pair")
    _say(f"The pages are at http://{os.uname().nodename}.local:8080/")


def _uninstall(asked: argparse.Namespace) -> int:
    found = facts()
    if not found.is_root:
        raise NotPossible("It changes the system: run it with sudo.")
    machine = Machine(found)
    work = Work(dry=asked.dry_run, yes=asked.yes)
    if release.in_use() is not None:
        _say(update.refuse_while_hot(looked=asked.looked_cold))
    parts: list[Part] = [partial(steps.units_gone, machine), partial(steps.settings_gone, machine), release.gone]
    if asked.with_data:
        parts += [partial(steps.data_gone, machine), partial(steps.people_gone, machine)]
    work.through(parts)
    if not work.done:
        _say("Nothing of it is there.")
    elif not asked.with_data:
        _say(f"Left where they were: the furnace's data ({DATA}, /etc/meltkeeper), their users, Debian's packages.")
    return 0


def _say(sentence: str) -> None:
    sys.stdout.write(f"{sentence}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())

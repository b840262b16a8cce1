"""Furnace, supervisor, messenger and receiver as processes of their own: who is told what, and how soon."""

import json
import re
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from hardware.clock import monotonic_s
from supervisor.logbook.reading import open_log
from supervisor.messenger.decide import SILENT_S
from tests.end_to_end.held_up import HeldUp
from tests.end_to_end.sink import SECRET, Letter, Sink, nobody, write_alerts
from tests.end_to_end.site import Site
from tests.end_to_end.waiting import until

pytestmark = pytest.mark.processes

TOLD_WITHIN_S = 30.0


class Manned(Site):
    """A site with a messenger."""

    messenger: subprocess.Popen[bytes] | None = None

    def begin_messenger(self) -> None:
        self.messenger = self.command("messenger", "--data", str(self.data))

    def kill_messenger(self) -> None:
        assert self.messenger is not None
        self.messenger.kill()
        self.messenger.wait()

    def go_on_for(self, seconds: float) -> None:
        """Let real time pass, in which something may come that must not."""
        end_s = monotonic_s() + seconds
        self.until(f"{seconds:g} s", lambda: monotonic_s() >= end_s)

    def known(self, name: str) -> dict[str, object]:
        """What the supervisor knows of a contact."""
        reach = (self.snapshot() or {"reach": {"contacts": []}})["reach"]
        return next((each for each in reach["contacts"] if each["name"] == name), {})

    def why_not(self) -> str:
        return str(self.link.snapshot()["reach"]["why_not"])

    def wait_until_why(self, why: str) -> None:
        """Until absence is not allowed for this reason."""
        self.until(why, lambda: why in self.why_not(), within_s=20.0)

    def kept(self) -> str:
        """What the messenger has written down."""
        file = self.data / "messenger/told.json"
        return file.read_text(encoding="utf-8") if file.exists() else ""

    def output(self) -> str:
        """Everything that the processes have said."""
        self._log.flush()
        return Path(self._log.name).read_text(encoding="utf-8")

    def __exit__(self, *error: object) -> None:
        if self.messenger is not None and self.messenger.poll() is None:
            self.messenger.terminate()
            self.messenger.wait(15)
        super().__exit__(*error)


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Manned]:
    with Manned(tmp_path, times_real=10.0) as site:  # at 1 x while it asks
        yield site


@pytest.fixture
def sink() -> Iterator[Sink]:
    with Sink() as sink:
        yield sink


def manned(site: Manned, sink: Sink) -> None:
    """A first and a second contact, and everything running."""
    write_alerts(site.data, ("Ada", "first", [sink.address("ada")]), ("Ben", "second", [sink.address("ben")]))
    site.start()
    site.begin_messenger()
    site.until("the contacts are known", lambda: site.known("Ben") != {})


def confirm(site: Manned, sink: Sink, name: str) -> None:
    """The whole way of a test message, as a person at the console goes it."""
    sent = site.said("contacts", "test", name, "--data", str(site.data))
    assert (sent.returncode, sent.stderr) == (0, "")
    code = re.search(r"code back to whoever sent it: ([0-9A-Z]{6})", sink.to(name.lower())[-1].body)
    assert code is not None
    confirmed = site.said("contacts", "confirm", code[1], "--data", str(site.data))
    assert confirmed.stdout == f"{name} has confirmed a test message.\n"


def come_back(site: Manned) -> None:
    """Start the supervisor that was killed, before its messenger calls it silent.

    Raises:
        HeldUp: the machine took so long over it that what is asked here cannot come.
    """
    began_s = monotonic_s()
    site.start()
    site.until("the messenger has heard it", lambda: site.known("Ada") != {})
    took_s = monotonic_s() - began_s
    if took_s > 0.8 * SILENT_S:
        raise HeldUp(f"the supervisor took {took_s:.1f} s to come back, and counts as silent after {SILENT_S:g} s")


def first(sink: Sink, path: str) -> Letter:
    until(f"a message to {path}", lambda: sink.to(path) != [], within_s=TOLD_WITHIN_S)
    return sink.to(path)[0]


def test_supervisor_killed_in_a_firing_is_told_to_both_contacts_within_thirty_seconds(site: Manned, sink: Sink) -> None:
    manned(site, sink)
    site.fire()
    killed_s = site.kill()
    for path in ("ada", "ben"):
        told = first(sink, path)
        assert told.came_s - killed_s <= TOLD_WITHIN_S
        assert told.title == "SIMULATED Furnace A: the supervisor is silent"
        assert "Whether heat is off is not known." in told.body
        assert "switch off at the breaker" in told.body
    site.start()
    site.go_on_for(3.0)
    assert len(sink.letters) == 2


def test_supervisor_that_comes_back_by_itself_in_a_firing_is_told_with_what_it_says_of_heat(
    site: Manned, sink: Sink
) -> None:
    manned(site, sink)
    site.fire()
    killed_s = site.kill()
    come_back(site)
    told = first(sink, "ada")
    assert told.came_s - killed_s <= TOLD_WITHIN_S
    assert "failed and was started again once" in told.body
    assert "Heat is off: the contactor reads open." in told.body
    assert "closing record" in told.body


def test_crash_loop_is_one_alarm_with_a_count(site: Manned, sink: Sink) -> None:
    manned(site, sink)
    site.prepare()
    site.ask_to_start()
    site.until("the messenger has heard of it", lambda: '"state": "starting"' in site.kept())
    killed_s = site.kill()
    for _ in range(4):
        come_back(site)
        site.kill()
    come_back(site)
    told = first(sink, "ada")
    assert told.came_s - killed_s <= TOLD_WITHIN_S
    count = re.search(r"started again (\d) times", told.body)
    assert count is not None
    assert 2 <= int(count[1]) <= 5
    site.kill()
    site.start()
    site.go_on_for(5.0)
    assert [len(sink.to(path)) for path in ("ada", "ben")] == [1, 1]


def test_messenger_killed_and_started_again_tells_nothing_twice_and_forgets_nothing(site: Manned, sink: Sink) -> None:
    manned(site, sink)
    site.fire()
    site.bench(bench="emergency_stop", pressed=True)
    told = first(sink, "ada")
    assert told.title == "SIMULATED Furnace A: The emergency stop was pressed, or its wire is broken."
    assert "Heat is off: the contactor reads open." in told.body
    site.until("what was told is on disk", lambda: "emergency-stop" in site.kept() and '"jobs": []' in site.kept())
    site.kill_messenger()
    site.begin_messenger()
    site.go_on_for(5.0)
    assert len(sink.letters) == 1
    assert site.state() == "aborted"


def test_messenger_that_starts_beside_a_dead_supervisor_knows_that_the_furnace_was_hot(
    site: Manned, sink: Sink
) -> None:
    manned(site, sink)
    site.prepare()
    site.ask_to_start()
    site.until("the firing is written down", lambda: '"state": "starting"' in site.kept())
    site.kill_messenger()
    site.kill()
    site.begin_messenger()
    assert "the supervisor is silent" in first(sink, "ada").title


def test_cold_furnace_whose_supervisor_ends_is_nobodys_alarm(site: Manned, sink: Sink) -> None:
    manned(site, sink)
    site.kill()
    site.go_on_for(13.0)
    assert sink.letters == []


def test_confirmed_test_message_allows_absence_and_still_does_after_a_restart(site: Manned, sink: Sink) -> None:
    manned(site, sink)
    site.wait_until_why("Ada has not confirmed")
    confirm(site, sink, "Ada")
    site.wait_until_why("Ben has not confirmed")
    confirm(site, sink, "Ben")
    site.wait_until_why("lamp and sounder")
    site.fire()
    site.send(command="told", what="heard")
    site.until("absence is allowed", lambda: site.link.snapshot()["reach"]["absence_allowed"])
    site.send(command="stop")
    site.until("the end", lambda: site.state() == "stopped")
    site.kill()
    site.start()
    site.until("the messenger has reported", lambda: site.known("Ben") != {})
    site.wait_until_why("lamp and sounder")


def test_a_wrong_code_confirms_nothing(site: Manned, sink: Sink) -> None:
    manned(site, sink)
    wrong = site.said("contacts", "confirm", "ABC234", "--data", str(site.data))
    assert wrong.returncode == 2
    assert "No test message of the last day carries this code" in wrong.stderr
    site.wait_until_why("Ada has not confirmed")


def test_broken_address_blocks_absence_and_not_the_firing(site: Manned, sink: Sink) -> None:
    write_alerts(site.data, ("Ada", "first", [sink.address("ada"), nobody("ada")]))
    site.start()
    site.begin_messenger()
    site.until("the contact is known", lambda: site.known("Ada") != {})
    sent = site.said("contacts", "test", "Ada", "--data", str(site.data))
    assert sent.returncode == 3
    assert re.search(r"Not delivered to Ada: .*json://… \([0-9a-f]{4}\): A Connection error", sent.stderr)
    code = re.search(r"sent it: (\w+)", first(sink, "ada").body)
    assert code is not None
    assert site.said("contacts", "confirm", code[1], "--data", str(site.data)).returncode == 0
    site.wait_until_why("The last message to Ada did not go through.")
    site.fire()
    assert site.level("contactor")


def test_no_secret_is_anywhere_but_in_the_file_of_contacts(site: Manned, sink: Sink, tmp_path: Path) -> None:
    write_alerts(site.data, ("Ada", "first", [sink.address("ada"), nobody("ada")]))
    site.start()
    site.begin_messenger()
    site.until("the contact is known", lambda: site.known("Ada") != {})
    seen = []
    tried = site.command("contacts", "test", "Ada", "--data", str(site.data))
    while tried.poll() is None:
        seen.append(subprocess.run(["ps", "axwwe"], capture_output=True, text=True, check=True).stdout)
    assert len(seen) > 3
    assert not any(SECRET in listing for listing in seen)
    site.fire()
    site.bench(bench="emergency_stop", pressed=True)
    first(sink, "ada")
    shown = site.said("contacts", "show", "--data", str(site.data), "--json").stdout
    assert "json://… (" in shown
    assert SECRET not in shown + json.dumps(site.snapshot()) + site.output()
    site.signal(signal.SIGTERM)
    assert site.daemon is not None
    site.daemon.wait(60)
    site.kill_messenger()
    kept = [path for path in tmp_path.rglob("*") if path.is_file() and path.name != "alerts.toml"]
    assert {"furnace.db", "told.json"} <= {path.name for path in kept}
    assert [path.name for path in kept if SECRET.encode() in path.read_bytes()] == []


def test_messages_and_failures_are_in_the_log(site: Manned, sink: Sink) -> None:
    manned(site, sink)
    confirm(site, sink, "Ada")
    with open_log(site.data) as log:
        said = [event["detail"]["what"] for event in log.events_of("told")]
    assert said == ["contacts", "tested", "confirmed"]


def test_second_messenger_is_refused_in_a_sentence(site: Manned, sink: Sink) -> None:
    manned(site, sink)
    second = site.said("messenger", "--data", str(site.data))
    assert second.returncode == 2
    assert "one program at a time" in second.stderr
    assert second.stderr.count("\n") == 1


def test_messenger_holds_no_library_of_services(site: Manned, sink: Sink) -> None:
    manned(site, sink)
    confirm(site, sink, "Ada")
    assert site.messenger is not None
    maps = Path(f"/proc/{site.messenger.pid}/maps").read_text(encoding="utf-8")
    assert "apprise" not in maps
    rollup = Path(f"/proc/{site.messenger.pid}/smaps_rollup").read_text(encoding="utf-8")
    pss = re.search(r"^Pss:\s+(\d+) kB", rollup, re.MULTILINE)
    assert pss is not None
    assert int(pss[1]) < 60_000

"""`check` and `furnace part` on the simulated furnace's own process, with and without a supervisor."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from supervisor.cli import main
from supervisor.furnace.file import read_furnace
from supervisor.furnace.proofs import of
from supervisor.furnace.stages import Proved
from supervisor.logbook.directory import DataDirectory, open_directory
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import ProofRow
from supervisor.logbook.scribe import Scribe
from tests.end_to_end.site import Site

pytestmark = pytest.mark.processes


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with Site(tmp_path) as made:
        yield made


def run(site: Site, *words: str, typed: str | None = None) -> Result:
    return CliRunner().invoke(
        main, ["check", *words, "--data", str(site.data), "--furnace-socket", str(site.socket)], input=typed
    )


def scribe_at(kept: DataDirectory) -> Scribe:
    return Scribe(kept, boot_id="boot-1", utc_ms=lambda: 1_772_000_000_000, threaded=False)


def rows(site: Site) -> list[tuple[str, str, int]]:
    with open_log(site.data) as log:
        return [tuple(row) for row in log.rows("SELECT proof, result, witnessed FROM proof ORDER BY id")]


def test_a_killed_program_is_proved_by_the_permit_running_out_alone(site: Site) -> None:
    ran = run(site, "killed", "--helped", "--who", "Ada")
    assert ran.exit_code == 0, ran.output
    assert "the element counts as live" in ran.output
    assert rows(site) == [("killed", "proved", 1)]
    (opened,) = [edge for edge in site.edges("contactor") if not edge.level]
    # The last good edge of the permit came 1.0 to 2.1 s before, and no line of ours moved between.
    last_s = max(edge.time_s for edge in site.edges("permit") if edge.level and edge.time_s < opened.time_s)
    assert 0.9 <= opened.time_s - last_s <= 2.2
    moved = [*site.edges("enable"), *site.edges("relay")]
    assert not [edge for edge in moved if last_s < edge.time_s <= opened.time_s]
    assert not [edge for edge in site.edges("relay") if edge.level]


def test_a_permit_that_has_moved_since_commissioning_is_said_with_both_times(tmp_path: Path) -> None:
    evidence = "relay 1, stuck high 0.80 s, relay 2, stuck high 0.80 s"
    first = ProofRow(Proved("permit", "proved", True, "", evidence, "Ada", 1_772_000_000_000, 0), None, "check")
    with Site(tmp_path, times_real=20.0) as site:
        with open_directory(site.data, backend="simulated", furnace="workshop") as kept, scribe_at(kept) as scribe:
            scribe.put([first])
        ran = run(site, "permit", "--helped", "--again")
    assert ran.exit_code == 0, ran.output
    assert "commissioning measured 0.80 s, which is more than 20 % off" in ran.output


def test_pins_levels_and_stage_are_shown_and_listed_as_json(site: Site) -> None:
    shown = json.loads(run(site, "--show", "--json").stdout)
    lid = next(each for each in shown["lines"] if each["line"] == "lid")
    assert (lid["pin"], lid["level"], lid["means"]) == (19, "closed", "shut")
    listed = json.loads(run(site, "--list", "--json").stdout)
    assert listed["stage"] == 0
    asked = {name for name, kind in of(read_furnace("workshop")).items() if not kind.only_after}
    assert {each["name"] for each in listed["proofs"]} == asked
    assert run(site, "nothing").exit_code == 2


def test_what_is_said_is_kept_as_stated_and_a_wrong_setting_is_not_taken(site: Site) -> None:
    assert run(site, "earth-bond", "--said", "0.2 ohm", "--who", "B., electrician").exit_code == 0
    assert run(site, "limiter-setting", "--said", "950").exit_code == 5
    assert run(site, "insulation", "--said", "0.3 megohm at 500 V, by B. Berg, licensed").exit_code == 5
    assert run(site, "insulation", "--said", "2.5 megohm at 500 V, by B. Berg, licensed").exit_code == 0
    assert run(site, "direction", "--said", "I saw it").exit_code == 5
    assert rows(site) == [
        ("earth-bond", "proved", 0),
        ("limiter-setting", "undecided", 0),
        ("insulation", "undecided", 0),
        ("insulation", "proved", 0),
    ]


def test_beside_a_supervisor_inputs_are_tried_and_parts_changed_through_it(site: Site) -> None:
    site.start("--from-stage", "0")
    assert site.link.snapshot()["stage"]["number"] == 0
    ran = run(site, "key", "--helped", "--who", "Ada")
    assert ran.exit_code == 0, ran.output
    assert "Seen. Turn the key on." in ran.output
    assert run(site, "permit", "--helped").exit_code == 5  # it needs the furnace for itself
    part = CliRunner().invoke(main, ["furnace", "part", "relay", "--data", str(site.data), "--changed", "a new one"])
    assert "To be proved again: Relay lets go" in part.output
    assert rows(site) == [("key", "proved", 1)]
    key = next(each for each in site.link.snapshot()["stage"]["proofs"] if each["name"] == "key")
    assert (key["holds"], key["witnessed"], key["who"]) == (True, True, "Ada")


def test_a_changed_part_is_written_by_the_same_scribe_while_no_supervisor_runs(site: Site) -> None:
    run(site, "--list")
    words = ["furnace", "part", "--data", str(site.data)]
    changed = CliRunner().invoke(main, [*words, "element", "--changed", "burnt through", "--who", "Ada"])
    assert "Caution: Lethal voltage" in changed.output
    assert "learned anew" in changed.output
    (element,) = json.loads(CliRunner().invoke(main, [*words, "element", "--json"]).stdout)
    assert (element["note"], element["who"], element["melts"], element["learned_anew"]) == (
        "burnt through",
        "Ada",
        0,
        True,
    )
    assert CliRunner().invoke(main, [*words, "speaker", "--changed", "x"]).exit_code == 2
    assert CliRunner().invoke(main, [*words, "element", "--changed", " "]).exit_code == 2

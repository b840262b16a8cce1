"""`meltkeeper furnace learn`, as a person or a script uses it."""

import json
import shutil
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from supervisor.cli import main
from supervisor.firing.commands import Adopt, Answer, Command
from supervisor.link.client import SOCKET_NAME
from supervisor.link.server import LinkServer
from supervisor.logbook.directory import open_directory
from supervisor.logbook.reading import KeptModel, open_log
from tests.supervisor.link_at_hand import no_profile
from tests.supervisor.logbook_melts import keep_melt


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log with three short melts, one of which a watch ended. Only to be copied."""
    path = tmp_path_factory.mktemp("school")
    keep_melt(path, 1, minutes=40.0)
    keep_melt(path, 2, minutes=40.0, mass_kg=1.5)
    keep_melt(path, 3, minutes=12.0, alarm="sensor-open", state="aborted")
    return path


@pytest.fixture
def home(school: Path, tmp_path: Path) -> Path:
    shutil.copytree(school, tmp_path / "bench")
    return tmp_path / "bench"


def learn(home: Path, *words: str | Path) -> Result:
    return CliRunner().invoke(
        main, ["furnace", "learn", "--furnace", "bench", "--data", str(home), *(str(word) for word in words)]
    )


def kept(home: Path) -> list[KeptModel]:
    with open_log(home) as log:
        return log.models()


@contextmanager
def supervised(home: Path, answer: str, *, accepted: bool = True) -> Iterator[list[Command]]:
    """A supervisor that holds the log and answers every command alike."""
    heard: list[Command] = []
    done = threading.Event()
    with (
        open_directory(home, backend="simulated", furnace="bench"),
        closing(LinkServer(home / SOCKET_NAME, no_profile)) as server,
    ):
        server.publish({"v": 1, "epoch": 1, "state": "stopped"})
        server.start()

        def turn() -> None:
            while not done.wait(0.01):
                for ticket in server.take():
                    heard.append(ticket.command)
                    server.answer(ticket, Answer(ticket.command.by.id, accepted, answer), 1)

        loop = threading.Thread(target=turn)
        loop.start()
        try:
            yield heard
        finally:
            done.set()
            loop.join()


def test_it_says_what_was_learned_from_what_and_keeps_it(home: Path) -> None:
    result = learn(home)
    assert result.exit_code == 0, result.output
    assert "learned from firings 1 and 2 (to 2026-01-03" in result.stdout
    assert "power as metered" in result.stdout
    assert "Left out: firing 3, it is aborted." in result.stdout
    assert "The loss through the lining" in result.stdout
    assert "metal melting" in result.stdout
    assert "Adopted: the next firing uses it." in result.stdout
    assert "No boost with it yet: The model has learned from 2 of 3 firings." in result.stdout
    (model,) = kept(home)
    assert (model.adopted, model.who, model.firing_id) == (True, "command line", 2)
    again = learn(home)
    assert again.exit_code == 0
    assert again.stdout == "Nothing new to learn from.\nLeft out: firing 3, it is aborted.\n"
    assert json.loads(learn(home, "--json").stdout) == {
        "learned": False,
        "sentence": "Nothing new to learn from.",
        "left_out": [{"firing_id": 3, "why": "it is aborted"}],
    }
    assert len(kept(home)) == 1


def test_the_object_has_the_documented_names(home: Path, repository: Path) -> None:
    told = json.loads(learn(home, "--json").stdout)
    assert (told["learned_from"], told["metered"]) == ([1, 2], True)
    assert told["left_out"] == [{"firing_id": 3, "why": "it is aborted"}]
    assert told["kept"] == {"adopted": True, "sentence": "Adopted: the next firing uses it."}
    assert 0.5 < told["factors"]["loss"]["value"] < 2.0
    assert told["factors"]["loss"]["log_sd"] > 0.0
    manual = (repository / "docs" / "logbook.md").read_text(encoding="utf-8")
    for name in (*told, *told["factors"]["loss"], *told["residual_k"]["solid"]):
        assert f"`{name}`" in manual, name


@pytest.mark.parametrize("words", [["--look"], ["--meter", "off"]])
def test_what_is_only_for_comparison_is_not_kept(home: Path, words: list[str]) -> None:
    result = learn(home, *words)
    assert "Only shown: nothing is kept." in result.stdout
    assert ("mains unknown" in result.stdout) == ("off" in words)
    assert kept(home) == []


def test_measured_and_modelled_are_drawn(home: Path, tmp_path: Path) -> None:
    picture = tmp_path / "learned.svg"
    assert learn(home, "--look", "--picture", picture).exit_code == 0
    text = picture.read_text(encoding="utf-8")
    assert text.startswith("<svg ")
    assert "Firing 2: line measured, dashes modelled" in text
    refused = learn(home, "--look", "--picture", tmp_path / "nowhere" / "x.svg")
    assert refused.exit_code == 2
    assert "it cannot be written" in refused.stderr


def test_what_the_rule_wants_a_person_for_is_kept_until_one_takes_it(home: Path) -> None:
    chosen = learn(home, "--from", "3")
    assert "Against taking it: In firing 3 watches found something" in chosen.stdout
    assert "Kept, not adopted: it waits for a person at the furnace." in chosen.stdout
    (waiting,) = kept(home)
    assert not waiting.adopted
    assert "In firing 3 watches found something" in waiting.note
    refused = learn(home, "--put-back", str(waiting.id))
    assert refused.exit_code == 2
    assert "Model 1 waits for a person at the furnace: start its supervisor" in refused.stderr
    at_furnace = learn(home, "--from", "3", "--at-furnace")
    assert "--at-furnace asks by the furnace's button: start its supervisor first." in at_furnace.stderr


def test_an_earlier_model_is_put_back_by_a_new_row_that_names_it(home: Path) -> None:
    learn(home)
    result = learn(home, "--put-back", "1")
    assert result.stdout == "Model 1 is back: the next firing uses it.\n"
    newest, first = kept(home)
    assert (newest.adopted, newest.takes, newest.model, newest.who) == (True, 1, first.model, "command line")
    refused = learn(home, "--put-back", "7")
    assert refused.exit_code == 2
    assert "--put-back is 7; allowed: the number of a model in" in refused.stderr
    assert refused.stderr.strip().endswith(": 1, 2.")


def test_while_a_supervisor_runs_it_is_asked_and_the_log_left_alone(home: Path) -> None:
    with supervised(home, "Adopted; the next firing uses it.") as heard:
        result = learn(home, "--json")
    assert json.loads(result.stdout)["kept"] == {"adopted": True, "sentence": "Adopted; the next firing uses it."}
    (adopt,) = heard
    assert isinstance(adopt, Adopt)
    assert (adopt.model.learned_from, adopt.objections, adopt.ask, adopt.firing_id) == ((1, 2), (), False, 2)
    assert [each["firing_id"] for each in adopt.against["series"]] == [1, 2]
    assert kept(home) == []
    with supervised(home, "Not now.", accepted=False):
        refused = learn(home)
    assert (refused.exit_code, refused.stderr) == (2, "Not now.\n")


def test_what_waited_is_put_to_the_furnace_by_the_running_supervisor(home: Path) -> None:
    learn(home, "--from", "3")
    with supervised(home, "Asked: press the button at the furnace.") as heard:
        result = learn(home, "--put-back", "1", "--json")
    assert json.loads(result.stdout) == {"adopted": False, "sentence": "Asked: press the button at the furnace."}
    (adopt,) = heard
    assert isinstance(adopt, Adopt)
    assert (adopt.takes, adopt.ask) == (1, True)
    assert "In firing 3" in adopt.objections[0]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--from", "9"], "There is no firing 9 in"),
        (["--furnace", "workshop"], "belongs to the furnace 'bench', not to 'workshop'; name it with --furnace."),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(home: Path, words: list[str], said: str) -> None:
    result = learn(home, *words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1


def test_a_supervisor_that_holds_the_log_and_is_silent_is_named(home: Path) -> None:
    with open_directory(home, backend="simulated", furnace="bench"):
        result = learn(home)
    assert result.exit_code == 2
    assert "is being written, but its supervisor does not answer" in result.stderr


def one(path: Path) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(learn(path, "--json", "--look").stdout)
    return told


def test_without_the_meter_the_power_is_known_less_well(home: Path) -> None:
    metered = one(home)
    unmetered = json.loads(learn(home, "--json", "--meter", "off").stdout)
    assert (metered["metered"], unmetered["metered"]) == (True, False)
    assert unmetered["factors"]["power"]["log_sd"] > 1.5 * metered["factors"]["power"]["log_sd"]

"""A profile that nobody has prepared is judged over the link: what was understood of it, or the file's own refusal."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from supervisor.firing.profile_file import profile_from_text
from supervisor.furnace.file import read_furnace
from supervisor.link.client import SOCKET_NAME, Link, LinkSilent
from supervisor.link.judging import sentence
from supervisor.link.server import LinkServer
from tests.supervisor.furnace_at_hand import furnace_at_hand

WORKSHOP = read_furnace("workshop")


@pytest.fixture
def link(tmp_path: Path) -> Iterator[Link]:
    server = LinkServer(tmp_path / SOCKET_NAME, lambda text: profile_from_text(text, "profile", WORKSHOP), equipment={})
    hand = furnace_at_hand()
    hand.wait(1.0)
    server.publish(hand.shown())
    server.start()
    yield Link(tmp_path / SOCKET_NAME)
    server.close()


def test_a_profile_that_can_be_comes_back_in_sentences_with_its_course(link: Link, repository: Path) -> None:
    text = (repository / "docs/examples/ingots-2kg.toml").read_text(encoding="utf-8")
    found, why = link.judge(text)
    assert why == ""
    assert found is not None
    assert found["sentences"][0] == "Ramp to 740 °C at 600 °C/h."
    assert [leg["to_c"] for leg in found["legs"]] == [740, 740, 740]
    assert found["legs"][0]["duration_s"] == pytest.approx(720.0 / 600.0 * 3600.0)  # 20 to 740 °C at 600 °C/h
    assert (found["name"], found["top_c"], found["pour_c"]) == ("Ingots, 2 kg of 6082", 800, 720)
    found, why = link.judge(text.replace("rate_c_per_h = 600", "rate_c_per_h = 6000"))
    assert found is None
    assert why.startswith("profile: segment[1].rate_c_per_h is 6000; allowed: up to")


def test_a_silent_supervisor_judges_nothing(tmp_path: Path) -> None:
    with pytest.raises(LinkSilent):
        Link(tmp_path / SOCKET_NAME).judge("")


def test_a_sentence_needs_no_furnace() -> None:
    assert sentence({"ramp_to_c": 300.0, "over_min": 90.0}) == "Ramp to 300 °C over 90 min."
    assert sentence({"ramp_to_c": 740.0, "fastest": True}) == "Ramp to 740 °C as fast as the furnace can."
    assert sentence({"hold_min": 0.0, "until": "word"}) == "Hold until you say go on."

"""How long the supervisor has been silent, by what it says and not by whether its link is open."""

from collections.abc import Callable, Iterator
from typing import Any

from supervisor.link.client import LinkSilent
from supervisor.messenger.ear import Ear
from tests.end_to_end.waiting import until
from tests.supervisor.messenger.saying import COLD
from tests.web.snapshot_parts import made


class Speaker:
    """A link that says what a test puts before it, once over, then falls silent."""

    def __init__(self, *turns: list[dict[str, Any] | str]) -> None:
        self.turns = list(turns)
        self.readers: list[int] = []

    def watch(self, readers: Callable[[], int] | None = None) -> Iterator[dict[str, Any]]:
        assert readers is not None
        self.readers.append(readers())
        for said in self.turns.pop(0) if self.turns else []:
            if isinstance(said, str):
                raise LinkSilent(said)
            yield said
        raise LinkSilent("the supervisor closed the link")


def heard(speaker: Speaker, now_s: float = 100.0) -> tuple[Any, float]:
    """What an ear has made of it all."""
    ear = Ear(speaker, lambda: now_s)
    ear.start()
    until("everything is said", lambda: len(speaker.readers) > 0 and not speaker.turns)
    ear.close()
    ear._thread.join()
    return ear.heard


def said(monotonic_s: float, age_s: float, **changes: Any) -> dict[str, Any]:
    return made(COLD, monotonic_s=monotonic_s, age_s=age_s, **changes)


def test_a_new_word_counts_from_when_it_was_made() -> None:
    snapshot, silent_s = heard(Speaker([said(5000.0, 0.5)]))
    assert snapshot["monotonic_s"] == 5000.0
    assert silent_s == 0.5


def test_a_supervisor_that_repeats_itself_is_silent() -> None:
    _, silent_s = heard(Speaker([said(5000.0, 0.5)], [said(5000.0, 0.0)]))
    assert silent_s == 0.5


def test_another_run_at_the_same_moment_of_the_furnace_is_a_new_word() -> None:
    snapshot, silent_s = heard(Speaker([said(5000.0, 9.0)], [said(5000.0, 0.0, run="r2")]))
    assert (snapshot["run"], silent_s) == ("r2", 0.0)


def test_a_supervisor_that_speaks_otherwise_is_silent_and_listened_to_again() -> None:
    strange = {"v": 1}
    assert heard(Speaker([strange]))[0] is None
    snapshot, silent_s = heard(Speaker([said(5000.0, 9.0)], [strange], [said(5001.0, 0.25)]))
    assert (snapshot["monotonic_s"], silent_s) == (5001.0, 0.25)


def test_the_messenger_is_nobody_who_follows_the_furnace() -> None:
    speaker = Speaker([said(5000.0, 0.5)])
    heard(speaker)
    assert set(speaker.readers) == {0}

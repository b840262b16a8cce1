"""What all tests share."""

import gc
from collections.abc import Iterator
from pathlib import Path

import pytest
from _pytest.runner import runtestprotocol
from hypothesis import settings

from tests.end_to_end.held_up import AGAIN, SET_UPS, HeldUp

REPOSITORY = Path(__file__).resolve().parent.parent

# Generated examples take as long as they take, and a failing one can be pasted back.
settings.register_profile("project", deadline=None, print_blob=True)
settings.load_profile("project")

# A firing in virtual time makes small objects by the million and hardly a cycle of them.
gc.set_threshold(50_000, 20, 100)


LONGEST = ("test_melt.py", "test_campaigns.py")
"""Begun first: what runs beside them is done when they are."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Whatever lies in tests/browser is run with the browser tests; the longest tests are begun first."""
    for item in items:
        if (REPOSITORY / "tests" / "browser") in item.path.parents:
            item.add_marker("browser")
    items.sort(key=lambda item: item.path.name not in LONGEST)


HELD_UP = pytest.StashKey[int]()
"""How many phases of a test ended as the machine held its supervisor up before anything was tried."""


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    """Note whether a test came to nothing but a supervisor that was held up."""
    if call.excinfo is not None and isinstance(call.excinfo.value, HeldUp):
        item.stash[HELD_UP] = item.stash.get(HELD_UP, 0) + 1
    return (yield)


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item, nextitem: pytest.Item | None) -> bool | None:
    """Set a test of processes up again that came to nothing else: with new fixtures, a bounded number of times."""
    if item.get_closest_marker("processes") is None:
        return None
    item.ihook.pytest_runtest_logstart(nodeid=item.nodeid, location=item.location)
    for again in range(SET_UPS):
        item.stash[HELD_UP] = 0
        if again:
            item.user_properties[:] = [(AGAIN, again)]
        reports = runtestprotocol(item, log=False, nextitem=nextitem)
        if item.stash[HELD_UP] == 0 or sum(report.failed for report in reports) > item.stash[HELD_UP]:
            break
    for report in reports:
        item.ihook.pytest_runtest_logreport(report=report)
    item.ihook.pytest_runtest_logfinish(nodeid=item.nodeid, location=item.location)
    return True


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say which tests were set up again, and how often: a machine on which that is many is no machine for them."""
    for reports in terminalreporter.stats.values():
        for report in reports:
            if getattr(report, "when", None) == "call" and (again := dict(report.user_properties).get(AGAIN)):
                terminalreporter.write_line(f"{AGAIN}, as the supervisor was held up, {again} x: {report.nodeid}")


@pytest.fixture(scope="session")
def repository() -> Path:
    """The folder that holds pyproject.toml."""
    return REPOSITORY

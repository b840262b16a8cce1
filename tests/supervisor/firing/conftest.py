"""Moments that take minutes to come to: reached once, and gone on from in a copy of the process by each test."""

import traceback
from collections.abc import Callable
from typing import Any

import pytest

from supervisor.rehearsal.copied import in_a_copy
from tests.supervisor.firing.knowing import in_a_boost, of_doubtful_mass
from tests.supervisor.furnace_at_hand import FurnaceAtHand

MOMENTS = {"boosted", "doubted"}


@pytest.fixture(scope="session")
def boosted() -> FurnaceAtHand:
    """Cold metal has come to 600 °C in a boost."""
    return in_a_boost()


@pytest.fixture(scope="session")
def doubted() -> FurnaceAtHand:
    """Two kilograms were entered and there is one: the supervisor has just said so."""
    return of_doubtful_mass(entered_kg=2.0, really_kg=1.0)


@pytest.hookimpl(tryfirst=True)
def pytest_pyfunc_call(pyfuncitem: pytest.Function) -> bool | None:
    """Run a test that takes one of the moments in a fork, which leaves the moment as it is for the next."""
    if MOMENTS.isdisjoint(pyfuncitem.fixturenames):
        return None
    arguments = {name: pyfuncitem.funcargs[name] for name in MOMENTS.intersection(pyfuncitem.fixturenames)}
    wrong = in_a_copy(lambda: _wrong(pyfuncitem.obj, arguments))
    if wrong:
        pytest.fail(wrong, pytrace=False)
    return True


def _wrong(test: Callable[..., None], arguments: dict[str, Any]) -> str:
    try:
        test(**arguments)
    except Exception:  # noqa: BLE001 - it fails in the parent, as what it is
        return traceback.format_exc()
    return ""

"""A bench furnace, and what its owner knows of it after three ordinary melts. Simulated."""

import pytest

from hardware.simulated.plant import Bench
from supervisor.furnace.description import FurnaceDescription
from supervisor.furnace.file import read_furnace
from supervisor.model.learned import Model
from tests.benchmarks.estimate_trials import learned

SEED = 101


@pytest.fixture(scope="module")
def furnace() -> FurnaceDescription:
    return read_furnace("bench")


@pytest.fixture(scope="module")
def model(furnace: FurnaceDescription) -> Model:
    return learned(Bench, furnace, SEED)

"""What was learned outlives the supervisor: killed in the middle of a melt, it comes back with the same model."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from supervisor.furnace.file import read_furnace
from supervisor.logbook.directory import open_directory
from supervisor.logbook.learning import models
from supervisor.logbook.reading import open_log
from supervisor.logbook.records import ModelRow
from supervisor.logbook.scribe import Scribe
from supervisor.model.learned import Model, parts_digest
from supervisor.model.reduced import FACTORS, PRIORS
from tests.end_to_end.site import Site

pytestmark = pytest.mark.processes

FURNACE = read_furnace("workshop")
MELT = """
name = "Melt"
top_c = 800
[charge]
mass_kg = 1.0
alloy = "6082"
form = "off-cuts"
[[segment]]
ramp_to_c = 740
rate_c_per_h = 780
[[segment]]
hold_min = 10
"""


def a_model() -> Model:
    """As the furnace file has it, known rather well."""
    log_sd = 0.2 * np.array([PRIORS[name] for name in FACTORS])
    covariance = tuple(map(tuple, np.diag(log_sd**2).tolist()))
    nothing = (0.0,) * len(FACTORS)
    return Model(
        nothing, tuple(log_sd.tolist()), covariance, (1, 2, 3), True, {}, 20.0, 800.0, parts_digest(FURNACE), 0
    )


def test_after_the_pour_the_furnace_is_learned_and_the_next_firing_uses_it(tmp_path: Path) -> None:
    with Site(tmp_path, times_real=60.0) as site:
        site.start()
        assert site.link.snapshot()["model"] is None
        begin_to_melt(site)
        site.let_pass(660.0)
        site.send(command="stop")
        site.wait_for("stopped")
        site.send(command="note", kind="pour")
        site.until("the lesson", lambda: site.link.snapshot()["model"] is not None, within_s=180.0)
        assert site.link.snapshot()["model"]["learned_from"] == 1
        site.until("its last words", lambda: said(site) is not None)
        assert said(site) == {"said": "Adopted: the next firing uses it."}
        with open_log(site.data) as log:
            (kept,) = log.models()
            assert (kept.adopted, kept.who, kept.firing_id) == (True, "learner", 1)
            assert log.commands()[-1]["kind"] == "adopt"


def said(site: Site) -> dict[str, Any] | None:
    """What the learner said at its end."""
    with open_log(site.data) as log:
        return next((event["detail"] for event in log.events() if event["kind"] == "learning"), None)


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """A furnace whose log holds a model, at sixty times real."""
    row = ModelRow(None, True, None, "learner", "a test", a_model().to_json(), {"series": []}, "made up")
    with (
        open_directory(tmp_path / "data", backend="simulated", furnace="workshop") as data,
        Scribe(data, boot_id="boot", utc_ms=lambda: 0, threaded=False) as scribe,
    ):
        scribe.put([row])
    with Site(tmp_path, times_real=60.0) as site:
        yield site


def begin_to_melt(site: Site) -> None:
    site.send(command="prepare", profile_toml=MELT)
    site.bench(bench="lid", open=True)
    site.let_pass(2.0)
    site.bench(bench="add_charge", mass_kg=1.0, temperature_c=20, alloy="6082")
    site.bench(bench="lid", open=False)
    site.let_pass(2.0)
    site.begin()


def state_of(site: Site) -> str:
    with open_log(site.data) as log:
        return log.firing(1).state


def estimates(site: Site) -> int:
    with open_log(site.data) as log:
        return len(log.estimates(1))


def test_model_residuals_and_estimates_survive_a_kill_in_the_middle_of_a_melt(site: Site) -> None:
    site.start()
    begin_to_melt(site)
    site.until("three minutes of estimates on disk", lambda: estimates(site) >= 3, within_s=120.0)
    before = estimates(site)
    site.kill()
    site.start()
    site.until("the cut firing is found", lambda: state_of(site) == "interrupted")
    with open_log(site.data) as log:
        assert models(log, FURNACE).adopted == a_model()
        assert len(log.estimates(1)) >= before
        assert log.estimates(1)[-1]["metal_c"] is not None
        residuals = [row["residual_k"] for row in log.samples(1) if row["residual_k"] is not None]
        assert len(residuals) > 60
    snapshot = site.link.snapshot()
    assert snapshot["state"] == "stopped"
    assert snapshot["model"]["learned_from"] == 3
    assert json.dumps(snapshot["metal"]) == "null", "the killed firing's estimate is not taken up again"

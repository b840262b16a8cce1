"""A few hundred wrong requests, and that a hole would be seen."""

import pytest
from flask import Request

from tests.campaigns.requests import Broken, campaign
from web import access


def test_wrong_requests_heat_nothing_start_nothing_and_break_nothing() -> None:
    told = campaign(300, 7)
    assert sum(told[f"status {kind}xx"] for kind in (2, 3, 4)) >= 300
    assert told["status 5xx"] == 0
    assert told["routes"] > 50


def test_a_guard_that_took_every_origin_for_ours_would_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    def anything(asked: Request) -> bool:
        return True

    monkeypatch.setattr(access, "_origin_is_ours", anything)
    with pytest.raises(Broken, match="STARTING"):
        campaign(400, 7)

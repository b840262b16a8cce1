"""What the pages weigh. Bytes only: how long they take is measured by `python -m tests.benchmarks web`."""

from pathlib import Path

from playwright.sync_api import Browser

from tests.benchmarks.web_phone import measured


def test_a_visit_and_a_strip_of_six_hours_are_light(chromium: Browser, data: Path) -> None:
    rows = measured(chromium, data, 1, "127.0.0.1")
    weighs = {figure.name: figure.value for figure in rows if figure.unit == "KB"}
    assert weighs["first_number_kb"] <= 60
    assert weighs["first_visit_kb"] <= 150
    assert 0 < weighs["strip_6h_kb"] <= 10

"""What all tests share."""

import gc
from pathlib import Path

import pytest
from hypothesis import settings

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


@pytest.fixture(scope="session")
def repository() -> Path:
    """The folder that holds pyproject.toml."""
    return REPOSITORY

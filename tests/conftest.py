"""What all tests share."""

from pathlib import Path

import pytest
from hypothesis import settings

REPOSITORY = Path(__file__).resolve().parent.parent

# Generated examples take as long as they take, and a failing one can be pasted back.
settings.register_profile("project", deadline=None, print_blob=True)
settings.load_profile("project")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Whatever lies in tests/browser is run with the browser tests, one at a time."""
    for item in items:
        if (REPOSITORY / "tests" / "browser") in item.path.parents:
            item.add_marker("browser")


@pytest.fixture(scope="session")
def repository() -> Path:
    """The folder that holds pyproject.toml."""
    return REPOSITORY

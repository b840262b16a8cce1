"""The pages on furnace files and profiles name every field that there is, and show what is accepted."""

import re
from pathlib import Path

import pytest
from pydantic import BaseModel

from supervisor.firing.profile_file import ProfileFields, profile_from_text
from supervisor.furnace.file import FurnaceFields, read_furnace
from supervisor.furnace.pins import PinFields


def fields(model: type[BaseModel]) -> set[str]:
    """The names of all fields that hold a value, those of inner tables too."""
    found = set()
    for name, field in model.model_fields.items():
        inner = [kind for kind in (field.annotation, *getattr(field.annotation, "__args__", ())) if is_table(kind)]
        found |= fields(inner[0]) if inner else {name}
    return found


def is_table(kind: object) -> bool:
    return isinstance(kind, type) and issubclass(kind, BaseModel)


@pytest.mark.parametrize(
    ("page", "named"),
    [
        ("furnace-file.md", fields(FurnaceFields)),
        ("profiles.md", fields(ProfileFields)),
        ("wiring.md", fields(PinFields)),
    ],
)
def test_the_page_names_every_field(repository: Path, page: str, named: set[str]) -> None:
    text = (repository / "docs" / page).read_text(encoding="utf-8")
    assert {name for name in named if not re.search(rf"`{name}\b", text)} == set()


def test_the_profiles_that_the_page_shows_are_accepted(repository: Path) -> None:
    page = (repository / "docs/profiles.md").read_text(encoding="utf-8")
    shown = [text for text in re.findall(r"```toml\n(.*?)```", page, re.DOTALL) if text.startswith("name")]
    assert shown
    for text in shown:
        profile_from_text(text, "docs/profiles.md", read_furnace("workshop"))

"""The pages on furnace and profile files name every field that there is, and show what is accepted."""

import re
from pathlib import Path

import pytest
from pydantic import BaseModel

from supervisor.firing.profile_file import ProfileFields, profile_from_text
from supervisor.furnace.file import FurnaceFields, read_furnace
from supervisor.furnace.pins import PinFields


def fields(model: type[BaseModel], prefix: str = "") -> set[str]:
    """Every field by the name that a person writes, those of inner tables behind a dot."""
    found = set()
    for name, field in model.model_fields.items():
        inner = [kind for kind in (field.annotation, *getattr(field.annotation, "__args__", ())) if is_table(kind)]
        found |= fields(inner[0], f"{name}.") if inner else {prefix + name}
    return found


def is_table(kind: object) -> bool:
    return isinstance(kind, type) and issubclass(kind, BaseModel)


@pytest.mark.parametrize(
    ("page", "named"),
    [
        ("furnace-file.md", {name for name in fields(FurnaceFields) if not name.startswith("pins.")}),
        ("profile-file.md", {name.removeprefix("segment.") for name in fields(ProfileFields)}),
        ("wiring.md", fields(PinFields)),
    ],
)
def test_the_page_names_every_field(repository: Path, page: str, named: set[str]) -> None:
    text = (repository / "docs" / page).read_text(encoding="utf-8")
    assert {name for name in named if f"`{name}`" not in text} == set()


def test_the_profile_that_the_page_shows_is_accepted(repository: Path) -> None:
    page = (repository / "docs/profile-file.md").read_text(encoding="utf-8")
    shown = re.findall(r"```toml\n(.*?)```", page, re.DOTALL)
    assert len(shown) == 1
    profile = profile_from_text(shown[0], "docs/profile-file.md", read_furnace("workshop"))
    assert profile.charge is not None
    assert [type(segment).__name__ for segment in profile.segments] == ["Ramp", "Hold"]

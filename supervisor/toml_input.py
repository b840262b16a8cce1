"""TOML files that people write: read with care, checked field by field, refused in one sentence."""

import tomllib
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, TypeVar, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from pydantic_core import ErrorDetails

from supervisor.refusal import InputRefused, refusal

MOST_BYTES = 65_536
"""No furnace or profile needs more; a larger file is some other file."""


class Fields(BaseModel):
    """The fields of one table. Each says in its description what is allowed: a refusal quotes it."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


FieldsT = TypeVar("FieldsT", bound=Fields)


def between(low: float, high: float, unit: str = "") -> Any:
    """A field's range, both ends allowed. Not-a-number fails it."""
    return Field(ge=low, le=high, description=f"{low:g} to {high:g} {unit}".strip())


def line(longest: int) -> Any:
    """A field of printable text on one line."""
    return Field(pattern=rf"^[^\p{{C}}]{{1,{longest}}}$", description=f"1 to {longest} printable characters")


Line = Annotated[str, line(60)]


def read_text(path: Path) -> str:
    """The text of a small UTF-8 file.

    Raises:
        InputRefused: missing, a directory or a device, unreadable, too large, not UTF-8.
    """
    if path.is_dir():
        raise InputRefused(f"{path} is a directory; allowed: a TOML file")
    if path.exists() and not path.is_file():
        raise InputRefused(f"{path} is not a plain file; allowed: a TOML file")
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise InputRefused(f"{path} cannot be read: {(error.strerror or 'unknown reason').lower()}") from error
    except ValueError as error:
        raise InputRefused(f"{str(path)!r} cannot be the name of a file") from error
    if len(content) > MOST_BYTES:
        raise InputRefused(f"{path} is larger than {MOST_BYTES} bytes; allowed: a TOML file of at most that size")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise InputRefused(f"{path} is not UTF-8 text at byte {error.start}; allowed: a TOML file in UTF-8") from error


def checked(fields: type[FieldsT], text: str, source: str) -> FieldsT:
    """Read TOML text into its fields.

    source: what the text is called in a refusal, usually the file.

    Raises:
        InputRefused: empty, too long, not TOML (with its line), or the first field that is unknown, missing, of a
            wrong kind or out of range.
    """
    text = text.removeprefix("\ufeff")  # some editors put a byte-order mark in front
    if not text.strip():
        raise InputRefused(f"{source} is empty; allowed: a TOML file")
    if len(text) > MOST_BYTES:
        raise InputRefused(f"{source} is longer than {MOST_BYTES} characters; allowed: at most that many")
    try:
        text.encode()
        table = tomllib.loads(text)
    except UnicodeEncodeError as error:
        raise InputRefused(f"{source} holds half a character at {error.start}; allowed: UTF-8 text") from error
    except tomllib.TOMLDecodeError as error:
        raise InputRefused(f"{source} is not TOML: {_at_a_line(str(error), text)}") from error
    except (ValueError, RecursionError) as error:  # a number of thousands of digits, thousands of open brackets
        raise InputRefused(
            f"{source} is not TOML that can be read: a number or a list in it is far too long"
        ) from error
    try:
        return fields.model_validate(table)
    except ValidationError as error:
        # An unknown name explains the missing one beside it, so it comes first.
        details = sorted(error.errors(include_url=False), key=lambda detail: detail["type"] != "extra_forbidden")
        raise _refused(fields, details[0], source) from error


def _at_a_line(message: str, text: str) -> str:
    message = message[0].lower() + message[1:]
    return message.replace("(at end of document)", f"(at the end, line {len(text.splitlines())})")


def _refused(fields: type[Fields], detail: ErrorDetails, source: str) -> InputRefused:
    path = _written(detail["loc"])
    if detail["type"] == "extra_forbidden":
        return _unknown_name(fields, detail["loc"], source, path)
    allowed = _allowed(fields, detail["loc"])
    if detail["type"] == "missing":
        return InputRefused(f"{source}: {path} is missing; allowed: {allowed}")
    return refusal(source, path, detail["input"], allowed)


def _unknown_name(fields: type[Fields], place: tuple[int | str, ...], source: str, path: str) -> InputRefused:
    names = list(_model_at(fields, place[:-1]).model_fields)
    likely = [name for name in names if name.startswith(f"{place[-1]}_")]
    if likely:
        hint = " or ".join(likely)
        return InputRefused(f"{source}: {path} is not a name used here; allowed: {hint}, with its unit in the name")
    return InputRefused(f"{source}: {path} is not a name used here; allowed: {', '.join(names)}")


def _written(place: tuple[int | str, ...]) -> str:
    """`segment[2].ramp_to_c`: people count from one."""
    text = "".join(f"[{step + 1}]" if isinstance(step, int) else f".{step}" for step in place)
    return text.removeprefix(".")


def _allowed(fields: type[Fields], place: tuple[int | str, ...]) -> str:
    """What the innermost field on the way allows."""
    allowed = ""
    model: type[Fields] | None = fields
    for step in place:
        if isinstance(step, str) and model is not None and step in model.model_fields:
            info = model.model_fields[step]
            model = _inner(info.annotation)
            allowed = info.description or (f"a table with {', '.join(model.model_fields)}" if model else "")
        elif isinstance(step, int) and model is not None:
            allowed = f"a table with {', '.join(model.model_fields)}"
    return allowed


def _model_at(fields: type[Fields], place: tuple[int | str, ...]) -> type[Fields]:
    model = fields
    for step in place:
        if isinstance(step, str):
            inner = _inner(model.model_fields[step].annotation)
            assert inner is not None  # only tables have names in them
            model = inner
    return model


def _inner(annotation: Any) -> type[Fields] | None:
    """The table behind `Table`, `Table | None` or `list[Table]`."""
    if isinstance(annotation, type) and not get_origin(annotation) and issubclass(annotation, Fields):
        return annotation
    if get_origin(annotation) in (list, UnionType):
        for argument in get_args(annotation):
            found = _inner(argument)
            if found is not None:
                return found
    return None

"""The fields of one message of the link, taken out one by one and checked.

An error names field, value and what is allowed.
"""

import json
from collections.abc import Mapping
from typing import Any


class BadMessage(ValueError):
    """A line that cannot be used: names field, value and what is allowed. `id` is the sender's, if it could be read."""

    def __init__(self, sentence: str, message_id: str = "") -> None:
        super().__init__(sentence)
        self.id = message_id


class Fields:
    """The fields of one message, taken out one by one and checked."""

    def __init__(self, message: Mapping[str, Any]) -> None:
        self._message = message
        own_id = message.get("id")
        self.id = own_id if isinstance(own_id, str) and 1 <= len(own_id) <= 64 else ""

    def __contains__(self, name: str) -> bool:
        return name in self._message

    def get(self, name: str) -> object:
        """As it came."""
        return self._message.get(name)

    def wrong(self, name: str, allowed: str) -> BadMessage:
        """What is raised for a field that cannot be used."""
        is_what = f"is {_short(self._message[name])}" if name in self._message else "is missing"
        return BadMessage(f"{name} {is_what}; allowed: {allowed}.", self.id)

    def only(self, names: tuple[str, ...]) -> None:
        """Refuse fields that the command does not know."""
        for name in self._message:
            if name not in names:
                known = ", ".join(names)
                raise BadMessage(f"{_short(name)} is not a field of this command; allowed: {known}.", self.id)

    def text(self, name: str, longest: int, *, least: int = 1, one_line: bool = True) -> str:
        """Text."""
        value = self._message.get(name)
        if isinstance(value, str) and least <= len(value) <= longest and (not one_line or value.isprintable()):
            return value
        raise self.wrong(name, f"{'one line of ' if one_line else ''}text of {least} to {longest} characters")

    def choice(self, name: str, allowed: tuple[str, ...]) -> str:
        """One of some words."""
        value = self._message.get(name)
        if isinstance(value, str) and value in allowed:
            return value
        raise self.wrong(name, ", ".join(allowed))

    def number(self, name: str, least: float, most: float, unit: str) -> float:
        """A number within its range; NaN is in none."""
        value = self._message.get(name)
        if isinstance(value, int | float) and not isinstance(value, bool) and least <= value <= most:
            return float(value)
        raise self.wrong(name, f"{least:g} to {most:g} {unit}")

    def number_or_none(self, name: str, least: float, most: float, unit: str) -> float | None:
        """The same, or nothing."""
        return None if self._message.get(name) is None else self.number(name, least, most, unit)

    def yes_or_no(self, name: str) -> bool:
        """True or false."""
        value = self._message.get(name)
        if isinstance(value, bool):
            return value
        raise self.wrong(name, "true or false")

    def whole(self, name: str, most: int) -> int:
        """A whole number from 0 on."""
        value = self._message.get(name)
        if isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= most:
            return value
        raise self.wrong(name, f"a whole number from 0 to {most}")

    def whole_or_none(self, name: str, what: str) -> int | None:
        """The number of a row, or nothing."""
        value = self._message.get(name)
        if value is None or (isinstance(value, int) and not isinstance(value, bool) and 1 <= value < 2**31):
            return value
        raise self.wrong(name, f"{what}, or null")

    def texts(self, name: str, most: int, longest: int) -> tuple[str, ...]:
        """A list of texts."""
        value = self._message.get(name, [])
        if isinstance(value, list) and len(value) <= most and all(is_text(each, longest) for each in value):
            return tuple(value)
        raise self.wrong(name, f"a list of at most {most} texts of 1 to {longest} characters")

    def object(self, name: str) -> Mapping[str, Any]:
        """An object."""
        value = self._message.get(name)
        if isinstance(value, dict):
            return value
        raise self.wrong(name, "an object")

    def epoch(self) -> int:
        """The epoch that the sender saw."""
        value = self._message.get("epoch")
        if isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 2**53:
            return value
        raise self.wrong("epoch", "the epoch of the snapshot that you saw")

    def epoch_or_none(self) -> int | None:
        """The same, or nothing."""
        return None if self._message.get("epoch") is None else self.epoch()


def _short(value: object) -> str:
    shown = json.dumps(value, ensure_ascii=False)
    return shown if len(shown) <= 60 else f"{shown[:57]}..."


def is_text(value: object, longest: int) -> bool:
    """One line of text, no longer than that."""
    return isinstance(value, str) and 1 <= len(value) <= longest and value.isprintable()

"""What a line of the link says about proofs, parts and cold practice. None of it can add heat."""

from collections.abc import Callable, Mapping
from typing import Any

from supervisor.firing.commands import By, Change, Command, Practise, Practising, Prove
from supervisor.link.fields import Fields


def _prove(by: By, fields: Fields, _: Any) -> Command:
    said = fields.text("said", 300, least=0) if "said" in fields else ""
    return Prove(by, fields.text("proof", 40), said)


def _change(by: By, fields: Fields, _: Any) -> Command:
    return Change(by, fields.text("part", 40), fields.text("note", 300))


def _practise(by: By, fields: Fields, _: Any) -> Command:
    return Practise(by, Practising(fields.choice("act", tuple(each.value for each in Practising))))


OF_THE_EQUIPMENT: Mapping[str, tuple[tuple[str, ...], Callable[[By, Fields, Any], Command]]] = {
    "prove": (("proof", "said"), _prove),
    "part": (("part", "note"), _change),
    "practise": (("act",), _practise),
}
"""Each command with the fields that it knows, and how it is made of them."""

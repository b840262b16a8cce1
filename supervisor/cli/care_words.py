"""The words and the JSON of `meltkeeper care`."""

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from typing import Any

from supervisor.care.faults import DEAD, Suspect
from supervisor.care.figures import Figures
from supervisor.care.summary import Care


def as_object(found: Care) -> dict[str, Any]:
    """Everything, with names and units; docs/care.md lists them."""
    return {
        "sensor": {
            "truth": found.truth._asdict(),
            "truth_of_mixed_scrap": found.mixed._asdict(),
            "beside": found.beside,
            "use": found.use._asdict(),
            "accuracy": {**found.accuracy._asdict(), "parts": [part._asdict() for part in found.accuracy.parts]},
            "dip_offsets_k": list(found.dips),
            "checks": [{**each._asdict(), "detail": dict(each.detail)} for each in found.checks],
            "history": [_figure(each) for each in found.sensor],
        },
        "element": {
            "left": dict(found.left),
            "told": None if found.told is None else found.told._asdict(),
            "history": [_figure(each) for each in found.element],
        },
        "lives": [each._asdict() for each in found.lives],
        "suspects": [
            {"symptom": each.name, "title": each.symptom.title, "evidence": each.evidence} for each in found.suspects
        ],
        "dried": found.dried,
        "limiter": found.limiter,
        "unreckoned": found.unreckoned,
    }


def _figure(each: Figures) -> dict[str, Any]:
    element = None if each.element is None else each.element._asdict()
    return {**each._asdict(), "element": element}


def lines(found: Care) -> Iterable[str]:
    """The same for people."""
    yield "Sensor"
    yield f"  {found.truth.words}"
    if found.mixed.bias_k is not None and not found.truth.found and found.mixed.found:
        yield f"  With mixed scrap too: {found.mixed.words}"
    if found.beside:
        yield f"  {found.beside}"
    yield f"  {found.use.words}"
    yield f"  {found.accuracy.words} It is made of:"
    for part in found.accuracy.parts:
        yield f"    {part.name} {part.limit_k:.1f} K ({part.source})"
    for each in found.checks[-4:]:
        yield f"  {datetime.fromtimestamp(each.utc_ms / 1000, UTC):%Y-%m-%d} {each.kind}: {each.note or each.value}"
    yield "Element"
    yield f"  {found.left.get('words', 'Nothing is reckoned yet: meltkeeper care reckon.')}"
    if found.told is not None:
        yield f"  {found.told.words}"
    for life in found.lives:
        yield life.part[:1].upper() + life.part[1:]
        yield f"  {life.words}"
    if found.dried:
        yield "Lining"
        yield f"  {found.dried}"
    yield "Limiter"
    yield f"  {found.limiter}"
    if found.unreckoned:
        yield f"{found.unreckoned} firings are not reckoned yet: meltkeeper care reckon."
    if found.suspects:
        yield f"What the record suspects: {', '.join(each.symptom.title.lower() for each in found.suspects)}."
        yield "  meltkeeper care faults"


def fault_lines(found: Sequence[Suspect]) -> Iterable[str]:
    """Suspects with their tests, in steps."""
    if not found:
        yield "The record of the last month shows nothing. Name what you see: no-heat, weak-heat, leaks, lid ..."
        return
    for each in found:
        yield f"{each.symptom.title}{f' ({each.evidence})' if each.evidence else ''}"
        for number, test in enumerate(each.symptom.tests, start=1):
            yield f"  {number}. {f'{DEAD} ' if test.hands else ''}{test.do}"
            yield f"     Good: {test.good} Else: {test.part}."
        yield "  Changed something? meltkeeper furnace part says what is proved again."

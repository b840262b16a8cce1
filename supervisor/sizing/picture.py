"""The furnace and its coil drawn to scale, as SVG: a section from the side, one from above, and the coil enlarged."""

from collections.abc import Iterable
from html import escape
from math import cos, pi, radians, sin

from supervisor.furnace.shape import Chamber
from supervisor.sizing.chamber import Place
from supervisor.sizing.coils import Coil
from supervisor.sizing.design import MARGIN_MM, Candidate

_TEXT = 15.0
"""Height of letters in the drawing, of a width of 420."""


def svg(place: Place, of: Candidate) -> str:
    """The picture. Its unit is the millimetre of the furnace; the coil's own drawing is enlarged."""
    wall_mm = 1000.0 * place.thickness_m
    wide, deep = 1000.0 * place.chamber.across_m + 2.0 * wall_mm, 1000.0 * place.chamber.depth_m + 2.0 * wall_mm
    text = _TEXT * wide / 420.0
    gap = 3.2 * text
    top = deep + gap
    coil_top = top + wide + gap
    height = coil_top + (0.42 * wide if of.coil else 0.0)
    inside = f"{_mm(place.chamber.across_m)} by {_mm(place.chamber.depth_m)} mm"
    title = f"Section to scale: chamber {inside} in {wall_mm:.0f} mm of wall"
    box = f"{-0.5 * text:.1f} {-1.6 * text:.1f} {wide + text:.1f} {height + 2.4 * text:.1f}"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}"'
        f' role="img" font-family="sans-serif" font-size="{text:.1f}" fill="currentColor" stroke="none"'
        f' class="sized"><title>{escape(title)}</title>',
        '<defs><pattern id="brick" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<line x1="0" y1="0" x2="0" y2="9" stroke="currentColor" stroke-width="1" opacity=".45"/></pattern></defs>',
        *_side(place, of, text),
        f'<g transform="translate(0 {top:.1f})">',
        *_above(place, of, text),
        "</g>",
    ]
    if of.coil:
        parts += [f'<g transform="translate(0 {coil_top:.1f})">', *_coil(of.coil, wide, text), "</g>"]
    return "".join([*parts, "</svg>"])


def _side(place: Place, of: Candidate, text: float) -> Iterable[str]:
    """Cut through the middle: wall, lid, grooves with the coil in them."""
    wall_mm, across, depth = (
        1000.0 * size for size in (place.thickness_m, place.chamber.across_m, place.chamber.depth_m)
    )
    wide, deep = across + 2.0 * wall_mm, depth + 2.0 * wall_mm
    yield _label(0.0, -0.5 * text, "From the side")
    hole = f"M{wall_mm:.1f} {wall_mm:.1f}v{depth:.1f}h{across:.1f}v{-depth:.1f}Z"
    yield _brick(f"M0 0H{wide:.1f}V{deep:.1f}H0Z{hole}")
    yield _line(0.0, wall_mm, wide, wall_mm, 1.5)  # the lid's seam
    yield from _joints(place, wide, deep)
    coil_mm = of.coil.outside_mm if of.coil else 2.0 * of.wire.mm
    for row in _rows(depth, of.rounds, coil_mm):
        for x in (wall_mm - coil_mm / 2.0, wall_mm + across + coil_mm / 2.0):
            yield (
                f'<circle cx="{x:.1f}" cy="{wall_mm + row:.1f}" r="{coil_mm / 2.0:.1f}" fill="#fff" class="blank"'
                ' stroke="currentColor" stroke-width="1.6"/>'
            )
    yield from _size_across(wall_mm, wall_mm + across, wall_mm + 0.88 * depth, f"{across:.0f}", text)
    yield from _size_down(wall_mm + 0.3 * across, wall_mm, wall_mm + depth, f"{depth:.0f}", text)
    yield from _size_across(0.0, wall_mm, wall_mm + depth + wall_mm / 2.0, f"{wall_mm:.0f}", text)


def _above(place: Place, of: Candidate, text: float) -> Iterable[str]:
    """Cut through the middle of a round: the chamber's form, and the middle of the groove."""
    chamber, wall_mm = place.chamber, 1000.0 * place.thickness_m
    across, wide = 1000.0 * chamber.across_m, 1000.0 * chamber.across_m + 2.0 * wall_mm
    coil_mm = of.coil.outside_mm if of.coil else 2.0 * of.wire.mm
    yield _label(
        0.0, -0.5 * text, f"From above: one of {of.rounds} round{'s' * (of.rounds != 1)}, {of.round_mm:.0f} mm"
    )
    yield _brick(f"{_outline(chamber, wide, wide)}{_outline(chamber, across, wide)}")
    yield (
        f'<path d="{_outline(chamber, across + coil_mm, wide)}" fill="none" stroke="currentColor"'
        f' stroke-width="{coil_mm:.1f}" stroke-dasharray="{of.wire.mm:.2f} {of.wire.mm * 2.0:.2f}" opacity=".75"/>'
    )
    middle = wide / 2.0
    yield from _size_across(middle - across / 2.0, middle + across / 2.0, middle, f"{across:.0f}", text)


def _coil(coil: Coil, wide: float, text: float) -> Iterable[str]:
    """A few turns from the side, enlarged, with the sizes that the winder needs."""
    shown = 7
    times = 0.62 * wide / (coil.pitch_mm * (shown + 1))
    times = min(times, 0.26 * wide / coil.outside_mm)
    pitch, high, thick = coil.pitch_mm * times, coil.outside_mm * times, coil.wire_mm * times
    yield _label(0.0, -0.5 * text, f"The coil, {times:.1f} times as large")
    left, top = 0.04 * wide, 0.5 * text
    head, foot = top + thick / 2.0, top + high - thick / 2.0
    for n in range(shown):
        x = left + thick / 2.0 + n * pitch
        yield (
            f'<g stroke="currentColor" stroke-width="{thick:.1f}" stroke-linecap="round" fill="none">'
            f'<path d="M{x:.1f} {foot:.1f}L{x + pitch / 2:.1f} {head:.1f}"/>'
            f'<path d="M{x + pitch / 2:.1f} {head:.1f}L{x + pitch:.1f} {foot:.1f}" opacity=".35"/></g>'
        )
    right = left + shown * pitch + thick + 0.04 * wide
    yield from _size_down(right, top, top + high, f"{coil.outside_mm:g}", text)
    yield from _size_across(
        left + thick / 2.0, left + thick / 2.0 + pitch, top + high + 0.9 * text, f"{coil.pitch_mm:.1f}", text
    )


def _rows(depth_mm: float, rounds: int, coil_mm: float) -> list[float]:
    """Heights of the grooves' middles, evenly between the margins."""
    free = depth_mm - 2.0 * MARGIN_MM - coil_mm
    if rounds == 1 or free <= 0.0:
        return [depth_mm / 2.0 + coil_mm * (n - (rounds - 1) / 2.0) for n in range(rounds)]
    return [MARGIN_MM + coil_mm / 2.0 + free * n / (rounds - 1) for n in range(rounds)]


def _joints(place: Place, wide: float, deep: float) -> Iterable[str]:
    """Lines between the wall's layers."""
    depth_mm = 0.0
    whole_mm = 1000.0 * place.thickness_m
    for layer in place.layers[:-1]:
        depth_mm += layer.mm
        rest = whole_mm - depth_mm
        yield (
            f'<rect x="{rest:.1f}" y="{rest:.1f}" width="{wide - 2 * rest:.1f}" height="{deep - 2 * rest:.1f}"'
            ' fill="none" stroke="currentColor" stroke-width="1"/>'
        )


def _outline(chamber: Chamber, across: float, wide: float) -> str:
    """The chamber's form with a width, in the middle of a square of `wide`."""
    middle, half = wide / 2.0, across / 2.0
    if chamber.form == "square":
        return f"M{middle - half:.1f} {middle - half:.1f}h{across:.1f}v{across:.1f}h{-across:.1f}Z"
    if chamber.form == "round":
        bow = f"a{half:.1f} {half:.1f} 0 1 0"
        return f"M{middle - half:.1f} {middle:.1f}{bow} {across:.1f} 0{bow} {-across:.1f} 0Z"
    reach = half / cos(pi / 8.0)
    points = [
        (middle + reach * cos(radians(22.5 + 45 * n)), middle + reach * sin(radians(22.5 + 45 * n))) for n in range(8)
    ]
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + "Z"


def _brick(path: str) -> str:
    return (
        f'<path d="{path}" fill="url(#brick)" fill-rule="evenodd" stroke="currentColor" stroke-width="2"'
        ' stroke-linejoin="round"/>'
    )


def _line(x0: float, y0: float, x1: float, y1: float, width: float) -> str:
    return (
        f'<path d="M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}" stroke="currentColor" stroke-width="{width:g}" fill="none"/>'
    )


def _label(x: float, y: float, words: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" font-weight="700">{escape(words)}</text>'


def _on_paper(x: float, y: float, words: str, text: float) -> str:
    """A number on a patch of paper."""
    width = 0.62 * text * len(words) + 0.5 * text
    return (
        f'<rect x="{x - width / 2:.1f}" y="{y - 0.62 * text:.1f}" width="{width:.1f}" height="{1.24 * text:.1f}"'
        f' fill="#fff" class="blank"/>'
        f'<text x="{x:.1f}" y="{y + 0.36 * text:.1f}" text-anchor="middle">{escape(words)}</text>'
    )


def _size_across(x0: float, x1: float, y: float, words: str, text: float) -> Iterable[str]:
    yield _line(x0, y, x1, y, 1.2)
    yield from (_line(x, y - 0.4 * text, x, y + 0.4 * text, 1.2) for x in (x0, x1))
    narrow = x1 - x0 < 0.62 * text * len(words) + 1.2 * text
    yield _on_paper(x1 + 0.9 * text + 0.3 * text * len(words) if narrow else (x0 + x1) / 2.0, y, words, text)


def _size_down(x: float, y0: float, y1: float, words: str, text: float) -> Iterable[str]:
    yield _line(x, y0, x, y1, 1.2)
    yield from (_line(x - 0.4 * text, y, x + 0.4 * text, y, 1.2) for y in (y0, y1))
    yield _on_paper(x, (y0 + y1) / 2.0, words, text)


def _mm(size_m: float) -> str:
    return f"{1000.0 * size_m:.0f}"

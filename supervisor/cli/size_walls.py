"""`meltkeeper size wall`: what a wall of layers lets through when all is settled, and how it warms."""

from collections.abc import Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

import click

from supervisor.cli.printing import print_json
from supervisor.cli.size_options import json_option, texts
from supervisor.furnace.shape import Chamber, conducts, shape_factor_m
from supervisor.refusal import InputRefused
from supervisor.sizing import fields
from supervisor.sizing import quantities as q
from supervisor.sizing.asked import chamber, layers
from supervisor.sizing.fields import Field
from supervisor.sizing.films import Outside
from supervisor.sizing.walls import Layer, Steady, Wall, around, between_faces, flat, to_room

if TYPE_CHECKING:  # scipy is fetched when a wall is to warm
    from supervisor.sizing.warming import Course

FIELDS: Mapping[str, Field] = {
    "inside": Field(q.TEMPERATURE, -100.0, 1500.0),
    "flux": Field(q.HEAT_FLUX, 1.0, 1e7),
    "outer": Field(q.TEMPERATURE, -100.0, 1500.0),
    "room": Field(q.TEMPERATURE, -50.0, 100.0, 20.0),
    "film": Field(q.FILM, 0.1, 100_000.0),
    "height": Field(q.LENGTH, 10.0, 10_000.0, 300.0),
    "emissivity": Field(q.NUMBER, 0.01, 1.0, 0.9),
    "after": Field(q.TIME, 0.01, 400_000.0),
    "start": Field(q.TEMPERATURE, -100.0, 1500.0),
    "at": Field(q.LENGTH, 0.0, 100_000.0),
    "reaches": Field(q.TEMPERATURE, -100.0, 1500.0),
}


@click.command("wall", short_help="Heat through a wall, and how it warms.")
@click.option(
    "--wall", "wall_layers", multiple=True, metavar="LAYER", help="Hot side first, as '114 mm: 23'; repeat it."
)
@texts(
    ("shape", "Around a chamber: round, square or octagon [a flat square metre]."),
    ("across", "Chamber inside, across."),
    ("depth", "Chamber inside, floor to lid."),
    ("inside", "Temperature of the hot face."),
    ("flux", "Heat into the hot face, in place of its temperature; with --after."),
    ("outer", "Temperature of the outer face, where it is known."),
    ("room", "Temperature around it [20 C]."),
    ("film", "Outside coefficient [still air and radiation]."),
    ("height", "Height of the outer face, for still air [300 mm]."),
    ("emissivity", "Of the outer face [0.9]."),
    ("after", "Not settled: so long after the hot face was brought to it, from --start."),
    ("start", "Temperature of the whole wall before [the room's]."),
    ("at", "Depth whose temperature is asked for, with --after."),
    ("reaches", "Temperature whose depth is asked for, with --after."),
)
@json_option
def wall(wall_layers: tuple[str, ...], as_json: bool, **typed: str) -> None:
    """Reckon heat through a wall: flat, or around a chamber with its edges and corners.

    A layer is a thickness and a material of the table, or a conductivity ('8 in: 0.68 Btu/h/ft/F'); with --after also
    its density and specific heat ('150 mm: 45: 7850 kg/m3: 410 J/kg/K').

    Exit status: 0 done, 2 refused input.
    """
    made = layers(wall_layers)
    here = chamber(typed) if typed["shape"].strip() else None
    of = around(here, made) if here else flat(made)
    found = _unsettled(of, typed) if typed["after"].strip() else _settled(of, here, typed)
    if as_json:
        print_json(found)
    else:
        click.echo("\n".join(_lines(found, made)))


_read, _must = partial(fields.read, fields=FIELDS), partial(fields.must, fields=FIELDS)


def _outside(typed: Mapping[str, str]) -> Outside:
    height_mm = _must(typed, "height")
    return Outside(_must(typed, "room"), height_mm / 1000.0, _must(typed, "emissivity"), _read(typed, "film"))


def _settled(of: Wall, here: Chamber | None, typed: Mapping[str, str]) -> dict[str, Any]:
    inside_c, outer_c, outside = _must(typed, "inside"), _read(typed, "outer"), _outside(typed)
    coldest_c = outside.room_c if outer_c is None else outer_c
    if not inside_c > coldest_c:
        raise InputRefused(f"inside is {inside_c:g} °C; allowed: above what is outside, {coldest_c:g} °C")
    steady: Steady = to_room(of, inside_c, outside) if outer_c is None else between_faces(of, inside_c, outer_c)
    found: dict[str, Any] = {
        "flow_w": steady.flow_w,
        "flux_inside_w_m2": steady.flow_w / of.inside_m2,
        "faces_c": list(steady.faces_c),
        "inside_m2": of.inside_m2,
        "shell_m2": of.shell_m2,
    }
    if here is not None:
        factor_m = shape_factor_m(here, of.thickness_m)
        parts = conducts(here, of.thickness_m)._asdict()
        found["shape_factor_m"] = factor_m
        found["shape_parts_m"] = parts
        found["parts_w"] = {name: steady.flow_w * part / factor_m for name, part in parts.items()}
    return found


def _unsettled(of: Wall, typed: Mapping[str, str]) -> dict[str, Any]:
    from supervisor.sizing.warming import Cells, at_face, under_power

    still = not (typed["film"].strip() or typed["room"].strip())  # nothing outside was named: nothing leaves there
    outside = None if still else _outside(typed)
    start_c = _read(typed, "start")
    if start_c is None:
        start_c = _must(typed, "room")
    cells, for_s = Cells(of, outside, start_c), 60.0 * _must(typed, "after")
    flux, inside_c = _read(typed, "flux"), _read(typed, "inside")
    if (flux is None) == (inside_c is None):
        raise InputRefused("inside and flux: allowed: one of them, the hot face's temperature or the heat into it")
    if inside_c is not None:
        course = at_face(cells, lambda _: inside_c, for_s)
    else:
        course = under_power(cells, lambda _, __: (flux or 0.0) * of.inside_m2, for_s)
    return _of_course(course, typed)


def _of_course(course: "Course", typed: Mapping[str, str]) -> dict[str, Any]:
    import numpy as np

    last_c, depth_m = course.cells_c[-1], course.depth_m
    found: dict[str, Any] = {
        "after_min": float(course.s[-1]) / 60.0,
        "face_c": float(course.face_c[-1]),
        "depth_mm": [1000.0 * float(depth) for depth in depth_m],
        "at_c": [float(at_c) for at_c in last_c],
        "supplied_kj": float(course.supplied_j[-1]) / 1000.0,
        "stored_kj": float(course.stored_j[-1]) / 1000.0,
    }
    at_mm, reaches_c = _read(typed, "at"), _read(typed, "reaches")
    profile_c, depths = np.append(course.face_c[-1], last_c), np.append(0.0, 1000.0 * depth_m)
    if at_mm is not None:
        found["temperature_c"] = float(np.interp(at_mm, depths, profile_c))
    if reaches_c is not None:
        order = np.argsort(profile_c)
        found["reaches_mm"] = float(np.interp(reaches_c, profile_c[order], depths[order]))
    return found


def _lines(found: Mapping[str, Any], made: Sequence[Layer]) -> list[str]:
    if "flow_w" not in found:
        face = f"hot face {found['face_c']:.0f} °C, stored {found['stored_kj']:.0f} kJ"
        lines = [f"After {found['after_min']:.1f} min: {face}."]
        lines += [f"At this depth: {found['temperature_c']:.1f} °C."] if "temperature_c" in found else []
        return lines + ([f"That temperature is {found['reaches_mm']:.0f} mm deep."] if "reaches_mm" in found else [])
    flux = f"{found['flux_inside_w_m2']:.0f} W/m² of the hot face"
    lines = [f"Settled: {found['flow_w']:.0f} W, {flux}. Two makers' bricks differ by 15 to 20 %."]
    faces = found["faces_c"]
    for layer, hot_c, cold_c in zip(made, faces, faces[1:], strict=False):
        lines.append(f"  {layer.mm:g} mm {layer.material.words}: {hot_c:.0f} to {cold_c:.0f} °C")
    for name, watts in found.get("parts_w", {}).items():
        lines.append(f"  {name:<8}{watts:6.0f} W")
    return lines

"""What does not fit the hull or what holds it: size of the hull, waterline, marks, tanks, parts outside."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice
from dabchick.model.boat import Hull, KeepOutTable, SpaceTable
from dabchick.model.break_line import disorder, house_line, outside_hull
from dabchick.model.hull_surface import HullSurface
from dabchick.model.keys import dotted
from dabchick.model.placed_hull import datum_of, vector
from dabchick.model.reading import Draft
from dabchick.model.shape import Shape, rotation
from dabchick.model.units import UnitSet, parse, shown
from dabchick.model.vessel import Datum, Vector
from dabchick.physics.solid import Solid

Array = NDArray[np.float64]

LEAST_LENGTH_M, MOST_LENGTH_M = 0.1, 10.0
"""No model submarine is shorter or longer (common practice, no source)."""
SLACK_M = 5e-5
"""Less than this does not count as sticking out: a twentieth of a millimetre."""


def misfits(
    draft: Draft, surface: HullSurface | None, meshes: Mapping[str, HullSurface]
) -> tuple[list[Advice], list[Advice]]:
    """Errors and warnings that need the hull or bodies; None for a hull that could not be read."""
    errors: list[Advice] = []
    warnings: list[Advice] = []
    units: UnitSet = "inch" if draft.content.get("units") == "inch" else "metric"
    hull, measured_from = draft.hull, draft.measured_from
    bodies = _bodies(draft, meshes, errors)
    errors += _tanks(draft, bodies, units)
    if hull is None or surface is None:
        return errors, warnings
    box = _Box.round(hull, surface)
    wrong_size = list(_length(hull, box.length_m))
    if wrong_size:
        return errors + wrong_size, warnings
    errors += _waterline(hull, box, units)
    if measured_from is not None:
        datum = datum_of(measured_from, hull, box.length_m)
        errors += _marks(hull, box, datum, units)
        if not any(disorder(hull.break_line, units)):
            line = house_line(hull.break_line, datum, box.length_m)
            errors += outside_hull(line, box.length_m, box.height_m, datum, units)
        warnings += _keep_outs(draft, box, datum, units)
        warnings += _outside(draft, bodies, box, datum, units)
    return [entry for entry in errors if not draft.is_dropped(entry.key)], warnings


@dataclass(frozen=True)
class _Box:
    """The box round the hull in the house frame."""

    low_m: Vector
    high_m: Vector

    @property
    def length_m(self) -> float:
        return self.high_m[0]

    @property
    def height_m(self) -> float:
        return self.high_m[2]

    @staticmethod
    def round(hull: Hull, surface: HullSurface) -> "_Box":
        low, high = surface.vertices.min(axis=0), surface.vertices.max(axis=0)
        if hull.skin.outside and hull.skin.thickness is not None:
            low, high = low - hull.skin.thickness, high + hull.skin.thickness
        shift = np.array([-low[0], 0.0, -low[2]])
        return _Box(vector(low + shift), vector(high + shift))


def _length(hull: Hull, length: float) -> Iterator[Advice]:
    if LEAST_LENGTH_M <= length <= MOST_LENGTH_M:
        return
    likely = []
    if hull.mesh is not None and hull.unit is not None:
        drawn = length / parse(f"1 {hull.unit}", "length")
        likely = [
            f'unit = "{unit}" ({shown(drawn * parse(f"1 {unit}", "length"), "length")})'
            for unit in ("mm", "cm", "in", "ft", "m")
            if LEAST_LENGTH_M <= drawn * parse(f"1 {unit}", "length") <= MOST_LENGTH_M
        ]
    yield Advice(
        what=f"The hull comes out {_long(length)} long.",
        todo=f"Did you mean {' or '.join(likely)}?" if likely else "Check the unit in the hull's file.",
        key="hull.unit" if hull.mesh is not None else f"hull.{hull.forms[0]}",
        given=f'unit = "{hull.unit}"' if hull.unit is not None else "",
        allowed=f"{LEAST_LENGTH_M:g} m to {MOST_LENGTH_M:g} m",
    )


def _long(length: float) -> str:
    return f"{length:.4g} m" if length >= 1.0 else f"{1000.0 * length:.4g} mm"


def _waterline(hull: Hull, hull_box: _Box, units: UnitSet) -> Iterator[Advice]:
    if hull.waterline >= hull_box.height_m:
        yield Advice(
            what="The waterline lies above the hull.",
            todo="Give the height over the keel at which she should float, boat level.",
            key="hull.waterline",
            given=shown(hull.waterline, "length", units),
            allowed=f"above 0, below the hull's height of {shown(hull_box.height_m, 'length', units)}",
        )


def _marks(hull: Hull, hull_box: _Box, datum: Datum, units: UnitSet) -> Iterator[Advice]:
    if hull.marks is None:
        return
    places = {}
    for name, value in (("bow", hull.marks.bow), ("stern", hull.marks.stern)):
        places[name] = datum.to_house((value, 0.0, 0.0))[0]
        if not -SLACK_M <= places[name] <= hull_box.length_m + SLACK_M:
            ends = sorted(datum.to_builder((end, 0.0, 0.0))[0] for end in (0.0, hull_box.length_m))
            yield Advice(
                what=f"The draught mark at the {name} does not stand on the hull.",
                todo=f"Give its x, measured from the {datum.x_from}.",
                key=f"hull.marks.{name}",
                given=shown(value, "length", units),
                allowed=f"{shown(ends[0], 'length', units)} to {shown(ends[1], 'length', units)}",
            )
    if places["bow"] < places["stern"]:
        yield Advice(
            what="The draught mark at the bow stands aft of the one at the stern.",
            todo=f"Swap them; x is measured from the {datum.x_from}.",
            key="hull.marks",
        )


def _keep_outs(draft: Draft, hull_box: _Box, datum: Datum, units: UnitSet) -> Iterator[Advice]:
    for row, table in draft.keep_outs.items():
        what = f'The keep-out "{table.name}" lies wholly outside the hull, so it keeps nothing free.'
        yield from _beside(table, what, dotted(("keep_out", row)), hull_box, datum, units)
    for row, space in draft.spaces.items():
        what = f'The space "{space.name}" lies wholly outside the hull, so nothing floods in it.'
        yield from _beside(space, what, dotted(("space", row)), hull_box, datum, units)


def _beside(
    table: KeepOutTable | SpaceTable, what: str, key: str, hull_box: _Box, datum: Datum, units: UnitSet
) -> Iterator[Advice]:
    """Warns of a box that does not meet the box round the hull."""
    low, high = np.array(hull_box.low_m), np.array(hull_box.high_m)
    middle, reach = table.at, table.size
    if table.low is not None and table.high is not None:
        ends = (np.array(datum.to_house(table.low)), np.array(datum.to_house(table.high)))
        box = (np.minimum(*ends), np.maximum(*ends))
    elif middle is not None and reach is not None:
        at, half = np.array(datum.to_house(middle)), 0.5 * np.array(reach)
        box = (at - half, at + half)
    else:
        return
    if np.any(box[0] >= high) or np.any(box[1] <= low):
        yield Advice(
            what=what,
            todo=f"Check its place, measured from {datum.x_from} and {datum.z_from}.",
            key=key,
            given=_box_text(box, datum, units),
            allowed=f"the hull takes {_box_text((low, high), datum, units)}",
            severity="warning",
        )


def _bodies(
    draft: Draft, meshes: Mapping[str, HullSurface], errors: list[Advice]
) -> dict[tuple[str, int], Solid]:
    """Each shape as a body about the builder's zero, x forward; what makes no body goes to the errors."""
    flip = -1.0 if draft.measured_from is not None and draft.measured_from.x == "bow" else 1.0
    found: dict[tuple[str, int], Solid] = {}
    rows: list[tuple[str, int, Shape | None, Vector, Vector]] = [
        *(("part", row, part.shape, part.turn, part.at) for row, part in draft.parts.items()),
        *(("tank", row, tank.shape, tank.turn, tank.at) for row, tank in draft.tanks.items()),
    ]
    for key, row, shape, turn, at in rows:
        if shape is None or (shape.mesh is not None and shape.mesh.file not in meshes):
            continue
        try:
            body = shape.solid(flip, meshes)
        except ValueError as fault:
            errors.append(Advice(what=str(fault), todo="Correct the shape.", key=dotted((key, row, "shape"))))
            continue
        x, y, z = at
        found[key, row] = body.moved(np.array([flip * x, y, z]), rotation(turn) if any(turn) else None)
    return found


def _tanks(draft: Draft, bodies: Mapping[tuple[str, int], Solid], units: UnitSet) -> Iterator[Advice]:
    holders = {
        part.name: bodies.get(("part", row)) for row, part in draft.parts.items() if part.kind == "dry"
    }
    for row, tank in draft.tanks.items():
        body, holder = bodies.get(("tank", row)), holders.get(tank.inside or "")
        if body is None or holder is None:
            continue
        if body.volume > holder.volume:
            yield Advice(
                what=f'The tank "{tank.name}" is larger than "{tank.inside}", which holds it.',
                todo="Make the tank smaller or the dry part larger.",
                key=dotted(("tank", row, "shape")),
                given=shown(body.volume, "volume", units),
                allowed=f"less than {shown(holder.volume, 'volume', units)}",
            )
            continue
        out = _beyond(body, holder)
        if out > SLACK_M:
            yield Advice(
                what=f'The tank "{tank.name}" sticks {shown(out, "length", units)} out of "{tank.inside}", '
                "which holds it.",
                todo="Move it, or make it smaller.",
                key=dotted(("tank", row, "at")),
                given=_place_text(tank.at, units),
            )


def _beyond(body: Solid, holder: Solid) -> float:
    """How far the box round a body reaches out of the box round another."""
    low, high = body.bounds()
    holder_low, holder_high = holder.bounds()
    return float(max((holder_low - low).max(), (high - holder_high).max(), 0.0))


def _outside(
    draft: Draft,
    bodies: Mapping[tuple[str, int], Solid],
    hull_box: _Box,
    datum: Datum,
    units: UnitSet,
) -> Iterator[Advice]:
    low, high = np.array(hull_box.low_m), np.array(hull_box.high_m)
    origin = np.array([datum.x_origin_m, 0.0, datum.z_origin_m])
    places = [
        *((("part", row), part.name, part.at) for row, part in draft.parts.items() if not part.outside),
        *((("tank", row), tank.name, tank.at) for row, tank in draft.tanks.items()),
    ]
    for key, name, at in places:
        middle = np.array(datum.to_house(at))
        body = bodies.get(key)
        box = (middle, middle) if body is None else tuple(corner + origin for corner in body.bounds())
        if np.any(middle < low - SLACK_M) or np.any(middle > high + SLACK_M):
            what = f'The middle of "{name}" stands outside the box round the hull.'
        elif np.any(box[0] < low - SLACK_M) or np.any(box[1] > high + SLACK_M):
            what = f'"{name}" reaches out of the box round the hull.'
        else:
            continue
        yield Advice(
            what=what,
            todo=f"Check its place, measured from {datum.x_from} and {datum.z_from}; "
            "say outside = true if it belongs there.",
            key=dotted((*key, "at")),
            given=f"{_place_text(at, units)}; it takes {_box_text(box, datum, units)}",
            allowed=f"the hull takes {_box_text((low, high), datum, units)}",
            severity="warning",
        )


def _place_text(point: Vector, units: UnitSet) -> str:
    return ", ".join(
        f"{axis} {shown(value, 'length', units)}" for axis, value in zip("xyz", point, strict=True)
    )


def _box_text(box: tuple[Array, ...], datum: Datum, units: UnitSet) -> str:
    ends = [datum.to_builder(vector(corner)) for corner in box]
    texts = []
    for axis, values in zip("xyz", zip(*ends, strict=True), strict=True):
        low, high = (shown(value, "length", units) for value in sorted(values))
        texts.append(
            f"{axis} {low} to {high}" if not math.isclose(*values, abs_tol=1e-9) else f"{axis} {low}"
        )
    return ", ".join(texts)

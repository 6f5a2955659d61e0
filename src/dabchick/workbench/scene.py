"""The boat as bodies to draw: hull, parts, tanks, lead, foam, openings and places, with meshes packed end to end."""

import hashlib
import math
import tomllib
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.boat import Boat
from dabchick.model.keys import path_of
from dabchick.model.ledger_entry import Bench as PartBench
from dabchick.model.vessel import Item, Tank, Vector, Vessel
from dabchick.physics import shapes
from dabchick.physics.solid import Solid
from dabchick.report.builder_units import short_with_unit, with_unit
from dabchick.storage.folder import OpenBoat
from dabchick.studies.what_if import WALLS, with_contents
from dabchick.workbench.dimensions import dimensions, with_dimensions
from dabchick.workbench.drawn import Drawn, Forms, outlines
from dabchick.workbench.shapes.figures import Shown
from dabchick.workbench.shapes.scene import Body, BodyKind, MeshPlace, Outlines, SceneOut
from dabchick.workbench.words import UNKNOWN, amount

Array = NDArray[np.float64]
NO_MASS: Final = Shown(text=UNKNOWN, spread="", value=None)
NO_OUTLINES: Final = Outlines(side=[], top=[], end=[])
CIRCLE_POINTS: Final = 24


@dataclass(frozen=True, eq=False)
class Scene:
    """The scene of one revision and its packed meshes."""

    scene: SceneOut
    meshes: bytes
    etag: str
    """Of the meshes: the same bytes have the same one, whatever the revision."""


@dataclass(frozen=True, eq=False)
class _Draft:
    """A body before its mesh has a place."""

    key: str
    name: str
    kind: BodyKind
    centre_m: Vector
    solid: Solid | None = None
    inside: str = ""
    from_trim: bool = False
    movable: bool = False
    mass: Shown = NO_MASS
    hole_m: float = 0.0
    """Radius of an opening."""


def scene_of(boat: OpenBoat, revision: int, forms: Forms) -> Scene:
    """Everything there is to draw of a right boat."""
    vessel = boat.vessel
    table = tomllib.loads(boat.text)
    bodies, packed, notes = [], [], []
    offset = 0
    for draft in _drafts(boat):
        mesh, rings = None, NO_OUTLINES
        low = high = np.array(draft.centre_m)
        if draft.solid is not None:
            form, anchor = forms.of(draft.solid)
            rings = outlines(form, anchor)
            low, high = draft.solid.bounds()
            mesh = MeshPlace(offset=offset, vertices=len(form.positions), triangles=len(form.indices))
            piece = _packed(form, anchor)
            packed.append(piece)
            offset += len(piece)
            if form.thinned:
                notes.append(
                    f"{draft.name}: drawn with {len(form.indices)} triangles; all figures come from the whole form."
                )
        elif draft.hole_m > 0.0:
            rings = _circles(draft.centre_m, draft.hole_m)
            low, high = low - draft.hole_m, high + draft.hole_m
        bodies.append(
            Body(
                key=draft.key,
                row=_row(draft.key),
                carries=list(with_contents(vessel, draft.key)[1:]),
                name=draft.name,
                kind=draft.kind,
                inside=draft.inside,
                from_trim=draft.from_trim,
                movable=draft.movable,
                centre_m=draft.centre_m,
                low_m=_vector(low),
                high_m=_vector(high),
                mass=draft.mass,
                at=_at(draft.key, table),
                mesh=mesh,
                outlines=rings,
            )
        )
    low_m = _vector(np.min([body.low_m for body in bodies], axis=0))
    high_m = _vector(np.max([body.high_m for body in bodies], axis=0))
    lines = dimensions(vessel, low_m, high_m)
    low_m, high_m = with_dimensions(low_m, high_m, lines)
    whole = b"".join(packed)
    return Scene(
        SceneOut(
            revision=revision,
            length_m=vessel.length_m,
            low_m=low_m,
            high_m=high_m,
            waterline_m=vessel.waterline_m,
            waterline=with_unit(vessel.waterline_m, "length", vessel.units),
            mark_bow_m=vessel.mark_bow_m,
            mark_stern_m=vessel.mark_stern_m,
            bodies=bodies,
            dimensions=lines,
            notes=notes,
            mesh_bytes=len(whole),
        ),
        whole,
        f'"{hashlib.blake2b(whole, digest_size=16).hexdigest()}"',
    )


def _drafts(boat: OpenBoat) -> list[_Draft]:
    vessel = boat.vessel
    every = [
        _Draft("hull", "hull", "hull", _vector(vessel.hull.centre), vessel.hull),
        *(_item(item, vessel) for item in vessel.items if not item.key.endswith(WALLS)),
        *_unweighed(boat),
        *(_tank(tank, vessel) for tank in vessel.tanks),
    ]
    for number, (at, area) in enumerate(vessel.openings, start=1):
        name = f"opening of {short_with_unit(area, 'area', vessel.units)}"
        radius = math.sqrt(area / math.pi)
        every.append(_Draft(f"hull.openings[{number}]", name, "opening", at, hole_m=radius))
    return [*every, *_places(vessel, boat.boat), *_keep_outs(vessel)]


def _item(item: Item, vessel: Vessel) -> _Draft:
    return _Draft(
        key=item.key,
        name=item.name,
        kind=item.kind,
        centre_m=item.centre_m,
        # the skin is drawn as the hull's own form
        solid=None if item.kind == "skin" else item.envelope,
        inside=item.inside,
        from_trim=item.from_trim,
        movable=item.kind != "skin",
        mass=amount(item.mass_kg, "mass", vessel.units, item.mass_spread_kg),
    )


def _unweighed(boat: OpenBoat) -> list[_Draft]:
    """Parts that have a place but no mass yet: drawn, and not to be dragged, since no figure knows them."""
    vessel = boat.vessel
    nothing = (0.0, 0.0)
    bench = PartBench(vessel.datum, vessel.units, boat.meshes, nothing, nothing)
    known = {item.key for item in vessel.items}
    found = []
    for row, part in enumerate(boat.boat.parts, start=1):
        key = f"part[{row}]"
        if key in known:
            continue
        body = bench.placed(part.shape, part.turn, part.at) if part.shape is not None else None
        found.append(
            _Draft(
                key=key,
                name=part.name,
                kind=part.kind,
                centre_m=bench.house(part.centre or part.at),
                solid=body,
                inside=part.inside or "",
                from_trim=part.source == "trim",
            )
        )
    return found


def _tank(tank: Tank, vessel: Vessel) -> _Draft:
    walls = next((item for item in vessel.items if item.key == f"{tank.key}{WALLS}"), None)
    draft = _Draft(tank.key, tank.name, "tank", tank.centre_m, tank.solid, tank.inside, movable=True)
    if walls is None:
        return draft
    return replace(draft, mass=amount(walls.mass_kg, "mass", vessel.units, walls.mass_spread_kg))


def _places(vessel: Vessel, boat: Boat) -> list[_Draft]:
    rows = {table.name: row for row, table in enumerate(boat.places, start=1)}
    found = []
    for place in vessel.wishes.places:
        row, spot = rows.get(place.name), ""
        if row is None:
            table, _, number = place.name.rpartition(" ")
            row, spot = rows[table], f".spot[{number}]"
        low, high = np.array(place.low_m), np.array(place.high_m)
        middle = 0.5 * (low + high)
        body = shapes.box(*(high - low)).moved(middle)
        found.append(_Draft(f"place[{row}]{spot}", place.name, "place", _vector(middle), body))
    return found


def _keep_outs(vessel: Vessel) -> list[_Draft]:
    found = []
    for box in vessel.keep_outs:
        low, high = np.array(box.low_m), np.array(box.high_m)
        middle = 0.5 * (low + high)
        body = shapes.box(*(high - low)).moved(middle)
        found.append(_Draft(box.key, box.name, "keep_out", _vector(middle), body))
    return found


def _packed(form: Drawn, anchor: Array) -> bytes:
    return (form.positions + anchor).astype("<f4").tobytes() + form.indices.tobytes()


def _circles(centre: Vector, radius: float) -> Outlines:
    turn = 2.0 * np.pi * np.arange(CIRCLE_POINTS) / CIRCLE_POINTS
    ring = radius * np.column_stack([np.cos(turn), np.sin(turn)])
    x, y, z = centre

    def about(u: float, v: float) -> list[list[tuple[float, float]]]:
        return [[(round(u + float(du), 5), round(v + float(dv), 5)) for du, dv in ring]]

    return Outlines(side=about(x, z), top=about(x, y), end=about(y, z))


def _row(key: str) -> int | None:
    path = path_of(key)
    return path[1] if len(path) > 1 and isinstance(path[1], int) else None


def _at(key: str, table: dict[str, Any]) -> list[str]:
    """The `at` of a row as it is written."""
    path = path_of(key)
    rows = table.get(str(path[0]))
    if len(path) != 2 or not isinstance(path[1], int) or not isinstance(rows, list):
        return []
    written = rows[path[1]].get("at")
    return [str(entry) for entry in written] if isinstance(written, list) else []


def _vector(values: Array) -> Vector:
    x, y, z = (float(value) for value in values)
    return (x, y, z)

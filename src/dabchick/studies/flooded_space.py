"""The flooded space of a vessel, ready to be asked where air stays: walls, columns and the openings in her skin."""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vector, Vessel
from dabchick.physics.columns import Columns, Walls, columns, spacing_for, walls
from dabchick.physics.opening_mouth import mouth, nearest
from dabchick.physics.solid import Solid
from dabchick.physics.trapped_air import Mouth
from dabchick.studies.loading import ROUND_SIDES
from dabchick.studies.room import is_one_shell
from dabchick.studies.shared_room import Body, UnusableMeshError
from dabchick.studies.speech import Speech

Array = NDArray[np.float64]
Index = NDArray[np.int64]

LINES: Final = 60_000
"""About so many upright lines stand through her: 1.2 mm apart in a hull of 900 x 100 mm."""
OFF_SKIN_M: Final = 3e-3
"""An opening further than this from both faces of the skin, or than its own radius, is not in it; as in `check`."""


@dataclass(frozen=True)
class Hole:
    """One opening of the boat file, as it lies on the skin."""

    number: int
    """Counted from 1, as in the file."""
    given_m: Vector
    place_m: Vector
    """The nearest point of the skin's inner face."""
    off_m: float
    """How far the given place is from the nearer face of the skin."""
    area_m2: float
    used: bool
    """False: it lets no air out here, and an advice says why."""

    @property
    def radius_m(self) -> float:
        """Of a round hole of its area."""
        return math.sqrt(self.area_m2 / math.pi) if self.area_m2 > 0.0 else 0.0


@dataclass(frozen=True, eq=False)
class FloodedSpace:
    """All that is asked again and again at other attitudes."""

    walls: Walls
    columns: Columns
    holes: tuple[Hole, ...]
    mouths: tuple[Mouth, ...]
    """Of the holes that are used, in their order."""
    numbers: tuple[int, ...]
    """The hole of each mouth."""
    advice: tuple[Advice, ...]


def flooded_space(vessel: Vessel, lines: int = LINES) -> FloodedSpace:
    """The flooded space of a vessel. Raises BoatError where the shape does not tell what is flooded."""
    if is_one_shell(vessel):
        raise BoatError(
            Advice(
                what="The hull is solid-walled and its mesh is one shell, so there is no inside that could hold air.",
                todo="Give the hull as its outer form with a skin, or a mesh whose inner face is a shell of its own.",
                key="hull.solid_walled",
                given="one shell",
                allowed="a skin with a thickness, or an outer and an inner shell",
            )
        )
    kept = _space(vessel.hull_inside, _things(vessel), lines)
    return _with_openings(vessel, kept)


def _things(vessel: Vessel) -> tuple[Solid, ...]:
    """What takes up room in the flooded space; what is in a dry part or outside the hull does not."""
    parts = [
        item.solid
        for item in vessel.items
        if item.solid is not None
        and item.kind not in ("skin", "inside")
        and not item.inside
        and not item.outside
    ]
    return (*parts, *(tank.solid for tank in vessel.tanks if not tank.inside))


@dataclass(frozen=True, eq=False)
class _Room:
    walls: Walls
    columns: Columns


@lru_cache(maxsize=4)
def _space(inside: Solid, things: tuple[Solid, ...], lines: int) -> _Room:
    """Kept by the solids themselves, so that another attitude, mass or opening costs nothing here."""
    round_it = walls(
        [(vertices, faces) for vertices, faces, _ in inside.meshes(ROUND_SIDES)],
        [_faces_of(thing) for thing in things],
    )
    try:
        return _Room(round_it, columns(round_it, spacing_for(round_it, lines)))
    except ValueError as fault:
        raise BoatError(
            Advice(
                what="Nothing inside the hull is free to flood, so no air can stay there.",
                todo="Check the sizes of the parts and the thickness of the skin.",
                key="hull.skin",
                given=str(fault),
            )
        ) from fault


def _faces_of(thing: Solid) -> list[tuple[Array, Index, float]]:
    """The surfaces of a thing; one with a hole in it as one surface, since faces that lie on each other are no wall."""
    surfaces = thing.meshes(ROUND_SIDES)
    if all(weight > 0.0 for _, _, weight in surfaces):
        return surfaces
    try:
        mesh = Body(thing).whole.to_mesh64()
    except UnusableMeshError:
        # what is not closed is told by `check`; its faces still stand in the way
        return surfaces
    points = np.array(mesh.vert_properties, dtype=np.float64)[:, :3]
    return [(points, np.array(mesh.tri_verts, dtype=np.int64), 1.0)]


@lru_cache(maxsize=4)
def _with_openings(vessel: Vessel, room: _Room) -> FloodedSpace:
    holes, mouths, numbers, advice = [], [], [], []
    say = Speech(vessel)
    for number, (given, area) in enumerate(vessel.openings, start=1):
        hole, found, fault = _hole(vessel, room, say, number, given, area)
        holes.append(hole)
        if fault is not None:
            advice.append(fault)
        if found is not None:
            mouths.append(found)
            numbers.append(number)
    return FloodedSpace(room.walls, room.columns, tuple(holes), tuple(mouths), tuple(numbers), tuple(advice))


def _hole(
    vessel: Vessel, room: _Room, say: Speech, number: int, given: Vector, area: float
) -> tuple[Hole, Mouth | None, Advice | None]:
    point = np.array(given)
    skin = room.walls.faces[room.walls.owner == 0]
    inner = nearest(room.walls.vertices, skin, point)
    outer = min(
        (nearest(vertices, faces, point) for vertices, faces, _ in vessel.hull.meshes(ROUND_SIDES)),
        key=lambda foot: foot.distance_m,
    )
    foot = min(inner, outer, key=lambda entry: entry.distance_m)
    x, y, z = (float(value) for value in inner.point_m)
    hole = Hole(number, given, (x, y, z), foot.distance_m, area, True)
    key = f"hull.openings[{number}]"
    if not area > 0.0:
        fault = Advice(
            what=f"Opening {number} has no area, so it lets no air out.",
            todo="Give the area that air and water can pass, or take the opening out.",
            where=say.at(given),
            key=f"{key}.area",
            given=f"{area * 1e6:g} mm^2",
            allowed="above 0",
            severity="warning",
        )
    elif foot.distance_m > max(OFF_SKIN_M, hole.radius_m):
        at = (float(foot.point_m[0]), float(foot.point_m[1]), float(foot.point_m[2]))
        fault = Advice(
            what=f"Opening {number} lies {say.length(foot.distance_m)} off the skin, so it is left out here.",
            todo=f"Move it onto the skin; the nearest point of it is {say.at(at)}.",
            where=say.at(given),
            key=f"{key}.at",
            given=say.length(foot.distance_m),
            allowed=f"up to {say.length(max(OFF_SKIN_M, hole.radius_m))}",
            severity="warning",
        )
    else:
        found = mouth(room.walls, room.columns, inner.point_m, hole.radius_m)
        if found is not None:
            return hole, found, None
        fault = Advice(
            what=f"Opening {number} leads into no free room: it is too narrow there, or something stands in it.",
            todo="Move the opening, or what stands behind it.",
            where=say.at(given),
            key=f"{key}.at",
            severity="warning",
        )
    return Hole(number, given, (x, y, z), foot.distance_m, area, False), None, fault

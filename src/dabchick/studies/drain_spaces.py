"""The rooms that water runs into and out of: the flooded inside less all that stands in it, space by space."""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import manifold3d
import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.placed_hull import vector
from dabchick.model.vessel import Item, Space, Vector, Vessel
from dabchick.physics.draining import OUTSIDE
from dabchick.physics.opening_mouth import nearest
from dabchick.physics.solid import Solid, together
from dabchick.physics.surfaces import mesh_surface
from dabchick.studies.flooded_space import OFF_SKIN_M
from dabchick.studies.loading import ROUND_SIDES
from dabchick.studies.room import is_one_shell
from dabchick.studies.shared_room import Body, UnusableMeshError, measured
from dabchick.studies.speech import Speech

HULL: Final = "hull"
LEAST_ROOM_M3: Final = 1e-7
"""Less flooded room than a tenth of a millilitre is no space."""
WHOLE: Final = 0.98
"""A body that displaces this share of its shape or more is taken as filling it."""
SIMPLER_M: Final = 3e-5
"""The faces of the flooded room are merged where that moves them by less: 0.03 mm, well below any skin's spread."""
INTO_M: Final = 1e-3
"""So far behind the skin it is asked which space an opening leads into."""


@dataclass(frozen=True, eq=False)
class WaterSpace:
    """A room of its own."""

    name: str
    key: str
    """In the boat file; empty for the rest of the hull."""
    solid: Solid
    room_m3: float
    top_m: Vector
    """Its highest point, boat level."""


@dataclass(frozen=True)
class Passage:
    """A round opening, from a space to the water outside or to another space."""

    name: str
    key: str
    space: int
    other: int
    """-1: the water outside."""
    place_m: Vector
    normal: Vector
    area_m2: float


@dataclass(frozen=True, eq=False)
class WaterSpaces:
    spaces: tuple[WaterSpace, ...]
    passages: tuple[Passage, ...]
    advice: tuple[Advice, ...]
    assumptions: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class _Rooms:
    solids: tuple[Solid, ...]
    """Of each space in the file's order, then of the rest of the hull; a solid without surfaces where there is none."""
    unusable: tuple[int, ...]
    """Bodies, by their place in the list, that could not be taken out of it."""


def water_spaces(vessel: Vessel) -> WaterSpaces:
    """The spaces and openings of a vessel. Raises BoatError where the shape does not tell what is flooded."""
    if is_one_shell(vessel):
        raise BoatError(
            Advice(
                what="The hull is solid-walled and its mesh is one shell, so there is no inside that could hold water.",
                todo="Give the hull as its outer form with a skin, or a mesh whose inner face is a shell of its own.",
                key="hull.solid_walled",
                given="one shell",
                allowed="a skin with a thickness, or an outer and an inner shell",
            )
        )
    standing = _standing(vessel)
    rooms = _rooms(
        vessel.hull_inside,
        tuple((solid, whole) for _, solid, whole in standing),
        tuple((space.low_m, space.high_m) for space in vessel.spaces),
    )
    advice = [
        Advice(
            what=f"The surface of {standing[index][0]} does not close, so its room counts as flooded here.",
            todo="Mend its mesh; `dabchick check` says where it is open.",
            key="part",
            severity="warning",
        )
        for index in rooms.unusable
    ]
    spaces: list[WaterSpace] = []
    number_of: dict[str, int] = {}
    named = [*vessel.spaces, Space(HULL, vessel.low_m, vessel.high_m)]
    for space, solid in zip(named, rooms.solids, strict=True):
        room = solid.volume if solid.surfaces else 0.0
        if room < LEAST_ROOM_M3:
            if space.key:
                advice.append(_no_room(space))
            continue
        number_of[space.name] = len(spaces)
        spaces.append(WaterSpace(space.name, space.key, solid, room, _top(solid)))
    if not spaces:
        raise BoatError(
            Advice(
                what="Nothing inside the hull is free to flood, so no water can lag behind.",
                todo="Check the sizes of the parts and the thickness of the skin.",
                key="hull.skin",
            )
        )
    passages, faults = _passages(vessel, number_of)
    assumed = [
        "openings: each a round hole of its area in the skin, square to it; an opening between spaces lies flat"
    ]
    return WaterSpaces(tuple(spaces), tuple(passages), (*advice, *faults), tuple(assumed))


def _no_room(space: Space) -> Advice:
    return Advice(
        what=f'Nothing floods in the space "{space.name}", so it is left out here.',
        todo="Check its box; a space that stands before it in the file takes what both lie round.",
        key=space.key,
        severity="warning",
    )


def _standing(vessel: Vessel) -> list[tuple[str, Solid, bool]]:
    """What takes room in the flooded inside: name, solid, and whether all of its shape is kept dry."""
    found: list[tuple[str, Solid, bool]] = [
        (item.name, item.solid, item.kind == "dry")
        for item in vessel.items
        if _takes_room(item) and item.solid is not None
    ]
    return found + [(tank.name, tank.solid, True) for tank in vessel.tanks if not tank.inside]


def _takes_room(item: Item) -> bool:
    return item.kind not in ("skin", "inside") and not item.inside


@lru_cache(maxsize=4)
def _rooms(
    inside: Solid, standing: tuple[tuple[Solid, bool], ...], boxes: tuple[tuple[Vector, Vector], ...]
) -> _Rooms:
    """Kept by the solids themselves, so that another mass, water or opening costs nothing here."""
    try:
        left = Body(inside).whole
    except UnusableMeshError as fault:
        raise BoatError(
            Advice(
                what="The inner face of the skin does not enclose a room.",
                todo="Mend the hull's mesh: `dabchick check --repair`.",
                key="hull",
                given=str(fault),
            )
        ) from fault
    partly: list[tuple[manifold3d.Manifold, float]] = []
    unusable = []
    for index, (solid, dry) in enumerate(standing):
        share = max((surface.weight for surface in solid.surfaces), default=0.0)
        try:
            body = Body(solid)
        except UnusableMeshError:
            unusable.append(index)
            continue
        if not dry and share < WHOLE:
            # an open shell or a grille: the water stands in the rest of its shape
            partly.append((left ^ body.whole, 1.0 - share))
        left = left - body.whole
    left = left.simplify(SIMPLER_M)
    pieces = [(left, 1.0), *partly]
    solids = []
    for low, high in boxes:
        box = manifold3d.Manifold.cube([float(b - a) for a, b in zip(low, high, strict=True)]).translate(low)
        solids.append(_solid([(piece ^ box, share) for piece, share in pieces]))
        pieces = [(piece - box, share) for piece, share in pieces]
    return _Rooms((*solids, _solid(pieces)), tuple(unusable))


def _solid(pieces: list[tuple[manifold3d.Manifold, float]]) -> Solid:
    found = []
    for piece, share in pieces:
        if measured(piece).volume_m3 <= 1e-12:
            continue
        mesh = piece.to_mesh64()
        points = np.array(mesh.vert_properties, dtype=np.float64)[:, :3]
        surface = mesh_surface(points, np.array(mesh.tri_verts, dtype=np.int64))
        found.append(Solid((surface.weighted(share, 0.0),)))
    return together(found)


def _top(solid: Solid) -> Vector:
    points: NDArray[np.float64] = np.vstack([vertices for vertices, _, _ in solid.meshes()])
    return vector(points[np.argmax(points[:, 2])])


def _space_at(vessel: Vessel, point: NDArray[np.float64]) -> str:
    for space in vessel.spaces:
        if np.all(point >= np.array(space.low_m)) and np.all(point <= np.array(space.high_m)):
            return space.name
    return HULL


def _passages(vessel: Vessel, number_of: dict[str, int]) -> tuple[list[Passage], list[Advice]]:
    say = Speech(vessel)
    found, faults = [], []
    inner = [(vertices, faces) for vertices, faces, _ in vessel.hull_inside.meshes(ROUND_SIDES)]
    outer = [(vertices, faces) for vertices, faces, _ in vessel.hull.meshes(ROUND_SIDES)]
    for number, (given, area) in enumerate(vessel.openings, start=1):
        key, name = f"hull.openings[{number}]", f"opening {number}"
        point = np.array(given)
        foot = min((nearest(v, f, point) for v, f in inner), key=lambda entry: entry.distance_m)
        off = min(
            foot.distance_m,
            *(nearest(vertices, faces, point).distance_m for vertices, faces in outer),
        )
        radius = math.sqrt(max(area, 0.0) / math.pi)
        if not area > 0.0:
            faults.append(_no_area(name, key))
            continue
        if off > max(OFF_SKIN_M, radius):
            faults.append(
                Advice(
                    what=f"Opening {number} lies {say.length(off)} off the skin, so it is left out here.",
                    todo=f"Move it onto the skin; the nearest point of it is {say.at(vector(foot.point_m))}.",
                    where=say.at(given),
                    key=f"{key}.at",
                    given=say.length(off),
                    allowed=f"up to {say.length(max(OFF_SKIN_M, radius))}",
                    severity="warning",
                )
            )
            continue
        space = _space_at(vessel, foot.point_m - INTO_M * foot.normal)
        if space not in number_of:
            faults.append(_leads_nowhere(name, space, key))
            continue
        found.append(
            Passage(name, key, number_of[space], OUTSIDE, vector(foot.point_m), vector(foot.normal), area)
        )
    for hole in vessel.inner_openings:
        name = f"{hole.space} opening {hole.key.rpartition('[')[2].rstrip(']')}"
        ends = [hole.space, hole.other or HULL]
        missing = [end for end in ends if end not in number_of]
        if not hole.area_m2 > 0.0:
            faults.append(_no_area(name, hole.key))
        elif missing:
            faults.append(_leads_nowhere(name, missing[0], hole.key))
        else:
            one, other = (number_of[end] for end in ends)
            found.append(Passage(name, hole.key, one, other, hole.at_m, (0.0, 0.0, 1.0), hole.area_m2))
    return found, faults


def _no_area(name: str, key: str) -> Advice:
    return Advice(
        what=f"{name[0].upper()}{name[1:]} has no area, so no water passes it.",
        todo="Give the area that air and water can pass, or take the opening out.",
        key=f"{key}.area",
        given="0 mm^2",
        allowed="above 0",
        severity="warning",
    )


def _leads_nowhere(name: str, space: str, key: str) -> Advice:
    return Advice(
        what=f'{name[0].upper()}{name[1:]} leads into "{space}", where nothing floods, so it is left out here.',
        todo="Check its place and the box of the space.",
        key=key,
        severity="warning",
    )

"""The fewest vents that let the air out, level and nose up or down: where they might stand, and which to make."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Vector, Vessel
from dabchick.physics.equilibrium import up_vector
from dabchick.physics.opening_mouth import mouth, nearest
from dabchick.physics.trapped_air import Mouth, Pocket, trapped
from dabchick.physics.vents import choose, pieces
from dabchick.studies.flooded_space import FloodedSpace
from dabchick.studies.loading import ROUND_SIDES

Array = NDArray[np.float64]

PITCHES_DEG: Final = (0.0, 15.0, -15.0)
VENT_DIAMETER_M: Final = 3e-3
"""Of a new vent: lets air out quickly and shows little; common practice, no source."""
ENLARGED: Final = 2.0
"""An opening is made so many times as wide."""
ENLARGED_COST: Final = 0.9
"""Of one new hole: with equal counts an opening that is there is preferred."""
STATIONS: Final = 12
"""Places along each pocket that are tried, besides its highest point."""
APART_M: Final = 4e-3
MOST_PLACES: Final = 48
SYMMETRIC_M: Final = 5e-4
SAMPLES: Final = 40


@dataclass(frozen=True)
class Vent:
    """A hole to make, or an opening to make larger."""

    opening: int
    """The opening to make larger, counted from 1; 0 for a new hole."""
    at_m: Vector
    """On the outer face of the skin, house frame."""
    area_m2: float
    pair: int
    """Vents with the same number belong together: one on either side of a hull that is alike on both."""


@dataclass(frozen=True)
class VentedAttitude:
    """What stays in at one attitude."""

    pitch_deg: float
    before_m3: float
    after_m3: float
    unreached_m3: float
    """Of that, what no hole in the skin at any of the places tried lets out, such as air under a part."""


@dataclass(frozen=True)
class VentPlan:
    """The fewest vents found."""

    leave_m3: float
    vents: tuple[Vent, ...]
    attitudes: tuple[VentedAttitude, ...]
    within: bool
    """No attitude keeps more than was to be left."""
    place_count: int
    """How many possible places and larger openings it was chosen from."""


@dataclass(frozen=True, eq=False)
class _Place:
    """One or two holes that are made together."""

    mouths: tuple[Mouth, ...]
    vents: tuple[Vent, ...]
    cost: float


def plan(vessel: Vessel, space: FloodedSpace, leave_m3: float) -> VentPlan:
    """The vents that leave at most `leave_m3` of air in at each pitch of `PITCHES_DEG`: fewest, then least air.

    Places are the highest points of the pockets, and points along them. Raises ValueError for a volume below 0.
    """
    ways = [up_vector(0.0, pitch) for pitch in PITCHES_DEG]
    before = [trapped(space.walls, space.columns, list(space.mouths), up) for up in ways]
    if all(air.volume_m3 <= leave_m3 for air in before):
        rows = tuple(
            VentedAttitude(pitch, air.volume_m3, air.volume_m3, 0.0)
            for pitch, air in zip(PITCHES_DEG, before, strict=True)
        )
        return VentPlan(leave_m3, (), rows, True, 0)
    even = _is_even(vessel)
    places = _new_places(
        vessel, space, [(air.up, pocket) for air in before for pocket in air.pockets], leave_m3, even
    )
    places += _enlarged(space)
    every = [*space.mouths, *(entry for place in places for entry in place.mouths)]
    groups, start = [], len(space.mouths)
    for place in places:
        groups.append(tuple(range(start, start + len(place.mouths))))
        start += len(place.mouths)
    chosen = choose(
        [pieces(space.columns, every, up) for up in ways],
        range(len(space.mouths)),
        groups,
        np.array([place.cost for place in places]),
        leave_m3,
    )
    taken = [places[number] for number in chosen.taken]
    mouths = [*space.mouths, *(entry for place in taken for entry in place.mouths)]
    after = [trapped(space.walls, space.columns, mouths, up).volume_m3 for up in ways]
    vents = tuple(
        Vent(vent.opening, vent.at_m, vent.area_m2, number)
        for number, place in enumerate(taken, start=1)
        for vent in place.vents
    )
    return VentPlan(
        leave_m3,
        vents,
        tuple(
            VentedAttitude(pitch, air.volume_m3, left, unreached)
            for pitch, air, left, unreached in zip(
                PITCHES_DEG, before, after, chosen.unreached_m3, strict=True
            )
        ),
        all(left <= leave_m3 for left in after),
        len(places),
    )


def _is_even(vessel: Vessel) -> bool:
    """Whether both sides of the hull are alike: points of one side, mirrored, lie on the other."""
    ((vertices, faces, _), *_) = vessel.hull.meshes(ROUND_SIDES)
    step = max(1, len(vertices) // SAMPLES)
    return all(
        nearest(vertices, faces, point * np.array([1.0, -1.0, 1.0])).distance_m <= SYMMETRIC_M
        for point in vertices[::step]
    )


def _new_places(
    vessel: Vessel, space: FloodedSpace, pockets: Sequence[tuple[Array, Pocket]], leave_m3: float, even: bool
) -> list[_Place]:
    """Holes at the highest points of each pocket and along it, on the middle plane or in pairs where she is even."""
    points: list[Array] = []
    worth = max(0.02 * leave_m3, 2e-8)
    for up, pocket in sorted(pockets, key=lambda entry: -entry[1].volume_m3):
        if pocket.volume_m3 <= worth:
            continue
        for high in _crown(space, up, pocket):
            # one hole on the middle plane may do as well as two beside it
            tried = [high * np.array([1.0, 0.0, 1.0])] if even else []
            if not even or abs(high[1]) > space.columns.spacing:
                tried.append(np.array([high[0], abs(high[1]) if even else high[1], high[2]]))
            for point in tried:
                if all(float(np.linalg.norm(point - other)) > APART_M for other in points):
                    points.append(point)
    found = []
    for point in points[:MOST_PLACES]:
        sides = [point] if not even or point[1] == 0.0 else [point, point * np.array([1.0, -1.0, 1.0])]
        holes = [_hole(vessel, space, side) for side in sides]
        mouths = tuple(entry for entry, _ in holes if entry is not None)
        if len(mouths) == len(sides):
            found.append(_Place(mouths, tuple(vent for _, vent in holes), float(len(sides))))
    return found


def _crown(space: FloodedSpace, up: Array, pocket: Pocket) -> list[Array]:
    """The highest point of a pocket under the skin, then that of each of some stations along it."""
    own, columns = pocket.columns, space.columns
    end = 1 if up[2] >= 0.0 else 0
    height = (columns.low, columns.high)[end]
    own = own[space.walls.owner[columns.ends[own, end]] == 0]
    if len(own) == 0:
        return []
    places = np.column_stack([columns.x[own], columns.y[own], height[own]])
    rise = places @ up
    best = [int(np.argmax(rise))]
    along = places[:, 0]
    for low, high in pairwise(np.linspace(along.min(), along.max(), STATIONS + 1)):
        within = np.flatnonzero((along >= low) & (along <= high))
        if len(within):
            best.append(int(within[np.argmax(rise[within])]))
    return [places[row].copy() for row in best]


def _hole(vessel: Vessel, space: FloodedSpace, point: Array) -> tuple[Mouth | None, Vent]:
    skin = space.walls.faces[space.walls.owner == 0]
    inner = nearest(space.walls.vertices, skin, point)
    outer = min(
        (nearest(vertices, faces, inner.point_m) for vertices, faces, _ in vessel.hull.meshes(ROUND_SIDES)),
        key=lambda foot: foot.distance_m,
    )
    x, y, z = (round(float(value), 6) + 0.0 for value in outer.point_m)
    radius = 0.5 * VENT_DIAMETER_M
    area = math.pi * radius * radius
    return mouth(space.walls, space.columns, inner.point_m, radius), Vent(0, (x, y, z), area, 0)


def _enlarged(space: FloodedSpace) -> list[_Place]:
    found = []
    for hole in space.holes:
        if not hole.used:
            continue
        wider = mouth(space.walls, space.columns, np.array(hole.place_m), ENLARGED * hole.radius_m)
        if wider is not None:
            vent = Vent(hole.number, hole.given_m, ENLARGED**2 * hole.area_m2, 0)
            found.append(_Place((wider,), (vent,), ENLARGED_COST))
    return found

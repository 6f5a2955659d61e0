"""Does it slide in: a part, with all that is inside it, along a straight way through an opened hull to its place."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import manifold3d
import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vector, Vessel
from dabchick.physics.nearest import TriangleTree, first_meeting, nearest, triangle_tree
from dabchick.studies.common import assumptions, warnings
from dabchick.studies.fit import CONTACT_M, USUAL_CLEARANCE_M, Tell
from dabchick.studies.fit_bodies import Thing, Things, point, things_of
from dabchick.studies.result import StudyResult
from dabchick.studies.shared_room import NOTHING, Body, Shared, corners_of, measured
from dabchick.studies.speech import Speech

Array = NDArray[np.float64]
Way = Literal["bow", "stern", "top"]

OUTWARD: Final[dict[Way, Vector]] = {
    "bow": (1.0, 0.0, 0.0),
    "stern": (-1.0, 0.0, 0.0),
    "top": (0.0, 0.0, 1.0),
}
SPARE_M: Final = 0.001
"""How far outside it starts, beyond what its box and the hull's ask for."""
PLACE_M: Final = 1e-5
"""How exactly the place on the way is found at which it first comes too near."""
MOST_PRISMS: Final = 4000
"""Faces of the largest hollow or branching part whose way is built up from its faces; beyond, its convex hull."""


@dataclass(frozen=True)
class Plane:
    """Where the hull is opened: what lies at normal . x > offset is taken off."""

    normal: Vector
    offset_m: float


@dataclass(frozen=True)
class Hindrance:
    """One thing that comes too near the way, or stands in it."""

    name: str
    """`hull`, or the name of a part or tank."""
    key: str
    blocks: bool
    """It cannot pass; otherwise it passes nearer than wished."""
    clearance_m: float
    """The least on the whole way; 0 where it touches or stands in the way."""
    first_point_m: Vector
    """Of the part, where it has got to by then."""
    second_point_m: Vector
    """Of what hinders."""
    to_go_m: float
    """How far the part then still is from its place."""
    overlap_m3: float
    """Room of the whole way that it takes up; for the hull: that lies beyond its inner face."""
    depth_m: float
    """How far it reaches into the way; for the hull: how far the way reaches beyond its inner face."""
    deepest_m: Vector


@dataclass(frozen=True, kw_only=True)
class SlideResult(StudyResult):
    """Whether a part gets to its place, and what hinders it."""

    part: str
    key: str
    group: tuple[str, ...]
    """All that moves with it."""
    outward: Vector
    """Unit vector along which it comes out; it goes in the other way."""
    plane: Plane
    verdict: Literal["free", "tight", "blocked"]
    clearance_m: float
    """Wished."""
    least_m: float
    """The least clearance on the way; NaN where nothing comes near."""
    nearest_name: str
    nearest_first_m: Vector
    nearest_second_m: Vector
    nearest_to_go_m: float
    way_m: float
    """How long the way is from wholly outside."""
    hindrances: tuple[Hindrance, ...]
    """What blocks it first, then what it passes too near; the worst first."""


def run(
    vessel: Vessel,
    part: str,
    *,
    way: Way | Vector = "top",
    plane: Plane | None = None,
    past: bool = True,
    clearance_m: float = USUAL_CLEARANCE_M,
    tell: Tell = lambda text, share: None,
) -> SlideResult:
    """Draw a part, and all inside it, along a straight way from outside the opened hull to its place.

    `way` is where it comes from: through the bow, the stern, from the top, or any outward direction. `plane` is
    where the hull is opened, what lies beyond its normal being taken off; without one the hull is opened at the
    wished waterline for the top, and at the part's own near end for bow and stern. `past`: the other parts are in
    their places already. Raises BoatError for a part that is not there or has no shape.
    """
    tell("Opening the hull", 0.05)
    things = things_of(vessel)
    thing = things.named(part)
    if thing.entry.inside:
        raise BoatError(
            Advice(
                what=f"'{part}' is inside '{thing.entry.inside}' and goes in with it.",
                todo=f"Ask for '{thing.entry.inside}'.",
                key=thing.key,
                given=part,
                allowed="a part or tank in the flooded space",
            )
        )
    outward = _unit(OUTWARD[way] if isinstance(way, str) else way)
    group = things.group(thing)
    bodies = [thing.body, *(one.body for one in group[1:] if one.body.outside(thing.body).counts)]
    opened, opened_said = (plane, "") if plane is not None else _usual_plane(vessel, thing, outward)
    hull = _opened(things, opened)
    others = [one for one in things.room("") if past and one is not thing]
    mates = [one for one in others if not _beyond(one, opened)]
    taken_off = [one.name for one in others if _beyond(one, opened)]
    obstacles: list[tuple[str, str, Body]] = [("hull", "hull", hull)] if not hull.whole.is_empty() else []
    obstacles += [(one.name, one.key, one.body) for one in mates]
    length = _length(bodies, [body for _, _, body in obstacles], outward)
    tree = triangle_tree(np.concatenate([corners_of(body.whole) for body in bodies]))
    drawn = _Drawn(bodies, length * outward)
    closest: list[Hindrance] = []
    for row, (name, key, body) in enumerate(obstacles):
        tell(f"{part} past {name}", 0.1 + 0.85 * row / len(obstacles))
        beyond = things.inner if name == "hull" and not things.is_one_shell else None
        near = _hindrance(drawn, tree, outward, length, (name, key, body), beyond, clearance_m, opened)
        if near is not None:
            closest.append(near)
    hindrances = sorted(
        (one for one in closest if one.blocks or one.clearance_m < clearance_m - 1e-12),
        key=lambda one: (not one.blocks, -one.overlap_m3, one.clearance_m, one.name),
    )
    least = min(closest, key=lambda one: (not one.blocks, one.clearance_m, one.name), default=None)
    nowhere = (math.nan,) * 3
    say = Speech(vessel)
    tell("Done", 1.0)
    return SlideResult(
        boat=vessel.name,
        method=(
            "each triangle of the part drawn along the way to a prism, least distance of these to every triangle "
            "of the opened hull and the parts: exact for straight ways, no place on the way is left out"
        ),
        sources=(),
        validity=(
            "One straight way without turning, rigid parts. The hull opened is its material less all beyond the "
            "plane. Where the way shares room with something, that room is measured on the way's whole body."
        ),
        assumptions=assumptions(
            vessel,
            *(
                [f"clearance wished: {say.length(clearance_m)} (common practice, no source)"]
                if clearance_m == USUAL_CLEARANCE_M
                else []
            ),
            *([opened_said] if opened_said else []),
            *([f"taken off with the hull beyond the opening: {', '.join(taken_off)}"] if taken_off else []),
            *([] if past else ["nothing else is in the boat yet"]),
            *drawn.said,
        ),
        warnings=warnings(vessel, *things.unusable),
        part=part,
        key=thing.key,
        group=tuple(one.name for one in group),
        outward=point(outward),
        plane=opened,
        verdict="blocked" if any(one.blocks for one in hindrances) else "tight" if hindrances else "free",
        clearance_m=clearance_m,
        least_m=least.clearance_m if least else math.nan,
        nearest_name=least.name if least else "",
        nearest_first_m=least.first_point_m if least else nowhere,
        nearest_second_m=least.second_point_m if least else nowhere,
        nearest_to_go_m=least.to_go_m if least else math.nan,
        way_m=length,
        hindrances=tuple(hindrances),
    )


def _unit(direction: Vector) -> Array:
    vector = np.array(direction, dtype=np.float64)
    size = float(np.linalg.norm(vector))
    if not (np.isfinite(vector).all() and size > 0.0):
        raise BoatError(
            Advice(
                what="The way has no direction.",
                todo="Give three figures of which one is not 0.",
                key="from",
                given=str(direction),
            )
        )
    return vector / size


def _usual_plane(vessel: Vessel, thing: Thing, outward: Array) -> tuple[Plane, str]:
    say = Speech(vessel)
    if outward[2] > 0.5:
        normal = (0.0, 0.0, 1.0)
        if vessel.break_line_m:
            height = _highest_over(vessel.break_line_m, thing.body.low[0], thing.body.high[0])
            level = len({z for _, z in vessel.break_line_m}) == 1
            where = "" if level else ", where it is highest over the part"
            return Plane(normal, height), f"the hull is opened at her break line{where}, {say.height(height)}"
        return Plane(normal, vessel.waterline_m), (
            f"the hull is opened at the wished waterline, {say.height(vessel.waterline_m)}"
        )
    corners = np.array([thing.body.low, thing.body.high])
    end = float(np.max([outward * corners[0], outward * corners[1]], axis=0).sum())
    at = point(outward * end)
    return Plane(point(outward), end), (
        f"the hull is opened at the part's own near end, {say.along(at[0])}"
        if abs(outward[0]) > 1.0 - 1e-9
        else "the hull is opened at the part's own near end, square to the way"
    )


def _highest_over(line: tuple[tuple[float, float], ...], low_m: float, high_m: float) -> float:
    """The line's greatest height [m] over a stretch of the hull: what the lower half keeps there."""
    x, z = np.array(line).T
    ends = np.interp([low_m, high_m], x, z)
    return float(max(*ends, *z[(x >= low_m) & (x <= high_m)]))


def _beyond(thing: Thing, plane: Plane) -> bool:
    """Whether it lies wholly on the side that is taken off."""
    corners = thing.tree.corners.reshape(-1, 3)
    return float((corners @ np.array(plane.normal)).min()) >= plane.offset_m


def _opened(things: Things, plane: Plane) -> Body:
    """The hull's material less all beyond the plane."""
    x, y, z = plane.normal
    return Body.of(things.material.whole.trim_by_plane((-x, -y, -z), -plane.offset_m))


def _length(bodies: Sequence[Body], obstacles: Sequence[Body], outward: Array) -> float:
    """From its place to where it has left everything behind."""

    def far(body: Body) -> float:
        return float(np.maximum(outward * body.low, outward * body.high).sum())

    def near(body: Body) -> float:
        return float(np.minimum(outward * body.low, outward * body.high).sum())

    start = min(near(body) for body in bodies)
    return max(0.0, *(far(body) - start for body in obstacles), 0.0) + SPARE_M


class _Drawn:
    """The room that bodies take up on their whole way; built when something stands in it."""

    def __init__(self, bodies: Sequence[Body], way: Array) -> None:
        self.bodies, self.way = bodies, way
        self.said: list[str] = []
        self._whole: Body | None = None

    @property
    def whole(self) -> Body:
        if self._whole is None:
            pieces = [piece for body in self.bodies for piece in self._pieces(body)]
            self._whole = Body.of(manifold3d.Manifold.batch_boolean(pieces, manifold3d.OpType.Add))
        return self._whole

    def _pieces(self, body: Body) -> Iterator[manifold3d.Manifold]:
        corners = corners_of(body.whole)
        convex = body.whole.hull().volume() <= body.whole.volume() * (1.0 + 1e-9)
        areas = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        ahead = corners[areas @ self.way > 1e-12 * np.linalg.norm(areas, axis=1) * np.linalg.norm(self.way)]
        if convex or len(ahead) > MOST_PRISMS:
            if not convex:
                self.said.append(
                    "a part of very many faces: the room it shares on its way is that of its convex hull, "
                    "at most as much as said"
                )
            points = np.unique(corners.reshape(-1, 3), axis=0)
            yield manifold3d.Manifold.hull_points(np.concatenate([points, points + self.way]))
            return
        yield body.whole
        yield body.moved(self.way).whole
        for triangle in ahead:
            prism = manifold3d.Manifold.hull_points(np.concatenate([triangle, triangle + self.way]))
            if not prism.is_empty():
                yield prism


def _hindrance(
    drawn: _Drawn,
    tree: TriangleTree,
    outward: Array,
    length: float,
    obstacle: tuple[str, str, Body],
    inner: Body | None,
    clearance: float,
    plane: Plane,
) -> Hindrance | None:
    """How one thing stands to the way; None when it is farther off than is looked at."""
    name, key, body = obstacle
    start, sweep = length * outward, -length * outward
    near = nearest(tree, body.tree, shift=start, sweep=sweep, most=max(5 * clearance, 0.01))
    if near is None:
        return None
    if near.distance_m > CONTACT_M:
        to_go = length * (1.0 - near.share)
        a, b = point(near.first), point(near.second)
        return Hindrance(name, key, False, near.distance_m, a, b, to_go, 0.0, 0.0, b)
    met = first_meeting(tree, body.tree, shift=start, sweep=sweep, gap_m=CONTACT_M, tolerance_m=PLACE_M)
    met = met if met is not None else near
    shared = drawn.whole.shared_with(body) if drawn.whole.may_meet(body) else NOTHING
    room, depth, deepest = shared, 0.0, point(met.second)
    if shared.counts:
        room, depth, deepest = _into(drawn.whole, body, inner, plane)
    return Hindrance(
        *(name, key, shared.counts, 0.0, point(met.first), point(met.second)),
        *(length * (1.0 - met.share), room.volume_m3, depth, deepest),
    )


def _into(way: Body, body: Body, inner: Body | None, plane: Plane) -> tuple[Shared, float, Vector]:
    """The room of a way that lies within a body, or beyond a hull's inner face on the near side of the plane."""
    if inner is None:
        # what stands in the way is often swallowed whole: how far it reaches in is from the way's own face
        room, face = way.whole ^ body.whole, way.tree
    else:
        x, y, z = plane.normal
        kept = way.whole.trim_by_plane((-x, -y, -z), -plane.offset_m)
        room, face = kept - inner.whole, inner.tree
    corners = np.unique(corners_of(room).reshape(-1, 3), axis=0)
    depth, deepest = 0.0, corners[0]
    for corner in corners:
        found = nearest(triangle_tree(corner[None, None, :].repeat(3, axis=1)), face)
        if found is not None and found.distance_m > depth:
            depth, deepest = found.distance_m, corner
    return measured(room), depth, point(deepest)

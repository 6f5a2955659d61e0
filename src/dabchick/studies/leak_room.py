"""The room in a dry part that water could take: inside its walls, less all that stands in it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Final

import manifold3d
import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Item, Vessel
from dabchick.physics import shapes
from dabchick.physics.cut import cut, forest
from dabchick.physics.skin import offset_inward
from dabchick.physics.solid import Solid
from dabchick.physics.surfaces import RevolvedSurface
from dabchick.studies.shared_room import Body, UnusableMeshError
from dabchick.studies.speech import Speech

Array = NDArray[np.float64]

WALL_M: Final = 3e-3
WALL_BAND_M: Final = 1e-3
"""Where no wall is given: 3 mm, and a band of 1 mm either way; common practice, no source."""
SHAPELESS_KG_M3: Final = 3000.0
"""Cells, motors and wire hold between 2000 and 4000 kg/m3; from memory. Said, not counted."""
_SPECK: Final = 1e-9
"""Share of a body below which shared room is rounding."""
_LEAST_M3: Final = 1e-8
"""Less room than this (0.01 ml) is none."""


@dataclass(frozen=True)
class Content:
    """One thing that takes up room in a dry part."""

    name: str
    volume_m3: float
    """Of its envelope, as far as that lies within the walls; shared room counts for each of those that share it."""
    low_x_m: float
    high_x_m: float


@dataclass(frozen=True, eq=False)
class DryRoom:
    """The room in one dry part."""

    name: str
    key: str
    wall_m: float
    body_m3: float
    """Of the part's own form, walls counted."""
    solid: Solid
    """Round things stay exactly round where nothing else meets them."""
    whole: Body
    """The same room as one polyhedron."""
    outer: Solid
    """The form of the part, for drawing."""
    contents: tuple[Content, ...]
    shapeless: tuple[tuple[str, float], ...]
    """Name and mass [kg] of what is in it without a shape: it takes up no room here."""

    @property
    def volume_m3(self) -> float:
        return self.solid.volume

    @property
    def ends_m(self) -> tuple[float, float]:
        """Aft and fore end of the room, house x."""
        return float(self.whole.low[0]), float(self.whole.high[0])

    @cached_property
    def _trees(self) -> tuple[object, object]:
        return forest([self.solid])

    def below(self, normal: Array, offset_m: float) -> tuple[float, Array]:
        """Volume [m3] and first moment [m4] of what has normal . x < offset."""
        found = cut(self._trees[0], normal, offset_m)  # type: ignore[arg-type]
        return found.volume, np.asarray(found.moment)

    def slab(self, aft_m: float, fore_m: float) -> tuple[float, Array]:
        """Volume and first moment of the room between two stations."""
        ahead = np.array([1.0, 0.0, 0.0])
        upper, lower = self.below(ahead, fore_m), self.below(ahead, aft_m)
        return upper[0] - lower[0], upper[1] - lower[1]

    def divided(self, x_m: float) -> tuple[Solid, Solid]:
        """The room aft and ahead of a bulkhead without thickness, as closed meshes."""
        ahead, aft = self.whole.whole.split_by_plane((1.0, 0.0, 0.0), x_m)
        return as_solid(aft), as_solid(ahead)


def dry_parts(vessel: Vessel) -> tuple[Item, ...]:
    """The dry parts whose form is known, in the order of the boat file."""
    return tuple(item for item in vessel.items if item.kind == "dry" and item.envelope is not None)


def formless(vessel: Vessel) -> tuple[Advice, ...]:
    """One advice for each dry part that has no shape, so that its room is not known."""
    return tuple(
        Advice(
            what=f"'{item.name}' has no shape, so the room in it is not known and it is left out here.",
            todo="Give it a shape, such as a cylinder with its length and diameter.",
            key=f"{item.key}.shape",
            severity="warning",
        )
        for item in vessel.items
        if item.kind == "dry" and item.envelope is None
    )


def dry_rooms(vessel: Vessel, wall_m: float | None = None) -> tuple[DryRoom, ...]:
    """The room of every dry part. Raises BoatError where there is none, or the wall leaves no room."""
    parts = dry_parts(vessel)
    if not parts:
        raise BoatError(
            *formless(vessel),
            Advice(
                what="This boat has no dry part with a shape, so there is nothing that could fill slowly.",
                todo='Add the watertight cylinder as a part with `kind = "dry"` and a shape.',
                key="part",
            ),
        )
    return tuple(_room(vessel, part, WALL_M if wall_m is None else wall_m) for part in parts)


def _room(vessel: Vessel, part: Item, wall_m: float) -> DryRoom:
    inside = [item for item in vessel.items if item.inside == part.name]
    things = [(item.name, item.envelope) for item in inside if item.envelope is not None]
    things += [(tank.name, tank.solid) for tank in vessel.tanks if tank.inside == part.name]
    assert part.envelope is not None
    solid, whole, contents = _kept_room(
        part.envelope, wall_m, tuple(name for name, _ in things), tuple(body for _, body in things)
    )
    if solid is None or whole is None:
        raise BoatError(
            Advice(
                what=f"Within walls of {Speech(vessel).length(wall_m)}, nothing of '{part.name}' is left that "
                "could fill.",
                todo="Check the wall's thickness, and the sizes of what stands in it with `dabchick check`.",
                key="wall",
                given=Speech(vessel).length(wall_m),
                allowed="above 0, and thinner than half the part",
            )
        )
    return DryRoom(
        name=part.name,
        key=part.key,
        wall_m=wall_m,
        body_m3=part.envelope.volume,
        solid=solid,
        whole=whole,
        outer=part.envelope,
        contents=contents,
        shapeless=tuple(
            (item.name, item.mass_kg) for item in inside if item.envelope is None and item.mass_kg > 0.0
        ),
    )


@lru_cache(maxsize=12)
def _kept_room(
    envelope: Solid, wall_m: float, names: tuple[str, ...], things: tuple[Solid, ...]
) -> tuple[Solid | None, Body | None, tuple[Content, ...]]:
    """Kept by the solids themselves, so that another mass or another leak costs nothing here."""
    inner = inner_of(envelope, wall_m)
    if inner is None:
        return None, None, ()
    solid, whole, volumes = room_in(inner, things)
    if solid.volume < _LEAST_M3 or whole is None:
        return None, None, ()
    ends = [thing.bounds() for thing in things]
    contents = tuple(
        Content(name, volume, float(low[0]), float(high[0]))
        for name, volume, (low, high) in zip(names, volumes, ends, strict=True)
        if volume > _LEAST_M3
    )
    return solid, whole, contents


def room_in(inner: Solid, things: Sequence[Solid]) -> tuple[Solid, Body | None, list[float]]:
    """The room in `inner` that `things` leave: as a signed sum, as one polyhedron, and the volume of each thing in it.

    What two things share is taken off once, what stands out of `inner` not at all. Things that meet nothing else are
    taken off with their exact form; the others by boolean operations on their polyhedra.
    """
    shell = Body(inner)
    bodies = [_filled(thing) for thing in things]
    within: list[manifold3d.Manifold] = []
    for body in bodies:
        within.append(shell.whole ^ body.whole if shell.may_meet(body) else manifold3d.Manifold())
    volumes = [float(part.volume()) for part in within]
    alone = [
        abs(volume - float(body.whole.volume())) <= _SPECK * volume
        and all(
            other == number
            or not body.may_meet(bodies[other])
            or float((part ^ within[other]).volume()) <= _SPECK * volume
            for other in range(len(bodies))
        )
        for number, (body, part, volume) in enumerate(zip(bodies, within, volumes, strict=True))
    ]
    solid = inner
    for thing, free in zip(things, alone, strict=True):
        if free:
            solid = solid - thing
    rest = [part for part, free in zip(within, alone, strict=True) if not free and not part.is_empty()]
    if rest:
        solid = solid - as_solid(manifold3d.Manifold.batch_boolean(rest, manifold3d.OpType.Add))
    filled = [part for part in within if not part.is_empty()]
    left = manifold3d.Manifold.batch_boolean([shell.whole, *filled], manifold3d.OpType.Subtract)
    exact = [
        thing.volume if free else volume for thing, free, volume in zip(things, alone, volumes, strict=True)
    ]
    return solid, None if left.is_empty() else Body.of(left), exact


def _filled(thing: Solid) -> Body:
    try:
        return Body(thing)
    except UnusableMeshError as fault:
        raise BoatError(
            Advice(
                what="Something inside the dry part has a shape that is not closed, so the room it takes is not known.",
                todo="Run `dabchick check`: it names the part and the place.",
                key="part",
                given=str(fault),
            )
        ) from fault


def as_solid(body: manifold3d.Manifold) -> Solid:
    """A polyhedron as a solid that can be cut."""
    mesh = body.to_mesh64()
    points = np.array(mesh.vert_properties, dtype=np.float64)[:, :3]
    return shapes.mesh(points, np.array(mesh.tri_verts, dtype=np.int64))


def inner_of(envelope: Solid, wall_m: float) -> Solid | None:
    """The inside of a form within walls of one thickness; None where nothing is left.

    Cylinders and capsules stay round; other forms are offset as polyhedra, exact at corners of three faces.
    """
    if not (np.isfinite(wall_m) and wall_m > 0.0):
        return None
    surface = envelope.surfaces[0]
    if len(envelope.surfaces) == 1 and isinstance(surface, RevolvedSurface):
        found = _inner_round(surface, wall_m)
        if found is not None:
            return found if found.surfaces else None
    mesh = Body(envelope).whole.to_mesh64()
    points = np.array(mesh.vert_properties, dtype=np.float64)[:, :3]
    faces = np.array(mesh.tri_verts, dtype=np.int64)
    thin = shapes.mesh(points, faces).volume
    inner = offset_inward(points, faces, wall_m)
    try:
        solid = shapes.mesh(inner, faces)
    except ValueError:
        return None
    return solid if 1e-6 * thin < solid.volume < thin else None


def _inner_round(surface: RevolvedSurface, wall_m: float) -> Solid | None:
    """The inside of a straight or ball-ended round form; None for others, no surfaces where nothing is left."""
    rows = []
    last = len(surface.pieces) - 1
    for number, (first, end, q0, q1, q2) in enumerate(surface.pieces):
        start = first + (wall_m if number == 0 else 0.0)
        stop = end - (wall_m if number == last else 0.0)
        if q1 == 0.0 and q2 == 0.0:
            radius, middle = np.sqrt(q0) - wall_m, 0.0
        elif q2 == -1.0:
            middle = 0.5 * q1
            radius = np.sqrt(q0 + middle * middle) - wall_m
        else:
            return None
        if radius <= 0.0 or stop <= start:
            return Solid(())
        if q2 == -1.0:
            rows.append((start, stop, radius * radius - middle * middle, q1, q2))
        else:
            rows.append((start, stop, radius * radius, 0.0, 0.0))
    return Solid((RevolvedSurface(surface.point, surface.direction, np.array(rows)),))

"""The room inside the hull as cells: where the hull's inside is, and what of it is taken."""

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Item, Vessel
from dabchick.physics.free_space import Array, Cells, Flags, cells_over, touch, winding
from dabchick.physics.solid import Solid
from dabchick.physics.surfaces import MeshSurface, RevolvedSurface

SEGMENTS = 96
"""Sides of the polygon that stands for a circle."""

CELLS_PER_LENGTH = 250
LEAST_CELL_M = 2e-3

Meshes = list[tuple[Array, NDArray[np.int64], float]]


def hull_grid(vessel: Vessel) -> Cells:
    """Cells over the inside of the hull: 1/250 of its length, at least 2 mm; half that wide and high."""
    low, high = vessel.hull_inside.bounds()
    along = max(vessel.length_m / CELLS_PER_LENGTH, LEAST_CELL_M)
    try:
        return cells_over(low, high, np.array([along, along / 2, along / 2]), vessel.waterline_m)
    except ValueError as mistake:
        raise BoatError(
            Advice(
                what=f"The room inside the hull cannot be divided into cells: {mistake}",
                todo="Check the hull's size and unit and the waterline.",
                key="hull",
            )
        ) from mistake


def inside_hull(vessel: Vessel, cells: Cells, clearance_m: float) -> Flags:
    """True for each cell that lies wholly within the hull's inner face, `clearance_m` off it.

    Where the mesh of the hull is its own material in one piece, inside is every cell with material on both
    sides of it along at least two of the three axes: openings may look out along the third.
    """
    if is_one_shell(vessel):
        wall: Flags = np.zeros(cells.shape, dtype=np.bool_)
        occupy(vessel.hull, cells, 0.0, wall)
        enclosed = sum(_between(wall, axis).astype(np.int64) for axis in range(3)) >= 2
        occupy(vessel.hull, cells, clearance_m, wall)
        enclosed &= ~wall
        low, high = vessel.hull.bounds()
        for axis in range(3):
            half = cells.size_m[axis] / 2 + clearance_m
            middles = cells.centres(axis)
            off = (middles - half < low[axis]) | (middles + half > high[axis])
            np.moveaxis(enclosed, axis, 0)[off] = False
        return enclosed
    inner = vessel.hull_inside.meshes(SEGMENTS)
    inside = depth(inner, cells) > 0.5
    skin: Flags = np.zeros(cells.shape, dtype=np.bool_)
    for vertices, faces, _ in inner:
        touch(vertices, faces, cells, clearance_m, skin)
    return inside & ~skin


def is_one_shell(vessel: Vessel) -> bool:
    """Whether the hull's mesh is its own material in one piece, so that no face of it is the inner one."""
    alike = len(vessel.hull.surfaces) == len(vessel.hull_inside.surfaces) and all(
        outer is inner
        or (
            isinstance(outer, MeshSurface)
            and isinstance(inner, MeshSurface)
            and outer.shape is inner.shape
            and np.array_equal(outer.shift, inner.shift)
        )
        for outer, inner in zip(vessel.hull.surfaces, vessel.hull_inside.surfaces, strict=False)
    )
    return alike and any(item.kind == "skin" and item.solid is not None for item in vessel.items)


def _between(wall: Flags, axis: int) -> Flags:
    """True for each cell with a wall somewhere before and somewhere after it along an axis."""
    before = np.logical_or.accumulate(wall, axis=axis)
    after = np.flip(np.logical_or.accumulate(np.flip(wall, axis), axis=axis), axis)
    between: Flags = before & after & ~wall
    return between


def depth(meshes: Meshes, cells: Cells) -> Array:
    """Sum of the weights of the meshes round each middle: above 0 in material, 0 outside and in holes."""
    total: Array = np.zeros(cells.shape)
    for vertices, faces, weight in meshes:
        window, where = cells.window(vertices.min(axis=0), vertices.max(axis=0))
        if window.count:
            total[where] += weight * winding(vertices, faces, window)
    return total


def water_room(vessel: Vessel, cells: Cells) -> Flags:
    """True for each cell whose middle floods: inside the inner face and in no part, tank or material."""
    if is_one_shell(vessel):
        free = inside_hull(vessel, cells, 0.0)
    else:
        free = depth(vessel.hull_inside.meshes(SEGMENTS), cells) > 0.5
    solids = [solid for _, solid in bodies_in_flooded_space(vessel)]
    solids += [item.solid for item in vessel.items if item.kind == "skin" and item.solid is not None]
    for solid in solids:
        low, high = solid.bounds()
        window, where = cells.window(low, high)
        if window.count:
            free[where] &= depth(solid.meshes(SEGMENTS), window) <= 1e-6
    return free


def occupy(solid: Solid, cells: Cells, clearance_m: float, out: Flags) -> None:
    """Set `out` true for each cell that the solid fills, cuts or comes nearer to than `clearance_m`."""
    meshes = solid.meshes(SEGMENTS)
    clearance_m += _roundness(solid)
    low = np.min([vertices.min(axis=0) for vertices, _, _ in meshes], axis=0) - clearance_m
    high = np.max([vertices.max(axis=0) for vertices, _, _ in meshes], axis=0) + clearance_m
    window, where = cells.window(low, high)
    if not window.count:
        return
    taken = depth(meshes, window) > 1e-6
    for vertices, faces, _ in meshes:
        touch(vertices, faces, window, clearance_m, taken)
    out[where] |= taken


def _roundness(solid: Solid) -> float:
    """How far [m] a round solid bulges out of its polyhedron at most, round the ring and along its length."""
    radius = 0.0
    for surface in solid.surfaces:
        if isinstance(surface, RevolvedSurface):
            for piece, (start, stop, _, slope, bend) in enumerate(surface.pieces):
                peak = np.clip(-0.5 * slope / bend, start, stop) if bend < 0.0 else start
                radius = max(radius, *(surface.radius(piece, float(at)) for at in (start, stop, peak)))
    return 2.0 * radius * (1.0 - math.cos(math.pi / SEGMENTS))


def bodies_in_flooded_space(vessel: Vessel) -> Iterator[tuple[Item | None, Solid]]:
    """Each solid that stands in the flooded space, with its item; None for a tank. The skin is left out."""
    for item in vessel.items:
        if item.kind in ("skin", "inside") or item.inside:
            continue
        for solid in (item.solid, item.envelope):
            if solid is not None and solid.surfaces:
                yield item, solid
    for tank in vessel.tanks:
        if not tank.inside:
            yield None, tank.solid


def taken_room(vessel: Vessel, cells: Cells, clearance_m: float) -> Flags:
    """True for each cell that a part or tank in the flooded space takes, `clearance_m` round it counted.

    A movable part takes all the room along its rail, and the builder's own places are taken too.
    """
    taken: Flags = np.zeros(cells.shape, dtype=np.bool_)
    for item, solid in bodies_in_flooded_space(vessel):
        if item is None or item.rail is None:
            occupy(solid, cells, clearance_m, taken)
            continue
        rail = item.rail
        span = rail.high_m - rail.low_m
        steps = max(1, math.ceil(span / cells.size_m[0]))
        for shift in np.linspace(rail.low_m, rail.high_m, steps + 1):
            moved = solid.moved(shift * np.array(rail.direction))
            occupy(moved, cells, clearance_m + span / steps / 2, taken)
    for place in vessel.wishes.places:
        window, where = cells.window(np.array(place.low_m), np.array(place.high_m))
        sides = [[window.side(axis, index) for index in range(window.shape[axis] + 1)] for axis in range(3)]
        meets = [
            (np.array(sides[axis][:-1]) < place.high_m[axis])
            & (np.array(sides[axis][1:]) > place.low_m[axis])
            for axis in range(3)
        ]
        taken[where] |= meets[0][:, None, None] & meets[1][None, :, None] & meets[2][None, None, :]
    return taken


def free_room(vessel: Vessel, cells: Cells, clearance_m: float) -> Flags:
    """True for each cell inside the hull that nothing takes, `clearance_m` off everything."""
    return inside_hull(vessel, cells, clearance_m) & ~taken_room(vessel, cells, clearance_m)

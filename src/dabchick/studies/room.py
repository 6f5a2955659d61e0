"""The room inside the hull as cells: where the hull's inside is, and what of it is taken."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import shown, written
from dabchick.model.vessel import Item, Vector, Vessel
from dabchick.physics.free_space import Array, Cells, Flags, cells_over, touch, winding
from dabchick.physics.solid import Solid
from dabchick.physics.surfaces import MeshSurface, RevolvedSurface

SEGMENTS = 96
"""Sides of the polygon that stands for a circle."""

CELLS_PER_LENGTH = 250
LEAST_CELL_M = 2e-3

MOST_CELLS = 8_000_000
"""More than this takes more memory and time than a map is worth: about 200 MB."""

Meshes = list[tuple[Array, NDArray[np.int64], float]]
Tell = Callable[[str, float], None]


def _silent(text: str, share: float) -> None:
    """For work that nobody watches."""


@dataclass(frozen=True, eq=False)
class Room:
    """The cells over a hull and which of them nothing takes, so far off everything as asked."""

    cells: Cells
    inside: Flags
    """Wholly within the inner face and so far off it; parts not looked at."""
    free: Flags
    clearance_m: float


def room_of(
    vessel: Vessel, cell_m: float | None = None, clearance_m: float | None = None, tell: Tell = _silent
) -> Room:
    """The free room that `trim` and `space` both look into; without arguments just as `trim` does.

    Raises BoatError for cells that are too small or too large to be of use.
    """
    clearance = vessel.wishes.clearance_m if clearance_m is None else clearance_m
    cells = hull_grid(vessel, cell_m)
    tell("Where the hull's inside is", 0.05)
    inside = inside_hull(vessel, cells, clearance)
    free = inside & ~taken_room(vessel, cells, clearance, lambda text, share: tell(text, 0.1 + 0.5 * share))
    return Room(cells, inside, free, clearance)


def hull_grid(vessel: Vessel, cell_m: float | None = None) -> Cells:
    """Cells over the inside of the hull: 1/250 of its length, at least 2 mm; half that wide and high.

    `cell_m` is another length for them. Raises BoatError where that would be more cells than fit, or hardly any.
    """
    low, high = vessel.hull_inside.bounds()
    along = max(vessel.length_m / CELLS_PER_LENGTH, LEAST_CELL_M) if cell_m is None else cell_m
    if cell_m is not None:
        _usable_cell(vessel, low, high, cell_m)
    most = 2_000_000 if cell_m is None else 2 * MOST_CELLS
    try:
        size = np.array([along, along / 2, along / 2])
        return cells_over(low, high, size, vessel.waterline_m, most)
    except ValueError as mistake:
        raise BoatError(
            Advice(
                what=f"The room inside the hull cannot be divided into cells: {mistake}",
                todo="Check the hull's size and unit and the waterline.",
                key="hull",
            )
        ) from mistake


def _usable_cell(vessel: Vessel, low: Array, high: Array, cell_m: float) -> None:
    """A cell that the asked-for grid can be made of, or BoatError."""
    room = float(np.prod(high - low))
    least = (4.0 * room / MOST_CELLS) ** (1.0 / 3.0)
    most = 0.5 * float(np.min(high - low))
    if cell_m > 0.0 and least <= cell_m <= most:
        return
    # Rounded inwards, so that what is allowed is taken when it is typed.
    ends = (math.ceil(least * 1e4) / 1e4, math.floor(most * 1e4) / 1e4)
    raise BoatError(
        Advice(
            what="The cells are too small: there would be more of them than fit into memory."
            if cell_m < least
            else "The cells are as large as the hull's inside, so they would show nothing.",
            todo="Take larger ones." if cell_m < least else "Take smaller ones.",
            key="cell",
            given=shown(cell_m, "length", vessel.units),
            allowed=" to ".join(written(end, "length", vessel.units) for end in ends),
        )
    )


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


def taken_room(vessel: Vessel, cells: Cells, clearance_m: float, tell: Tell = _silent) -> Flags:
    """True for each cell that a part or tank in the flooded space takes, `clearance_m` round it counted.

    Round a part that moves it is what the builder says, if that is more. A part on a rail takes all the room
    along it; the builder's own places and keep-outs are taken too, as they stand.
    """
    taken: Flags = np.zeros(cells.shape, dtype=np.bool_)
    bodies = list(bodies_in_flooded_space(vessel))
    wished_m = clearance_m
    for number, (item, solid) in enumerate(bodies):
        tell(f"Round {item.name}" if item is not None else "Round the tanks", number / len(bodies))
        clearance_m = wished_m if item is None else max(wished_m, item.moves_m)
        if item is None or item.rail is None:
            occupy(solid, cells, clearance_m, taken)
            continue
        rail = item.rail
        span = rail.high_m - rail.low_m
        steps = max(1, math.ceil(span / cells.size_m[0]))
        for shift in np.linspace(rail.low_m, rail.high_m, steps + 1):
            moved = solid.moved(shift * np.array(rail.direction))
            occupy(moved, cells, clearance_m + span / steps / 2, taken)
    boxes = [(place.low_m, place.high_m) for place in vessel.wishes.places]
    boxes += [(box.low_m, box.high_m) for box in vessel.keep_outs]
    for low, high in boxes:
        _take_box(low, high, cells, taken)
    return taken


def _take_box(low_m: Vector, high_m: Vector, cells: Cells, out: Flags) -> None:
    """Set `out` true for each cell that a box along the axes cuts into."""
    window, where = cells.window(np.array(low_m), np.array(high_m))
    sides = [
        np.array([window.side(axis, index) for index in range(window.shape[axis] + 1)]) for axis in range(3)
    ]
    meets = [(sides[axis][:-1] < high_m[axis]) & (sides[axis][1:] > low_m[axis]) for axis in range(3)]
    out[where] |= meets[0][:, None, None] & meets[1][None, :, None] & meets[2][None, None, :]


def free_room(vessel: Vessel, cells: Cells, clearance_m: float) -> Flags:
    """True for each cell inside the hull that nothing takes, `clearance_m` off everything."""
    return inside_hull(vessel, cells, clearance_m) & ~taken_room(vessel, cells, clearance_m)

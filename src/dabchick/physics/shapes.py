"""Simple solids, exact at any attitude: flat-faced ones as meshes, round ones as quadrics of revolution.

Each stands where its docstring says, along the house axes; place it with `Solid.moved`. Lengths in metres. A
size that is not above 0 raises a ValueError that says which.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from dabchick.physics.solid import Solid
from dabchick.physics.surfaces import RevolvedSurface, mesh_surface

Array = NDArray[np.float64]
X_AXIS = (1.0, 0.0, 0.0)


def _above_zero(**sizes: float) -> None:
    wrong = [f"{name} {value}" for name, value in sizes.items() if not (np.isfinite(value) and value > 0.0)]
    if wrong:
        names = ", ".join(entry.replace("_", " ") for entry in wrong)
        raise ValueError(f"A solid needs sizes above 0; given {names}. Give each in metres.")


def _revolved(*pieces: tuple[float, float, float, float, float]) -> Solid:
    return Solid((RevolvedSurface(np.zeros(3), np.array(X_AXIS), np.array(pieces, dtype=np.float64)),))


def box(length: float, width: float, height: float) -> Solid:
    """Length along x, width along y, height along z [m]; the origin is its middle."""
    _above_zero(length=length, width=width, height=height)
    half_y, half_z = 0.5 * width, 0.5 * height
    outline = [(-half_y, -half_z), (half_y, -half_z), (half_y, half_z), (-half_y, half_z)]
    return prism(outline, length)


def cylinder(length: float, diameter: float) -> Solid:
    """Axis along x [m]; the origin is its middle."""
    _above_zero(length=length, diameter=diameter)
    return _revolved((-0.5 * length, 0.5 * length, 0.25 * diameter * diameter, 0.0, 0.0))


def tube(length: float, outer_diameter: float, inner_diameter: float) -> Solid:
    """The wall of an open-ended tube, axis along x [m]; the origin is its middle. Both faces are wetted."""
    _above_zero(length=length, outer_diameter=outer_diameter, inner_diameter=inner_diameter)
    if inner_diameter >= outer_diameter:
        raise ValueError(
            f"The tube's inner diameter {inner_diameter} is not below its outer diameter {outer_diameter}. "
            "Swap or correct them."
        )
    return cylinder(length, outer_diameter) - cylinder(length, inner_diameter)


def sphere(diameter: float) -> Solid:
    """[m]; the origin is its middle."""
    _above_zero(diameter=diameter)
    return spheroid(diameter, diameter)


def spheroid(length: float, diameter: float) -> Solid:
    """An ellipse of revolution, axis along x [m]; the origin is its middle."""
    _above_zero(length=length, diameter=diameter)
    half, radius = 0.5 * length, 0.5 * diameter
    return _revolved((-half, half, radius * radius, 0.0, -((radius / half) ** 2)))


def capsule(length: float, diameter: float) -> Solid:
    """A cylinder with half-sphere ends, overall length, axis along x [m]; the origin is its middle."""
    _above_zero(length=length, diameter=diameter)
    if length < diameter:
        raise ValueError(
            f"A capsule {length} m long cannot be {diameter} m thick. Give a length of at least its diameter."
        )
    radius, half = 0.5 * diameter, 0.5 * length
    if length == diameter:
        return sphere(diameter)
    straight = half - radius
    # the sphere about w = +-straight: r^2 = radius^2 - (|w| - straight)^2
    middle = radius * radius - straight * straight
    return _revolved(
        (-half, -straight, middle, -2.0 * straight, -1.0),
        (-straight, straight, radius * radius, 0.0, 0.0),
        (straight, half, middle, 2.0 * straight, -1.0),
    )


def cone(length: float, base_diameter: float, top_diameter: float = 0.0) -> Solid:
    """A cone or frustum, axis along x, base at -x [m]; the origin is the middle of its axis."""
    _above_zero(length=length, base_diameter=base_diameter)
    if not (np.isfinite(top_diameter) and top_diameter >= 0.0):
        raise ValueError(
            f"A cone's top diameter is {top_diameter}. Give 0 for a point, or a diameter in metres."
        )
    middle = 0.25 * (base_diameter + top_diameter)
    slope = 0.5 * (top_diameter - base_diameter) / length
    return _revolved((-0.5 * length, 0.5 * length, middle * middle, 2.0 * middle * slope, slope * slope))


def prism(outline_points: ArrayLike, length: float) -> Solid:
    """An outline (k, 2) in (y, z) drawn out along x [m]; the origin is the middle of the length."""
    _above_zero(length=length)
    outline = _outline(outline_points)
    ends = [np.column_stack([np.full(len(outline), x), outline]) for x in (-0.5 * length, 0.5 * length)]
    return _drawn_out(outline, ends[0], ends[1])


def extruded(outline: ArrayLike, height: float) -> Solid:
    """An outline (k, 2) in (x, y) drawn out along z from z = 0 to `height` [m]."""
    _above_zero(height=height)
    points = _outline(outline)
    ends = [np.column_stack([points, np.full(len(points), z)]) for z in (0.0, height)]
    return _drawn_out(points, ends[0], ends[1])


def mesh(vertices: ArrayLike, faces: ArrayLike) -> Solid:
    """A closed mesh, faces looking outward: vertices (n, 3) [m], faces (m, 3); ValueError if it is not."""
    surface = mesh_surface(vertices, faces)
    directed = np.concatenate([surface.faces[:, [0, 1]], surface.faces[:, [1, 2]], surface.faces[:, [2, 0]]])
    count = len(surface.shape.vertices)
    forward = np.sort(directed[:, 0] * count + directed[:, 1])
    backward = np.sort(directed[:, 1] * count + directed[:, 0])
    if not np.array_equal(forward, backward):
        raise ValueError(
            "The mesh is not a closed surface: some edges do not have a face on each side. "
            "Close it first, for example with `dabchick check --repair`."
        )
    if surface.shape.bulk.volume <= 0.0:
        raise ValueError(
            "The mesh encloses no volume or looks inward. Turn its faces round, "
            "for example with `dabchick check --repair`."
        )
    return Solid((surface,))


def _outline(points: ArrayLike) -> Array:
    """A simple closed outline, anticlockwise, without the repeated last point."""
    outline = np.array(points, dtype=np.float64)
    if outline.ndim != 2 or outline.shape[1] != 2 or not np.isfinite(outline).all():
        raise ValueError("An outline needs finite points (k, 2). Correct the list of points.")
    if len(outline) > 1 and np.array_equal(outline[0], outline[-1]):
        outline = outline[:-1]
    if len(outline) < 3:
        raise ValueError(f"An outline needs at least 3 points; given {len(outline)}.")
    after = np.roll(outline, -1, axis=0)
    area = 0.5 * float(np.sum(outline[:, 0] * after[:, 1] - outline[:, 1] * after[:, 0]))
    if abs(area) <= 1e-12 * float(np.ptp(outline, axis=0).max()) ** 2:
        raise ValueError("An outline encloses no area. Give its points in turn round the shape.")
    if _crosses_itself(outline):
        raise ValueError("The outline crosses itself. Give its points in turn round the shape.")
    return outline if area > 0.0 else outline[::-1].copy()


def _crosses_itself(outline: Array) -> bool:
    """Whether two sides cross at a point inside both."""
    ahead = np.roll(outline, -1, axis=0)
    side = ahead - outline

    def turns(points: Array) -> Array:
        """Entry (i, j): on which side of side i point j lies."""
        away = points[None, :, :] - outline[:, None, :]
        return np.asarray(side[:, None, 0] * away[:, :, 1] - side[:, None, 1] * away[:, :, 0])

    parted = turns(outline) * turns(ahead) < 0.0
    return bool(np.any(parted & parted.T))


def _drawn_out(outline: Array, low: Array, high: Array) -> Solid:
    """Walls between two copies of an anticlockwise outline, and both ends."""
    count = len(outline)
    here = np.arange(count)
    ahead = (here + 1) % count
    walls = [
        np.stack([here, ahead, ahead + count], axis=1),
        np.stack([here, ahead + count, here + count], axis=1),
    ]
    ends = np.array(ear_clipped(outline), dtype=np.int64)
    faces = np.concatenate([*walls, ends[:, ::-1], ends + count])
    return Solid((mesh_surface(np.vstack([low, high]), faces),))


def ear_clipped(outline: Array) -> list[tuple[int, int, int]]:
    """Triangles of a simple anticlockwise outline (k, 2), by cutting off one ear after another.

    Raises ValueError when the outline crosses itself. O(k^2) to O(k^3); outlines have tens of points.
    """

    def turn(a: int, b: int, c: int) -> float:
        (ax, ay), (bx, by), (cx, cy) = outline[a], outline[b], outline[c]
        return float((bx - ax) * (cy - ay) - (by - ay) * (cx - ax))

    ring = list(range(len(outline)))
    triangles: list[tuple[int, int, int]] = []
    small = 1e-14 * float(np.ptp(outline, axis=0).max()) ** 2
    while len(ring) > 3:
        for place in range(len(ring)):
            a, b, c = ring[place - 1], ring[place], ring[(place + 1) % len(ring)]
            corner = turn(a, b, c)
            if corner < -small:
                continue
            holds = any(
                turn(a, b, p) >= 0.0 and turn(b, c, p) >= 0.0 and turn(c, a, p) >= 0.0
                for p in ring
                if p not in (a, b, c)
                and not any(np.array_equal(outline[p], outline[corner]) for corner in (a, b, c))
            )
            if abs(corner) <= small or not holds:
                triangles.append((a, b, c))
                del ring[place]
                break
        else:
            raise ValueError("The outline crosses itself. Give its points in turn round the shape.")
    triangles.append((ring[0], ring[1], ring[2]))
    return triangles

"""An opening in a skin: the point of the skin nearest to it, its rim, and the columns of the space that it
leads into."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.columns import Columns, Walls
from dabchick.physics.compiled import compiled
from dabchick.physics.trapped_air import Mouth

Array = NDArray[np.float64]
Index = NDArray[np.int64]

RIM_POINTS = 24
REACH = 2.0
"""In column spacings: how far from the opening the nearest column may stand."""


class Foot(NamedTuple):
    """The point of a surface nearest to a given one."""

    point_m: Array
    """(3,)"""
    distance_m: float
    face: int
    normal: Array
    """(3,) outward unit normal of the face."""


def nearest(vertices: Array, faces: Index, point: Array) -> Foot:
    """The nearest point of a mesh (v, 3), (f, 3) [m] to a point (3,) [m]. Raises ValueError without faces."""
    if len(faces) == 0:
        raise ValueError("There are no triangles to measure to. Give a surface.")
    face, found = _nearest(vertices, faces, point)
    a, b, c = vertices[faces[face]]
    normal = np.cross(b - a, c - a)
    return Foot(
        found, float(np.linalg.norm(found - point)), int(face), normal / max(np.linalg.norm(normal), 1e-300)
    )


@compiled
def _nearest(vertices: Array, faces: Index, point: Array) -> tuple[int, Array]:
    """The face that comes nearest and its nearest point; faces whose box is farther than the best are passed over."""
    best, which = np.inf, 0
    found, foot = np.zeros(3), np.zeros(3)
    for face in range(len(faces)):
        a, b, c = vertices[faces[face, 0]], vertices[faces[face, 1]], vertices[faces[face, 2]]
        gap = 0.0
        for axis in range(3):
            low = min(a[axis], b[axis], c[axis]) - point[axis]
            high = point[axis] - max(a[axis], b[axis], c[axis])
            gap += max(low, high, 0.0) ** 2
        if gap >= best:
            continue
        square = _foot(a, b, c, point, foot)
        if square < best:
            best, which = square, face
            found[:] = foot
    return which, found


@compiled
def _foot(a: Array, b: Array, c: Array, point: Array, foot: Array) -> float:
    """Squared distance from a point to a triangle, its nearest point into `foot`; without area it is its edges."""
    u, v, w = b - a, c - a, point - a
    normal = np.array([u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]])
    size = normal @ normal
    if size > 0.0:
        first = np.array([w[1] * v[2] - w[2] * v[1], w[2] * v[0] - w[0] * v[2], w[0] * v[1] - w[1] * v[0]])
        second = np.array([u[1] * w[2] - u[2] * w[1], u[2] * w[0] - u[0] * w[2], u[0] * w[1] - u[1] * w[0]])
        to_b, to_c = (first @ normal) / size, (second @ normal) / size
        if to_b >= 0.0 and to_c >= 0.0 and to_b + to_c <= 1.0:
            foot[:] = a + to_b * u + to_c * v
            away = foot - point
            return float(away @ away)
    best = np.inf
    for edge in range(3):
        start = a if edge == 0 else b if edge == 1 else c
        stop = b if edge == 0 else c if edge == 1 else a
        way = stop - start
        length = way @ way
        share = 0.0 if length == 0.0 else min(1.0, max(0.0, float((point - start) @ way) / float(length)))
        place = start + share * way
        away = place - point
        square = float(away @ away)
        if square < best:
            best = square
            foot[:] = place
    return float(best)


def mouth(walls: Walls, space: Columns, place: Array, radius: float) -> Mouth | None:
    """A round opening of `radius` [m] (0 for a point) in the space's own surface at `place` (3,), which lies on it.

    Its rim is where the surface is `radius` away from the place. None where the space is too narrow there for
    any column.
    """
    skin = walls.faces[walls.owner == 0]
    foot = nearest(walls.vertices, skin, place)
    rim = [foot.point_m[None, :]]
    faces = np.zeros(0, dtype=np.int64)
    if radius > 0.0:
        faces = _patch(walls.vertices, skin, foot, radius)
        rim += [_reach(corners, foot.point_m, radius) for corners in walls.vertices[skin[faces]]]
    inward = foot.point_m - 0.5 * space.spacing * foot.normal
    near = _near(space, foot.point_m, radius + REACH * space.spacing)
    flat = np.hypot(space.x[near] - inward[0], space.y[near] - inward[1])
    off = np.maximum(np.maximum(space.low[near] - inward[2], inward[2] - space.high[near]), 0.0)
    distance = np.hypot(flat, off)
    if len(near) == 0 or distance.min() > REACH * space.spacing:
        return None
    behind = int(near[np.argmin(distance)])
    met = _ending_in(space, near, foot.point_m, radius, np.flatnonzero(walls.owner == 0)[faces])
    return Mouth(*_beside(space, np.union1d(met, [behind]), foot.point_m, radius), np.concatenate(rim))


def _patch(vertices: Array, faces: Index, foot: Foot, radius: float) -> Index:
    """Faces that come within `radius` and look the same way, so that the far side of a fin is no part of the hole."""
    corners = vertices[faces] - foot.point_m
    gap = np.maximum(np.maximum(corners.min(axis=1), -corners.max(axis=1)), 0.0)
    near = np.flatnonzero(np.einsum("fi,fi->f", gap, gap) <= radius * radius)
    normals = np.cross(corners[near, 1] - corners[near, 0], corners[near, 2] - corners[near, 0])
    return np.asarray(near[normals @ foot.normal > 0.0])


def _reach(corners: Array, centre: Array, radius: float) -> Array:
    """Points (k, 3) of a triangle (3, 3) on or within a ball: corners, crossings of edges, and its circle."""
    rel = corners - centre
    found = [rel[np.einsum("ci,ci->c", rel, rel) <= radius * radius]]
    for start, stop in zip(rel, np.roll(rel, -1, axis=0), strict=True):
        way = stop - start
        a, b, c = float(way @ way), float(way @ start), float(start @ start) - radius * radius
        if a > 0.0 and b * b - a * c > 0.0:
            root = np.sqrt(b * b - a * c)
            shares = np.array([(-b - root) / a, (-b + root) / a])
            shares = shares[(shares >= 0.0) & (shares <= 1.0)]
            found.append(start + shares[:, None] * way)
    normal = np.cross(rel[1] - rel[0], rel[2] - rel[0])
    size = float(np.linalg.norm(normal))
    if size > 0.0:
        normal = normal / size
        height = float(rel[0] @ normal)
        if abs(height) < radius:
            first = (rel[1] - rel[0]) / np.linalg.norm(rel[1] - rel[0])
            second = np.cross(normal, first)
            angle = 2.0 * np.pi * np.arange(RIM_POINTS) / RIM_POINTS
            circle = height * normal + np.sqrt(radius**2 - height**2) * (
                np.cos(angle)[:, None] * first + np.sin(angle)[:, None] * second
            )
            edges = np.roll(rel, -1, axis=0) - rel
            sides = np.einsum("kci,ci->kc", circle[:, None, :] - rel[None, :, :], np.cross(normal, edges))
            found.append(circle[(sides >= 0.0).all(axis=1)])
    return np.concatenate(found) + centre


def _near(space: Columns, place: Array, reach: float) -> Index:
    """Columns whose line stands within a square of `reach` round a place."""
    i0, j0 = np.maximum(np.floor((place[:2] - reach - space.corner) / space.spacing), 0).astype(int)
    i1, j1 = np.ceil((place[:2] + reach - space.corner) / space.spacing).astype(int)
    i1, j1 = min(i1, space.shape[0] - 1), min(j1, space.shape[1] - 1)
    rows = [np.zeros(0, dtype=np.int64)]
    if j0 <= j1:
        wide = space.shape[1]
        rows += [
            np.arange(space.starts[i * wide + j0], space.starts[i * wide + j1 + 1]) for i in range(i0, i1 + 1)
        ]
    return np.concatenate(rows).astype(np.int64)


def _beside(space: Columns, within: Index, place: Array, radius: float) -> tuple[Index, Array, Array]:
    """The columns in or behind the opening and those joined to them round it, with how much lower that passage lies.

    The opening's rim stands between both, so air higher up beside it is let out down to the rim's own height.
    """
    inside = np.zeros(len(space.x), dtype=np.bool_)
    inside[within] = True
    one = np.flatnonzero(inside[space.first] & ~inside[space.second])
    two = np.flatnonzero(inside[space.second] & ~inside[space.first])
    pairs = np.concatenate([one, two])
    columns = np.concatenate([space.second[one], space.first[two]])
    away = np.hypot(space.x[columns] - place[0], space.y[columns] - place[1])
    close = away <= radius + 1.5 * space.spacing
    pairs, columns = pairs[close], columns[close]
    none = np.zeros(len(within))
    return (
        np.concatenate([within, columns]),
        np.concatenate([none, space.short_low[pairs]]),
        np.concatenate([none, space.short_high[pairs]]),
    )


def _ending_in(space: Columns, near: Index, place: Array, radius: float, faces: Index) -> Index:
    """Columns that end in the hole itself."""
    found = np.zeros(len(near), dtype=np.bool_)
    for side, height in enumerate((space.low, space.high)):
        away = np.sqrt(
            (space.x[near] - place[0]) ** 2 + (space.y[near] - place[1]) ** 2 + (height[near] - place[2]) ** 2
        )
        found |= (away <= radius) & np.isin(space.ends[near, side], faces)
    return np.asarray(near[found])

"""How thick a closed mesh is from point to point of its surface: rays inward, and the largest ball that fits.

At a point p with inward direction n a ray gives L, the way to the first face met from within. It is right in the
middle of a wall and wrong at its rim, where it runs along the wall. The largest ball inside that touches the surface
at p gives D <= L: it is right in the middle of a wall too, and too small beside an edge. Where D >= 0.9 L both see two
faces that lie opposite each other, and D is the thickness. For a wedge of angle a, L = d tan a and D = 2 d tan(a / 2)
at a distance d from its edge, so that D / L = 1 - tan(a / 2)^2: wedges up to 35 degrees are walls, blunter ones are
edges. A point at an edge takes the thickness of the wall ball that lies nearest to it.

The ball is found by shrinking: Ma, Bae and Choi, 3D medial axis point approximation using nearest neighbors and the
normal field, The Visual Computer 28 (2012), from memory; a touching point less than 60 degrees from p, seen from the
ball's middle, belongs to the bend of the same face and does not count (there called the separation angle).
"""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from dabchick.physics.closest import closest_on_triangle, corners_of
from dabchick.physics.clusters import cluster_tree
from dabchick.physics.compiled import compiled
from dabchick.physics.ray import free_lengths

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Flags = NDArray[np.bool_]
Packed = NDArray[np.uint32]

OPPOSITE: Final = 0.9
"""D / L from which a point lies on a wall."""
MOST_SAMPLES: Final = 120_000
MOST_PARTS: Final = 12
"""Times that the side of a large triangle is divided at most."""
FINENESS: Final = 1.0 / 150.0
"""Part of the mesh's diagonal down to which triangles are divided, where that stays below MOST_SAMPLES."""
_BENT: Final = 0.5
"""Cosine of the separation angle."""
_SHRINKS: Final = 40
_NEAREST_BALLS: Final = 8


class Thickness(NamedTuple):
    """Readings of the thickness at points of a surface, and what they come to for each triangle."""

    points: Array
    """(s, 3) [m]"""
    areas: Array
    """(s,) surface that each point stands for [m2]"""
    faces: Indices
    """(s,) the triangle that each lies on"""
    readings: Array
    """(s,) [m]; NaN where a ray leaves the mesh without meeting a face"""
    walls: Flags
    """(s,) two faces lie opposite each other here; the others lie at an edge and take over a neighbour's reading"""
    rays: Array
    """(s,) way of the ray inward [m], right only on walls"""
    of_face: Array
    """(m,) for each triangle the least reading on a wall, or of an edge where it has none [m]"""


def thickness(vertices: Array, faces: Indices, *, most_samples: int = MOST_SAMPLES) -> Thickness:
    """The thickness of a closed outward mesh, vertices (n, 3) [m], faces (m, 3), m >= 1.

    Large triangles are read at several points. A mesh of more than `most_samples` triangles is read on evenly drawn
    ones, and the others take over the nearest reading. Raises ValueError for a mesh without triangles or with
    coordinates that are no numbers.
    """
    if len(faces) == 0:
        raise ValueError("There are no triangles to measure. Give a closed mesh.")
    if not np.isfinite(vertices).all():
        raise ValueError("Some coordinates are no numbers. Take those corners out first.")
    middle = 0.5 * (vertices.min(axis=0) + vertices.max(axis=0))
    local = np.ascontiguousarray(vertices - middle)
    faces = np.ascontiguousarray(faces, np.int64)
    read = np.arange(len(faces))
    if len(faces) > most_samples:
        read = np.unique(np.linspace(0, len(faces) - 1, most_samples).astype(np.int64))
    points, areas, owner = _samples(local, faces, read, most_samples)
    inward = _inward(local[faces])[owner]
    rays, diameters = rays_and_balls(local, faces, points, inward)
    known = np.isfinite(rays)
    walls = known & (diameters >= OPPOSITE * rays)
    readings = np.where(known, diameters, np.nan)
    _take_over(points, inward, readings, walls, known)
    return Thickness(
        points + middle,
        areas,
        owner,
        readings,
        walls,
        rays,
        _of_faces(local, faces, points, owner, readings, walls),
    )


def rays_and_balls(vertices: Array, faces: Indices, points: Array, inward: Array) -> tuple[Array, Array]:
    """For points (s, 3) on a mesh with unit inward directions (s, 3): ray L and ball D (s,) [m]; NaN without a face.

    vertices (n, 3) [m] should lie about zero, which keeps rounding small.
    """
    tree = cluster_tree(vertices, faces)
    diagonal = float(np.linalg.norm(np.ptp(vertices, axis=0)))
    most = np.full(len(points), 2.0 * diagonal)
    points, inward = np.ascontiguousarray(points), np.ascontiguousarray(inward)
    rays = free_lengths(tree.points, tree.packed, tree.boxes, tree.links, points, inward, most, 1.0)
    rays = np.where(rays < most, rays, np.nan)
    return rays, _balls(tree.points, tree.packed, tree.boxes, tree.links, points, inward, rays)


@compiled
def _behind(boxes: Array, node: int, middle: Array, n: Array) -> bool:
    """Whether all of a cluster lies within 60 degrees of -n, seen from a ball's middle."""
    facing, farthest = 0.0, 0.0
    for k in range(3):
        away = boxes[node, k] - middle[k]
        facing -= away * n[k] + boxes[node, 3 + k] * abs(n[k])
        farthest += (abs(away) + boxes[node, 3 + k]) ** 2
    return facing > _BENT * np.sqrt(farthest)


@compiled
def _balls(
    points: Array, packed: Packed, boxes: Array, links: Indices, starts: Array, inward: Array, rays: Array
) -> Array:
    """Diameter (s,) of the largest ball inside that touches the mesh at each start, at most the ray's length."""
    diameters = rays.copy()
    corners, nearest, best_point, middle = np.empty((3, 3)), np.empty(3), np.empty(3), np.empty(3)
    for number in range(len(starts)):
        radius = 0.5 * rays[number]
        if not radius > 0.0:
            continue
        p, n = starts[number], inward[number]
        for _ in range(_SHRINKS):
            for k in range(3):
                middle[k] = p[k] + radius * n[k]
            limit = (radius * (1.0 - 1e-6)) ** 2
            best = limit
            node = 0
            while node < len(boxes):
                apart = 0.0
                for k in range(3):
                    gap = max(abs(middle[k] - boxes[node, k]) - boxes[node, 3 + k], 0.0)
                    apart += gap * gap
                if apart >= best or _behind(boxes, node, middle, n):
                    node = links[node, 0]
                    continue
                for triangle in range(links[node, 1], links[node, 2]):
                    corners_of(points, packed, links, node, triangle, corners)
                    square = closest_on_triangle(corners[0], corners[1], corners[2], middle, nearest)
                    if square >= best:
                        continue
                    # Seen from the middle, p lies at -n.
                    facing = 0.0
                    for k in range(3):
                        facing -= (nearest[k] - middle[k]) * n[k]
                    if facing > _BENT * np.sqrt(square):
                        continue
                    best = square
                    best_point[:] = nearest
                node += 1
            if best >= limit:
                break
            square, forward = 0.0, 0.0
            for k in range(3):
                square += (best_point[k] - p[k]) ** 2
                forward += (best_point[k] - p[k]) * n[k]
            if forward <= 0.0:
                break
            smaller = square / (2.0 * forward)
            if not smaller < radius:
                break
            radius = smaller
        diameters[number] = 2.0 * radius
    return diameters


def _samples(vertices: Array, faces: Indices, read: Indices, most: int) -> tuple[Array, Array, Indices]:
    """Points on triangles with the area that each stands for; large triangles are divided evenly."""
    corners = vertices[faces[read]]
    sides = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2).max(axis=1)
    step = FINENESS * float(np.linalg.norm(np.ptp(vertices, axis=0)))
    parts = np.ones(len(read), np.int64)
    while step > 0.0:
        parts = np.clip(np.ceil(sides / step), 1, MOST_PARTS).astype(np.int64)
        if int((parts**2).sum()) <= most or int(parts.max()) == 1:
            break
        step *= 1.3
    area = 0.5 * np.linalg.norm(
        np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1
    )
    points, areas, owner = [], [], []
    for count in np.unique(parts):
        mine = np.flatnonzero(parts == count)
        weights = _even_weights(int(count))
        points.append(np.einsum("wc,mcx->mwx", weights, corners[mine]).reshape(-1, 3))
        areas.append(np.repeat(area[mine] / len(weights), len(weights)))
        owner.append(np.repeat(read[mine], len(weights)))
    return np.concatenate(points), np.concatenate(areas), np.concatenate(owner)


def _even_weights(parts: int) -> Array:
    """Middles (parts^2, 3) of the equal small triangles into which one is divided, by weight of its corners."""
    rows = [
        ((i + k) / parts, (j + k) / parts, 1.0 - (i + j + 2 * k) / parts)
        for k, reach in ((1.0 / 3.0, parts), (2.0 / 3.0, parts - 1))
        for i in range(reach)
        for j in range(reach - i)
    ]
    return np.array(rows)


def _inward(corners: Array) -> Array:
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1)[:, None]
    return -np.divide(normal, size, out=np.zeros_like(normal), where=size > 0.0)


def _take_over(points: Array, inward: Array, readings: Array, walls: Flags, known: Flags) -> None:
    """Give each point at an edge the thickness of the wall ball that lies nearest to it."""
    edges = np.flatnonzero(known & ~walls)
    if len(edges) == 0 or not walls.any():
        return
    radius = 0.5 * readings[walls]
    middles = points[walls] + radius[:, None] * inward[walls]
    count = min(_NEAREST_BALLS, len(middles))
    away, which = cKDTree(middles).query(points[edges], k=count)
    away, which = away.reshape(len(edges), count), which.reshape(len(edges), count)
    # How far the point lies outside each ball: of the near ones, the ball that reaches closest is the wall it ends.
    chosen = np.argmin(away - radius[which], axis=1)
    readings[edges] = 2.0 * radius[which[np.arange(len(edges)), chosen]]


def _of_faces(
    vertices: Array, faces: Indices, points: Array, owner: Indices, readings: Array, walls: Flags
) -> Array:
    """The reading of each triangle: the least on a wall where it has one, so that a thin place does not hide."""
    result = np.full(len(faces), np.nan)
    known = np.isfinite(readings)
    for kind in (known & ~walls, known & walls):
        least = np.full(len(faces), np.inf)
        np.minimum.at(least, owner[kind], readings[kind])
        result = np.where(np.isfinite(least), least, result)
    missing = ~np.isin(np.arange(len(faces)), owner)
    if missing.any() and known.any():
        middles = vertices[faces[missing]].mean(axis=1)
        result[missing] = readings[known][cKDTree(points[known]).query(middles)[1]]
    return result

"""The point of a triangle that is nearest to a given point, and the nearest points of two meshes."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.clusters import ClusterTree, cluster_tree
from dabchick.physics.compiled import compiled

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Packed = NDArray[np.uint32]
Vector = tuple[float, float, float]


class Nearest(NamedTuple):
    """The shortest way from one mesh to another."""

    distance: float
    """[m]; 0 where they touch."""
    first: Vector
    """Its end on the first mesh [m]."""
    second: Vector


@compiled
def _closest_on_sides(a: Array, b: Array, c: Array, p: Array, out: Array) -> float:
    """The same for a triangle without area: the best of its three sides."""
    best = np.inf
    for side in range(3):
        start, end = (a, b) if side == 0 else (b, c) if side == 1 else (c, a)
        along, size = 0.0, 0.0
        for k in range(3):
            along += (p[k] - start[k]) * (end[k] - start[k])
            size += (end[k] - start[k]) ** 2
        share = min(max(along / max(size, 1e-300), 0.0), 1.0)
        square = 0.0
        for k in range(3):
            square += (start[k] + share * (end[k] - start[k]) - p[k]) ** 2
        if square < best:
            best = square
            for k in range(3):
                out[k] = start[k] + share * (end[k] - start[k])
    return best


@compiled
def closest_on_triangle(a: Array, b: Array, c: Array, p: Array, out: Array) -> float:
    """Square of the distance [m2] from p (3,) to the triangle a, b, c (3,); its nearest point goes into out (3,).

    By the region of the plane in which the foot falls: Ericson, Real-Time Collision Detection (2005), 5.1.5, from
    memory. A triangle without area is its sides.
    """
    d1 = d2 = d3 = d4 = d5 = d6 = 0.0
    abab = abac = acac = 0.0
    for k in range(3):
        ab, ac = b[k] - a[k], c[k] - a[k]
        abab += ab * ab
        abac += ab * ac
        acac += ac * ac
        d1 += ab * (p[k] - a[k])
        d2 += ac * (p[k] - a[k])
        d3 += ab * (p[k] - b[k])
        d4 += ac * (p[k] - b[k])
        d5 += ab * (p[k] - c[k])
        d6 += ac * (p[k] - c[k])
    if abab * acac - abac * abac <= 1e-14 * max(abab, acac) ** 2:
        return _closest_on_sides(a, b, c, p, out)
    v, w = 0.0, 0.0
    vc, vb, va = d1 * d4 - d3 * d2, d5 * d2 - d1 * d6, d3 * d6 - d5 * d4
    if d1 <= 0.0 and d2 <= 0.0:
        v, w = 0.0, 0.0
    elif d3 >= 0.0 and d4 <= d3:
        v, w = 1.0, 0.0
    elif vc <= 0.0 and d1 >= 0.0 and d3 <= 0.0:
        v, w = d1 / max(d1 - d3, 1e-300), 0.0
    elif d6 >= 0.0 and d5 <= d6:
        v, w = 0.0, 1.0
    elif vb <= 0.0 and d2 >= 0.0 and d6 <= 0.0:
        v, w = 0.0, d2 / max(d2 - d6, 1e-300)
    elif va <= 0.0 and d4 - d3 >= 0.0 and d5 - d6 >= 0.0:
        w = (d4 - d3) / max((d4 - d3) + (d5 - d6), 1e-300)
        v = 1.0 - w
    else:
        whole = max(va + vb + vc, 1e-300)
        v, w = vb / whole, vc / whole
    square = 0.0
    for k in range(3):
        out[k] = a[k] + v * (b[k] - a[k]) + w * (c[k] - a[k])
        square += (out[k] - p[k]) ** 2
    return square


@compiled
def corners_of(
    points: Array, packed: Packed, links: Indices, node: int, triangle: int, corners: Array
) -> None:
    """Put the corners of one triangle of a cluster tree into corners (3, 3)."""
    row = 3 * links[node, 3]
    size = links[node, 4] - links[node, 3]
    three = np.int64(packed[triangle])
    for place in range(3):
        number = (three >> (6 * place)) & 63
        for axis in range(3):
            corners[place, axis] = points[row + axis * size + number]


@compiled
def _between_segments(p: Array, q: Array, r: Array, s: Array, one: Array, two: Array) -> float:
    """Square of the distance between the segments p-q and r-s; the nearest points go into one and two."""
    a = b = c = d = e = 0.0
    for k in range(3):
        u, v, w = q[k] - p[k], s[k] - r[k], p[k] - r[k]
        a += u * u
        b += u * v
        c += v * v
        d += u * w
        e += v * w
    along = min(max((b * e - c * d) / max(a * c - b * b, 1e-300), 0.0), 1.0)
    other = (b * along + e) / max(c, 1e-300)
    if other < 0.0:
        other, along = 0.0, min(max(-d / max(a, 1e-300), 0.0), 1.0)
    elif other > 1.0:
        other, along = 1.0, min(max((b - d) / max(a, 1e-300), 0.0), 1.0)
    square = 0.0
    for k in range(3):
        one[k] = p[k] + along * (q[k] - p[k])
        two[k] = r[k] + other * (s[k] - r[k])
        square += (one[k] - two[k]) ** 2
    return square


@compiled
def _between_triangles(own: Array, far: Array, one: Array, two: Array) -> float:
    """Square of the distance between two triangles that do not run through each other."""
    best = np.inf
    near, away = np.empty(3), np.empty(3)
    for k in range(3):
        square = closest_on_triangle(far[0], far[1], far[2], own[k], near)
        if square < best:
            best = square
            one[:], two[:] = own[k], near
        square = closest_on_triangle(own[0], own[1], own[2], far[k], near)
        if square < best:
            best = square
            one[:], two[:] = near, far[k]
        for j in range(3):
            square = _between_segments(own[k], own[(k + 1) % 3], far[j], far[(j + 1) % 3], near, away)
            if square < best:
                best = square
                one[:], two[:] = near, away
    return best


@compiled
def _search(
    triangles: Array, points: Array, packed: Packed, boxes: Array, links: Indices, most: float, ends: Array
) -> float:
    """Least square of the distance from triangles (m, 3, 3) to a tree's, `most` where none is nearer."""
    best = most
    far, one, two = np.empty((3, 3)), np.empty(3), np.empty(3)
    low, high = np.empty(3), np.empty(3)
    for number in range(len(triangles)):
        own = triangles[number]
        for k in range(3):
            low[k] = min(own[0, k], own[1, k], own[2, k])
            high[k] = max(own[0, k], own[1, k], own[2, k])
        node = 0
        while node < len(boxes):
            apart = 0.0
            for k in range(3):
                middle, half = boxes[node, k], boxes[node, 3 + k]
                gap = max(low[k] - middle - half, middle - half - high[k], 0.0)
                apart += gap * gap
            if apart >= best:
                node = links[node, 0]
                continue
            for triangle in range(links[node, 1], links[node, 2]):
                corners_of(points, packed, links, node, triangle, far)
                square = _between_triangles(own, far, one, two)
                if square < best:
                    best = square
                    ends[0], ends[1] = one, two
            node += 1
    return best


def nearest(vertices: Array, faces: Indices, tree: ClusterTree, most: float = np.inf) -> Nearest | None:
    """The shortest way between a mesh (n, 3) [m], (m, 3) and that of a tree; None where it is `most` [m] or more.

    Exact for triangles that do not run through each other: the least over corners against faces and edges against
    edges. Meshes that cross have no distance; where their corners and edges keep apart this still gives one.
    """
    ends = np.zeros((2, 3))
    square = _search(
        np.ascontiguousarray(vertices[faces]),
        tree.points,
        tree.packed,
        tree.boxes,
        tree.links,
        most**2,
        ends,
    )
    if not square < most**2:
        return None
    return Nearest(float(np.sqrt(square)), _vector(ends[0]), _vector(ends[1]))


def tree_over(vertices: Array, faces: Indices) -> ClusterTree:
    """The tree that `nearest` searches; one tree serves for many meshes."""
    return cluster_tree(np.ascontiguousarray(vertices), np.ascontiguousarray(faces))


def _vector(point: Array) -> Vector:
    return (float(point[0]), float(point[1]), float(point[2]))

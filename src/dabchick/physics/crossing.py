"""Where a triangle mesh runs through itself or lies against itself.

Candidate pairs come from a tree of boxes over the triangles in space-filling order; each pair is then tested
exactly as two plane triangles in float64, with one length `tolerance` below which nothing counts.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.compiled import compiled

LEAF = 4
"""Triangles in one leaf of the tree."""
NEARLY_PARALLEL = 1e-3
"""Sine of the angle between two planes below which the pair is judged in the common plane."""
STOUT = 8.0
"""Triangles lower than this many tolerances lie near all their neighbours: they can cross, not touch."""
NO_AREA = 1e-10
"""A triangle lower than this part of the mesh's diagonal has no usable plane; `surface.faults` names it."""

Array = NDArray[np.float64]
Indices = NDArray[np.int64]


class Crossings(NamedTuple):
    """Pairs of triangles that cross or touch; the counts are whole, the places are the first found."""

    crossing: int
    """Pairs that run through each other deeper than the tolerance."""
    touching: int
    """Pairs that lie against each other along a line or over an area, or are folded flat on each other."""
    pairs: Indices
    """(k, 2) face numbers."""
    places: Array
    """(k, 2, 3) ends of the line along which each pair meets [unit of the vertices]."""
    crosses: NDArray[np.bool_]
    """(k,) whether the pair crosses (else it touches)."""


def crossings(vertices: Array, faces: Indices, tolerance: float, most: int = 4096) -> Crossings:
    """Every pair of triangles of a mesh that meets elsewhere than in its common corners.

    vertices (n, 3), faces (m, 3); tolerance > 0 in the unit of the vertices: pairs that overlap by less,
    along the line where they meet or in depth, are not counted. Two faces that meet in one point only are not
    looked for. Triangles without area are passed over. At most `most` places are kept; the counts are whole.
    Cost about m log m.
    """
    empty = Crossings(0, 0, np.empty((0, 2), np.int64), np.empty((0, 2, 3)), np.empty(0, np.bool_))
    if len(faces) < 2:
        return empty
    corners = vertices[faces]
    edges = corners - np.roll(corners, 1, axis=1)
    longest = np.sqrt((edges**2).sum(axis=2).max(axis=1))
    double_area = np.linalg.norm(np.cross(edges[:, 0], edges[:, 1]), axis=1)
    diagonal = float(np.linalg.norm(np.ptp(corners.reshape(-1, 3), axis=0)))
    kept = np.flatnonzero(double_area > NO_AREA * diagonal * longest)
    if len(kept) < 2:
        return empty
    order = kept[np.argsort(_space_filling_code(corners[kept].mean(axis=1)), kind="stable")]
    ordered = np.ascontiguousarray(corners[order])
    low, high = _tree(ordered.min(axis=1), ordered.max(axis=1))
    pairs = np.empty((most, 2), np.int64)
    places = np.empty((most, 2, 3))
    crosses = np.empty(most, np.bool_)
    counts = np.zeros(2, np.int64)
    normals = np.cross(ordered[:, 1] - ordered[:, 0], ordered[:, 2] - ordered[:, 0])
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    stout = (double_area / longest)[order] > STOUT * tolerance
    found = _search(
        ordered, normals, stout, faces[order], low, high, tolerance, pairs, places, crosses, counts
    )
    return Crossings(int(counts[0]), int(counts[1]), order[pairs[:found]], places[:found], crosses[:found])


def _space_filling_code(points: Array) -> NDArray[np.uint64]:
    """Bits of the three coordinates woven together (21 bits each), so that near points stay near in order."""
    low = points.min(axis=0)
    size = max(float(np.ptp(points, axis=0).max()), np.finfo(float).tiny)
    cell = ((points - low) / size * (2**21 - 1)).astype(np.uint64)
    code = np.zeros(len(points), np.uint64)
    for axis in range(3):
        spread = cell[:, axis]
        for shift, mask in (
            (32, 0x1F00000000FFFF),
            (16, 0x1F0000FF0000FF),
            (8, 0x100F00F00F00F00F),
            (4, 0x10C30C30C30C30C3),
            (2, 0x1249249249249249),
        ):
            spread = (spread | (spread << np.uint64(shift))) & np.uint64(mask)
        code |= spread << np.uint64(axis)
    return code


def _tree(low: Array, high: Array) -> tuple[Array, Array]:
    """Boxes of a complete binary tree in heap order over leaves of LEAF triangles."""
    leaves = 1
    while leaves * LEAF < len(low):
        leaves *= 2
    short = leaves * LEAF - len(low)
    low = np.concatenate([low, np.full((short, 3), np.inf)]).reshape(leaves, LEAF, 3).min(axis=1)
    high = np.concatenate([high, np.full((short, 3), -np.inf)]).reshape(leaves, LEAF, 3).max(axis=1)
    levels = [(low, high)]
    while len(low) > 1:
        low = low.reshape(-1, 2, 3).min(axis=1)
        high = high.reshape(-1, 2, 3).max(axis=1)
        levels.append((low, high))
    levels.reverse()
    return np.concatenate([level[0] for level in levels]), np.concatenate([level[1] for level in levels])


@compiled
def _search(
    corners: Array,
    normals: Array,
    stout: NDArray[np.bool_],
    faces: Indices,
    low: Array,
    high: Array,
    tolerance: float,
    pairs: Indices,
    places: Array,
    crosses: NDArray[np.bool_],
    counts: Indices,
) -> int:
    first_leaf = low.shape[0] // 2
    stack = np.empty(128, np.int64)
    place = np.empty((2, 3))
    found = 0
    for i in range(corners.shape[0]):
        a = corners[i]
        low_x, high_x = min(a[0, 0], a[1, 0], a[2, 0]) - tolerance, max(a[0, 0], a[1, 0], a[2, 0]) + tolerance
        low_y, high_y = min(a[0, 1], a[1, 1], a[2, 1]) - tolerance, max(a[0, 1], a[1, 1], a[2, 1]) + tolerance
        low_z, high_z = min(a[0, 2], a[1, 2], a[2, 2]) - tolerance, max(a[0, 2], a[1, 2], a[2, 2]) + tolerance
        depth = 1
        stack[0] = 0
        while depth > 0:
            depth -= 1
            node = stack[depth]
            if (
                low[node, 0] > high_x
                or high[node, 0] < low_x
                or low[node, 1] > high_y
                or high[node, 1] < low_y
                or low[node, 2] > high_z
                or high[node, 2] < low_z
            ):
                continue
            if node < first_leaf:
                stack[depth] = 2 * node + 1
                stack[depth + 1] = 2 * node + 2
                depth += 2
                continue
            start = (node - first_leaf) * LEAF
            for j in range(max(start, i + 1), min(start + LEAF, corners.shape[0])):
                b = corners[j]
                if (
                    min(b[0, 0], b[1, 0], b[2, 0]) > high_x
                    or max(b[0, 0], b[1, 0], b[2, 0]) < low_x
                    or min(b[0, 1], b[1, 1], b[2, 1]) > high_y
                    or max(b[0, 1], b[1, 1], b[2, 1]) < low_y
                    or min(b[0, 2], b[1, 2], b[2, 2]) > high_z
                    or max(b[0, 2], b[1, 2], b[2, 2]) < low_z
                ):
                    continue
                if _apart(a, b, normals[i], normals[j], faces[i], faces[j], tolerance):
                    continue
                kind = _meet(a, b, normals[i], normals[j], faces[i], faces[j], tolerance, place)
                if kind == 0 or (kind == 2 and not (stout[i] and stout[j])):
                    continue
                counts[kind - 1] += 1
                if found < pairs.shape[0]:
                    pairs[found, 0] = i
                    pairs[found, 1] = j
                    for end in range(2):
                        for axis in range(3):
                            places[found, end, axis] = place[end, axis]
                    crosses[found] = kind == 1
                    found += 1
    return found


@compiled
def _apart(
    a: Array, b: Array, normal_a: Array, normal_b: Array, face_a: Indices, face_b: Indices, tolerance: float
) -> bool:
    """Whether a pair plainly meets nowhere, or only in common corners: settles nearly all pairs cheaply."""
    shared = 0
    for side in range(2):
        p, q, normal = (a, b, normal_b) if side == 0 else (b, a, normal_a)
        face_p, face_q = (face_a, face_b) if side == 0 else (face_b, face_a)
        above = 0
        below = 0
        own = 0
        for i in range(3):
            if face_p[i] == face_q[0] or face_p[i] == face_q[1] or face_p[i] == face_q[2]:
                own += 1
                continue
            distance = (
                (p[i, 0] - q[0, 0]) * normal[0]
                + (p[i, 1] - q[0, 1]) * normal[1]
                + (p[i, 2] - q[0, 2]) * normal[2]
            )
            above += distance > tolerance
            below += distance < -tolerance
        shared = own
        # The rest lies wholly on one side of the other's plane, clear of it.
        if own < 2 and (above == 3 - own or below == 3 - own):
            return True
    if shared == 3:
        return True
    x = normal_a[1] * normal_b[2] - normal_a[2] * normal_b[1]
    y = normal_a[2] * normal_b[0] - normal_a[0] * normal_b[2]
    z = normal_a[0] * normal_b[1] - normal_a[1] * normal_b[0]
    if x * x + y * y + z * z >= NEARLY_PARALLEL**2:
        return shared == 2
    return not _overlap_in_plane(a, b, normal_a, tolerance)


@compiled
def _meet(
    a: Array,
    b: Array,
    normal_a: Array,
    normal_b: Array,
    face_a: Indices,
    face_b: Indices,
    tolerance: float,
    place: Array,
) -> int:
    """0 apart, 1 crossing, 2 touching; `place` receives the ends of the line where they meet."""
    from_b = np.empty(3)
    from_a = np.empty(3)
    shared = 0
    for i in range(3):
        own_a = face_a[i] == face_b[0] or face_a[i] == face_b[1] or face_a[i] == face_b[2]
        own_b = face_b[i] == face_a[0] or face_b[i] == face_a[1] or face_b[i] == face_a[2]
        shared += own_a
        from_b[i] = 0.0 if own_a else _along(a[i], normal_b) - _along(b[0], normal_b)
        from_a[i] = 0.0 if own_b else _along(b[i], normal_a) - _along(a[0], normal_a)
    line = np.empty(3)
    for i in range(3):
        j = (i + 1) % 3
        k = (i + 2) % 3
        line[i] = normal_a[j] * normal_b[k] - normal_a[k] * normal_b[j]
    sine = np.sqrt(_along(line, line))
    low_b = min(from_b[0], from_b[1], from_b[2])
    high_b = max(from_b[0], from_b[1], from_b[2])
    low_a = min(from_a[0], from_a[1], from_a[2])
    high_a = max(from_a[0], from_a[1], from_a[2])
    # With a common corner only real depth counts; without one, lying against each other counts as well.
    band = 0.0 if shared > 0 else tolerance
    if low_b > band or high_b < -band or low_a > band or high_a < -band:
        return 0
    if sine < NEARLY_PARALLEL:
        # `_apart` has found that they overlap in their common plane.
        for i in range(3):
            middle = (a[0, i] + a[1, i] + a[2, i] + b[0, i] + b[1, i] + b[2, i]) / 6.0
            place[0, i] = middle
            place[1, i] = middle
        return 2
    depth = min(-low_b, high_b, -low_a, high_a)
    if shared == 1 and depth <= tolerance:
        return 0
    for i in range(3):
        line[i] /= sine
        if depth <= tolerance:
            if abs(from_b[i]) <= tolerance:
                from_b[i] = 0.0
            if abs(from_a[i]) <= tolerance:
                from_a[i] = 0.0
    ends_a = np.empty((2, 3))
    ends_b = np.empty((2, 3))
    start_a, end_a = _line_inside(a, from_b, line, ends_a)
    start_b, end_b = _line_inside(b, from_a, line, ends_b)
    start = max(start_a, start_b)
    end = min(end_a, end_b)
    if end - start <= tolerance:
        return 0
    for k in range(2):
        at = start if k == 0 else end
        part_a = (at - start_a) / (end_a - start_a)
        part_b = (at - start_b) / (end_b - start_b)
        gap = 0.0
        for i in range(3):
            on_a = ends_a[0, i] + (ends_a[1, i] - ends_a[0, i]) * part_a
            on_b = ends_b[0, i] + (ends_b[1, i] - ends_b[0, i]) * part_b
            gap += (on_a - on_b) ** 2
            place[k, i] = 0.5 * (on_a + on_b)
        # Nearly parallel faces can reach the same stretch of the common line without being near each other.
        if gap > (4.0 * tolerance) ** 2:
            return 0
    return 1 if depth > tolerance else 2


@compiled
def _along(point: Array, direction: Array) -> float:
    return point[0] * direction[0] + point[1] * direction[1] + point[2] * direction[2]


@compiled
def _line_inside(corners: Array, distance: Array, line: Array, ends: Array) -> tuple[float, float]:
    """The stretch of the line where a triangle passes the plane from which `distance` is measured."""
    low = np.inf
    high = -np.inf
    for i in range(3):
        j = (i + 1) % 3
        for on_corner in range(2):
            if on_corner == 1:
                if distance[i] != 0.0:
                    continue
                part = 0.0
            else:
                if distance[i] * distance[j] >= 0.0:
                    continue
                part = distance[i] / (distance[i] - distance[j])
            x = corners[i, 0] + (corners[j, 0] - corners[i, 0]) * part
            y = corners[i, 1] + (corners[j, 1] - corners[i, 1]) * part
            z = corners[i, 2] + (corners[j, 2] - corners[i, 2]) * part
            along = x * line[0] + y * line[1] + z * line[2]
            if along < low:
                low = along
                ends[0, 0], ends[0, 1], ends[0, 2] = x, y, z
            if along > high:
                high = along
                ends[1, 0], ends[1, 1], ends[1, 2] = x, y, z
    return low, high


@compiled
def _overlap_in_plane(a: Array, b: Array, normal: Array, enough: float) -> bool:
    """Whether two triangles overlap by more than `enough` in all six separating directions in the plane."""
    for k in range(6):
        p = a if k < 3 else b
        i = k % 3
        j = (i + 1) % 3
        edge_x = p[j, 0] - p[i, 0]
        edge_y = p[j, 1] - p[i, 1]
        edge_z = p[j, 2] - p[i, 2]
        x = normal[1] * edge_z - normal[2] * edge_y
        y = normal[2] * edge_x - normal[0] * edge_z
        z = normal[0] * edge_y - normal[1] * edge_x
        size = np.sqrt(x * x + y * y + z * z)
        low_a = np.inf
        high_a = -np.inf
        low_b = np.inf
        high_b = -np.inf
        for corner in range(3):
            along = a[corner, 0] * x + a[corner, 1] * y + a[corner, 2] * z
            low_a = min(low_a, along)
            high_a = max(high_a, along)
            along = b[corner, 0] * x + b[corner, 1] * y + b[corner, 2] * z
            low_b = min(low_b, along)
            high_b = max(high_b, along)
        if min(high_a, high_b) - max(low_a, low_b) <= enough * size:
            return False
    return True

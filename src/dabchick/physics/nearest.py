"""The least distance between two surfaces of triangles, and where: exact, found through trees of boxes.

Also while the first is drawn along a straight line, so that no meeting on the way is missed.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from dabchick.physics.compiled import compiled
from dabchick.physics.triangle_gap import drawn_apart, triangles_apart

Array = NDArray[np.float64]
Index = NDArray[np.int64]

LEAF = 4
"""Triangles in the smallest boxes."""
STILL = np.zeros(3)


@dataclass(frozen=True, eq=False)
class TriangleTree:
    """Triangles sorted into boxes within boxes; make it with `triangle_tree`."""

    corners: Array
    """(m, 3, 3) [m], in the order of the leaves."""
    boxes: Array
    """(k, 6) lowest and highest corner [m]."""
    normals: Array
    """(m, 3) unit normals; 0 for a triangle without area."""
    links: Index
    """(k, 3) the first of two children that follow one another (-1 for a leaf), first triangle, last + 1."""

    @property
    def low(self) -> Array:
        return self.boxes[0, :3]

    @property
    def high(self) -> Array:
        return self.boxes[0, 3:]


@dataclass(frozen=True, eq=False)
class Nearest:
    """Where two surfaces come nearest."""

    distance_m: float
    """0 where the surfaces meet."""
    first: Array
    """(3,) point on the first surface, where it is when it comes nearest [m]."""
    second: Array
    """(3,) point on the second [m]."""
    share: float
    """How much of the sweep the first surface has made by then, 0 to 1."""


def triangle_tree(corners: ArrayLike) -> TriangleTree:
    """A tree over triangles (m, 3, 3) [m]; ValueError when there are none or one is not finite."""
    triangles = np.array(corners, dtype=np.float64)
    if triangles.ndim != 3 or triangles.shape[1:] != (3, 3) or len(triangles) == 0:
        raise ValueError(f"A surface needs triangles (m, 3, 3), at least one; given {triangles.shape}.")
    if not np.isfinite(triangles).all():
        raise ValueError("A triangle has a corner that is not a finite number. Correct or remove it.")
    most = 2 * len(triangles)
    boxes, links = np.empty((most, 6)), np.empty((most, 3), dtype=np.int64)
    order = np.arange(len(triangles))
    count = _grow(triangles, order, boxes, links)
    triangles = np.ascontiguousarray(triangles[order])
    normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    sizes = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = normals / np.where(sizes > 0.0, sizes, 1.0)
    return TriangleTree(triangles, boxes[:count].copy(), np.ascontiguousarray(normals), links[:count].copy())


def nearest(
    first: TriangleTree,
    second: TriangleTree,
    *,
    shift: Array = STILL,
    sweep: Array = STILL,
    most: float = np.inf,
) -> Nearest | None:
    """The least distance [m] between two surfaces and where it is; None where it is not below `most` [m].

    The first stands moved by `shift` (3,) [m] and is then drawn along `sweep` (3,) [m]: the least over the whole
    of that straight way, min over 0 <= t <= 1 of |a + shift + t sweep - b|. Surfaces only: a body wholly within
    another is as far from it as their faces are.
    """
    if not most > 0.0:
        return None
    out = np.empty(8)
    _descend(
        first.corners,
        first.normals,
        first.boxes,
        first.links,
        second.corners,
        second.normals,
        second.boxes,
        second.links,
        np.ascontiguousarray(shift, dtype=np.float64),
        np.ascontiguousarray(sweep, dtype=np.float64),
        most * most,
        out,
    )
    if not out[0] < most * most:
        return None
    return Nearest(float(np.sqrt(out[0])), out[1:4].copy(), out[4:7].copy(), float(out[7]))


def first_meeting(
    first: TriangleTree,
    second: TriangleTree,
    *,
    shift: Array,
    sweep: Array,
    gap_m: float,
    tolerance_m: float = 1e-6,
) -> Nearest | None:
    """The first place on a straight way at which two surfaces come within `gap_m` [m]; None where they never do.

    The least distance over the part of the way already made can only fall, so the place is found by halving; it
    is right to `tolerance_m` [m] along the way. ValueError unless both are above 0.
    """
    if not (gap_m > 0.0 and tolerance_m > 0.0):
        raise ValueError(f"Gap {gap_m} and tolerance {tolerance_m} need to be above 0. Give both in metres.")
    found = nearest(first, second, shift=shift, sweep=sweep, most=gap_m)
    if found is None:
        return None
    length = float(np.linalg.norm(sweep))
    clear, met = 0.0, found.share
    while (met - clear) * length > tolerance_m:
        middle = 0.5 * (clear + met)
        before = nearest(first, second, shift=shift, sweep=middle * sweep, most=gap_m)
        if before is None:
            clear = middle
        else:
            met = middle * before.share
            found = before
            if met <= clear:
                break
    return Nearest(found.distance_m, found.first, found.second, met)


@compiled
def _grow(corners: Array, order: Index, boxes: Array, links: Index) -> int:
    """Sort the triangles into boxes, halved at the middle one along each box's longest side; how many boxes."""
    middles = (corners[:, 0] + corners[:, 1] + corners[:, 2]) / 3.0
    links[0, 0], links[0, 1], links[0, 2] = -1, 0, len(corners)
    count, node = 1, 0
    while node < count:
        start, stop = links[node, 1], links[node, 2]
        for axis in range(3):
            boxes[node, axis], boxes[node, 3 + axis] = np.inf, -np.inf
        low, high = np.full(3, np.inf), np.full(3, -np.inf)
        for place in range(start, stop):
            for axis in range(3):
                a, b, c = corners[order[place], :, axis]
                boxes[node, axis] = min(boxes[node, axis], a, b, c)
                boxes[node, 3 + axis] = max(boxes[node, 3 + axis], a, b, c)
                low[axis] = min(low[axis], middles[order[place], axis])
                high[axis] = max(high[axis], middles[order[place], axis])
        if stop - start > LEAF:
            axis = int(np.argmax(high - low))
            half = (start + stop) // 2
            mine = order[start:stop].copy()
            order[start:stop] = mine[np.argsort(middles[mine, axis])]
            links[node, 0] = count
            for child in range(2):
                links[count, 0] = -1
                links[count, 1] = start if child == 0 else half
                links[count, 2] = half if child == 0 else stop
                count += 1
        node += 1
    return count


@compiled
def _boxes_apart(first: Array, second: Array, shift: Array, sweep: Array) -> float:
    """Squared distance between a box drawn along the sweep and one that stands."""
    total = 0.0
    for axis in range(3):
        low = first[axis] + shift[axis] + min(0.0, sweep[axis])
        high = first[3 + axis] + shift[axis] + max(0.0, sweep[axis])
        gap = max(0.0, second[axis] - high, low - second[3 + axis])
        total += gap * gap
    return total


@compiled
def _boxed_apart(first: Array, second: Array, sweep: Array) -> float:
    """The same of the boxes round two triangles (3, 3), the first drawn along the sweep."""
    total = 0.0
    for axis in range(3):
        low = min(first[0, axis], first[1, axis], first[2, axis]) + min(0.0, sweep[axis])
        high = max(first[0, axis], first[1, axis], first[2, axis]) + max(0.0, sweep[axis])
        under = min(second[0, axis], second[1, axis], second[2, axis])
        over = max(second[0, axis], second[1, axis], second[2, axis])
        gap = max(0.0, under - high, low - over)
        total += gap * gap
    return total


@compiled
def _beyond(face: Array, normal: Array, other: Array, sweep: Array, sign: float, square: float) -> bool:
    """Whether a triangle lies so far over or under the plane of another that it cannot be nearer.

    Sign 1 where the one with the plane is drawn along the sweep, -1 where the other one is. Round bodies within
    one another would be as near everywhere, to the boxes' eyes; seen from the planes only a few triangles are.
    """
    way = sign * (normal[0] * sweep[0] + normal[1] * sweep[1] + normal[2] * sweep[2])
    low, high = np.inf, -np.inf
    for corner in range(3):
        height = 0.0
        for axis in range(3):
            height += normal[axis] * (other[corner, axis] - face[0, axis])
        low, high = min(low, height), max(high, height)
    low, high = low - max(0.0, way), high - min(0.0, way)
    return bool((low > 0.0 and low * low >= square) or (high < 0.0 and high * high >= square))


@compiled
def _descend(
    corners_a: Array,
    normals_a: Array,
    boxes_a: Array,
    links_a: Index,
    corners_b: Array,
    normals_b: Array,
    boxes_b: Array,
    links_b: Index,
    shift: Array,
    sweep: Array,
    best: float,
    out: Array,
) -> None:
    """Nearest triangles of two trees: pairs of boxes, the nearer one first, none that cannot be nearer."""
    moves = sweep[0] != 0.0 or sweep[1] != 0.0 or sweep[2] != 0.0
    out[0] = best
    stack = np.empty((512, 2), dtype=np.int64)
    bounds = np.empty(512)
    here, patch = np.empty((3, 3)), np.empty((3, 3))
    stack[0, 0], stack[0, 1] = 0, 0
    bounds[0] = _boxes_apart(boxes_a[0], boxes_b[0], shift, sweep)
    depth = 1
    while depth > 0 and out[0] > 0.0:
        depth -= 1
        a, b = stack[depth, 0], stack[depth, 1]
        if bounds[depth] >= out[0]:
            continue
        if links_a[a, 0] < 0 and links_b[b, 0] < 0:
            for one in range(links_a[a, 1], links_a[a, 2]):
                for corner in range(3):
                    for axis in range(3):
                        here[corner, axis] = corners_a[one, corner, axis] + shift[axis]
                for other in range(links_b[b, 1], links_b[b, 2]):
                    if _boxed_apart(here, corners_b[other], sweep) >= out[0]:
                        continue
                    if _beyond(here, normals_a[one], corners_b[other], sweep, 1.0, out[0]) or _beyond(
                        corners_b[other], normals_b[other], here, sweep, -1.0, out[0]
                    ):
                        continue
                    if moves:
                        found, share = drawn_apart(here, sweep, corners_b[other], patch)
                    else:
                        found, share = triangles_apart(here, corners_b[other]), 0.0
                    if found[0] < out[0]:
                        out[0], out[1], out[2], out[3], out[4], out[5], out[6] = found
                        out[7] = share
            continue
        # the larger of the two is opened
        size_a = size_b = 0.0
        for axis in range(3):
            size_a = max(size_a, boxes_a[a, 3 + axis] - boxes_a[a, axis])
            size_b = max(size_b, boxes_b[b, 3 + axis] - boxes_b[b, axis])
        opens_a = links_b[b, 0] < 0 or (links_a[a, 0] >= 0 and size_a >= size_b)
        first_a = links_a[a, 0] if opens_a else a
        first_b = b if opens_a else links_b[b, 0]
        second_a = first_a + 1 if opens_a else a
        second_b = b if opens_a else first_b + 1
        near = _boxes_apart(boxes_a[first_a], boxes_b[first_b], shift, sweep)
        far = _boxes_apart(boxes_a[second_a], boxes_b[second_b], shift, sweep)
        if near > far:
            near, far = far, near
            first_a, second_a, first_b, second_b = second_a, first_a, second_b, first_b
        if far < out[0]:
            stack[depth, 0], stack[depth, 1], bounds[depth] = second_a, second_b, far
            depth += 1
        if near < out[0]:
            stack[depth, 0], stack[depth, 1], bounds[depth] = first_a, first_b, near
            depth += 1

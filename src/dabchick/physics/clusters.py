"""Clusters of triangles that carry their sums, so that a plane visits only those that it crosses.

A tree by median splits, laid out depth first: a node's first child follows it, and `links` says where its
subtree ends, so that walking needs no stack. Each leaf holds its own copy of the vertices it uses. All
coordinates are local (about the middle of the mesh), which keeps rounding small wherever the mesh stands.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.int64]

LEAF_SIZE = 64
"""Most triangles in a cluster that is not split further (tuned with `make bench`)."""
LENGTHWISE = 4.5
"""So many times as many triangles along the longest side of the mesh as across it are left together: water cuts a
boat along her length, and few long clusters lie in its way where there would be many square ones (tuned likewise)."""
MOST_VERTICES = 64
"""Most vertices in such a cluster; when triangles share none, clusters are split down to 21 triangles."""
SUM_SIZE = 34
"""Per cluster: int N dA (3), int x_i N_j dA (9), int x_i x_j N_k dA (18), area (1), int x dA (3)."""
PAIRS = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))
"""Order of the entries of a symmetric 3x3 matrix: xx, yy, zz, xy, xz, yz."""


class ClusterTree(NamedTuple):
    """Triangles in tree order and the clusters over them."""

    points: Array
    """(3 p,) the vertices leaf by leaf: of each leaf all x, then all y, then all z [m]."""
    packed: NDArray[np.uint32]
    """(m,) corners of each triangle, counted from the first vertex of its leaf, six bits each."""
    areas: Array
    """(m,) [m2]"""
    boxes: Array
    """(k, 6) middle and half size of the box round each cluster [m]."""
    links: Index
    """(k, 5) where the subtree ends; first and end of a leaf's triangles and of its vertices (else zeros)."""
    sums: Array
    """(k, 34) the sums named at `SUM_SIZE`."""


def triangle_sums(corners: Array) -> Array:
    """The sums of each triangle: corners (m, 3, 3) [m] -> (m, 34), exact for flat triangles."""
    vector = 0.5 * np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    total = corners[:, 0] + corners[:, 1] + corners[:, 2]
    area = np.sqrt(np.einsum("mi,mi->m", vector, vector))
    sums = np.empty((len(corners), SUM_SIZE))
    sums[:, 0:3] = vector
    sums[:, 3:12] = ((total / 3.0)[:, :, None] * vector[:, None, :]).reshape(-1, 9)
    for index, (i, j) in enumerate(PAIRS):
        product = total[:, i] * total[:, j] + np.einsum("mk,mk->m", corners[:, :, i], corners[:, :, j])
        sums[:, 12 + 3 * index : 15 + 3 * index] = (product / 12.0)[:, None] * vector
    sums[:, 30] = area
    sums[:, 31:34] = (area / 3.0)[:, None] * total
    return sums


def _median_order(centres: Array, spans: Array, depth: int, size: int) -> Index:
    """Triangle numbers as (2**depth, size) rows, one row a leaf; the number m stands for an empty seat.

    Each split runs across the axis along which most triangles lie, by their own extents `spans` (m, 3), those along
    the longest side of the mesh counted `LENGTHWISE` times less: on a slender hull with long triangles and on a fine
    one alike, the clusters are then few across whichever way she heels.
    """
    count = len(centres)
    # One row an axis: reducing along the last axis of a long row is many times as fast as along a short one.
    low_keys = np.vstack([centres, np.full((1, 3), np.inf)]).T.copy()
    high_keys = np.vstack([centres, np.full((1, 3), -np.inf)]).T.copy()
    span_keys = np.vstack([spans, np.zeros((1, 3))]).T.copy()
    order = np.minimum(np.arange(size << depth), count)
    length = int(np.argmax(np.ptp(centres, axis=0)))
    for level in range(depth):
        rows = order.reshape(1 << level, -1)
        extent = [
            (high[rows].max(axis=1) - low[rows].min(axis=1)) / np.maximum(span[rows].sum(axis=1), 1e-300)
            for low, high, span in zip(low_keys, high_keys, span_keys, strict=True)
        ]
        extent[length] /= LENGTHWISE
        axis = np.argmax(extent, axis=0)
        keys = low_keys[axis[:, None], rows]
        half = rows.shape[1] // 2
        order = np.take_along_axis(rows, np.argpartition(keys, half, axis=1), axis=1)
    return order.reshape(1 << depth, size)


def _leaf_vertices(triangles: Index, leaf: Index, count: int) -> tuple[Index, Index, Index]:
    """Vertices of each leaf end to end, corners counted within the leaf, and where each leaf's start."""
    keys, inverse = np.unique(leaf[:, None] * count + triangles, return_inverse=True)
    owner = keys // count
    starts = np.searchsorted(owner, np.arange(int(leaf[-1]) + 2))
    local = inverse.reshape(triangles.shape) - starts[leaf][:, None]
    return keys % count, local, starts


def cluster_tree(vertices: Array, faces: Index, leaf_size: int = LEAF_SIZE) -> ClusterTree:
    """Build the tree over faces (m, 3), m >= 1, of vertices (n, 3) [m]; at most 64 triangles to a leaf."""
    count = len(faces)
    depth = max(0, int(np.ceil(np.log2(count / leaf_size))))
    size = -(-count >> depth)
    first, second, third = (vertices[faces[:, corner]] for corner in range(3))
    spans = np.maximum(np.maximum(first, second), third) - np.minimum(np.minimum(first, second), third)
    rows = _median_order((first + second + third) / 3.0, spans, depth, size)
    taken = rows < count
    triangles = faces[rows[taken]]
    held = taken.sum(axis=1)
    ends = np.cumsum(held)
    starts = ends - held
    filled = held > 0
    leaf = np.repeat(np.arange(1 << depth), held)
    used, local, point_starts = _leaf_vertices(triangles, leaf, len(vertices))
    if local.max() >= MOST_VERTICES:
        return cluster_tree(vertices, faces, MOST_VERTICES // 3)
    packed = (local[:, 0] | local[:, 1] << 6 | local[:, 2] << 12).astype(np.uint32)
    point_starts = np.append(point_starts, np.full((1 << depth) + 1 - len(point_starts), len(used)))

    corners = vertices[triangles]
    corners_in_turn = [corners[:, corner] for corner in range(3)]
    each = triangle_sums(corners)
    low = np.full((1 << depth, 3), np.inf)
    high = np.full((1 << depth, 3), -np.inf)
    sums = np.zeros((1 << depth, SUM_SIZE))
    low[filled] = np.minimum.reduceat(
        np.minimum(np.minimum(*corners_in_turn[:2]), corners_in_turn[2]), starts[filled]
    )
    high[filled] = np.maximum.reduceat(
        np.maximum(np.maximum(*corners_in_turn[:2]), corners_in_turn[2]), starts[filled]
    )
    sums[filled] = np.add.reduceat(each, starts[filled])

    levels = [(low, high, sums, filled.astype(np.int64))]
    for _ in range(depth):
        low, high, sums, nodes = levels[-1]
        nodes = nodes[0::2] + nodes[1::2]
        levels.append(
            (
                np.minimum(low[0::2], low[1::2]),
                np.maximum(high[0::2], high[1::2]),
                sums[0::2] + sums[1::2],
                np.where(nodes > 0, nodes + 1, 0),
            )
        )
    levels.reverse()

    total = int(levels[0][3][0])
    boxes = np.empty((total, 6))
    links = np.zeros((total, 5), dtype=np.int64)
    all_sums = np.empty((total, SUM_SIZE))
    seat = np.zeros(1, dtype=np.int64)
    for level, (low, high, sums, nodes) in enumerate(levels):
        here = nodes > 0
        at = seat[here]
        boxes[at, 0:3] = 0.5 * (low[here] + high[here])
        boxes[at, 3:6] = 0.5 * (high[here] - low[here])
        links[at, 0] = at + nodes[here]
        all_sums[at] = sums[here]
        if level == depth:
            links[at, 1], links[at, 2] = starts[here], ends[here]
            links[at, 3], links[at, 4] = point_starts[:-1][here], point_starts[1:][here]
        else:
            below = levels[level + 1][3]
            seat = np.stack([seat + 1, seat + 1 + below[0::2]], axis=1).ravel()
    # (leaf, axis, place in the leaf) in one run
    owner = np.repeat(np.arange(1 << depth), np.diff(point_starts))
    held_points = np.diff(point_starts)[owner]
    place = np.arange(len(used)) - point_starts[owner]
    points = np.empty(3 * len(used))
    for axis in range(3):
        points[3 * point_starts[owner] + axis * held_points + place] = vertices[used, axis]
    return ClusterTree(points, packed, each[:, 30].copy(), boxes, links, all_sums)

"""How often a closed mesh winds round each of many points."""

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.compiled import compiled
from dabchick.physics.free_space import Array, Indices, side_of

MOST_BINS = 1024
"""Bins along one axis."""


def turns_at(vertices: Array, faces: Indices, points: Array) -> NDArray[np.int32]:
    """Times (k,) that a closed mesh (n,3) [m], (m,3) winds round points (k,3) [m]: 1 inside, 0 outside.

    Negative where the mesh is turned inside out, 2 where it overlaps itself. Counted up each point's column,
    with ties decided as in `free_space.winding`; the faces are sorted into bins from above, so that each
    point meets only those near its column. Exact but for points within rounding of a face.
    """
    corners = vertices[faces]
    low, high = corners.min(axis=(0, 1))[:2], corners.max(axis=(0, 1))[:2]
    bins = int(np.clip(np.sqrt(len(faces)), 1, MOST_BINS))
    size = np.maximum((high - low) / bins, 1e-300)
    turns = np.zeros(len(points), dtype=np.int32)
    _count_turns(np.ascontiguousarray(corners), np.ascontiguousarray(points), low, size, bins, turns)
    return turns


@compiled
def _bin(value: float, low: float, size: float, bins: int) -> int:
    return int(min(max(np.floor((value - low) / size), 0.0), bins - 1.0))


@compiled
def _count_turns(
    corners: Array, points: Array, low: Array, size: Array, bins: int, turns: NDArray[np.int32]
) -> None:
    starts = np.zeros(bins * bins + 1, dtype=np.int64)
    members = np.empty(0, dtype=np.int64)
    ranges = np.empty((len(corners), 4), dtype=np.int64)
    for face in range(len(corners)):
        for axis in range(2):
            a, b, c = corners[face, 0, axis], corners[face, 1, axis], corners[face, 2, axis]
            ranges[face, axis] = _bin(min(a, b, c), low[axis], size[axis], bins)
            ranges[face, 2 + axis] = _bin(max(a, b, c), low[axis], size[axis], bins)
    for filling in range(2):
        if filling:
            for place in range(bins * bins):
                starts[place + 1] += starts[place]
            members = np.empty(starts[bins * bins], dtype=np.int64)
        for face in range(len(corners)):
            for i in range(ranges[face, 0], ranges[face, 2] + 1):
                for j in range(ranges[face, 1], ranges[face, 3] + 1):
                    if filling:
                        starts[i * bins + j] -= 1
                        members[starts[i * bins + j]] = face
                    else:
                        starts[i * bins + j] += 1
    for row in range(len(points)):
        x, y, z = points[row, 0], points[row, 1], points[row, 2]
        place = _bin(x, low[0], size[0], bins) * bins + _bin(y, low[1], size[1], bins)
        for member in range(starts[place], starts[place + 1]):
            turns[row] += _over(corners[members[member]], x, y, z)


@compiled
def _over(face: Array, x: float, y: float, z: float) -> int:
    """1 or -1 where a face that looks up or down lies over the point, 0 elsewhere."""
    ax, ay, az = face[0, 0], face[0, 1], face[0, 2]
    bx, by, bz = face[1, 0], face[1, 1], face[1, 2]
    cx, cy, cz = face[2, 0], face[2, 1], face[2, 2]
    if max(az, bz, cz) <= z:
        return 0
    side = side_of(ax, ay, bx, by, x, y)
    if side == 0 or side != side_of(bx, by, cx, cy, x, y) or side != side_of(cx, cy, ax, ay, x, y):
        return 0
    if min(az, bz, cz) > z:
        return side
    area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    if area == 0.0:
        return side
    to_b = ((x - ax) * (cy - ay) - (y - ay) * (cx - ax)) / area
    to_c = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / area
    return side if az + to_b * (bz - az) + to_c * (cz - az) > z else 0

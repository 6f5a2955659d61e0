"""How far a mesh lets a point go: the first face in the way of a ray, found through the cluster tree."""

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.compiled import compiled

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Packed = NDArray[np.uint32]


@compiled
def _misses(boxes: Array, node: int, px: Array, rx: Array, most: float) -> bool:
    """Whether the ray from p along r keeps clear of a cluster's box up to `most`."""
    low, high = 0.0, most
    for axis in range(3):
        away = boxes[node, axis] - px[axis]
        # a hair of room, since a flat box has no depth of its own
        half = boxes[node, 3 + axis] + 1e-9 * most
        if rx[axis] == 0.0:
            if abs(away) > half:
                return True
            continue
        one, two = (away - half) / rx[axis], (away + half) / rx[axis]
        low = max(low, min(one, two))
        high = min(high, max(one, two))
    return low > high


@compiled
def free_lengths(
    points: Array,
    packed: Packed,
    boxes: Array,
    links: Index,
    starts: Array,
    rays: Array,
    most: Array,
    side: float,
) -> Array:
    """Length (n,) [m] that each ray runs before it meets a face, `most` (n,) where there is none nearer.

    starts (n, 3) lie on the mesh, rays (n, 3) are unit vectors, all in the mesh's own coordinates. Only faces
    met from one side count: side +1 those met from within, -1 those met from without.
    """
    lengths = most.copy()
    for ray in range(len(starts)):
        best = most[ray]
        px, rx = starts[ray], rays[ray]
        node = 0
        while node < len(boxes) and best > 0.0:
            if _misses(boxes, node, px, rx, best):
                node = links[node, 0]
                continue
            row_x = 3 * links[node, 3]
            row_y = row_x + links[node, 4] - links[node, 3]
            row_z = row_y + links[node, 4] - links[node, 3]
            for triangle in range(links[node, 1], links[node, 2]):
                three = np.int64(packed[triangle])
                a, b, c = three & 63, (three >> 6) & 63, three >> 12
                ax, ay, az = points[row_x + a], points[row_y + a], points[row_z + a]
                ux, uy, uz = points[row_x + b] - ax, points[row_y + b] - ay, points[row_z + b] - az
                vx, vy, vz = points[row_x + c] - ax, points[row_y + c] - ay, points[row_z + c] - az
                nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
                facing = nx * rx[0] + ny * rx[1] + nz * rx[2]
                if facing * side <= 0.0:
                    continue
                wx, wy, wz = ax - px[0], ay - px[1], az - px[2]
                length = (nx * wx + ny * wy + nz * wz) / facing
                # the faces round the starting point are met at once and do not count
                if length <= 1e-6 * most[ray] or length >= best:
                    continue
                qx, qy, qz = length * rx[0] - wx, length * rx[1] - wy, length * rx[2] - wz
                square = nx * nx + ny * ny + nz * nz
                first = (
                    (qy * vz - qz * vy) * nx + (qz * vx - qx * vz) * ny + (qx * vy - qy * vx) * nz
                ) / square
                second = (
                    (uy * qz - uz * qy) * nx + (uz * qx - ux * qz) * ny + (ux * qy - uy * qx) * nz
                ) / square
                if first >= -1e-9 and second >= -1e-9 and first + second <= 1.0 + 1e-9:
                    best = length
            node += 1
        lengths[ray] = best
    return lengths

"""The straight round room inside a surface of triangles: how long a cylinder fits along an axis, how wide one.

For each triangle the stretch of the axis beside which some of it comes nearer than a radius is worked out
exactly; what no triangle bars is free. So the answer along one axis is exact for the triangles.
"""

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.compiled import compiled

Array = NDArray[np.float64]


def free_stretches(corners: Array, height: float, radius: float) -> Array:
    """Stretches (k, 2) of x [m] along which nothing of triangles (m, 3, 3) comes nearer to an axis than `radius`.

    The axis runs along x at y = 0, z = `height` [m]. Only stretches between two barred ones are given, so the
    open room before and behind a surface is left out. ValueError unless the radius is above 0.
    """
    if not radius > 0.0:
        raise ValueError(f"The radius is {radius} m. Give one above 0.")
    barred = np.empty((len(corners), 2))
    count = _barred(corners, height, radius, barred)
    if count == 0:
        return np.empty((0, 2))
    barred = barred[:count]
    barred = barred[np.argsort(barred[:, 0])]
    reached = np.maximum.accumulate(barred[:, 1])
    free = np.stack([reached[:-1], barred[1:, 0]], axis=1)
    return np.asarray(free[free[:, 1] > free[:, 0]])


def distances_along(corners: Array, height: float, places: Array) -> Array:
    """How near (k,) [m] triangles (m, 3, 3) come to the axis y = 0, z = `height` at places x (k,) [m].

    Measured square to the axis; infinite where no triangle is beside the axis.
    """
    out = np.full(len(places), np.inf)
    _beside(corners, height, np.ascontiguousarray(places), out)
    return out


@compiled
def _put(x: float, low: float, high: float) -> tuple[float, float]:
    return min(low, x), max(high, x)


@compiled
def _barred(corners: Array, height: float, radius: float, out: Array) -> int:
    """For each triangle that reaches into the endless cylinder: lowest and highest x of what is within.

    Triangle and cylinder are convex, so is what they share. A straight measure such as x is least and most on it
    at a corner of the triangle within the cylinder, where an edge crosses the cylinder, or where the plane's
    steepest line meets it inside the triangle.
    """
    count = 0
    square = radius * radius
    for face in range(len(corners)):
        low, high = np.inf, -np.inf
        a, b, c = corners[face, 0], corners[face, 1], corners[face, 2]
        if min(a[1], b[1], c[1]) >= radius or max(a[1], b[1], c[1]) <= -radius:
            continue
        if min(a[2], b[2], c[2]) >= height + radius or max(a[2], b[2], c[2]) <= height - radius:
            continue
        for one in range(3):
            p, q = corners[face, one], corners[face, (one + 1) % 3]
            py, pz = p[1], p[2] - height
            uy, uz = q[1] - py, q[2] - p[2]
            if py * py + pz * pz < square:
                low, high = _put(p[0], low, high)
            # |p + t u|^2 = r^2
            uu, pu, pp = uy * uy + uz * uz, py * uy + pz * uz, py * py + pz * pz - square
            root = pu * pu - uu * pp
            if uu <= 0.0 or root <= 0.0:
                continue
            root = np.sqrt(root)
            for sign in (-1.0, 1.0):
                t = (-pu + sign * root) / uu
                if 0.0 <= t <= 1.0:
                    low, high = _put(p[0] + t * (q[0] - p[0]), low, high)
        ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
        vx, vy, vz = c[0] - a[0], c[1] - a[1], c[2] - a[2]
        nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        flat = np.sqrt(ny * ny + nz * nz)
        if nx != 0.0:
            # along the steepest line; square to the axis a face is as steep everywhere, and its middle will do
            for sign in (-1.0, 1.0):
                y = sign * radius * ny / flat if flat > 0.0 else 0.0
                z = sign * radius * nz / flat if flat > 0.0 else 0.0
                first = (y - a[1]) * (b[2] - a[2]) - (z + height - a[2]) * (b[1] - a[1])
                second = (y - b[1]) * (c[2] - b[2]) - (z + height - b[2]) * (c[1] - b[1])
                third = (y - c[1]) * (a[2] - c[2]) - (z + height - c[2]) * (a[1] - c[1])
                if (first >= 0.0 and second >= 0.0 and third >= 0.0) or (
                    first <= 0.0 and second <= 0.0 and third <= 0.0
                ):
                    low, high = _put(a[0] - (ny * (y - a[1]) + nz * (z + height - a[2])) / nx, low, high)
        if low <= high:
            out[count, 0], out[count, 1] = low, high
            count += 1
    return count


@compiled
def _beside(corners: Array, height: float, places: Array, out: Array) -> None:
    ends = np.empty((3, 2))
    for face in range(len(corners)):
        low = min(corners[face, 0, 0], corners[face, 1, 0], corners[face, 2, 0])
        high = max(corners[face, 0, 0], corners[face, 1, 0], corners[face, 2, 0])
        for row in range(len(places)):
            x = places[row]
            if x < low or x > high:
                continue
            count = 0
            for one in range(3):
                p, q = corners[face, one], corners[face, (one + 1) % 3]
                if p[0] == q[0]:
                    if p[0] == x and count < 3:
                        ends[count, 0], ends[count, 1] = p[1], p[2] - height
                        count += 1
                    continue
                t = (x - p[0]) / (q[0] - p[0])
                if 0.0 <= t <= 1.0 and count < 3:
                    ends[count, 0] = p[1] + t * (q[1] - p[1])
                    ends[count, 1] = p[2] + t * (q[2] - p[2]) - height
                    count += 1
            for one in range(count):
                for other in range(one, count):
                    y, z = ends[one, 0], ends[one, 1]
                    uy, uz = ends[other, 0] - y, ends[other, 1] - z
                    uu = uy * uy + uz * uz
                    t = min(1.0, max(0.0, -(y * uy + z * uz) / uu)) if uu > 0.0 else 0.0
                    away = np.hypot(y + t * uy, z + t * uz)
                    out[row] = min(out[row], away)

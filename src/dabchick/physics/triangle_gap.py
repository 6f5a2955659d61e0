"""How near two triangles come, also while one of them is drawn along a straight line."""

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.compiled import compiled

Array = NDArray[np.float64]

Found = tuple[float, float, float, float, float, float, float]
"""Squared distance [m2], the point on the first, the point on the second [m]."""


@compiled
def _clip(value: float) -> float:
    return min(1.0, max(0.0, value))


@compiled
def _edges_apart(p: Array, q: Array, a: Array, b: Array) -> Found:
    """Closest points of segments pq and ab, also of parallel ones and of points.

    Source: Ericson, Real-Time Collision Detection (2005), section 5.1.9 (from memory).
    """
    ux, uy, uz = q[0] - p[0], q[1] - p[1], q[2] - p[2]
    vx, vy, vz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    wx, wy, wz = p[0] - a[0], p[1] - a[1], p[2] - a[2]
    uu = ux * ux + uy * uy + uz * uz
    vv = vx * vx + vy * vy + vz * vz
    vw = vx * wx + vy * wy + vz * wz
    uw = ux * wx + uy * wy + uz * wz
    uv = ux * vx + uy * vy + uz * vz
    s, t = 0.0, 0.0
    if uu <= 0.0 and vv <= 0.0:
        s, t = 0.0, 0.0
    elif uu <= 0.0:
        t = _clip(vw / vv)
    elif vv <= 0.0:
        s = _clip(-uw / uu)
    else:
        # of (nearly) parallel edges any pair of points between the ends will do
        across = uu * vv - uv * uv
        s = _clip((uv * vw - uw * vv) / across) if across > 1e-14 * uu * vv else 0.0
        t = (uv * s + vw) / vv
        if t < 0.0:
            t, s = 0.0, _clip(-uw / uu)
        elif t > 1.0:
            t, s = 1.0, _clip((uv - uw) / uu)
    px, py, pz = p[0] + s * ux, p[1] + s * uy, p[2] + s * uz
    qx, qy, qz = a[0] + t * vx, a[1] + t * vy, a[2] + t * vz
    dx, dy, dz = px - qx, py - qy, pz - qz
    return dx * dx + dy * dy + dz * dz, px, py, pz, qx, qy, qz


@compiled
def _within(
    a: Array, b: Array, c: Array, nx: float, ny: float, nz: float, x: float, y: float, z: float
) -> bool:
    """Whether a point of the triangle's plane, of normal n, lies in the triangle."""
    for turn in range(3):
        p = a if turn == 0 else b if turn == 1 else c
        q = b if turn == 0 else c if turn == 1 else a
        ex, ey, ez = q[0] - p[0], q[1] - p[1], q[2] - p[2]
        wx, wy, wz = x - p[0], y - p[1], z - p[2]
        side = (ey * wz - ez * wy) * nx + (ez * wx - ex * wz) * ny + (ex * wy - ey * wx) * nz
        if side < 0.0:
            return False
    return True


@compiled
def _pierced(p: Array, q: Array, face: Array) -> tuple[bool, float, float, float]:
    """Whether segment pq goes through a triangle (3, 3), and where; edges lying in its plane do not count."""
    a, b, c = face[0], face[1], face[2]
    ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    vx, vy, vz = c[0] - a[0], c[1] - a[1], c[2] - a[2]
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    at_p = nx * (p[0] - a[0]) + ny * (p[1] - a[1]) + nz * (p[2] - a[2])
    at_q = nx * (q[0] - a[0]) + ny * (q[1] - a[1]) + nz * (q[2] - a[2])
    if (at_p > 0.0 and at_q > 0.0) or (at_p < 0.0 and at_q < 0.0) or at_p == at_q:
        return False, 0.0, 0.0, 0.0
    share = at_p / (at_p - at_q)
    x, y, z = p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1]), p[2] + share * (q[2] - p[2])
    return _within(a, b, c, nx, ny, nz, x, y, z), x, y, z


@compiled
def _over_face(p: Array, face: Array) -> Found:
    """A point and its foot on a triangle's plane, where the foot falls within; infinitely far otherwise."""
    a, b, c = face[0], face[1], face[2]
    ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    vx, vy, vz = c[0] - a[0], c[1] - a[1], c[2] - a[2]
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    square = nx * nx + ny * ny + nz * nz
    if square > 0.0:
        height = (nx * (p[0] - a[0]) + ny * (p[1] - a[1]) + nz * (p[2] - a[2])) / square
        x, y, z = p[0] - height * nx, p[1] - height * ny, p[2] - height * nz
        if _within(a, b, c, nx, ny, nz, x, y, z):
            return height * height * square, p[0], p[1], p[2], x, y, z
    return np.inf, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0


@compiled
def triangles_apart(first: Array, second: Array) -> Found:
    """Closest points of two triangles (3, 3) [m]; 0 and a shared point where they meet.

    The least of nine pairs of edges and six corners over faces, unless an edge of one goes through the other.
    """
    best, ax, ay, az, bx, by, bz = _edges_apart(first[0], first[1], second[0], second[1])
    for one in range(3):
        after = (one + 1) % 3
        hit, x, y, z = _pierced(first[one], first[after], second)
        if hit:
            return 0.0, x, y, z, x, y, z
        hit, x, y, z = _pierced(second[one], second[after], first)
        if hit:
            return 0.0, x, y, z, x, y, z
        for other in range(3):
            found = _edges_apart(first[one], first[after], second[other], second[(other + 1) % 3])
            if found[0] < best:
                best, ax, ay, az, bx, by, bz = found
        found = _over_face(first[one], second)
        if found[0] < best:
            best, ax, ay, az, bx, by, bz = found
        found = _over_face(second[one], first)
        if found[0] < best:
            best, bx, by, bz, ax, ay, az = found
    return best, ax, ay, az, bx, by, bz


@compiled
def _share_along(x: float, y: float, z: float, p: Array, q: Array, s: Array) -> float:
    """t of a point p + u (q - p) + t s of the band that an edge draws, from 0 to 1."""
    ex, ey, ez = q[0] - p[0], q[1] - p[1], q[2] - p[2]
    wx, wy, wz = x - p[0], y - p[1], z - p[2]
    ee, es, ss = (
        ex * ex + ey * ey + ez * ez,
        ex * s[0] + ey * s[1] + ez * s[2],
        s[0] * s[0] + s[1] * s[1] + s[2] * s[2],
    )
    we, ws = wx * ex + wy * ey + wz * ez, wx * s[0] + wy * s[1] + wz * s[2]
    across = ee * ss - es * es
    if across > 1e-14 * ee * ss:
        return _clip((ee * ws - es * we) / across)
    return _clip(ws / ss)


@compiled
def drawn_apart(first: Array, sweep: Array, second: Array, patch: Array) -> tuple[Found, float]:
    """Closest points of a triangle drawn along `sweep` (3,) and of one that stands still; and how far it was then.

    The drawn triangle is a prism: the least over its two ends and three bands, 0 where it holds the second one.
    The second value is the share of the sweep, 0 to 1. `patch` (3, 3) is room to work in.
    """
    best = triangles_apart(first, second)
    share = 0.0
    if best[0] == 0.0:
        return best, share
    # a corner is within the prism where the way back from it meets the triangle
    for axis in range(3):
        patch[0, axis] = second[0, axis] - sweep[axis]
    hit, x, y, z = _pierced(second[0], patch[0], first)
    if hit:
        px, py, pz = second[0, 0], second[0, 1], second[0, 2]
        length = sweep[0] * sweep[0] + sweep[1] * sweep[1] + sweep[2] * sweep[2]
        share = _clip(((px - x) * sweep[0] + (py - y) * sweep[1] + (pz - z) * sweep[2]) / length)
        return (0.0, px, py, pz, px, py, pz), share
    for corner in range(3):
        for axis in range(3):
            patch[corner, axis] = first[corner, axis] + sweep[axis]
    found = triangles_apart(patch, second)
    if found[0] < best[0]:
        best, share = found, 1.0
    for one in range(3):
        after = (one + 1) % 3
        for half in range(2):
            for axis in range(3):
                patch[0, axis] = first[one, axis]
                patch[1, axis] = first[after, axis] + (sweep[axis] if half == 1 else 0.0)
                patch[2, axis] = (first[after, axis] if half == 0 else first[one, axis]) + sweep[axis]
            found = triangles_apart(patch, second)
            if found[0] < best[0]:
                best = found
                share = _share_along(found[1], found[2], found[3], first[one], first[after], sweep)
    return best, share

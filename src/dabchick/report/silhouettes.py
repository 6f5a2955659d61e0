"""What a closed solid covers when seen from the side, from above or from an end, as exact vector outlines.

The triangles of a closed surface that face the viewer cover every point of its silhouette at least once and
no point outside it. The boundary of that set of triangles therefore winds round every covered point a
positive number of times and round every other point not at all: filled by the nonzero rule, it IS the
silhouette, with no union of polygons to be computed. It holds for sails, fins, tunnels and several bodies
at once.
"""

from collections.abc import Iterable
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.solid import Solid

View = Literal["side", "top"]
Look = Literal["side", "top", "end"]
Loops = tuple[NDArray[np.float64], ...]
"""Closed loops (k, 2) of points [m], (x, z) from the side, (x, y) from above, (y, z) from an end; closed."""

_AXES: Final = {"side": (0, 2), "top": (0, 1), "end": (1, 2)}


def silhouette(solid: Solid, view: Look, grid_m: float, segments: int = 96) -> Loops:
    """Outline of the solid's positive surfaces as loops to fill by the nonzero rule.

    Points are rounded to multiples of `grid_m` > 0 [m]; the outline errs by less than that.
    """
    if not grid_m > 0.0:
        raise ValueError(f"The grid of a silhouette must be above 0, not {grid_m} m.")
    bodies = (
        (vertices, faces) for vertices, faces, weight in solid.meshes(segments=segments) if weight > 0.0
    )
    starts, ends = _boundary(bodies, _AXES[view], grid_m)
    return tuple(loop * grid_m for loop in (_slim(chain) for chain in _chains(starts, ends)) if len(loop) > 2)


def covered(loops: Loops, points: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether each point (n, 2) lies inside the outline, by its winding number."""
    winding = np.zeros(len(points), dtype=np.int64)
    u, v = points[:, 0], points[:, 1]
    for loop in loops:
        following = np.roll(loop, -1, axis=0)
        for (u0, v0), (u1, v1) in zip(loop, following, strict=True):
            side = (u1 - u0) * (v - v0) - (u - u0) * (v1 - v0)
            winding += ((v0 <= v) & (v < v1) & (side > 0)).astype(np.int64)
            winding -= ((v1 <= v) & (v < v0) & (side < 0)).astype(np.int64)
    return np.asarray(winding != 0)


def extent(loops: Loops) -> tuple[float, float, float, float]:
    """Least and greatest of both coordinates: (u_low, v_low, u_high, v_high) [m]."""
    points = np.concatenate(loops)
    low, high = points.min(axis=0), points.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _boundary(
    bodies: Iterable[tuple[NDArray[np.float64], NDArray[np.integer]]], axes: tuple[int, int], grid_m: float
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Starts and ends (n, 2) in grid units of the edges left when those between facing triangles cancel."""
    corners = []
    for vertices, faces in bodies:
        seen = np.rint(np.asarray(vertices)[:, axes] / grid_m).astype(np.int64)
        corners.append(seen[np.asarray(faces)])
    every = np.concatenate(corners) if corners else np.empty((0, 3, 2), dtype=np.int64)
    first, second = every[:, 1] - every[:, 0], every[:, 2] - every[:, 0]
    facing = every[first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0] > 0]
    if len(facing) == 0:
        return np.empty((0, 2), dtype=np.int64), np.empty((0, 2), dtype=np.int64)
    low = facing.min(axis=(0, 1))
    span = int(facing[:, :, 1].max() - low[1]) + 1
    keys, ids = np.unique((facing[:, :, 0] - low[0]) * span + facing[:, :, 1] - low[1], return_inverse=True)
    triangles = ids.reshape(-1, 3)
    starts = triangles.ravel()
    ends = triangles[:, [1, 2, 0]].ravel()
    count = len(keys)
    edges, which = np.unique(np.minimum(starts, ends) * count + np.maximum(starts, ends), return_inverse=True)
    times = np.bincount(which, weights=np.where(starts < ends, 1.0, -1.0), minlength=len(edges))
    times = np.rint(times).astype(np.int64)
    lesser, greater = np.divmod(edges, count)
    begin = np.concatenate(
        [np.repeat(lesser, np.maximum(times, 0)), np.repeat(greater, np.maximum(-times, 0))]
    )
    finish = np.concatenate(
        [np.repeat(greater, np.maximum(times, 0)), np.repeat(lesser, np.maximum(-times, 0))]
    )
    points = np.column_stack(np.divmod(keys, span)) + low
    return points[begin], points[finish]


def _chains(starts: NDArray[np.int64], ends: NDArray[np.int64]) -> list[NDArray[np.int64]]:
    """Edges joined into closed loops; as many leave each point as reach it, so each walk closes."""
    onward: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        onward.setdefault((start[0], start[1]), []).append((end[0], end[1]))
    loops = []
    for origin in list(onward):
        while onward[origin]:
            walk = [origin]
            here = onward[origin].pop()
            while here != origin:
                walk.append(here)
                here = onward[here].pop()
            loops.append(np.array(walk, dtype=np.int64))
    return loops


def _slim(loop: NDArray[np.int64]) -> NDArray[np.float64]:
    """The loop without the points that lie straight between their neighbours."""
    while len(loop) > 2:
        before, after = loop - np.roll(loop, 1, axis=0), np.roll(loop, -1, axis=0) - loop
        turns = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0] != 0
        returns = (before * after).sum(axis=1) < 0
        keep = turns | returns
        if keep.all():
            break
        loop = loop[keep]
    return loop.astype(np.float64)

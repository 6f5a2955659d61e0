"""A closed mesh parted by a line of the side view: volume and first moment above it and below it, exactly.

The line is z = f(x), straight from point to point, with upright steps; above means z > f(x) for x between its ends.
By the divergence theorem, with F = (0, 0, (z - f)+) and likewise for the rest,

    V_above = closed integral (z - f)+ n_z dA,    M_above = closed integral ((x, y) (z - f)+, (z^2 - f^2)+ / 2) n_z dA

so the faces are cut but nothing has to be closed again: the cut surface, upright steps included, adds nothing. Each
integrand is a polynomial of degree two on each piece of a face, which the rule of the edges' middles integrates
exactly. What lies before the line's first point or behind its last counts as below.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.compiled import compiled

Array = NDArray[np.float64]
Indices = NDArray[np.int64]


class Part(NamedTuple):
    """One side of the line."""

    volume: float
    """[m3]"""
    moment: Array
    """(3,) first moment about the frame's origin [m4]"""


class Halves(NamedTuple):
    """What a closed surface encloses on both sides of the line, and how far it reaches from it."""

    above: Part
    below: Part
    lowest: float
    """Least z - f(x) on the surface between the line's ends [m]; NaN where it does not come there."""
    highest: float
    """Greatest z - f(x) there [m]."""


def halves(vertices: Array, faces: Indices, line: Array) -> Halves:
    """Part a closed outward mesh (n, 3) [m], (m, 3) by a line (k, 2) of points (x, z) [m], x not falling.

    Two points at one x are an upright step. Raises ValueError for a line without length, out of order or not finite.
    """
    points = np.array(line, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < 2 or not np.isfinite(points).all():
        raise ValueError("A line that parts a body needs at least two points (x, z) of finite numbers.")
    if np.any(np.diff(points[:, 0]) < 0.0) or points[-1, 0] <= points[0, 0]:
        raise ValueError(
            "The points of the line must follow one another along x. Give them from aft forward."
        )
    sums = np.zeros((2, 4))
    reach = np.array([np.inf, -np.inf])
    _part(np.ascontiguousarray(vertices), np.ascontiguousarray(faces), points, sums, reach)
    lowest, highest = (float(value) if np.isfinite(value) else float("nan") for value in reach)
    above, below = (Part(float(row[0]), row[1:].copy()) for row in sums)
    return Halves(above, below, lowest, highest)


def height_at(line: Array, x: Array) -> Array:
    """Height (n,) [m] of the line over each x [m]; at a step the forward one; NaN beyond its ends."""
    points = np.asarray(line, dtype=np.float64)
    row = np.searchsorted(points[:, 0], x, side="right")
    row = np.clip(row, 1, len(points) - 1)
    # At the foremost point the last piece that has a length speaks.
    last = int(np.flatnonzero(np.diff(points[:, 0]) > 0.0)[-1]) + 1
    row = np.where(points[row, 0] > points[row - 1, 0], row, last)
    start, end = points[row - 1], points[row]
    share = (x - start[:, 0]) / (end[:, 0] - start[:, 0])
    heights = start[:, 1] + share * (end[:, 1] - start[:, 1])
    outside = (x < points[0, 0]) | (x > points[-1, 0])
    return np.asarray(np.where(outside, np.nan, heights))


@compiled
def _clip(poly: Array, count: int, by_x: float, by_z: float, constant: float, out: Array) -> int:
    """The part of a polygon with by_x x + by_z z + constant >= 0 into `out`; the number of its corners."""
    kept = 0
    for here in range(count):
        ahead = (here + 1) % count
        a = by_x * poly[here, 0] + by_z * poly[here, 2] + constant
        b = by_x * poly[ahead, 0] + by_z * poly[ahead, 2] + constant
        if a >= 0.0:
            out[kept] = poly[here]
            kept += 1
        if (a > 0.0 and b < 0.0) or (a < 0.0 and b > 0.0):
            share = a / (a - b)
            for axis in range(3):
                out[kept, axis] = poly[here, axis] + share * (poly[ahead, axis] - poly[here, axis])
            kept += 1
    return kept


@compiled
def _add(poly: Array, count: int, slope: float, foot: float, sums: Array) -> None:
    """Add the integrals of z - f, x (z - f), y (z - f) and (z^2 - f^2) / 2 times n_z, with f = slope x + foot."""
    for corner in range(1, count - 1):
        a, b, c = poly[0], poly[corner], poly[corner + 1]
        upward = 0.5 * ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
        for edge in range(3):
            p, q = (a, b) if edge == 0 else (b, c) if edge == 1 else (c, a)
            x, y, z = 0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1]), 0.5 * (p[2] + q[2])
            f = slope * x + foot
            weight = upward / 3.0
            sums[0] += weight * (z - f)
            sums[1] += weight * x * (z - f)
            sums[2] += weight * y * (z - f)
            sums[3] += weight * 0.5 * (z * z - f * f)


@compiled
def _part(vertices: Array, faces: Indices, line: Array, sums: Array, reach: Array) -> None:
    face = np.empty((3, 3))
    first, second, third = np.empty((12, 3)), np.empty((12, 3)), np.empty((12, 3))
    start, end = line[0, 0], line[len(line) - 1, 0]
    for row in range(faces.shape[0]):
        low, high = np.inf, -np.inf
        for corner in range(3):
            face[corner] = vertices[faces[row, corner]]
            low, high = min(low, face[corner, 0]), max(high, face[corner, 0])
        if low < start:
            count = _clip(face, 3, -1.0, 0.0, start, first)
            _add(first, count, 0.0, 0.0, sums[1])
        if high > end:
            count = _clip(face, 3, 1.0, 0.0, -end, first)
            _add(first, count, 0.0, 0.0, sums[1])
        for piece in range(len(line) - 1):
            aft, fore = line[piece, 0], line[piece + 1, 0]
            if fore <= aft or high < aft or low > fore:
                continue
            slope = (line[piece + 1, 1] - line[piece, 1]) / (fore - aft)
            foot = line[piece, 1] - slope * aft
            count = _clip(face, 3, 1.0, 0.0, -aft, first)
            count = _clip(first, count, -1.0, 0.0, fore, second)
            for corner in range(count):
                over = second[corner, 2] - slope * second[corner, 0] - foot
                reach[0], reach[1] = min(reach[0], over), max(reach[1], over)
            kept = _clip(second, count, -slope, 1.0, -foot, third)
            _add(third, kept, slope, foot, sums[0])
            kept = _clip(second, count, slope, -1.0, foot, third)
            _add(third, kept, slope, foot, sums[1])

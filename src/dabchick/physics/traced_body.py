"""Closed bodies beside a hull from traced outlines: upright ones with level tops and upright sides, and level plates.

An upright body has between its lower and its upper edge one half-breadth at each x. Where it would run into the
hull it ends a small gap short of it, over its whole breadth, so that nothing counts twice and no surface meets
another.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.loft import Indices, curve, skinned
from dabchick.physics.monotone import monotone_cubic
from dabchick.physics.traced_form import FormGrid

Array = NDArray[np.float64]
Mesh = tuple[Array, Indices]


@dataclass(frozen=True, eq=False)
class Upright:
    """An upright body over stations: edges and half-breadth (k,)."""

    x: Array
    lower: Array
    upper: Array
    half: Array


GAP = 5e-4
"""Room left between a body and the hull, as a share of the hull's length: more than its flat faces are off it."""
ACROSS = 8
"""Strips over the half-breadth of an upright body."""


def hull_edge(grid: FormGrid, x: Array, y: Array, top: bool) -> Array:
    """(k, j) height of the hull's top (or bottom) surface over places x (k,), y (k, j); -inf (inf) beside the hull."""
    found = np.full(y.shape, -np.inf if top else np.inf)
    inside = (x > grid.x[0, 0]) & (x < grid.x[0, -1])
    if not inside.any():
        return found
    fine = 0.5 - 0.5 * np.cos(np.pi * np.arange(161) / 160)
    at = x[inside]
    low, high, half = (monotone_cubic(grid.x[0], line[0], at) for line in (grid.lower, grid.upper, grid.half))
    shapes = monotone_cubic(grid.x[0], grid.shape[0], at)
    for row, k in enumerate(np.flatnonzero(inside)):
        shape = curve(grid.share, np.maximum(shapes[row], 0.0))(fine)
        widest = int(np.argmax(shape))
        part = slice(widest, None) if top else slice(0, widest + 1)
        out, up = half[row] * shape[part], low[row] + (high[row] - low[row]) * fine[part]
        if top:
            out, up = out[::-1], up[::-1]
        off = np.abs(y[k])
        level = np.interp(off, np.maximum.accumulate(out), up)
        found[k] = np.where(off <= half[row], level, found[k])
    return found


def hull_half_breadth(grid: FormGrid, x: Array, low: float, high: float) -> Array:
    """(k,) greatest half-breadth of the hull at x (k,) between two heights; -inf where it is not."""
    found = np.full(len(x), -np.inf)
    for k, place in enumerate(x):
        if not grid.x[0, 0] < place < grid.x[0, -1]:
            continue
        at = np.array([place])
        keel, deck, half = (
            float(monotone_cubic(grid.x[0], line[0], at)[0]) for line in (grid.lower, grid.upper, grid.half)
        )
        if deck <= keel or low > deck or high < keel:
            continue
        shape = curve(grid.share, np.maximum(monotone_cubic(grid.x[0], grid.shape[0], at)[0], 0.0))
        share = (np.linspace(low, high, 9) - keel) / (deck - keel)
        found[k] = half * float(shape(share[(share >= 0.0) & (share <= 1.0)]).max(initial=0.0))
    return found


def upright_mesh(
    x: Array,
    lower: Array,
    upper: Array,
    half: Array,
    hull: FormGrid,
    above: bool,
    below: Sequence[Upright] = (),
) -> Mesh | None:
    """Closed mesh of a body over x (k,) rising, its edges and half-breadth (k,); None where the hull swallows it.

    `above`: it stands on the hull; else it hangs below it. What lies inside the hull is left out, and of a body
    above what reaches into those in `below`: over its whole breadth it then ends level above their tops.
    """
    gap = GAP * float(hull.x[0, -1] - hull.x[0, 0])
    y = half[:, None] * np.arange(ACROSS + 1) / ACROSS
    bottom, top = np.repeat(lower[:, None], ACROSS + 1, 1), np.repeat(upper[:, None], ACROSS + 1, 1)
    if above:
        for body in below:
            rest = np.interp(x, body.x, body.upper, left=-np.inf, right=-np.inf)
            # Also at the stations before and behind it, so that the step clears its ends.
            rest = np.maximum(rest, np.maximum(np.roll(rest, 1), np.roll(rest, -1)))
            bottom = np.maximum(bottom, rest[:, None] + gap)
        bottom = np.maximum(bottom, hull_edge(hull, x, y, True) + gap)
        top = np.maximum(top, bottom)
    else:
        top = np.minimum(top, hull_edge(hull, x, y, False) - gap)
        bottom = np.minimum(bottom, top)
    free = (top - bottom).max(axis=1) > 0.1 * gap
    if free.sum() < 3:
        return None
    # The longest stretch that stands free of the hull, with the end stations that close it.
    runs = np.split(np.arange(len(x)), np.flatnonzero(np.diff(free.astype(np.int64))) + 1)
    run = max((part for part in runs if free[part[0]]), key=len)
    first, last = int(run[0]), int(run[-1])
    first -= int(first == 1)
    last += int(last == len(x) - 2)
    keep = slice(first, last + 1)
    x, y, bottom, top = x[keep], y[keep], bottom[keep], top[keep]
    if len(x) < 3:
        return None
    port_y = np.concatenate([y, y[:, ::-1]], axis=1)
    port_z = np.concatenate([bottom, top[:, ::-1]], axis=1)
    corners = 4 * ACROSS + 2
    rings = np.empty((len(x), corners, 3))
    rings[:, :, 0] = x[:, None]
    rings[:, :, 1] = np.concatenate([port_y, -port_y[:, -2:0:-1]], axis=1)
    rings[:, :, 2] = np.concatenate([port_z, port_z[:, -2:0:-1]], axis=1)
    return skinned(rings, _strips(corners))


def plate_mesh(x: Array, inner: Array, outer: Array, middle: float, thickness: float) -> Mesh:
    """Closed mesh of a level plate to port: from y = inner to y = outer over x (k,), `thickness` about z = middle."""
    y = inner[:, None] + (outer - inner)[:, None] * np.arange(ACROSS + 1) / ACROSS
    rings = np.empty((len(x), 2 * ACROSS + 2, 3))
    rings[:, :, 0] = x[:, None]
    rings[:, :, 1] = np.concatenate([y, y[:, ::-1]], axis=1)
    rings[:, :, 2] = middle + 0.5 * thickness * np.repeat([-1.0, 1.0], ACROSS + 1)
    bottom = np.arange(ACROSS)
    top = 2 * ACROSS + 1 - bottom
    cap = [np.stack([bottom, bottom + 1, top - 1], axis=1), np.stack([bottom, top - 1, top], axis=1)]
    return skinned(rings, np.concatenate(cap).astype(np.int64))


def mirrored_mesh(mesh: Mesh) -> Mesh:
    """The same body on the other side of the middle plane."""
    return mesh[0] * np.array([1.0, -1.0, 1.0]), np.ascontiguousarray(mesh[1][:, ::-1])


def spans_over(outline: Array, x: Array) -> tuple[Array, Array]:
    """(k,) least and greatest second coordinate of a closed line (q, 2) at x (k,); NaN beside it."""
    start, end = outline, np.roll(outline, -1, axis=0)
    across = (start[None, :, 0] - x[:, None]) * (end[None, :, 0] - x[:, None]) <= 0.0
    run = end[:, 0] - start[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(run == 0.0, 0.0, (x[:, None] - start[None, :, 0]) / run)
    here = start[:, 1] + share * (end[:, 1] - start[:, 1])
    other = np.where(run == 0.0, end[:, 1], here)
    low = np.where(across, np.minimum(here, other), np.inf).min(axis=1)
    high = np.where(across, np.maximum(here, other), -np.inf).max(axis=1)
    beside = low > high
    return np.where(beside, np.nan, low), np.where(beside, np.nan, high)


def mesh_volume(mesh: Mesh) -> float:
    """Volume inside a closed outward mesh."""
    corners = mesh[0][mesh[1]]
    return float(np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))) / 6.0


def mesh_centre(mesh: Mesh) -> Array:
    """(3,) centre of the volume inside a closed outward mesh."""
    corners = mesh[0][mesh[1]]
    weight = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 24.0
    return np.asarray((weight[:, None] * corners.sum(axis=1)).sum(axis=0) / mesh_volume(mesh))


def mesh_area(mesh: Mesh) -> float:
    """Area of a mesh."""
    corners = mesh[0][mesh[1]]
    sides = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return float(np.linalg.norm(sides, axis=1).sum()) / 2.0


def _strips(corners: int) -> Indices:
    """Flat face over a ring: upright strips between bottom and top, port and starboard."""
    half = corners // 2
    faces = []
    for k in range(ACROSS):
        b0, b1, t0, t1 = k, k + 1, half - k, half - k - 1
        faces += [[b0, b1, t1], [b0, t1, t0]]
        s0, s1 = (corners - k) % corners, corners - k - 1
        u0, u1 = half + k, half + k + 1
        faces += [[s1, s0, u1], [u1, s0, u0]]
    return np.array(faces, np.int64)

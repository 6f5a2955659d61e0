"""A pocket of air as it is drawn: its outline from three sides, and a mesh of its roof and its water."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.columns import Columns
from dabchick.physics.trapped_air import Pocket

Array = NDArray[np.float64]
Index = NDArray[np.int64]

MOST_CELLS = 1500
MOST_STATIONS = 160


class PocketShape(NamedTuple):
    """Drawn from the columns, so as fine as these stand."""

    side: Array
    """(k, 2) closed ring of x, z [m]"""
    end: Array
    """(k, 2) y, z"""
    top: Array
    """(k, 2) x, y"""
    vertices: Array
    """(v, 3) [m]"""
    faces: Index
    """(f, 3)"""


def pocket_shape(space: Columns, pocket: Pocket, up: Array) -> PocketShape:
    """The shape of a pocket above its own level; roof and water are sheets, without walls between them."""
    own = pocket.columns
    x, y = space.x[own], space.y[own]
    low, high = space.low[own].copy(), space.high[own].copy()
    if np.isfinite(pocket.level) and abs(up[2]) > 1e-9:
        cut = (pocket.level - up[0] * x - up[1] * y) / up[2]
        if up[2] > 0.0:
            low = np.maximum(low, cut)
        else:
            high = np.minimum(high, cut)
    kept = high > low
    x, y, low, high = x[kept], y[kept], low[kept], high[kept]
    i = np.rint((x - space.corner[0]) / space.spacing).astype(np.int64)
    j = np.rint((y - space.corner[1]) / space.spacing).astype(np.int64)
    half = 0.5 * space.spacing
    vertices, faces = _sheets(i, j, x, y, low, high)
    return PocketShape(
        _ring(i, x, low, high, half),
        _ring(j, y, low, high, half),
        _ring(i, x, y - half, y + half, half),
        vertices,
        faces,
    )


def _ring(station: Index, at: Array, low: Array, high: Array, half: float) -> Array:
    """A ring round the lowest and highest at each station along one axis."""
    if len(station) == 0:
        return np.zeros((0, 2))
    first, last = int(station.min()), int(station.max())
    wide = max(1, -(-(last - first + 1) // MOST_STATIONS))
    group = (station - first) // wide
    count = int(group.max()) + 1
    lowest, highest = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(lowest, group, low)
    np.maximum.at(highest, group, high)
    middle = np.bincount(group, at, count) / np.maximum(np.bincount(group, minlength=count), 1)
    there = highest > lowest
    middle, lowest, highest = middle[there], lowest[there], highest[there]
    middle[0], middle[-1] = middle[0] - half, middle[-1] + half
    if len(middle) == 1:
        middle = np.array([at.min() - half, at.max() + half])
        lowest, highest = np.repeat(lowest, 2), np.repeat(highest, 2)
    return np.concatenate([np.column_stack([middle, lowest]), np.column_stack([middle, highest])[::-1]])


def _sheets(i: Index, j: Index, x: Array, y: Array, low: Array, high: Array) -> tuple[Array, Index]:
    step = max(1, int(np.ceil(np.sqrt(len(i) / MOST_CELLS))))
    chosen = np.flatnonzero((i % step == 0) & (j % step == 0))
    if len(chosen) == 0:
        return np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64)
    # one line may cross a pocket twice; its uppermost part stands for it
    number = {}
    for row in chosen[np.argsort(high[chosen], kind="stable")]:
        number[(int(i[row]) // step, int(j[row]) // step)] = int(row)
    rows = np.array(list(number.values()))
    index = {place: rank for rank, place in enumerate(number)}
    roof = np.column_stack([x[rows], y[rows], high[rows]])
    water = np.column_stack([x[rows], y[rows], low[rows]])
    faces = []
    for (a, b), rank in index.items():
        ahead, beside, across = index.get((a + 1, b)), index.get((a, b + 1)), index.get((a + 1, b + 1))
        if across is not None and ahead is not None:
            faces.append((rank, ahead, across))
        if across is not None and beside is not None:
            faces.append((rank, across, beside))
        if across is None and ahead is not None and beside is not None:
            faces.append((rank, ahead, beside))
        behind, back = index.get((a - 1, b)), index.get((a, b - 1))
        if behind is not None and back is not None and (a - 1, b - 1) not in index:
            faces.append((rank, behind, back))
    up = np.array(faces, dtype=np.int64).reshape(-1, 3)
    return np.concatenate([roof, water]), np.concatenate([up, up[:, ::-1] + len(rows)])

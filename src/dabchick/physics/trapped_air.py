"""Air that stays in a flooded space while water rises in it: every pocket above its highest way out.

With n up, a point keeps its air when no way leads from it to an opening without going down below it. So the space
above a height t falls into pieces, and a piece without an opening is air. Going down through all heights joins the
pieces (the join tree of the height over the space): where a piece first meets an opening, or a piece that has one, it
is let out, and what lies above that height, its sill, is one pocket.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.columns import Columns, Walls
from dabchick.physics.compiled import compiled
from dabchick.physics.surface_above import volume_above

Array = NDArray[np.float64]
Index = NDArray[np.int64]

SLIGHT_COLUMNS = 16
SLIGHT_DEPTH = 0.5
"""A pocket of no more columns than this, less deep than this share of their spacing, is the steps of the grid
itself."""
STEEP = 0.5
"""Columns that stand less upright than this (60 degrees over) count as lying."""
WORTH_EXACT_M3 = 2e-8
"""Pockets from this volume on are measured by the faces themselves where that is possible."""


class Mouth(NamedTuple):
    """An opening as the space sees it."""

    columns: Index
    """(k,) columns into which it leads."""
    short_low: Array
    short_high: Array
    """(k,) how far from a column's lower (upper) end the way to the opening lies."""
    rim: Array
    """(r, 3) points among which its highest one is found, whatever way is up [m]."""


class Pocket(NamedTuple):
    """Air that stays in."""

    volume_m3: float
    centre_m: Array
    """(3,)"""
    level: float
    """Height n . x [m] of the water in it; -inf where no opening is reached at all."""
    top: float
    """Height n . x [m] of its highest point."""
    mouth: int
    """The opening that lets out the rest: its number, -1 for none."""
    by_passage: bool
    """The sill is a passage inside the space on the way to that opening, not the opening itself."""
    columns: Index
    """(k,)"""
    exact: bool
    """The volume comes from the faces, not from the columns."""


class Air(NamedTuple):
    """All that stays in at one attitude."""

    up: Array
    """(3,)"""
    outside: float
    """Height n . x [m] of the water outside; inf when she is wholly under."""
    pockets: tuple[Pocket, ...]
    """The largest first."""

    @property
    def volume_m3(self) -> float:
        """Of all pockets [m3]."""
        return float(sum(pocket.volume_m3 for pocket in self.pockets))

    @property
    def centre_m(self) -> Array:
        """(3,) of all pockets [m]; NaN without any."""
        volume = self.volume_m3
        if volume == 0.0:
            return np.full(3, np.nan)
        return np.asarray(sum(pocket.volume_m3 * pocket.centre_m for pocket in self.pockets) / volume)


def trapped(walls: Walls, space: Columns, mouths: list[Mouth], up: Array, outside: float = np.inf) -> Air:
    """The air that stays in with `up` (3,), a unit vector, and the water outside at n . x = `outside` [m].

    Only air under the outer water counts; what stands above it displaces nothing. Raises ValueError when up is no unit
    vector.
    """
    if up.shape != (3,) or not abs(float(up @ up) - 1.0) <= 2e-9:
        raise ValueError(f"The up direction is {up!r}. Give a unit vector of three numbers.")
    ends, passages = heights(space, up)
    rows, levels, owners = activations(mouths, up, ends)
    label, level, source, through = _drain(
        space.first,
        space.second,
        passages,
        np.argsort(-passages, kind="stable"),
        ends,
        rows,
        levels,
        owners,
        SLIGHT_COLUMNS,
        SLIGHT_DEPTH * space.spacing,
    )
    sums = measured(space, up, label, np.minimum(level, outside), outside)
    held = [number for number in np.argsort(-sums[:, 0], kind="stable") if sums[number, 0] > 0.0]
    if not held:
        return Air(up, outside, ())
    by_label = np.argsort(label, kind="stable")
    bounds = np.searchsorted(label[by_label], np.arange(len(level) + 1))
    pockets = []
    for number in held:
        own = by_label[bounds[number] : bounds[number + 1]]
        volume, centre, exact = sums[number, 0], sums[number, 1:4] / sums[number, 0], False
        top = min(float(ends[own].max()), outside)
        # with the columns lying nearly level, a passage is known to their spacing only, and so is all that it holds
        known = not through[number] or abs(up[2]) >= STEEP
        if known and volume >= WORTH_EXACT_M3 and outside >= float(ends[own].max()):
            found = volume_above(walls, space, up, float(level[number]), label, number, ends)
            if found is not None:
                (volume, centre), exact = found, True
        pockets.append(
            Pocket(
                float(volume),
                centre,
                float(level[number]),
                top,
                int(source[number]),
                bool(through[number]),
                own,
                exact,
            )
        )
    return Air(up, outside, tuple(sorted(pockets, key=lambda pocket: -pocket.volume_m3)))


def heights(space: Columns, up: Array) -> tuple[Array, Array]:
    """Height n . x [m] of each column's upper end as it now stands (n,), and of the passage in each pair (m,).

    A passage that reaches to the end of one of both columns is as high as the lower of their two ends, so that a smooth
    sloping roof holds nothing back between its columns.
    """
    base = up[0] * space.x + up[1] * space.y
    ends = base + np.maximum(up[2] * space.low, up[2] * space.high)
    short = space.short_high if up[2] >= 0.0 else space.short_low
    passages = np.minimum(ends[space.first], ends[space.second]) - abs(up[2]) * short
    return ends, passages


def sill(mouth: Mouth, up: Array) -> float:
    """Height n . x [m] of the highest point of an opening: down to there it lets air out."""
    return float((mouth.rim @ up).max())


def activations(mouths: list[Mouth], up: Array, ends: Array) -> tuple[Index, Array, Index]:
    """Columns that an opening leads into, the height from which on it lets their air out, and its number;
    highest first."""
    rows = np.concatenate([np.zeros(0, dtype=np.int64), *(mouth.columns for mouth in mouths)])
    owners = np.repeat(np.arange(len(mouths)), [len(mouth.columns) for mouth in mouths])
    sills = np.array([sill(mouth, up) for mouth in mouths])
    side = "short_high" if up[2] >= 0.0 else "short_low"
    short = np.concatenate([np.zeros(0), *(getattr(mouth, side) for mouth in mouths)])
    levels = np.minimum(sills[owners], ends[rows] - abs(up[2]) * short) if len(rows) else np.zeros(0)
    order = np.argsort(-levels, kind="stable")
    return rows[order], levels[order], owners[order].astype(np.int64)


@compiled
def root_of(parent: Index, node: int) -> int:
    """The piece that a column belongs to."""
    while parent[node] != node:
        parent[node] = parent[parent[node]]
        node = parent[node]
    return node


@compiled
def _drain(
    first: Index,
    second: Index,
    passages: Array,
    order: Index,
    ends: Array,
    rows: Index,
    levels: Array,
    owners: Index,
    slight_columns: int,
    slight_depth: float,
) -> tuple[Index, Array, Index, NDArray[np.bool_]]:
    """Go down through all heights. Returns the pocket of each column (-1: none), and each pocket's level,
    opening, way."""
    count = len(ends)
    parent = np.arange(count)
    size = np.ones(count, dtype=np.int64)
    top = ends.copy()
    mouth = np.full(count, -1, dtype=np.int64)
    after = np.full(count, -1, dtype=np.int64)
    last = np.arange(count)
    label = np.full(count, -1, dtype=np.int64)
    level, source, through = np.empty(count), np.empty(count, dtype=np.int64), np.zeros(count, dtype=np.bool_)
    found = 0
    event = 0
    for rank in range(len(order) + 1):
        height = passages[order[rank]] if rank < len(order) else -np.inf
        while event < len(rows) and levels[event] >= height:
            piece = root_of(parent, rows[event])
            if mouth[piece] < 0:
                deep = top[piece] - levels[event]
                if deep > 0.0 and (size[piece] > slight_columns or deep > slight_depth):
                    level[found], source[found] = levels[event], owners[event]
                    node = piece
                    while node >= 0:
                        label[node] = found
                        node = after[node]
                    found += 1
                mouth[piece] = owners[event]
            event += 1
        if rank == len(order):
            break
        one, two = root_of(parent, first[order[rank]]), root_of(parent, second[order[rank]])
        if one == two:
            continue
        if (mouth[one] < 0) != (mouth[two] < 0):
            shut, open_ = (one, two) if mouth[one] < 0 else (two, one)
            deep = top[shut] - height
            if deep > 0.0 and (size[shut] > slight_columns or deep > slight_depth):
                level[found], source[found], through[found] = height, mouth[open_], True
                node = shut
                while node >= 0:
                    label[node] = found
                    node = after[node]
                found += 1
            parent[shut] = open_
            continue
        if size[one] < size[two]:
            one, two = two, one
        parent[two] = one
        if mouth[one] < 0:
            after[last[one]] = two
            last[one] = last[two]
            top[one] = max(top[one], top[two])
            size[one] += size[two]
    for node in range(count):
        piece = root_of(parent, node)
        if mouth[piece] < 0:
            if label[piece] < 0:
                level[found], source[found] = -np.inf, -1
                label[piece] = found
                found += 1
            label[node] = label[piece]
    return label, level[:found].copy(), source[:found].copy(), through[:found].copy()


def measured(space: Columns, up: Array, label: Index, bottoms: Array, top: float) -> Array:
    """(p, 4) volume [m3] and moment [m4] of the columns of each pocket between two heights n . x [m]."""
    sums = np.zeros((len(bottoms), 4))
    _measure(
        space.x,
        space.y,
        space.low,
        space.high,
        label,
        up[0],
        up[1],
        up[2],
        bottoms,
        top,
        space.spacing**2,
        sums,
    )
    return sums


@compiled
def _measure(
    x: Array,
    y: Array,
    low: Array,
    high: Array,
    label: Index,
    nx: float,
    ny: float,
    nz: float,
    bottoms: Array,
    top: float,
    area: float,
    sums: Array,
) -> None:
    for node in range(len(x)):
        number = label[node]
        if number < 0:
            continue
        base = nx * x[node] + ny * y[node]
        start, stop = low[node], high[node]
        if abs(nz) > 1e-12:
            one, two = (bottoms[number] - base) / nz, (top - base) / nz
            start, stop = max(start, min(one, two)), min(stop, max(one, two))
        elif not bottoms[number] < base < top:
            continue
        if stop <= start:
            continue
        volume = area * (stop - start)
        sums[number, 0] += volume
        sums[number, 1] += volume * x[node]
        sums[number, 2] += volume * y[node]
        sums[number, 3] += volume * 0.5 * (start + stop)

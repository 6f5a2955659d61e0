"""A flooded space as upright columns: where each begins and ends, and through which gaps neighbours are joined.

Heights are exact: a column ends where its line meets a face. Only the lines' spacing is chosen, so a volume
gathered from columns converges with it, and a thin plate that lies flat is never missed. A thin wall that
stands between two lines is found as well, by cutting every face with the upright plane through both.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.compiled import compiled
from dabchick.physics.free_space import side_of

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

LEAST_M = 1e-7
"""A shorter column, or a lower passage, is rounding where two faces lie on each other."""
WAYS = np.array([[1, 0], [0, 1], [1, 1], [1, -1]])
"""Steps to the neighbours to which a column is joined; the other four see it the other way round."""


class Walls(NamedTuple):
    """All faces round a space: its own closed surface, and closed surfaces of things that stand in it."""

    vertices: Array
    """(v, 3) [m]"""
    faces: Index
    """(f, 3)"""
    owner: Index
    """(f,) 0 for the space's own surface, 1, 2, ... for the things in it."""
    weight: Array
    """(f,) 1, or -1 for the surface of a hole in a thing."""
    merged: Index
    """(f, 3) the faces with corners in one place as one, as far as they belong to one owner."""


class Columns(NamedTuple):
    """The space as columns [m], sorted by line; joined pairs in both directions are listed once."""

    spacing: float
    x: Array
    y: Array
    low: Array
    high: Array
    ends: Index
    """(n, 2) face at the lower and at the upper end."""
    first: Index
    second: Index
    """(m,) columns that are joined."""
    short_low: Array
    short_high: Array
    """(m,) how far above the lower (below the upper) end of their common reach the passage between both begins."""
    unclear: Flags
    """(f,) faces met where two things, or a thing and the skin, are in one place."""
    starts: Index
    corner: Array
    """(2,) place of the first line."""
    shape: tuple[int, int]


def walls(
    surfaces: Sequence[tuple[Array, Index]], things: Sequence[Sequence[tuple[Array, Index, float]]]
) -> Walls:
    """Gather the space's closed surfaces (vertices, faces) and, for each thing in it, its (vertices, faces, weight)."""
    rows = [(vertices, faces, 0, 1.0) for vertices, faces in surfaces]
    rows += [
        (vertices, faces, number, weight)
        for number, thing in enumerate(things, start=1)
        for vertices, faces, weight in thing
    ]
    counts = np.cumsum([0, *(len(row[0]) for row in rows)])
    vertices = np.ascontiguousarray(np.concatenate([row[0] for row in rows]), dtype=np.float64)
    faces = np.concatenate([row[1] + start for row, start in zip(rows, counts, strict=False)]).astype(
        np.int64
    )
    owners = np.concatenate([np.full(len(row[0]), row[2], dtype=np.int64) for row in rows])
    return Walls(
        vertices,
        faces,
        owners[faces[:, 0]],
        np.concatenate([np.full(len(row[1]), row[3], dtype=np.float64) for row in rows]),
        _merged(vertices, owners)[faces],
    )


def _merged(vertices: Array, owners: Index) -> Index:
    """(v,) for each corner, one of those in the same place and of the same owner."""
    keyed = np.column_stack([vertices, owners])
    order = np.lexsort(keyed.T)
    ranked = keyed[order]
    new = np.concatenate([[True], np.any(ranked[1:] != ranked[:-1], axis=1)])
    where = np.empty(len(keyed), dtype=np.int64)
    where[order] = order[np.flatnonzero(new)][np.cumsum(new) - 1]
    return where


def spacing_for(walls: Walls, most: int) -> float:
    """The spacing [m] at which about `most` lines stand under the space's own box."""
    corners = walls.vertices[walls.faces[walls.owner == 0].ravel()]
    low, high = corners.min(axis=0), corners.max(axis=0)
    return float(np.sqrt((high[0] - low[0]) * 2.0 * max(abs(low[1]), abs(high[1])) / most))


def columns(walls: Walls, spacing: float) -> Columns:
    """Lines `spacing` [m] apart, mirrored about y = 0, and the columns of space on them.

    A point is space where the own surface winds round it at least once and no thing does. Raises ValueError
    for a spacing that is not above 0, or a space so small that no line meets it.
    """
    if not (np.isfinite(spacing) and spacing > 0.0):
        raise ValueError(f"The columns' spacing is {spacing} m. Give a length above 0.")
    corners = walls.vertices[walls.faces[walls.owner == 0].ravel()]
    low, high = corners.min(axis=0), corners.max(axis=0)
    nx = max(1, int(np.ceil((high[0] - low[0]) / spacing - 1e-9)))
    half = max(1, int(np.ceil(max(abs(low[1]), abs(high[1])) / spacing - 1e-9)))
    start_x = 0.5 * (low[0] + high[0]) - 0.5 * (nx - 1) * spacing
    corner = np.array([start_x, -(half - 0.5) * spacing])
    shape = (nx, 2 * half)
    scaled = (walls.vertices[:, :2] - corner) / spacing
    flat = np.ascontiguousarray(np.column_stack([scaled, walls.vertices[:, 2]]))
    counts = np.zeros(nx * 2 * half + 1, dtype=np.int64)
    none = np.zeros(0)
    _meet(flat, walls.faces, *shape, counts, False, none, np.zeros(0, dtype=np.int64), none)
    starts = np.cumsum(counts)
    heights, faces, turns = np.zeros(starts[-1]), np.zeros(starts[-1], dtype=np.int64), np.zeros(starts[-1])
    _meet(flat, walls.faces, *shape, starts.copy(), True, heights, faces, turns)
    unclear = np.zeros(len(walls.faces), dtype=np.bool_)
    line, ends, reach = _sweep(
        starts, heights, faces, turns, walls.owner, walls.weight, int(walls.owner.max()) + 1, unclear
    )
    if len(line) == 0:
        raise ValueError("No line meets the space, or nothing of it is free. Take a smaller spacing.")
    first_of = np.searchsorted(line, np.arange(nx * 2 * half + 1))
    first, second, low_end, high_end, lane = _join(line, reach, first_of, *shape, WAYS)
    order = np.argsort(lane, kind="stable")
    first, second, low_end, high_end = first[order], second[order], low_end[order], high_end[order]
    lane = lane[order]
    lanes = np.searchsorted(lane, np.arange(4 * nx * 2 * half + 1))
    found = _block(
        flat, walls.faces, *shape, lanes, low_end, high_end, False, np.zeros(0, dtype=np.int64), none, none
    )
    pair, block_low, block_high = np.zeros(found, dtype=np.int64), np.zeros(found), np.zeros(found)
    _block(flat, walls.faces, *shape, lanes, low_end, high_end, True, pair, block_low, block_high)
    by_pair = np.lexsort((block_low, pair))
    short_low, short_high, free = _passages(
        low_end, high_end, pair[by_pair], block_low[by_pair], block_high[by_pair]
    )
    i, j = np.divmod(line, 2 * half)
    return Columns(
        spacing=spacing,
        x=corner[0] + spacing * i,
        y=corner[1] + spacing * j,
        low=np.ascontiguousarray(reach[:, 0]),
        high=np.ascontiguousarray(reach[:, 1]),
        ends=ends,
        first=first[free],
        second=second[free],
        short_low=short_low[free],
        short_high=short_high[free],
        unclear=unclear,
        starts=first_of,
        corner=corner,
        shape=shape,
    )


@compiled
def _meet(
    flat: Array,
    faces: Index,
    nx: int,
    ny: int,
    place: Index,
    fill: bool,
    heights: Array,
    met: Index,
    turns: Array,
) -> None:
    """Count (into place[line + 1]) or fill in where lines meet faces; each crossing once, as in `free_space`."""
    for face in range(len(faces)):
        a, b, c = flat[faces[face, 0]], flat[faces[face, 1]], flat[faces[face, 2]]
        i0, i1 = int(np.ceil(min(a[0], b[0], c[0]))) - 1, int(np.floor(max(a[0], b[0], c[0]))) + 1
        j0, j1 = int(np.ceil(min(a[1], b[1], c[1]))) - 1, int(np.floor(max(a[1], b[1], c[1]))) + 1
        low, high = min(a[2], b[2], c[2]), max(a[2], b[2], c[2])
        area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
        for i in range(max(i0, 0), min(i1, nx - 1) + 1):
            for j in range(max(j0, 0), min(j1, ny - 1) + 1):
                px, py = float(i), float(j)
                side = side_of(a[0], a[1], b[0], b[1], px, py)
                if side == 0 or side != side_of(b[0], b[1], c[0], c[1], px, py):
                    continue
                if side != side_of(c[0], c[1], a[0], a[1], px, py):
                    continue
                line = i * ny + j
                if not fill:
                    place[line + 1] += 1
                    continue
                z = high
                if area != 0.0:
                    to_b = ((px - a[0]) * (c[1] - a[1]) - (py - a[1]) * (c[0] - a[0])) / area
                    to_c = ((b[0] - a[0]) * (py - a[1]) - (b[1] - a[1]) * (px - a[0])) / area
                    z = min(max(a[2] + to_b * (b[2] - a[2]) + to_c * (c[2] - a[2]), low), high)
                heights[place[line]] = z
                met[place[line]] = face
                turns[place[line]] = -side
                place[line] += 1


@compiled
def _sweep(
    starts: Index,
    heights: Array,
    met: Index,
    turns: Array,
    owner: Index,
    weight: Array,
    owners: int,
    unclear: Flags,
) -> tuple[Index, Index, Array]:
    """Go up each line: where the own surface winds round it and nothing else does, there is a column."""
    line = np.empty(len(heights), dtype=np.int64)
    ends = np.empty((len(heights), 2), dtype=np.int64)
    reach = np.empty((len(heights), 2))
    found = 0
    wound = np.zeros(owners)
    for row in range(len(starts) - 1):
        first, last = starts[row], starts[row + 1]
        if first == last:
            continue
        order = first + np.argsort(heights[first:last])
        wound[:] = 0.0
        filled = 0
        began, begin = -1, 0.0
        for rank in range(last - first):
            event = order[rank]
            face = met[event]
            who = owner[face]
            before = wound[who] > 0.5
            crowded = filled > 1 or wound[0] > 1.5 or (filled > 0 and wound[0] < 0.5)
            wound[who] += turns[event] * weight[face]
            after = wound[who] > 0.5
            if who > 0 and before != after:
                filled += 1 if after else -1
            deep = rank == 0 or heights[event] - heights[order[rank - 1]] > LEAST_M
            if crowded and deep:
                unclear[face] = True
                unclear[met[order[rank - 1]]] = True
            space = wound[0] > 0.5 and filled == 0
            if space and began < 0:
                began, begin = face, heights[event]
            elif not space and began >= 0:
                if heights[event] - begin > LEAST_M:
                    line[found] = row
                    ends[found, 0], ends[found, 1] = began, face
                    reach[found, 0], reach[found, 1] = begin, heights[event]
                    found += 1
                began = -1
    return line[:found].copy(), ends[:found].copy(), reach[:found].copy()


@compiled
def _join(
    line: Index, reach: Array, first_of: Index, nx: int, ny: int, ways: Index
) -> tuple[Index, Index, Array, Array, Index]:
    """Pairs of neighbouring columns with a height in common, its ends, and the lane (way, line) of each pair."""
    most = 8 * len(line) + 8
    count = 0
    first, second = np.empty(most, dtype=np.int64), np.empty(most, dtype=np.int64)
    low, high = np.empty(most), np.empty(most)
    lane = np.empty(most, dtype=np.int64)
    for one in range(len(line)):
        i, j = line[one] // ny, line[one] % ny
        for way in range(4):
            k, m = i + ways[way, 0], j + ways[way, 1]
            if k < 0 or k >= nx or m < 0 or m >= ny:
                continue
            there = k * ny + m
            for two in range(first_of[there], first_of[there + 1]):
                bottom, top = max(reach[one, 0], reach[two, 0]), min(reach[one, 1], reach[two, 1])
                if top - bottom <= LEAST_M:
                    continue
                if count == most:
                    # more pairs than eight a column: a very crowded boat
                    first = np.concatenate((first, np.empty(most, dtype=np.int64)))
                    second = np.concatenate((second, np.empty(most, dtype=np.int64)))
                    low, high = np.concatenate((low, np.empty(most))), np.concatenate((high, np.empty(most)))
                    lane = np.concatenate((lane, np.empty(most, dtype=np.int64)))
                    most *= 2
                first[count], second[count] = one, two
                low[count], high[count] = bottom, top
                lane[count] = line[one] * 4 + way
                count += 1
    return (
        first[:count].copy(), second[:count].copy(), low[:count].copy(), high[:count].copy(),
        lane[:count].copy(),
    )  # fmt: skip


@compiled
def _block(
    flat: Array,
    faces: Index,
    nx: int,
    ny: int,
    lanes: Index,
    low: Array,
    high: Array,
    fill: bool,
    pair_of: Index,
    block_low: Array,
    block_high: Array,
) -> int:
    """Where faces stand between neighbouring lines at a height that both have in common; counted or filled in.

    Every face is cut by the upright planes through the lines: y, x, x - y and x + y constant. A corner on a
    plane counts as below it, as for the lines themselves.
    """
    count = 0
    across, along = np.empty(3), np.empty(3)
    cut_at, cut_z = np.empty(2), np.empty(2)
    for face in range(len(faces)):
        for way in range(4):
            for corner in range(3):
                point = flat[faces[face, corner]]
                u, v = point[0], point[1]
                across[corner] = v if way == 0 else u if way == 1 else u - v if way == 2 else u + v
                along[corner] = v if way == 1 else u
            first = int(np.ceil(min(across[0], across[1], across[2]))) - 1
            last = int(np.floor(max(across[0], across[1], across[2])))
            for plane in range(first, last + 1):
                cuts = 0
                for corner in range(3):
                    other = (corner + 1) % 3
                    if (across[corner] <= plane) == (across[other] <= plane):
                        continue
                    share = (plane - across[corner]) / (across[other] - across[corner])
                    if cuts < 2:
                        z0, z1 = flat[faces[face, corner], 2], flat[faces[face, other], 2]
                        cut_at[cuts] = along[corner] + share * (along[other] - along[corner])
                        cut_z[cuts] = z0 + share * (z1 - z0)
                    cuts += 1
                if cuts != 2:
                    continue
                here, there = (0, 1) if cut_at[0] <= cut_at[1] else (1, 0)
                start, stop = cut_at[here], cut_at[there]
                # a face just on a line belongs to the gap before it
                for gap in range(int(np.ceil(start)) - 1, int(np.ceil(stop))):
                    if way == 1:
                        i, j = plane, gap
                    elif way == 0:
                        i, j = gap, plane
                    elif way == 2:
                        i, j = gap, gap - plane
                    else:
                        i, j = gap, plane - gap
                    if i < 0 or i >= nx or j < 0 or j >= ny:
                        continue
                    lane = (i * ny + j) * 4 + way
                    if lanes[lane] == lanes[lane + 1]:
                        continue
                    z_start, z_stop = cut_z[here], cut_z[there]
                    if stop > start:
                        slope = (cut_z[there] - cut_z[here]) / (stop - start)
                        if start < gap:
                            z_start = cut_z[here] + slope * (gap - start)
                        if stop > gap + 1:
                            z_stop = cut_z[here] + slope * (gap + 1 - start)
                    bottom, top = min(z_start, z_stop), max(z_start, z_stop)
                    for pair in range(lanes[lane], lanes[lane + 1]):
                        if top - low[pair] <= LEAST_M or high[pair] - bottom <= LEAST_M:
                            continue
                        if fill:
                            pair_of[count], block_low[count], block_high[count] = pair, bottom, top
                        count += 1
    return count


@compiled
def _passages(
    low: Array, high: Array, pair_of: Index, block_low: Array, block_high: Array
) -> tuple[Array, Array, Flags]:
    """How far from either end of its reach each pair's passage lies; blocks sorted by pair, then by lower end."""
    short_low, short_high = np.zeros(len(low)), np.zeros(len(low))
    free = np.ones(len(low), dtype=np.bool_)
    row = 0
    while row < len(pair_of):
        pair = pair_of[row]
        reached, lowest, highest = low[pair], np.inf, -np.inf
        while row < len(pair_of) and pair_of[row] == pair:
            if block_low[row] - reached > LEAST_M:
                lowest, highest = min(lowest, reached), block_low[row]
            reached = max(reached, block_high[row])
            row += 1
        if high[pair] - reached > LEAST_M:
            lowest, highest = min(lowest, reached), high[pair]
        if highest < lowest:
            free[pair] = False
        else:
            short_low[pair], short_high[pair] = lowest - low[pair], high[pair] - highest
    return short_low, short_high, free

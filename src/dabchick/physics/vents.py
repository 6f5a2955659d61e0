"""The fewest new openings that let the air out at several attitudes, proven by integer programming.

At one attitude the join tree of the flooded space falls into pieces (arcs) between the heights at which possible
openings stand. A piece is let out when any opening stands at its top or higher on a branch that joins it. So the
air that stays in is a sum over pieces, each of which goes as soon as one opening of its own list is made: a covering
problem.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from dabchick.physics.columns import Columns
from dabchick.physics.compiled import compiled
from dabchick.physics.trapped_air import Mouth, activations, heights, root_of

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

SLACK = 1e-9
"""Share of the volumes by which a limit may be missed through rounding."""


class Pieces(NamedTuple):
    """The space at one attitude, cut at every possible opening."""

    volume: Array
    """(k,) [m3]"""
    let_out_by: Flags
    """(k, openings)"""


class Chosen(NamedTuple):
    """A set of openings."""

    taken: tuple[int, ...]
    trapped_m3: tuple[float, ...]
    """At each attitude."""
    unreached_m3: tuple[float, ...]
    """At each attitude, what stays in even with all of them made; it does not count against what may be left."""


def pieces(space: Columns, mouths: Sequence[Mouth], up: Array) -> Pieces:
    """Cut the space at one attitude at the heights of all openings, those that are there and those that might be.

    A branch at which no opening stands is counted with what it joins: it is let out by whatever lets that out.
    """
    ends, passages = heights(space, up)
    rows, levels, owners = activations(list(mouths), up, ends)
    volume, parent, mark = _cut(
        space.first, space.second, passages, np.argsort(-passages, kind="stable"), ends,
        space.x, space.y, space.low, space.high, up, space.spacing**2, rows, levels, owners, len(mouths),
    )  # fmt: skip
    let_out = np.zeros((len(volume), len(mouths)), dtype=np.bool_)
    # pieces come from the top down, so each is whole before what lies under it
    for piece in range(len(volume)):
        if mark[piece] >= 0:
            below = parent[piece]
            if below >= 0:
                let_out[below, mark[piece]] = True
        if parent[piece] >= 0:
            let_out[parent[piece]] |= let_out[piece]
    return Pieces(volume, let_out)


def choose(
    attitudes: Sequence[Pieces],
    there: Sequence[int],
    groups: Sequence[Sequence[int]],
    costs: Array,
    leave_m3: float,
) -> Chosen:
    """The cheapest groups of openings with which no attitude keeps more than `leave_m3`, then the least air.

    What no opening can let out does not count. `there` are the openings that exist; `costs` (g,) is what each group
    costs, such as its count of holes. Raises ValueError for a volume to leave that is not a number of 0 or more.
    """
    if not (np.isfinite(leave_m3) and leave_m3 >= 0.0):
        raise ValueError(f"The volume to leave is {leave_m3} m3. Give 0 or more.")
    members = np.zeros((attitudes[0].let_out_by.shape[1], len(groups)), dtype=np.bool_)
    for number, group in enumerate(groups):
        members[list(group), number] = True
    volumes, lists, owner = [], [], []
    for number, attitude in enumerate(attitudes):
        open_already = attitude.let_out_by[:, list(there)].any(axis=1)
        kept = ~open_already & (attitude.volume > 0.0)
        volumes.append(attitude.volume[kept])
        lists.append(attitude.let_out_by[kept].astype(int) @ members.astype(int) > 0)
        owner.append(np.full(int(kept.sum()), number))
    volume, covered, at = np.concatenate(volumes), np.concatenate(lists), np.concatenate(owner)

    def trapped(taken: Flags) -> Array:
        stays = ~(covered & taken).any(axis=1)
        return np.bincount(at, volume * stays, len(attitudes)).astype(np.float64)

    if len(groups) == 0:
        left = trapped(np.zeros(0, dtype=np.bool_))
        return Chosen((), tuple(left.tolist()), tuple(left.tolist()))
    least = trapped(np.ones(len(groups), dtype=np.bool_))
    limits = (leave_m3 + least) * (1.0 + SLACK) + 1e-15
    first = _solve(volume, covered, at, costs, limits, None)
    second = _solve(volume, covered, at, costs, limits, float(costs @ first))
    found = trapped(second)
    return Chosen(tuple(np.flatnonzero(second).tolist()), tuple(found.tolist()), tuple(least.tolist()))


def _solve(
    volume: Array, covered: Flags, at: Index, costs: Array, limits: Array, budget: float | None
) -> Flags:
    """Least cost within the limits, or with a budget the least volume within limits and budget."""
    pieces_, groups = covered.shape
    scale = max(float(volume.max(initial=0.0)), 1e-12)
    row, column = np.nonzero(covered)
    own = np.arange(pieces_)
    cover = coo_array(
        (np.ones(len(row) + pieces_), (np.append(row, own), np.append(column, groups + own))),
        shape=(pieces_, groups + pieces_),
    )
    held = coo_array((volume / scale, (at, groups + own)), shape=(len(limits), groups + pieces_))
    rules = [
        LinearConstraint(cover.tocsr(), 1.0, np.inf),
        LinearConstraint(held.tocsr(), -np.inf, limits / scale),
    ]
    aim = np.concatenate([costs, np.zeros(pieces_)])
    if budget is not None:
        rules.append(LinearConstraint(aim[None, :], -np.inf, budget + 1e-6))
        aim = np.concatenate([np.zeros(groups), volume / scale])
    whole = np.concatenate([np.ones(groups), np.zeros(pieces_)])
    solved = milp(aim, integrality=whole, bounds=Bounds(0.0, 1.0), constraints=rules)
    if solved.x is None:
        raise ArithmeticError(f"The choice of openings was not found: {solved.message}")
    return np.asarray(solved.x[:groups] > 0.5)


@compiled
def _filled(
    head: int, after: Index, x: Array, y: Array, low: Array, high: Array, up: Array, area: float, level: float
) -> float:
    """Volume above a height of all columns of a piece."""
    total = 0.0
    node = head
    while node >= 0:
        base = up[0] * x[node] + up[1] * y[node]
        start, stop = low[node], high[node]
        if up[2] > 1e-12:
            start = max(start, (level - base) / up[2])
        elif up[2] < -1e-12:
            stop = min(stop, (level - base) / up[2])
        elif base <= level:
            stop = start
        if stop > start:
            total += area * (stop - start)
        node = after[node]
    return total


@compiled
def _cut(
    first: Index, second: Index, passages: Array, order: Index, ends: Array,
    x: Array, y: Array, low: Array, high: Array, up: Array, area: float,
    rows: Index, levels: Array, owners: Index, openings: int,
) -> tuple[Array, Index, Index]:  # fmt: skip
    """Volume of each piece, the piece under it, and the opening at its foot (-1: a joint of two branches)."""
    count = len(ends)
    parent = np.arange(count)
    size = np.ones(count, dtype=np.int64)
    after = np.full(count, -1, dtype=np.int64)
    last = np.arange(count)
    told = np.zeros(count)
    marked = np.zeros(count, dtype=np.bool_)
    above = np.full(count, -1, dtype=np.int64)
    most = 3 * len(rows) + count + 16
    volume, under, mark = np.zeros(most), np.full(most, -1, dtype=np.int64), np.full(most, -1, dtype=np.int64)
    # pieces that end at a joint wait in a chain for the piece under it
    chained = np.full(most, -1, dtype=np.int64)
    found = 0
    event = 0
    for rank in range(len(order) + 1):
        height = passages[order[rank]] if rank < len(order) else -np.inf
        while event < len(rows) and levels[event] >= height:
            piece = root_of(parent, rows[event])
            if above[piece] >= 0 and mark[above[piece]] == owners[event]:
                # it stands open here already
                event += 1
                continue
            whole = _filled(piece, after, x, y, low, high, up, area, levels[event])
            volume[found], mark[found] = whole - told[piece], owners[event]
            waiting = above[piece]
            while waiting >= 0:
                under[waiting] = found
                waiting = chained[waiting]
            above[piece], told[piece], marked[piece] = found, whole, True
            found += 1
            event += 1
        if rank == len(order):
            break
        one, two = root_of(parent, first[order[rank]]), root_of(parent, second[order[rank]])
        if one == two:
            continue
        if size[one] < size[two]:
            one, two = two, one
        if marked[one] and marked[two]:
            for piece in (one, two):
                whole = _filled(piece, after, x, y, low, high, up, area, height)
                volume[found] = whole - told[piece]
                waiting = above[piece]
                while waiting >= 0:
                    under[waiting] = found
                    waiting = chained[waiting]
                above[piece], told[piece] = found, whole
                found += 1
            chained[above[one]] = above[two]
        elif marked[two]:
            above[one] = above[two]
        parent[two] = one
        after[last[one]] = two
        last[one] = last[two]
        size[one] += size[two]
        told[one] += told[two]
        marked[one] = marked[one] or marked[two]
    for node in range(count):
        if parent[node] == node:
            whole = _filled(node, after, x, y, low, high, up, area, -np.inf)
            if whole - told[node] <= 0.0:
                continue
            volume[found] = whole - told[node]
            waiting = above[node]
            while waiting >= 0:
                under[waiting] = found
                waiting = chained[waiting]
            found += 1
    return volume[:found].copy(), under[:found].copy(), mark[:found].copy()

"""Cells as something to look at: larger cells, and the closed surface round those that count."""

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.free_space import Array, Cells, Flags, Indices


def coarser_cells(flags: Flags, cells: Cells, factor: tuple[int, int, int]) -> tuple[Flags, Cells]:
    """Cells `factor` times as long, wide and high, true where at least half of the cells in them are.

    Their sides keep to the sides that the whole grid is laid out from, so that none straddles y = 0 or the level.
    """
    first = [int(np.floor(start / step)) for start, step in zip(cells.first, factor, strict=True)]
    last = [
        int(np.ceil((start + count) / step))
        for start, count, step in zip(cells.first, cells.shape, factor, strict=True)
    ]
    pads = [
        (start - low * step, high * step - start - count)
        for start, count, step, low, high in zip(cells.first, cells.shape, factor, first, last, strict=True)
    ]
    padded = np.pad(flags, pads)
    x, y, z = (high - low for low, high in zip(first, last, strict=True))
    counts = padded.reshape(x, factor[0], y, factor[1], z, factor[2]).sum(axis=(1, 3, 5))
    size = tuple(edge * step for edge, step in zip(cells.size_m, factor, strict=True))
    larger = Cells(cells.origin_m, (size[0], size[1], size[2]), (first[0], first[1], first[2]), (x, y, z))
    return np.asarray(2 * counts >= factor[0] * factor[1] * factor[2]), larger


def beside(flags: Flags) -> Flags:
    """True for each cell that is not true itself but shares a side with one that is."""
    padded = np.pad(flags, 1)
    found = np.zeros_like(padded)
    for axis in range(3):
        for step in (-1, 1):
            found |= np.roll(padded, step, axis=axis)
    return np.asarray((found & ~padded)[1:-1, 1:-1, 1:-1])


def outside_faces(flags: Flags, cells: Cells) -> tuple[Array, Indices]:
    """The closed surface round the cells that are true: vertices (n, 3) [m] and outward triangles (m, 3).

    Faces in a row that look the same way are joined into one along x (along y for those that look along x).
    The volume that the surface encloses is that of the cells; two cells that meet in an edge alone keep it twice.
    """
    corners: list[Array] = []
    padded = np.pad(flags, 1)
    for axis in range(3):
        along = 0 if axis != 0 else 1
        for sign in (-1, 1):
            open_faces = padded & ~np.roll(padded, -sign, axis=axis)
            corners.append(_quads(open_faces[1:-1, 1:-1, 1:-1], cells, axis, sign, along))
    quads = np.concatenate(corners)
    rows = 4 * np.arange(len(quads))[:, None]
    triangles = np.concatenate([rows + np.array([0, 1, 2]), rows + np.array([0, 2, 3])])
    return quads.reshape(-1, 3), triangles.astype(np.int64)


def _quads(open_faces: Flags, cells: Cells, axis: int, sign: int, along: int) -> Array:
    """(n, 4, 3) corners of the faces that look along `sign` of an axis, runs along another axis joined."""
    starts = open_faces & ~np.roll(_with_gap(open_faces, along), 1, axis=along)[_inner(along)]
    ends = open_faces & ~np.roll(_with_gap(open_faces, along), -1, axis=along)[_inner(along)]
    order = (*(entry for entry in range(3) if entry != along), along)
    # Sorted with the run's own axis last, the first start and the first end belong together, and so on.
    first, last = (np.argwhere(marks.transpose(order)) for marks in (starts, ends))
    low, high = np.empty_like(first), np.empty_like(last)
    low[:, order], high[:, order] = first, last
    high = high + 1
    if sign > 0:
        low[:, axis] = high[:, axis]
    else:
        high[:, axis] = low[:, axis]
    origin, size, start = np.array(cells.origin_m), np.array(cells.size_m), np.array(cells.first)
    ends_m = [origin + (start + corner) * size for corner in (low, high)]
    u, v = (axis + 1) % 3, (axis + 2) % 3
    turns = [(0, 0), (1, 0), (1, 1), (0, 1)] if sign > 0 else [(0, 0), (0, 1), (1, 1), (1, 0)]
    quads = np.empty((len(low), 4, 3))
    for corner, (at_u, at_v) in enumerate(turns):
        quads[:, corner, axis] = ends_m[0][:, axis]
        quads[:, corner, u] = ends_m[at_u][:, u]
        quads[:, corner, v] = ends_m[at_v][:, v]
    return quads


def _with_gap(flags: Flags, axis: int) -> NDArray[np.bool_]:
    """With a layer of nothing before and behind along an axis."""
    return np.pad(flags, [(1, 1) if entry == axis else (0, 0) for entry in range(3)])


def _inner(axis: int) -> tuple[slice, slice, slice]:
    x, y, z = (slice(1, -1) if entry == axis else slice(None) for entry in range(3))
    return x, y, z

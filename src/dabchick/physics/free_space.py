"""Free space in a grid of cells: what closed meshes fill, what their faces touch, and the largest empty box.

A cell that no face touches lies wholly inside or wholly outside every mesh, so its middle speaks for all
of it. Boxes made of such cells are therefore empty to the last corner, whatever the size of the cells.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.compiled import compiled

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Flags = NDArray[np.bool_]

SHRINK = 1.0 - 1e-9
"""Cells are taken this much smaller, so that a face lying in a cell's own side does not touch it."""


@dataclass(frozen=True)
class Cells:
    """A regular grid of boxes; side i along an axis lies at `origin_m + (first + i) * size_m`."""

    origin_m: tuple[float, float, float]
    size_m: tuple[float, float, float]
    first: tuple[int, int, int]
    shape: tuple[int, int, int]

    def side(self, axis: int, index: int) -> float:
        """Coordinate [m] of the low side of cell `index`; `shape[axis]` gives the far side of the grid."""
        return self.origin_m[axis] + (self.first[axis] + index) * self.size_m[axis]

    def centres(self, axis: int) -> Array:
        """Coordinates (n,) [m] of the middles of the cells along one axis."""
        steps = np.arange(self.shape[axis], dtype=np.float64) + (self.first[axis] + 0.5)
        centres: Array = self.origin_m[axis] + steps * self.size_m[axis]
        return centres

    def window(self, low: Array, high: Array) -> tuple["Cells", tuple[slice, slice, slice]]:
        """The part of the grid that the box `low`..`high` [m] reaches, and its place in this grid."""
        slices: list[slice] = []
        for axis in range(3):
            ends = (low[axis], high[axis])
            steps = [(end - self.origin_m[axis]) / self.size_m[axis] - self.first[axis] for end in ends]
            start = int(np.clip(np.floor(steps[0]) - 1, 0, self.shape[axis]))
            stop = int(np.clip(np.ceil(steps[1]) + 1, start, self.shape[axis]))
            slices.append(slice(start, stop))
        x, y, z = slices
        first = (self.first[0] + x.start, self.first[1] + y.start, self.first[2] + z.start)
        shape = (x.stop - x.start, y.stop - y.start, z.stop - z.start)
        return Cells(self.origin_m, self.size_m, first, shape), (x, y, z)

    @property
    def count(self) -> int:
        return self.shape[0] * self.shape[1] * self.shape[2]

    @property
    def volume_m3(self) -> float:
        """Volume of one cell [m3]."""
        return self.size_m[0] * self.size_m[1] * self.size_m[2]


def cells_over(low: Array, high: Array, size: Array, level: float, most: int = 2_000_000) -> Cells:
    """A grid over the box `low`..`high` [m] of cells of `size` (3,) [m], larger if they would be over `most`.

    The grid is mirrored about y = 0 and has a layer of sides at z = `level` [m], so that a boat's two halves
    are treated alike and no cell straddles her waterline. Raises ValueError for a box without extent or NaN.
    """
    corners = np.array([*low, *high, *size, level])
    if not np.all(np.isfinite(corners)) or np.any(high <= low) or np.any(size <= 0):
        raise ValueError(
            f"A grid needs a box with extent, cells above 0 m and a finite level; "
            f"given {low} to {high}, cells {size}, level {level}."
        )
    half_width = max(abs(float(low[1])), abs(float(high[1])))
    low = np.array([low[0], -half_width, low[2]])
    high = np.array([high[0], half_width, high[2]])
    origin = np.array([low[0], 0.0, level])
    while True:
        first = np.floor((low - origin) / size + 1e-9).astype(np.int64)
        last = np.ceil((high - origin) / size - 1e-9).astype(np.int64)
        first[1], last[1] = -max(-first[1], last[1]), max(-first[1], last[1])
        shape = last - first
        if int(np.prod(shape)) <= most:
            return Cells(
                (float(origin[0]), 0.0, float(origin[2])),
                (float(size[0]), float(size[1]), float(size[2])),
                (int(first[0]), int(first[1]), int(first[2])),
                (int(shape[0]), int(shape[1]), int(shape[2])),
            )
        size = size * max(1.02, (float(np.prod(shape)) / most) ** (1 / 3))


def winding(vertices: Array, faces: Indices, cells: Cells) -> NDArray[np.int32]:
    """How often a closed mesh (n,3) [m], (m,3) winds round the middle of each cell.

    1 inside, 0 outside, -1 where the mesh is turned inside out. Counted along upright columns; a column
    through an edge or a vertex is decided as if it stood an infinitesimal step aside, so each crossing is
    counted once. Exact but where a face passes within rounding of a cell's middle.
    """
    marks = np.zeros((cells.shape[0], cells.shape[1], cells.shape[2] + 1), dtype=np.int32)
    _mark_crossings(
        vertices, faces, np.array(cells.origin_m), np.array(cells.size_m), np.array(cells.first), marks
    )
    above: NDArray[np.int32] = np.cumsum(marks[:, :, ::-1], axis=2, dtype=np.int32)[:, :, ::-1]
    return np.ascontiguousarray(above[:, :, 1:])


def touch(vertices: Array, faces: Indices, cells: Cells, clearance_m: float, out: Flags) -> None:
    """Set `out` (shape of `cells`) true where a face comes nearer to the cell than `clearance_m`.

    The cell grown by the clearance on every side is tested against each triangle by separating axes; this
    holds off at least the Euclidean clearance. Touching from outside does not count.
    """
    half = (np.array(cells.size_m) / 2 + clearance_m) * SHRINK
    _touch(
        vertices, faces, np.array(cells.origin_m), np.array(cells.size_m), np.array(cells.first), half, out
    )


Box = tuple[tuple[int, int, int], tuple[int, int, int]]
"""First cell and one past the last cell, along each axis."""


def largest_box(free: Flags, size: Array, least: Array, mirrored: bool = False) -> Box | None:
    """The box of cells with the greatest volume that holds free cells only; None when none is large enough.

    `size` (3,) [m] is that of a cell, `least` (3,) [m] the shortest edges allowed. With `mirrored`, `free` is
    one half of a space mirrored at the low side of its second axis, so a box that reaches that side counts
    twice as wide for `least` (its volume does not: every box has a twin). Ties go to the lowest indices.
    Found by trying every range of sections, with the largest rectangle that they have in common.
    """
    best = np.zeros(6, dtype=np.int64)
    least_cells = np.maximum(1, np.ceil(least / size - 1e-9)).astype(np.int64)
    least_at_mirror = (
        max(1, int(np.ceil(least[1] / (2 * size[1]) - 1e-9))) if mirrored else int(least_cells[1])
    )
    if not _largest_box(np.ascontiguousarray(free), least_cells, least_at_mirror, best):
        return None
    i0, i1, j0, j1, k0, k1 = (int(index) for index in best)
    return (i0, j0, k0), (i1, j1, k1)


@compiled
def side_of(ax: float, ay: float, bx: float, by: float, px: float, py: float) -> int:
    """On which side of a-b the point lies: 1, -1, or 0 for an edge without length.

    In a tie p counts as moved by (e, e^2), e infinitesimal. The ends are put in order first, so both faces at
    an edge get the very same rounding.
    """
    swap = 1
    if ax > bx or (ax == bx and ay > by):
        ax, ay, bx, by = bx, by, ax, ay
        swap = -1
    turn = (bx - ax) * (py - ay) - (by - ay) * (px - ax)
    if turn == 0.0:
        turn = -(by - ay)
        if turn == 0.0:
            turn = bx - ax
    if turn > 0.0:
        return swap
    if turn < 0.0:
        return -swap
    return 0


@compiled
def _mark_crossings(
    vertices: Array, faces: Indices, origin: Array, size: Array, first: Indices, marks: NDArray[np.int32]
) -> None:
    """Add the sign of each crossing of a column at the first cell whose middle is not below it."""
    nx, ny, nz = marks.shape[0], marks.shape[1], marks.shape[2] - 1
    for face in range(faces.shape[0]):
        a, b, c = faces[face, 0], faces[face, 1], faces[face, 2]
        ax, ay, az = vertices[a, 0], vertices[a, 1], vertices[a, 2]
        bx, by, bz = vertices[b, 0], vertices[b, 1], vertices[b, 2]
        cx, cy, cz = vertices[c, 0], vertices[c, 1], vertices[c, 2]
        x_low = (min(ax, bx, cx) - origin[0]) / size[0] - first[0]
        x_high = (max(ax, bx, cx) - origin[0]) / size[0] - first[0]
        y_low = (min(ay, by, cy) - origin[1]) / size[1] - first[1]
        y_high = (max(ay, by, cy) - origin[1]) / size[1] - first[1]
        i0, i1 = max(0, int(np.floor(x_low - 0.5))), min(nx - 1, int(np.ceil(x_high - 0.5)))
        j0, j1 = max(0, int(np.floor(y_low - 0.5))), min(ny - 1, int(np.ceil(y_high - 0.5)))
        z_low, z_high = min(az, bz, cz), max(az, bz, cz)
        area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        for i in range(i0, i1 + 1):
            px = origin[0] + (first[0] + i + 0.5) * size[0]
            for j in range(j0, j1 + 1):
                py = origin[1] + (first[1] + j + 0.5) * size[1]
                side = side_of(ax, ay, bx, by, px, py)
                if side == 0 or side != side_of(bx, by, cx, cy, px, py):
                    continue
                if side != side_of(cx, cy, ax, ay, px, py):
                    continue
                z = z_high
                if area != 0.0:
                    to_b = ((px - ax) * (cy - ay) - (py - ay) * (cx - ax)) / area
                    to_c = ((bx - ax) * (py - ay) - (by - ay) * (px - ax)) / area
                    z = min(max(az + to_b * (bz - az) + to_c * (cz - az), z_low), z_high)
                step = np.ceil((z - origin[2]) / size[2] - first[2] - 0.5)
                marks[i, j, int(min(max(step, 0.0), float(nz)))] += side


@compiled
def _apart(
    ux: float,
    uy: float,
    uz: float,
    px: float,
    py: float,
    pz: float,
    qx: float,
    qy: float,
    qz: float,
    half: Array,
) -> bool:
    """Whether a cross axis of edge u parts box and triangle; p: an end of the edge, q: the third corner."""
    first, second = uz * py - uy * pz, uz * qy - uy * qz
    reach = half[1] * abs(uz) + half[2] * abs(uy)
    if reach > 0.0 and (min(first, second) >= reach or max(first, second) <= -reach):
        return True
    first, second = ux * pz - uz * px, ux * qz - uz * qx
    reach = half[0] * abs(uz) + half[2] * abs(ux)
    if reach > 0.0 and (min(first, second) >= reach or max(first, second) <= -reach):
        return True
    first, second = uy * px - ux * py, uy * qx - ux * qy
    reach = half[0] * abs(uy) + half[1] * abs(ux)
    return bool(reach > 0.0 and (min(first, second) >= reach or max(first, second) <= -reach))


@compiled
def _touch(
    vertices: Array, faces: Indices, origin: Array, size: Array, first: Indices, half: Array, out: Flags
) -> None:
    start, stop = np.empty(3, dtype=np.int64), np.empty(3, dtype=np.int64)
    for face in range(faces.shape[0]):
        a, b, c = vertices[faces[face, 0]], vertices[faces[face, 1]], vertices[faces[face, 2]]
        for axis in range(3):
            shift = origin[axis] + (first[axis] + 0.5) * size[axis]
            low = (min(a[axis], b[axis], c[axis]) - half[axis] - shift) / size[axis]
            high = (max(a[axis], b[axis], c[axis]) + half[axis] - shift) / size[axis]
            start[axis] = max(0, int(np.floor(low)))
            stop[axis] = min(out.shape[axis], int(np.ceil(high)) + 1)
        ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
        vx, vy, vz = c[0] - b[0], c[1] - b[1], c[2] - b[2]
        wx, wy, wz = a[0] - c[0], a[1] - c[1], a[2] - c[2]
        mx, my, mz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        normal_reach = half[0] * abs(mx) + half[1] * abs(my) + half[2] * abs(mz)
        for i in range(start[0], stop[0]):
            x = origin[0] + (first[0] + i + 0.5) * size[0]
            ax, bx, cx = a[0] - x, b[0] - x, c[0] - x
            if min(ax, bx, cx) >= half[0] or max(ax, bx, cx) <= -half[0]:
                continue
            for j in range(start[1], stop[1]):
                y = origin[1] + (first[1] + j + 0.5) * size[1]
                ay, by, cy = a[1] - y, b[1] - y, c[1] - y
                if min(ay, by, cy) >= half[1] or max(ay, by, cy) <= -half[1]:
                    continue
                for k in range(start[2], stop[2]):
                    if out[i, j, k]:
                        continue
                    z = origin[2] + (first[2] + k + 0.5) * size[2]
                    az, bz, cz = a[2] - z, b[2] - z, c[2] - z
                    if min(az, bz, cz) >= half[2] or max(az, bz, cz) <= -half[2]:
                        continue
                    if normal_reach > 0.0 and abs(mx * ax + my * ay + mz * az) >= normal_reach:
                        continue
                    if (
                        _apart(ux, uy, uz, ax, ay, az, cx, cy, cz, half)
                        or _apart(vx, vy, vz, bx, by, bz, ax, ay, az, half)
                        or _apart(wx, wy, wz, cx, cy, cz, bx, by, bz, half)
                    ):
                        continue
                    out[i, j, k] = True


@compiled
def _largest_rectangle(section: Flags, least: Indices, least_at_mirror: int, best: Indices) -> int:
    """Area in cells of the largest free rectangle of a section (ny, nz), ranges into `best`; 0 for none."""
    ny, nz = section.shape
    run = np.zeros(nz, dtype=np.int64)
    stack = np.empty(nz + 1, dtype=np.int64)
    greatest = 0
    for j in range(ny):
        for k in range(nz):
            run[k] = run[k] + 1 if section[j, k] else 0
        depth = 0
        for k in range(nz + 1):
            height = run[k] if k < nz else 0
            while depth > 0 and run[stack[depth - 1]] >= height:
                wide = run[stack[depth - 1]]
                depth -= 1
                start = stack[depth - 1] + 1 if depth > 0 else 0
                needed = least_at_mirror if wide == j + 1 else least[1]
                if wide >= needed and k - start >= least[2] and wide * (k - start) > greatest:
                    greatest = wide * (k - start)
                    best[0], best[1], best[2], best[3] = j + 1 - wide, j + 1, start, k
            stack[depth] = k
            depth += 1
    return greatest


@compiled
def _largest_box(free: Flags, least: Indices, least_at_mirror: int, best: Indices) -> bool:
    nx, ny, nz = free.shape
    greatest = 0
    ranges = np.empty(4, dtype=np.int64)
    for i0 in range(nx):
        common = free[i0].copy()
        for i1 in range(i0 + 1, nx + 1):
            count = 0
            for j in range(ny):
                for k in range(nz):
                    common[j, k] = common[j, k] and free[i1 - 1, j, k]
                    count += common[j, k]
            if count * (nx - i0) <= greatest:
                break
            if i1 - i0 < least[0] or count * (i1 - i0) <= greatest:
                continue
            area = _largest_rectangle(common, least, least_at_mirror, ranges)
            if area * (i1 - i0) > greatest:
                greatest = area * (i1 - i0)
                best[0], best[1] = i0, i1
                best[2:] = ranges
    return greatest > 0

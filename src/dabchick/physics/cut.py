"""The cut of solids by a water plane: volume, moments, waterplane and wetted area, many solids at once.

A plane is n.x = d with n a unit vector up; the part with n.x < d is under water.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from dabchick.physics.clusters import SUM_SIZE, ClusterTree
from dabchick.physics.compiled import compiled
from dabchick.physics.cut_mesh import WORK_SIZE, cut_mesh, lowest_of_mesh
from dabchick.physics.cut_revolved import PIECE_SIZE, cut_piece, highest_of_piece
from dabchick.physics.solid import Solid
from dabchick.physics.surfaces import MeshSurface, RevolvedSurface

Array = NDArray[np.float64]
Index = NDArray[np.int64]

CUT_SIZE = 18
"""0 volume; 1:4 int x dV; 4 waterplane area; 5:8 int x dA over it; 8:14 int x x^T dA over it as xx, yy, zz,
xy, xz, yz; 14 wetted area; 15:18 int x dA over that. All in the body frame about its origin."""


class Forest(NamedTuple):
    """All surfaces of many solids as arrays that compiled code reads."""

    kinds: Index
    """(s, 3) per surface: 0 mesh or 1 revolved; first and end of its nodes or pieces."""
    places: Array
    """(s, 6) weight, area weight, middle (3) and reach of the local coordinates [m]."""
    points: Array
    packed: NDArray[np.uint32]
    areas: Array
    boxes: Array
    links: Index
    sums: Array
    """The cluster trees of all meshes, end to end; see `clusters.ClusterTree`."""
    pieces: Array
    """(p, 18) all pieces of round surfaces; see `cut_revolved.PIECE_SIZE`."""


class Cut(NamedTuple):
    """What lies below a plane, in the body frame about its origin."""

    volume: float
    """[m3]"""
    moment: Array
    """(3,) int x dV [m4]"""
    waterplane_area: float
    """[m2]"""
    waterplane_moment: Array
    """(3,) int x dA over the waterplane [m3]"""
    waterplane_second: Array
    """(3, 3) int x x^T dA over the waterplane [m4]"""
    wetted_area: float
    """[m2]"""
    wetted_moment: Array
    """(3,) int x dA over the wetted faces [m3]"""


def forest(solids: Sequence[Solid]) -> tuple[Forest, Index]:
    """Lay out solids for cutting; by the second result (k+1,) solid i owns surfaces starts[i]:starts[i+1]."""
    starts = np.cumsum([0, *(len(solid.surfaces) for solid in solids)], dtype=np.int64)
    surfaces = [surface for solid in solids for surface in solid.surfaces]
    kinds = np.zeros((len(surfaces), 3), dtype=np.int64)
    places = np.zeros((len(surfaces), 6))
    trees: list[ClusterTree] = []
    links: list[Index] = []
    pieces: list[Array] = []
    nodes = triangles = points = rounds = 0
    for number, surface in enumerate(surfaces):
        places[number, 0:2] = surface.weight, surface.area_weight
        if isinstance(surface, MeshSurface):
            tree = surface.shape.tree
            kinds[number] = 0, nodes, nodes + len(tree.boxes)
            places[number, 2:5] = surface.shift
            places[number, 5] = float(np.linalg.norm(surface.shape.half_size) + np.linalg.norm(surface.shift))
            trees.append(tree)
            links.append(tree.links + np.array([nodes, triangles, triangles, points, points]))
            nodes += len(tree.boxes)
            triangles += len(tree.packed)
            points += len(tree.points) // 3
        else:
            rows = _piece_rows(surface)
            kinds[number] = 1, rounds, rounds + len(rows)
            pieces.append(rows)
            rounds += len(rows)
    laid_out = Forest(
        kinds,
        places,
        np.concatenate([np.zeros(0), *(tree.points for tree in trees)]),
        np.concatenate([np.zeros(0, dtype=np.uint32), *(tree.packed for tree in trees)]),
        np.concatenate([np.zeros(0), *(tree.areas for tree in trees)]),
        np.concatenate([np.zeros((0, 6)), *(tree.boxes for tree in trees)]),
        np.concatenate([np.zeros((0, 5), dtype=np.int64), *links]),
        np.concatenate([np.zeros((0, SUM_SIZE)), *(tree.sums for tree in trees)]),
        np.concatenate([np.zeros((0, PIECE_SIZE)), *pieces]),
    )
    return laid_out, starts


def _piece_rows(surface: RevolvedSurface) -> Array:
    """Each piece about the middle of its own length, which keeps rounding small."""
    rows = np.zeros((len(surface.pieces), PIECE_SIZE))
    last = len(rows) - 1
    for index, (w0, w1, q0, q1, q2) in enumerate(surface.pieces):
        middle, half = 0.5 * (w0 + w1), 0.5 * (w1 - w0)
        row = rows[index]
        row[0:3] = surface.point + middle * surface.direction
        row[3:6] = surface.direction
        row[6:11] = -half, half, q0 + middle * (q1 + middle * q2), q1 + 2.0 * q2 * middle, q2
        peak = -0.5 * q1 / q2 if q2 < 0.0 else w0
        row[11] = max(surface.radius(index, w) for w in (w0, w1, min(max(peak, w0), w1)))
        row[12] = float(index == 0 and surface.radius(index, w0) > 0.0)
        row[13] = float(index == last and surface.radius(index, w1) > 0.0)
        whole = surface.whole[index]
        row[14] = whole[0]
        row[15] = whole[1] - middle * whole[0]
        row[16] = whole[4]
        row[17] = whole[5] - middle * whole[4]
        for end, w in enumerate((w0, w1)):
            if row[12 + end] > 0.0:
                disc = np.pi * surface.radius(index, w) ** 2
                row[16] += disc
                row[17] += disc * (w - middle)
    return rows


@compiled
def cut_into(
    forest: Forest, first: int, last: int, nx: float, ny: float, nz: float, d: float, out: Array
) -> None:
    """Add the cut of surfaces first:last by n.x < d, n a unit vector, into out (18,) as at `CUT_SIZE`."""
    work = np.empty(WORK_SIZE)
    for number in range(first, last):
        weight, area_weight = forest.places[number, 0], forest.places[number, 1]
        if forest.kinds[number, 0] == 0:
            cut_mesh(
                forest.points, forest.packed, forest.areas, forest.boxes, forest.links, forest.sums,
                forest.kinds[number, 1], forest.kinds[number, 2], nx, ny, nz, d,
                forest.places[number, 2], forest.places[number, 3], forest.places[number, 4],
                forest.places[number, 5], weight, area_weight, work, out,
            )  # fmt: skip
        else:
            for row in range(forest.kinds[number, 1], forest.kinds[number, 2]):
                cut_piece(forest.pieces[row], nx, ny, nz, d, weight, area_weight, out)


@compiled
def lowest(forest: Forest, first: int, last: int, nx: float, ny: float, nz: float) -> float:
    """Least n.x [m] over surfaces first:last; the highest point is -lowest(..., -n)."""
    best = np.inf
    for number in range(first, last):
        if forest.kinds[number, 0] == 0:
            height = lowest_of_mesh(
                forest.points, forest.boxes, forest.links,
                forest.kinds[number, 1], forest.kinds[number, 2], nx, ny, nz,
            ) + (
                nx * forest.places[number, 2] + ny * forest.places[number, 3] + nz * forest.places[number, 4]
            )  # fmt: skip
            best = min(best, height)
        else:
            for row in range(forest.kinds[number, 1], forest.kinds[number, 2]):
                best = min(best, -highest_of_piece(forest.pieces[row], -nx, -ny, -nz))
    return best


@compiled
def _cut_each(forest: Forest, first: int, last: int, normals: Array, offsets: Array, out: Array) -> None:
    for row in range(len(offsets)):
        nx, ny, nz = normals[row, 0], normals[row, 1], normals[row, 2]
        cut_into(forest, first, last, nx, ny, nz, offsets[row], out[row])


def cut_many(
    forest: Forest, normals: ArrayLike, offsets: ArrayLike, first: int = 0, last: int | None = None
) -> Array:
    """The cuts (k, 18) by many planes, normals (k, 3) unit and offsets (k,) [m], in one compiled call."""
    up = np.ascontiguousarray(normals, dtype=np.float64)
    levels = np.ascontiguousarray(offsets, dtype=np.float64)
    if up.ndim != 2 or up.shape[1] != 3 or levels.shape != (len(up),):
        raise ValueError(f"Planes need normals (k, 3) and offsets (k,); given {up.shape} and {levels.shape}.")
    lengths = np.sqrt(np.einsum("ki,ki->k", up, up))
    if not np.all(np.abs(lengths - 1.0) <= 1e-9):
        row = int(np.argmax(~(np.abs(lengths - 1.0) <= 1e-9)))
        raise ValueError(f"Plane {row} has the normal {up[row]}. Give a unit vector.")
    if not np.isfinite(levels).all():
        row = int(np.argmin(np.isfinite(levels)))
        raise ValueError(f"Plane {row} stands at {levels[row]}. Give a finite level in metres.")
    end = len(forest.kinds) if last is None else last
    if not 0 <= first <= end <= len(forest.kinds):
        raise ValueError(f"Surfaces {first}:{end} are not all there; the forest holds {len(forest.kinds)}.")
    out = np.zeros((len(levels), CUT_SIZE))
    _cut_each(forest, first, end, up, levels, out)
    return out


def whole(forest: Forest, first: int = 0, last: int | None = None) -> Cut:
    """All of surfaces first:last under water, the waterplane nothing."""
    end = len(forest.kinds) if last is None else last
    above = 1.0 - lowest(forest, first, end, 0.0, 0.0, -1.0) if end > first else 0.0
    return cut(forest, (0.0, 0.0, 1.0), above, first, last)


def cut(forest: Forest, normal: ArrayLike, offset: float, first: int = 0, last: int | None = None) -> Cut:
    """What of surfaces first:last lies below n.x = offset [m], n a unit vector; ValueError on a bad plane."""
    up = np.asarray(normal, dtype=np.float64)
    if up.shape != (3,):
        raise ValueError(f"A plane's normal needs three numbers; given {normal!r}.")
    return as_cut(cut_many(forest, up[None, :], np.array([offset], dtype=np.float64), first, last)[0])


def as_cut(row: Array) -> Cut:
    """The 18 numbers of `CUT_SIZE` by name."""
    xx, yy, zz, xy, xz, yz = row[8:14]
    second = np.array([[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]])
    return Cut(
        float(row[0]),
        row[1:4].copy(),
        float(row[4]),
        row[5:8].copy(),
        second,
        float(row[14]),
        row[15:18].copy(),
    )

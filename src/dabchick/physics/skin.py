"""Skins: material of a given thickness inside or outside a closed surface."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from dabchick.physics.ray import free_lengths
from dabchick.physics.solid import Solid
from dabchick.physics.surfaces import MeshSurface, mesh_surface

Array = NDArray[np.float64]
Index = NDArray[np.int64]

_FARTHEST = 20.0
"""Most that a vertex moves, in thicknesses: at an edge sharper than 6 degrees the wall comes out thin."""


def offset_inward(vertices: ArrayLike, faces: ArrayLike, thickness: float) -> Array:
    """Vertices (n, 3) moved so that each face moves inward by `thickness` [m] (outward when negative).

    Each vertex moves to where its faces' planes meet, in least squares; exact where three planes meet, as at
    a box's corners. Where the body is thinner than two thicknesses (or, outward, a gap narrower) both sides
    meet half way, so that a thin fin has nothing inside. A vertex moves 20 thicknesses at most.
    """
    return offset_surface(mesh_surface(vertices, faces), thickness)


def offset_surface(surface: MeshSurface, thickness: float) -> Array:
    """`offset_inward` of a surface that is there already, whose clusters then need not be made again."""
    if not np.isfinite(thickness):
        raise ValueError(f"The skin is {thickness} m thick. Give a finite thickness in metres.")
    if thickness == 0.0:
        return surface.vertices
    return np.asarray(surface.vertices + _moves(surface, thickness))


def skin(vertices: ArrayLike, faces: ArrayLike, thickness: float, outside: bool = False) -> Solid:
    """Material of `thickness` [m] inside (or outside) a closed surface; the outermost face is wetted."""
    if not (np.isfinite(thickness) and thickness > 0.0):
        raise ValueError(f"The skin is {thickness} m thick. Give a thickness above 0 in metres.")
    given = np.asarray(vertices, dtype=np.float64)
    other = offset_inward(given, faces, -thickness if outside else thickness)
    if outside:
        return Solid((mesh_surface(other, faces), mesh_surface(given, faces, -1.0, 0.0)))
    inner = mesh_surface(other, faces, -1.0, 0.0)
    if inner.bulk().volume <= 0.0:
        # both sides met everywhere: what is left is rounding, and folds where the middle is not smooth
        return Solid((mesh_surface(given, faces),))
    return Solid((mesh_surface(given, faces), inner))


def _moves(surface: MeshSurface, thickness: float) -> Array:
    """(n, 3) how each vertex moves [m]."""
    # vertices in one place move as one, or a mesh whose faces share none would come apart
    places, where = _merged(surface.shape.vertices)
    moves = -thickness * _plane_meetings(places, where[surface.faces])
    lengths = np.sqrt(np.einsum("vi,vi->v", moves, moves))
    moving = np.flatnonzero(lengths > 0.0)
    rays = np.ascontiguousarray(moves[moving] / lengths[moving, None])
    tree = surface.shape.tree
    room = free_lengths(
        tree.points,
        tree.packed,
        tree.boxes,
        tree.links,
        np.ascontiguousarray(places[moving]),
        rays,
        2.0 * lengths[moving],
        float(np.sign(thickness)),
    )
    moves[moving] = 0.5 * room[:, None] * rays
    return np.asarray(moves[where])


def _merged(vertices: Array) -> tuple[Array, Index]:
    """The different places among vertices (n, 3), and the place of each."""
    order = np.lexsort(vertices.T)
    ranked = vertices[order]
    new = np.concatenate([[True], np.any(ranked[1:] != ranked[:-1], axis=1)])
    where = np.empty(len(vertices), dtype=np.int64)
    where[order] = np.cumsum(new) - 1
    return ranked[new], where


def _plane_meetings(vertices: Array, faces: Index) -> Array:
    """(n, 3) x with n_f . x = 1 for the faces f at each vertex, least squares weighted by corner angle."""
    corners = vertices[faces]
    edges = np.roll(corners, -1, axis=1) - corners
    normals = np.cross(edges[:, 0], -edges[:, 2])
    doubled = np.sqrt(np.einsum("mi,mi->m", normals, normals))
    longest = np.einsum("mci,mci->mc", edges, edges).max(axis=1)
    sound = doubled > 1e-10 * longest
    normals = normals[sound] / doubled[sound, None]
    edges, used = edges[sound], faces[sound]
    back = -np.roll(edges, 1, axis=1)
    crosses = np.cross(edges, back)
    angles = np.arctan2(
        np.sqrt(np.einsum("mci,mci->mc", crosses, crosses)), np.einsum("mci,mci->mc", edges, back)
    )

    count = len(vertices)
    flat = used.ravel()
    weights = angles.ravel()
    normal = np.repeat(normals, 3, axis=0)
    matrix = np.empty((count, 3, 3))
    right = np.empty((count, 3))
    for i in range(3):
        right[:, i] = np.bincount(flat, weights * normal[:, i], count)
        for j in range(i + 1):
            entry = np.bincount(flat, weights * normal[:, i] * normal[:, j], count)
            matrix[:, i, j] = matrix[:, j, i] = entry
    values, axes = np.linalg.eigh(matrix)
    # along directions of which the faces say nothing (flat ground, the run of an edge) the vertex stays
    told = values > 1e-6 * np.maximum(values[:, -1:], 1e-300)
    inverse = np.where(told, 1.0 / np.where(told, values, 1.0), 0.0)
    meeting = np.einsum("vij,vj->vi", axes, np.einsum("vij,vi->vj", axes, right) * inverse)
    size = np.sqrt(np.einsum("vi,vi->v", meeting, meeting))
    meeting *= np.minimum(1.0, _FARTHEST / np.maximum(size, 1e-300))[:, None]
    return _with_neighbours(meeting, size > 0.0, faces)


def _with_neighbours(moves: Array, known: NDArray[np.bool_], faces: Index) -> Array:
    """Vertices that only faces without area touch move with the mean of their neighbours."""
    used = np.zeros(len(moves), dtype=np.bool_)
    used[faces.ravel()] = True
    pairs = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    pairs = np.concatenate([pairs, pairs[:, ::-1]])
    while True:
        lost = used & ~known
        reached = pairs[lost[pairs[:, 0]] & known[pairs[:, 1]]]
        if len(reached) == 0:
            return moves
        number = np.bincount(reached[:, 0], minlength=len(moves))
        for axis in range(3):
            total = np.bincount(reached[:, 0], moves[reached[:, 1], axis], len(moves))
            moves[number > 0, axis] = total[number > 0] / number[number > 0]
        known = known | (number > 0)

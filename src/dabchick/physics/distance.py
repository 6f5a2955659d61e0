"""Distance from a point to a surface of triangles."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def distance_to_triangles(corners: Array, point: Array) -> float:
    """Least distance [m] from a point (3,) to triangles (m, 3, 3) [m]; a triangle without area is its edges.

    The least of the distances to the three edges, and to the plane where the foot of the normal falls within.
    Raises ValueError when there are no triangles.
    """
    if len(corners) == 0:
        raise ValueError("There are no triangles to measure to. Give a surface.")
    rel = corners - point
    edges = np.roll(rel, -1, axis=1) - rel
    normals = np.cross(edges[:, 0], edges[:, 1])
    squares = np.einsum("mij,mij->mi", edges, edges)
    along = -np.einsum("mij,mij->mi", rel, edges) / np.where(squares > 0.0, squares, 1.0)
    feet = rel + np.clip(along, 0.0, 1.0)[:, :, None] * edges
    least = float(np.sqrt(np.einsum("mij,mij->mi", feet, feet).min()))
    inward = np.einsum("mij,mij->mi", np.cross(normals[:, None, :], edges), -rel)
    sizes = np.sqrt(np.einsum("mi,mi->m", normals, normals))
    within = (inward > 0.0).all(axis=1) & (sizes > 0.0)
    if within.any():
        heights = np.abs(np.einsum("mi,mi->m", rel[within, 0], normals[within])) / sizes[within]
        least = min(least, float(heights.min()))
    return least

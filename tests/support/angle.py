"""Whether points lie in a closed mesh, by a way that shares nothing with counting along columns."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def turns_round(vertices: Array, faces: NDArray[np.int64], points: Array) -> Array:
    """Times (k,) that a mesh winds round each point (k, 3): the solid angles of its faces over 4 pi."""
    turns = np.empty(len(points))
    for row, point in enumerate(points):
        a, b, c = np.moveaxis(vertices[faces] - point, 1, 0)
        la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
        dots = [np.sum(first * second, axis=1) for first, second in ((a, b), (b, c), (c, a))]
        triple = np.sum(a * np.cross(b, c), axis=1)
        turns[row] = np.arctan2(triple, la * lb * lc + dots[0] * lc + dots[1] * la + dots[2] * lb).sum()
    return turns / (2.0 * np.pi)

"""How far the faces of a mesh stand off a point across the boat: the nearest wall to port and to starboard."""

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.compiled import compiled
from dabchick.physics.free_space import Array, Indices, side_of


def walls_beside(
    vertices: Array, faces: Indices, x: Array, z: Array, y: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """y of the nearest face to starboard and to port of (x_i, y, z_j), each (n, m) [m]; -inf and inf where none.

    With y = -inf the second is the least y of the mesh there, with y = inf the first the greatest. A ray through
    an edge is decided as if it stood an infinitesimal step aside. Mesh (n, 3) [m], (m, 3); x (n,), z (m,) rising [m].
    """
    starboard, port = np.full((len(x), len(z)), -np.inf), np.full((len(x), len(z)), np.inf)
    _walls(vertices, faces, x, z, y, starboard, port)
    return starboard, port


@compiled
def _walls(
    vertices: Array, faces: Indices, xs: Array, zs: Array, y: float, starboard: Array, port: Array
) -> None:
    for face in range(faces.shape[0]):
        a, b, c = vertices[faces[face, 0]], vertices[faces[face, 1]], vertices[faces[face, 2]]
        area = (b[0] - a[0]) * (c[2] - a[2]) - (b[2] - a[2]) * (c[0] - a[0])
        if area == 0.0:
            continue  # seen edge on: its neighbours speak for it
        i0, i1 = np.searchsorted(xs, min(a[0], b[0], c[0])), np.searchsorted(xs, max(a[0], b[0], c[0]))
        j0, j1 = np.searchsorted(zs, min(a[2], b[2], c[2])), np.searchsorted(zs, max(a[2], b[2], c[2]))
        for i in range(max(0, i0 - 1), min(len(xs), i1 + 1)):
            for j in range(max(0, j0 - 1), min(len(zs), j1 + 1)):
                px, pz = xs[i], zs[j]
                side = side_of(a[0], a[2], b[0], b[2], px, pz)
                if side == 0 or side != side_of(b[0], b[2], c[0], c[2], px, pz):
                    continue
                if side != side_of(c[0], c[2], a[0], a[2], px, pz):
                    continue
                to_b = ((px - a[0]) * (c[2] - a[2]) - (pz - a[2]) * (c[0] - a[0])) / area
                to_c = ((b[0] - a[0]) * (pz - a[2]) - (b[2] - a[2]) * (px - a[0])) / area
                at = a[1] + to_b * (b[1] - a[1]) + to_c * (c[1] - a[1])
                if at <= y:
                    starboard[i, j] = max(starboard[i, j], at)
                if at >= y:
                    port[i, j] = min(port[i, j], at)

"""Fewer triangles for a picture; nothing is ever worked out from them."""

from typing import Final

import manifold3d
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

STEPS: Final = (2e-5, 3e-5, 5e-5, 8e-5, 1.2e-4, 2e-4, 4e-4, 1e-3, 2e-3, 4e-3)
"""About how far a closed surface may move, of its longest side; the first that makes it small enough is taken."""
_FINEST_GRID: Final = 400
"""Cells along the longest side that the search for a coarser open mesh begins with."""


def coarser(vertices: Array, faces: Indices, most: int) -> tuple[Array, Indices]:
    """A mesh to look at with at most `most` triangles, as true to the one given as that allows.

    vertices (n, 3), faces (m, 3), both of any length. A mesh that is small enough stays as it is. A closed one moves
    by about the least of `STEPS` that will do; of any other the corners in one cell of a grid become
    their mean, and what comes of it need not be closed.
    """
    if len(faces) <= most:
        return vertices, faces
    return _of_closed(vertices, faces, most) or _on_a_grid(vertices, faces, most)


def _of_closed(vertices: Array, faces: Indices, most: int) -> tuple[Array, Indices] | None:
    whole = manifold3d.Manifold(
        manifold3d.Mesh64(np.ascontiguousarray(vertices), np.ascontiguousarray(faces, np.uint64))
    )
    if whole.status() != manifold3d.Error.NoError:
        return None
    longest = float(np.ptp(vertices, axis=0).max())
    for step in STEPS:
        fewer = whole.simplify(step * longest)
        if 0 < fewer.num_tri() <= most:
            drawn = fewer.to_mesh64()
            return np.array(drawn.vert_properties[:, :3]), np.array(drawn.tri_verts, np.int64)
    return None


def _on_a_grid(vertices: Array, faces: Indices, most: int) -> tuple[Array, Indices]:
    cells = _FINEST_GRID
    low = vertices.min(axis=0)
    longest = float(np.ptp(vertices, axis=0).max())
    drawn = vertices, faces
    while len(drawn[1]) > most and cells > 4:
        size = longest / cells
        place = np.floor((vertices - low) / size).astype(np.int64)
        number = (place[:, 0] * (cells + 1) + place[:, 1]) * (cells + 1) + place[:, 2]
        _, cell, count = np.unique(number, return_inverse=True, return_counts=True)
        cell = cell.reshape(-1)
        middles = np.stack([np.bincount(cell, weights=vertices[:, k]) / count for k in range(3)], axis=1)
        kept = cell[faces]
        apart = (kept != np.roll(kept, 1, axis=1)).all(axis=1)
        low_first = np.argmin(kept[apart], axis=1)
        turned = np.stack(
            [np.take_along_axis(kept[apart], ((low_first + k) % 3)[:, None], axis=1)[:, 0] for k in range(3)],
            axis=1,
        )
        drawn = middles, np.unique(turned, axis=0)
        cells = int(cells * 0.8)
    return drawn

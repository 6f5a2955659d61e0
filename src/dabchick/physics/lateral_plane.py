"""What the wind and the water meet when they come from abeam: the silhouette from the side, parted by the surface."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.compiled import compiled

Array = NDArray[np.float64]
Faces = NDArray[np.int64]

STRIPS = 160
"""Level strips over her height. A step in the silhouette, such as a flat deck, errs by half a strip at most."""
_GAUSS = 0.5 / np.sqrt(3.0)


class LateralPlane(NamedTuple):
    """Areas of the silhouette on the upright plane along her heading, and the heights of their centres."""

    above_m2: float
    above_height_m: float
    """Of the centre over the water's surface; NaN where nothing stands out."""
    under_m2: float
    under_height_m: float
    """Of the centre, below 0 as it lies under the surface; NaN where nothing is under."""
    low_m: float
    """Height of her lowest point, over the surface."""
    high_m: float


def heading(normal: Array) -> Array:
    """The level direction (3,) in which her keel points, in the boat's frame; ValueError where she stands on end."""
    level = np.array([1.0, 0.0, 0.0]) - normal[0] * normal
    length = float(np.linalg.norm(level))
    if length < 1e-9:
        raise ValueError("She stands on end, so she has no heading. Ask for a trim below 90 deg.")
    return level / length


def lateral_plane(
    vertices: Array, faces: Faces, normal: Array, offset_m: float, *, strips: int = STRIPS
) -> LateralPlane:
    """Silhouette of closed bodies from abeam, above and below the surface normal . x = offset [m].

    `vertices` (n, 3) [m] and `faces` (m, 3) hold all bodies together; where they hide one another the area counts
    once. At every height the silhouette is as wide as the shadow of the section there; widths are integrated by two
    Gauss points in each strip, with a strip's edge at each corner's height where the bodies have few corners, which is
    exact for plain boxes.
    """
    points = np.ascontiguousarray(np.column_stack([vertices @ heading(normal), vertices @ normal - offset_m]))
    heights = points[:, 1]
    low, high = float(heights.min()), float(heights.max())
    own = np.unique(heights)
    edges = np.linspace(low, high, strips + 1)
    if own.size <= strips:
        edges = np.union1d(edges, own)
    if low < 0.0 < high:
        edges = np.union1d(edges, [0.0])
    sizes = np.diff(edges)
    middles = 0.5 * (edges[1:] + edges[:-1])
    levels = np.ravel(np.column_stack([middles - _GAUSS * sizes, middles + _GAUSS * sizes]))
    widths = np.zeros(levels.size)
    _widths_into(points, np.ascontiguousarray(faces), levels, widths)
    shares = 0.5 * np.repeat(sizes, 2) * widths
    above = levels > 0.0
    areas = [float(np.sum(shares[part])) for part in (above, ~above)]
    centres = [
        float(np.sum(shares[part] * levels[part])) / area if area > 0.0 else float("nan")
        for part, area in zip((above, ~above), areas, strict=True)
    ]
    return LateralPlane(areas[0], centres[0], areas[1], centres[1], low, high)


@compiled
def _widths_into(points: Array, faces: Faces, levels: Array, widths: Array) -> None:
    """Width [m] of the shadow of each level section of closed bodies, into `widths`; `levels` rising.

    The shadow of a section is that of its outline, so the spans that a level cuts from all faces cover it.
    """
    count = levels.size
    starts = np.zeros(count + 1, dtype=np.int64)
    for face in range(faces.shape[0]):
        a, b, c = points[faces[face, 0], 1], points[faces[face, 1], 1], points[faces[face, 2], 1]
        first = np.searchsorted(levels, min(a, b, c))
        last = np.searchsorted(levels, max(a, b, c))
        for level in range(first, last):
            starts[level + 1] += 1
    for level in range(count):
        starts[level + 1] += starts[level]
    filled = starts[:count].copy()
    spans = np.empty((starts[count], 2))
    for face in range(faces.shape[0]):
        a, b, c = points[faces[face, 0], 1], points[faces[face, 1], 1], points[faces[face, 2], 1]
        first = np.searchsorted(levels, min(a, b, c))
        last = np.searchsorted(levels, max(a, b, c))
        for level in range(first, last):
            height = levels[level]
            low, high = np.inf, -np.inf
            for side in range(3):
                p, q = faces[face, side], faces[face, (side + 1) % 3]
                below, over = points[p, 1], points[q, 1]
                if (below < height) != (over < height):
                    at = points[p, 0] + (points[q, 0] - points[p, 0]) * (height - below) / (over - below)
                    low, high = min(low, at), max(high, at)
            spans[filled[level], 0], spans[filled[level], 1] = low, high
            filled[level] += 1
    for level in range(count):
        first, last = starts[level], starts[level + 1]
        order = np.argsort(spans[first:last, 0])
        reached = -np.inf
        for index in order:
            low, high = spans[first + index, 0], spans[first + index, 1]
            if high > reached:
                widths[level] += high - max(low, reached)
                reached = high

"""Stations to a closed mesh: bodies of revolution from radii, hulls from half-breadths over heights.

Between stations a curve is monotone cubic (PCHIP: Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980)
238-246, from memory), so it never swings beyond what was measured. Towards a round end the square of the
breadth is interpolated, since it starts straight there while the breadth itself starts with an infinite
slope; towards a pointed end, the breadth. The change from one to the other stands at the greatest breadth,
where both have slope 0.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.monotone import monotone_cubic

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
End = Literal["round", "pointed", "flat"]
"""How a curve ends: closing with infinite slope, closing with finite slope, or not closing."""

CLOSED = 1e-6
"""Breadths below this part of the greatest count as 0."""
ROUND_BELOW = 0.75
"""Breadth grows like distance^p from a closed end: 1/2 on an ellipse, 1 on a cone; round below this power."""


@dataclass(frozen=True, eq=False)
class Loft:
    """A closed outward mesh and how its ends were closed."""

    vertices: Array
    """(n, 3) in the unit of the stations."""
    faces: Indices
    first_end: End
    """At the least x."""
    last_end: End
    widening: float
    """Greatest part by which a section was widened so that its area is that of the smooth curve."""


@dataclass(frozen=True, eq=False)
class Curve:
    """A breadth over a length, never negative, monotone between its points."""

    at: Array
    value: Array
    first_end: End
    last_end: End

    def __call__(self, where: Array) -> Array:
        """Breadth at `where`; the ends hold beyond the points."""
        where = np.clip(where, self.at[0], self.at[-1])
        if len(self.at) == 1:
            return np.broadcast_to(self.value[:1], where.shape).astype(np.float64)
        widest = self.at[int(np.argmax(self.value))]
        plain = monotone_cubic(self.at, self.value, where)
        rounded = np.sqrt(np.maximum(monotone_cubic(self.at, self.value**2, where), 0.0))
        first = plain if self.first_end == "pointed" else rounded
        last = plain if self.last_end == "pointed" else rounded
        between = np.where(where <= widest, first, last)
        # On a point itself its own value to the last bit, so that what closes closes exactly.
        nearest = np.minimum(np.searchsorted(self.at, where), len(self.at) - 1)
        return np.where(self.at[nearest] == where, self.value[nearest], np.maximum(between, 0.0))


def curve(at: Array, value: Array, first_end: End | None = None, last_end: End | None = None) -> Curve:
    """A breadth curve through points; an end that is not given is found from the points.

    at (k,) rising, value (k,) >= 0. An end whose value is above 0 is flat. A closed end is round or pointed
    by which of b^2 = a s + c s^2 (an ellipse, say) and b = a s + c s^2 (a cone, say) through the two points
    next to it comes nearer to the third; where that does not decide, round when b grows with less than the
    power 0.75 of the distance s over those two points. With fewer points it is taken as round.
    """
    at, value = np.asarray(at, np.float64), np.asarray(value, np.float64)
    if len(at) != len(value) or len(at) == 0 or (np.diff(at) <= 0.0).any():
        raise ValueError("Points of a curve stand in rising order, each once. Sort them.")
    if not np.isfinite(value).all() or (value < 0.0).any():
        raise ValueError("A breadth is a number from 0 up. Check the measured values.")
    return Curve(
        at,
        value,
        _end(at - at[0], value, first_end),
        _end(at[-1] - at[::-1], value[::-1], last_end),
    )


def _end(distance: Array, value: Array, given: End | None) -> End:
    if value[0] > 0.0:
        return "flat"
    if given is not None and given != "flat":
        return given
    if len(value) < 3 or value[1] <= 0.0 or value[2] < value[1]:
        return "round"
    near, far = distance[1:3], value[1:3]
    if len(value) > 3 and value[3] != value[2]:
        square = np.stack([near, near**2], axis=1)
        there = np.array([distance[3], distance[3] ** 2])
        pointed = abs(there @ np.linalg.solve(square, far) - value[3])
        rounded = abs(np.sqrt(max(there @ np.linalg.solve(square, far**2), 0.0)) - value[3])
        if abs(pointed - rounded) > 1e-3 * value[2]:
            return "round" if rounded < pointed else "pointed"
    power = np.log(far[1] / far[0]) / np.log(near[1] / near[0])
    return "round" if power < ROUND_BELOW else "pointed"


def revolved(
    x: Array,
    radius: Array,
    axis_height: Array | None = None,
    *,
    axial: int = 240,
    around: int = 96,
    first_end: End | None = None,
    last_end: End | None = None,
) -> Loft:
    """Closed mesh of a body of revolution, its axis along x (bent up and down by `axis_height`).

    x (k,) rising, radius (k,) >= 0, both in one length unit. About `axial` rings of `around` corners; every
    station is a ring. A regular polygon of n corners in a circle has less than its area, so corners stand at
    the radius times sqrt((2 pi / n) / sin(2 pi / n)), which makes each section's area that of the circle.
    Between rings the surface is straight: the volume's error falls with the square of the number of rings.
    Raises ValueError for fewer than two stations, or radii that pinch the body off between its ends.
    """
    x, radius = np.asarray(x, np.float64), np.asarray(radius, np.float64)
    radius = np.where(np.abs(radius) <= CLOSED * radius.max(initial=0.0), 0.0, radius)
    _check_stations(x, radius)
    outline = curve(x, radius, first_end, last_end)
    height = np.zeros(len(x)) if axis_height is None else np.asarray(axis_height, np.float64)
    rings = _along(x, axial, outline.first_end == "round", outline.last_end == "round")
    axis = monotone_cubic(x, height, rings) if len(x) > 1 else height
    around = max(around + around % 2, 8)
    turn = 2.0 * np.pi / around
    grown = np.sqrt(turn / np.sin(turn))
    angle = turn * np.arange(around)
    size = outline(rings) * grown
    sections = np.empty((len(rings), around, 3))
    sections[:, :, 0] = rings[:, None]
    sections[:, :, 1] = size[:, None] * np.sin(angle)
    sections[:, :, 2] = axis[:, None] - size[:, None] * np.cos(angle)
    vertices, faces = skinned(sections)
    return Loft(vertices, faces, outline.first_end, outline.last_end, float(grown - 1.0))


@dataclass(frozen=True, eq=False)
class Section:
    """Half-breadths at one station, from the lowest height to the highest."""

    x: float
    heights: Array
    half_breadths: Array


def lofted(
    stations: Sequence[Section],
    *,
    axial: int = 240,
    around: int = 96,
    first_end: End | None = None,
    last_end: End | None = None,
) -> Loft:
    """Closed mesh, alike on both sides, through half-breadths over heights at stations.

    Lowest height, highest height and breadth run along x as curves; at each ring the outline runs from the
    lowest to the highest height over the same parts of the height as at the stations on either side. A
    section that ends with breadth 0 closes to a point, else it is flat there. Every ring is widened so that
    the area of its polygon is that of its curve. About `axial` rings with `around` corners; every station is
    a ring. Raises ValueError for fewer than two stations, heights that do not rise, negative breadths, or
    sections without area between the ends.
    """
    x = np.array([station.x for station in stations])
    least = CLOSED * max((float(np.max(station.half_breadths)) for station in stations), default=0.0)
    stations = [
        Section(s.x, s.heights, np.where(np.abs(s.half_breadths) <= least, 0.0, s.half_breadths))
        for s in stations
    ]
    for station in stations:
        open_there = station.half_breadths > 0.0
        if open_there.any() and not open_there[1:-1].all():
            raise ValueError(
                f"At x = {station.x:g} the breadth is 0 between the lowest and the highest height, so the "
                f"hull has no "
                "thickness there. Leave those heights out."
            )
    outlines = [curve(station.heights, station.half_breadths) for station in stations]
    keel = np.array([outline.at[0] for outline in outlines])
    top = np.array([outline.at[-1] for outline in outlines])
    widest = np.array([outline.value.max() for outline in outlines])
    _check_stations(x, np.minimum(widest, top - keel))
    breadth = curve(x, widest, first_end, last_end)
    depth = curve(x, top - keel, first_end, last_end)
    first_round, last_round = (
        "round" in ends for ends in ((breadth.first_end, depth.first_end), (breadth.last_end, depth.last_end))
    )
    rings = _along(x, axial, first_round, last_round)
    # Parts of the height, close together at keel and top where round sections turn fast.
    fine = 8
    side = max(around // 2, 4)
    part = 0.5 - 0.5 * np.cos(np.pi * np.arange(side * fine + 1) / (side * fine))
    shape = np.array(
        [
            outline(outline.at[0] + part * (outline.at[-1] - outline.at[0]))
            / max(outline.value.max(), 1e-300)
            for outline in outlines
        ]
    )
    for k in np.flatnonzero((widest <= 0.0) | (top <= keel)):
        # An end without area has no shape of its own: a level edge is drawn out to its full breadth, and what
        # has no breadth takes the shape of its neighbour, shrunk to nothing.
        shape[k] = 1.0 if widest[k] > 0.0 else shape[1 if k == 0 else k - 1]
    tall = depth(rings)
    middle = monotone_cubic(x, 0.5 * (keel + top), rings)
    wide = breadth(rings)[:, None] * monotone_cubic(x, shape, rings)
    coarse = wide[:, ::fine]
    smooth_area = np.trapezoid(wide, part, axis=1)
    plain_area = np.trapezoid(coarse, part[::fine], axis=1)
    grown = np.divide(smooth_area, plain_area, out=np.ones(len(rings)), where=plain_area > 0.0)
    coarse = coarse * grown[:, None]
    for end in (0, -1):
        if tall[end] == 0.0:
            # A level edge: its corners are one to the last bit, or it would not close.
            coarse[end] = breadth(rings[[end]])
    up = (middle - 0.5 * tall)[:, None] + tall[:, None] * part[::fine]
    zero = np.zeros((len(rings), 1))
    sections = np.empty((len(rings), 2 * coarse.shape[1] + 2, 3))
    sections[:, :, 0] = rings[:, None]
    sections[:, :, 1] = np.concatenate([zero, coarse, zero, -coarse[:, ::-1]], axis=1)
    sections[:, :, 2] = np.concatenate([up[:, :1], up, up[:, -1:], up[:, ::-1]], axis=1)
    vertices, faces = skinned(sections)
    return Loft(vertices, faces, breadth.first_end, breadth.last_end, float(grown.max() - 1.0))


def _check_stations(x: Array, size: Array) -> None:
    if len(x) < 2:
        raise ValueError("A hull needs at least two stations. Measure one at each end and some between.")
    if not np.isfinite(x).all() or (np.diff(x) <= 0.0).any():
        raise ValueError("Stations stand in rising order, each once. Sort them.")
    if (size < 0.0).any() or (size[1:-1] <= 0.0).any() or (len(x) == 2 and not size.any()):
        raise ValueError("A section between the ends has no area, so the hull falls apart there. Check it.")


def _along(x: Array, rings: int, first_round: bool, last_round: bool) -> Array:
    """Where the rings stand: all stations, even steps between, and closer and closer towards a round end."""
    places = [x[:1]]
    for k in range(len(x) - 1):
        steps = max(2, round(rings * (x[k + 1] - x[k]) / (x[-1] - x[0])))
        first, last = k == 0 and first_round, k == len(x) - 2 and last_round
        if first or last:
            steps = max(steps, rings // 15, 4)
        part = np.arange(1, steps + 1) / steps
        if first and last:
            part = 0.5 - 0.5 * np.cos(np.pi * part)
        elif first:
            part = part**2
        elif last:
            part = 1.0 - (1.0 - part) ** 2
        places.append(x[k] + (x[k + 1] - x[k]) * part)
        places[-1][-1] = x[k + 1]
    return np.concatenate(places)


def skinned(sections: Array, cap: Indices | None = None) -> tuple[Array, Indices]:
    """Closed outward mesh through rings (r, c, 3) in order of x; c even.

    Corner 0 is the middle of the keel, then over port (+y) to the middle of the top at c / 2 and back over
    starboard, corner c - k opposite corner k. Corners at one place become one vertex and faces with the same
    vertex twice fall away, so that ends close to points, edges or flat faces without seams. `cap` (f, 3) are the
    faces over a ring as seen from +x, where rungs from port to starboard do not fit the section.
    """
    rings, corners = sections.shape[:2]
    number = np.arange(rings * corners).reshape(rings, corners)
    here, ahead = number[:-1], number[1:]
    here_next, ahead_next = np.roll(here, -1, axis=1), np.roll(ahead, -1, axis=1)
    # The diagonal leans the other way on the starboard half, so that the mesh is exactly alike on both sides.
    port = (np.arange(corners) < corners // 2)[None, :, None]
    one = np.where(port, np.stack([here, here_next, ahead_next], -1), np.stack([here, here_next, ahead], -1))
    two = np.where(
        port, np.stack([here, ahead_next, ahead], -1), np.stack([here_next, ahead_next, ahead], -1)
    )
    cap = _cap(corners) if cap is None else cap
    faces = np.concatenate([one.reshape(-1, 3), two.reshape(-1, 3), number[0][cap[:, ::-1]], number[-1][cap]])
    points, joined, _ = _unique_rows(sections.reshape(-1, 3) + 0.0)
    faces = joined[faces]
    faces = _without_opposites(faces[(faces != np.roll(faces, 1, axis=1)).all(axis=1)])
    used, faces = np.unique(faces, return_inverse=True)
    return np.ascontiguousarray(points[used]), faces.reshape(-1, 3).astype(np.int64)


def _cap(corners: int) -> Indices:
    """Flat face over a ring, outward towards +x: rungs between port and starboard corners of equal height.

    Keel and top are fans from their middle corner, which lies on the straight line between its neighbours
    where the section is flat there.
    """
    half = corners // 2
    port = np.arange(2, half - 1)
    starboard = corners - port
    lower = np.stack([port[:-1], port[1:], starboard[:-1]], axis=1)
    upper = np.stack([port[1:], starboard[1:], starboard[:-1]], axis=1)
    keel = [[0, 1, 2], [0, 2, corners - 2], [0, corners - 2, corners - 1]]
    top = [[half, half + 1, half + 2], [half, half + 2, half - 2], [half, half - 2, half - 1]]
    return np.concatenate([lower, upper, keel, top])


def _without_opposites(faces: Indices) -> Indices:
    """Without pairs of faces on the same three corners: where keel and stem meet, port and starboard
    coincide.
    """
    ordered = np.sort(faces, axis=1)
    _, number, count = _unique_rows(ordered)
    return faces[count[number] == 1]


def _unique_rows(rows: NDArray[Any]) -> tuple[NDArray[Any], Indices, Indices]:
    """Different rows (u, 3) in rising order, the number of each row (n,) among them, and how often each stands there.

    As numpy's unique along the first axis, at a third of its cost.
    """
    order = np.lexsort(rows.T[::-1])
    rising = rows[order]
    new = np.concatenate([[True], (rising[1:] != rising[:-1]).any(axis=1)])
    number = np.empty(len(rows), np.int64)
    number[order] = np.cumsum(new) - 1
    return rising[new], number, np.bincount(number)

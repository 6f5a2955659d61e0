"""A hull from its outlines: upper and lower edge from the side, half-breadth from above, and a shape for the sections.

At a station x the section runs from the lower edge z_l to the upper edge z_u and out to the half-breadth b:

    y = b e(s),  z = z_l + (z_u - z_l) s,  0 <= s <= 1,  0 <= e <= 1.

The shape e is a superellipse about its widest height w, e = (1 - t^n)^(1/n) with t = (w - s) / w below and
(s - w) / (1 - w) above (n = 2 an ellipse), or comes from traced sections. Stations stand closer and closer together
towards the ends, x = L (1 - cos p) / 2 at even p, where round ends turn fast. All arrays may hold d readings
of one plan at once, so that the noise of tracing can be followed through to the figures.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.fairing import fair_many, sampled_many
from dabchick.physics.loft import Loft, Section, lofted
from dabchick.physics.monotone import monotone_cubic

Array = NDArray[np.float64]

STATIONS = 49
HEIGHTS = 21
FINE = 12
"""Steps in each span of a faired curve."""


@dataclass(frozen=True, eq=False)
class FormGrid:
    """d readings of one form at k stations and m shares of the height."""

    x: Array
    """(d, k) from the stern, rising."""
    lower: Array
    """(d, k)"""
    upper: Array
    half: Array
    """(d, k) half-breadth"""
    share: Array
    """(m,) from 0 at the lower to 1 at the upper edge"""
    shape: Array
    """(d or 1, k, m) half-breadth at each share over the section's own greatest"""

    def only(self, reading: int) -> "FormGrid":
        """One of the readings."""
        one = slice(reading, reading + 1)
        shape = self.shape if len(self.shape) == 1 else self.shape[one]
        return FormGrid(self.x[one], self.lower[one], self.upper[one], self.half[one], self.share, shape)


@dataclass(frozen=True, eq=False)
class FormFigures:
    """Figures (d,) of d readings: sums over the grid."""

    volume: Array
    area: Array
    """Of the whole surface."""
    centre: Array
    """x of the centre of volume from the stern."""
    length: Array
    beam: Array
    height: Array


def cosine_shares(count: int) -> Array:
    """(count,) from 0 to 1, close together at both ends."""
    share = 0.5 - 0.5 * np.cos(np.pi * np.arange(count) / (count - 1))
    share[0], share[-1] = 0.0, 1.0
    return np.asarray(share)


def station_shares(count: int, wanted: Sequence[float] = ()) -> Array:
    """Cosine-spaced shares of the length with the wanted ones among them, in place of one that stands very near."""
    shares = list(cosine_shares(count))
    fixed = [0.0, 1.0]
    for place in sorted({float(p) for p in wanted}):
        if min(abs(place - other) for other in fixed) < 1e-4:
            continue
        k = int(np.searchsorted(shares, place))
        gap = shares[k] - shares[k - 1]
        near = k if shares[k] - place < place - shares[k - 1] else k - 1
        if abs(shares[near] - place) < 0.35 * gap and shares[near] not in fixed:
            shares[near] = place
        else:
            shares.insert(k, place)
        fixed.append(place)
    return np.array(shares)


def faired_lines(points: Array, corners: Sequence[int]) -> Array:
    """(d, q, 2) the faired curves through points (d, n, 2), `FINE` steps from point to point."""
    at, cubics = fair_many(points, corners)
    return sampled_many(at, cubics, FINE)


def heights_over(lines: Array, x: Array) -> Array:
    """(d, k) second coordinate of curves (d, q, 2) at x (d, k); a curve holds its end value beyond its ends.

    Where a faired curve runs a little back, as a round end may, its earlier part counts.
    """
    forward = np.maximum.accumulate(lines[:, :, 0], axis=1)
    # Beyond the last point's x a round end can only swing out and come back to it.
    forward = np.minimum(forward, lines[:, -1:, 0])
    found = np.empty(x.shape)
    for reading in range(len(x)):
        found[reading] = np.interp(x[reading], forward[reading], lines[reading, :, 1])
    return found


def superellipse_shapes(exponent: Array, widest: Array, share: Array) -> Array:
    """(..., k, m) shapes from exponents (k,) and widest heights (..., k), shares of the height inside 0 to 1."""
    w = np.clip(widest, 0.02, 0.98)[..., None]
    t = np.where(share <= w, (w - share) / w, (share - w) / (1.0 - w))
    n = exponent[:, None]
    return np.asarray(np.maximum(1.0 - np.clip(t, 0.0, 1.0) ** n, 0.0) ** (1.0 / n))


def section_shapes(lines: Array, share: Array) -> Array:
    """(d, m) the shape of a traced half section (d, q, 2), half-breadth and height from keel to top.

    A section that is flat at the keel or on top keeps its breadth there.
    """
    breadth, height = lines[:, :, 0], lines[:, :, 1]
    low, high = height.min(axis=1, keepdims=True), height.max(axis=1, keepdims=True)
    turned = np.stack([(height - low) / np.maximum(high - low, 1e-300), breadth], axis=2)
    values = heights_over(turned, np.broadcast_to(share, (len(lines), len(share))))
    values[:, 0], values[:, -1] = breadth[:, 0], breadth[:, -1]
    return np.maximum(values, 0.0) / np.maximum(values.max(axis=1, keepdims=True), 1e-300)


def blended_shapes(places: Array, shapes: Array, at: Array) -> Array:
    """(d, k, m) shapes at stations (k,) from those (d, p, m) of p sections at rising places (p,).

    Between sections each share of the height follows a monotone cubic along x; beyond the outermost sections
    their shape holds. Each shape is brought back to a greatest value of 1, so that the half-breadth holds.
    """
    if len(places) == 1:
        return np.repeat(shapes, len(at), axis=1)
    inside = np.clip(at, places[0], places[-1])
    blended = np.moveaxis(monotone_cubic(places, np.moveaxis(shapes, 1, 0), inside), 0, 1)
    return np.asarray(blended / np.maximum(blended.max(axis=2, keepdims=True), 1e-300))


def widest_heights(shapes: Array, share: Array) -> Array:
    """(...,) share of the height at which shapes (..., m) are widest, from where they reach 0.9 of their breadth.

    Two half-ellipses about the height w reach it at w (1 - k) and w + k (1 - w), k = sqrt(1 - 0.9^2); the mean of
    the two w that follow. For an upright side that is its middle, whatever small bumps it has.
    """
    level = 0.9 * shapes.max(axis=-1)
    k = np.sqrt(1.0 - 0.9**2)
    low = _first_reach(shapes, share, level) / (1.0 - k)
    high = (1.0 - _first_reach(shapes[..., ::-1], 1.0 - share[::-1], level) - k) / (1.0 - k)
    return np.clip(0.5 * (low + high), 0.0, 1.0)


def _first_reach(shapes: Array, share: Array, level: Array) -> Array:
    """(...,) the first share at which shapes (..., m) come up to a level (...,)."""
    after = np.argmax(shapes >= level[..., None], axis=-1)
    before = np.maximum(after - 1, 0)
    there = np.take_along_axis(shapes, after[..., None], -1)[..., 0]
    ahead = np.take_along_axis(shapes, before[..., None], -1)[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(after == before, 1.0, (level - ahead) / (there - ahead))
    return np.asarray(share[before] + part * (share[after] - share[before]))


def form_figures(grid: FormGrid) -> FormFigures:
    """Volume, area, centre, length, beam and height of each reading, straight from the grid.

    Integrals by the trapezoid rule over the angle p of cosine-spaced stations and heights, in which round ends are
    smooth; the area of the surface as that of the flat pieces between grid points.
    """
    tall = np.maximum(grid.upper - grid.lower, 0.0)
    turn = np.arccos(1.0 - 2.0 * grid.share)
    full = np.trapezoid(grid.shape * 0.5 * np.sin(turn), turn, axis=-1)
    section = 2.0 * grid.half * tall * full
    length = grid.x[:, -1] - grid.x[:, 0]
    along = (grid.x - grid.x[:, :1]) / length[:, None]
    angle = np.arccos(np.clip(1.0 - 2.0 * along, -1.0, 1.0))
    weight = section * 0.5 * np.sin(angle) * length[:, None]
    volume = np.trapezoid(weight, angle, axis=1)
    centre = np.trapezoid(weight * (grid.x - grid.x[:, :1]), angle, axis=1) / volume
    return FormFigures(
        volume=np.asarray(volume),
        area=_surface(grid, tall) + section[:, 0] + section[:, -1],
        centre=np.asarray(centre),
        length=length,
        beam=2.0 * grid.half.max(axis=1),
        height=grid.upper.max(axis=1) - grid.lower.min(axis=1),
    )


def _surface(grid: FormGrid, tall: Array) -> Array:
    """(d,) both sides, and what is flat at keel and top."""
    y = grid.half[:, :, None] * grid.shape
    z = grid.lower[:, :, None] + tall[:, :, None] * grid.share
    dx = np.diff(grid.x, axis=1)[:, :, None]
    y_diagonal, y_other = y[:, 1:, 1:] - y[:, :-1, :-1], y[:, 1:, :-1] - y[:, :-1, 1:]
    z_diagonal, z_other = z[:, 1:, 1:] - z[:, :-1, :-1], z[:, 1:, :-1] - z[:, :-1, 1:]
    normal = (
        (y_diagonal * z_other - z_diagonal * y_other) ** 2
        + (dx * (z_diagonal - z_other)) ** 2
        + (dx * (y_other - y_diagonal)) ** 2
    )
    sides = np.sqrt(normal).sum(axis=(1, 2))
    flat = y[:, :, 0] + y[:, :, -1]
    return np.asarray(sides + ((flat[:, 1:] + flat[:, :-1]) * dx[:, :, 0]).sum(axis=1))


def form_stations(grid: FormGrid) -> list[Section]:
    """The stations of the first reading, from the stern, as a station table holds them.

    At an end without height there is one height; one without breadth has its lowest and its highest.
    """
    stations = []
    for k, x in enumerate(grid.x[0]):
        low, high, half = grid.lower[0, k], grid.upper[0, k], grid.half[0, k]
        if high <= low:
            stations.append(Section(float(x), np.array([low]), np.array([half])))
        elif half <= 0.0:
            stations.append(Section(float(x), np.array([low, high]), np.zeros(2)))
        else:
            stations.append(Section(float(x), low + (high - low) * grid.share, half * grid.shape[0, k]))
    return stations


def form_mesh(grid: FormGrid, axial: int = 240, around: int = 96) -> Loft:
    """Closed mesh of the first reading, lofted through its stations. Raises ValueError as `lofted` does."""
    return lofted(form_stations(grid), axial=axial, around=around)

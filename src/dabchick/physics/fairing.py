"""Faired curves: cubic splines through traced points, smooth but where a corner is wanted, and their curvature.

Between corners the two coordinates are cubic splines over the chord length (twice continuously differentiable), at
the ends of such a piece not-a-knot: its first two spans are one cubic, and so are its last two. Piecewise cubics
over chord length are of fourth order in the spacing of the points (de Boor, A Practical Guide to Splines, 1978,
chapter IV, from memory). A piece of three points is a parabola, one of two a straight line.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class FairCurve:
    """A faired curve; `at` is the chord length from its first point."""

    at: Array
    """(n,) chord length at each point, in the unit of the points."""
    points: Array
    """(n, 2)"""
    cubics: Array
    """(n - 1, 4, 2): in span i, sum over k of cubics[i, k] s^k with s the chord length from point i."""
    corners: tuple[int, ...]
    """The points inside the curve where its direction jumps."""

    def __call__(self, where: Array, derivative: int = 0) -> Array:
        """Points (k, 2) at chord lengths (k,), or their derivative by it; the end cubics run on beyond."""
        where = np.asarray(where, np.float64)
        span = np.clip(np.searchsorted(self.at, where, side="right") - 1, 0, len(self.at) - 2)
        return _powers(self.cubics[span], (where - self.at[span])[:, None], derivative)


def fair(points: Array, corners: Sequence[int] = ()) -> FairCurve:
    """The curve through points (n, 2), n >= 2, in their order; `corners` are point numbers, ends may be named too.

    It goes through every point exactly. Raises ValueError for fewer than two points, two alike in a row,
    numbers that are not finite, and corners that name no point.
    """
    points = np.asarray(points, np.float64)
    check_points(points, corners)
    at, cubics = fair_many(points[None], corners)
    inner = tuple(sorted({int(k) for k in corners} - {0, len(points) - 1}))
    return FairCurve(at[0], points, cubics[0], inner)


def check_points(points: Array, corners: Sequence[int]) -> None:
    """Raises ValueError with what keeps a curve from being drawn through points (n, 2)."""
    if points.ndim != 2 or points.shape[1:] != (2,) or len(points) < 2:
        raise ValueError(f"A curve needs two points or more, each x and y; given {points.shape}. Add points.")
    if not np.isfinite(points).all():
        raise ValueError("A point of the curve is not a finite number. Set it anew.")
    if (np.diff(points, axis=0) == 0.0).all(axis=1).any():
        raise ValueError("Two points in a row lie at the same place. Take one of them out.")
    wrong = [int(k) for k in corners if not 0 <= int(k) < len(points)]
    if wrong:
        raise ValueError(
            f"There is no point {wrong[0]} to be a corner; they run from 0 to {len(points) - 1}."
        )


def fair_many(points: Array, corners: Sequence[int] = ()) -> tuple[Array, Array]:
    """Chord lengths (d, n) and cubics (d, n - 1, 4, 2) of d curves (d, n, 2) with the same corners; unchecked."""
    steps = np.maximum(np.linalg.norm(np.diff(points, axis=1), axis=2), 1e-300)
    at = np.concatenate([np.zeros((len(points), 1)), np.cumsum(steps, axis=1)], axis=1)
    last = points.shape[1] - 1
    breaks = sorted({0, last, *(int(k) for k in corners)})
    pieces = [
        _cubics(points[:, first : end + 1], steps[:, first:end]) for first, end in itertools.pairwise(breaks)
    ]
    return at, np.concatenate(pieces, axis=1)


def sampled_many(at: Array, cubics: Array, each: int) -> Array:
    """(d, (n - 1) each + 1, 2): `each` even steps of chord length in every span, the points among them."""
    steps = np.diff(at, axis=1)
    part = np.arange(each) / each
    along = steps[:, :, None, None] * part[None, None, :, None]
    inner = _powers(cubics[:, :, None], along, 0).reshape(len(at), -1, 2)
    end = _powers(cubics[:, -1], steps[:, -1:], 0)[:, None]
    return np.concatenate([inner, end], axis=1)


def sampled(curve: FairCurve, count: int) -> Array:
    """(count, 2) points at even chord lengths, both ends among them, and each corner instead of the one next to it.

    count >= 2; where it is less than the corners ask for, corners are left out.
    """
    return curve(_even(curve, count))


def comb(curve: FairCurve, count: int, scale: float) -> Array:
    """(count, 2, 2) start and tip of each tooth of the curvature comb: teeth stand square to the curve.

    A tooth is `scale` times the curvature long (unit of scale: length squared), and stands on the outer side of
    the bend, so that on a fair curve the tips run as smoothly as the curve; a curve that turns the other way
    has its teeth on its other side.
    """
    where = _even(curve, count)
    base, along = curve(where), curve(where, 1)
    bend = curvature(curve, where)
    size = np.maximum(np.linalg.norm(along, axis=1), 1e-300)
    right = np.stack([along[:, 1], -along[:, 0]], axis=1) / size[:, None]
    return np.stack([base, base + scale * bend[:, None] * right], axis=1)


def curvature(curve: FairCurve, where: Array) -> Array:
    """(k,) signed curvature [1 / length], above 0 where the curve turns from its first towards its second axis."""
    first, second = curve(where, 1), curve(where, 2)
    turn = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    return np.asarray(turn / np.maximum(np.linalg.norm(first, axis=1), 1e-300) ** 3)


def _even(curve: FairCurve, count: int) -> Array:
    where = np.linspace(0.0, curve.at[-1], max(count, 2))
    for corner in curve.corners:
        nearest = int(np.argmin(np.abs(where - curve.at[corner])))
        if 0 < nearest < len(where) - 1:
            where[nearest] = curve.at[corner]
    return where


def _powers(cubics: Array, s: Array, derivative: int) -> Array:
    a, b, c, d = (cubics[..., k, :] for k in range(4))
    if derivative == 0:
        return np.asarray(a + s * (b + s * (c + s * d)))
    if derivative == 1:
        return np.asarray(b + s * (2.0 * c + 3.0 * s * d))
    return np.asarray(2.0 * c + 6.0 * s * d)


def _cubics(points: Array, steps: Array) -> Array:
    """(d, n - 1, 4, 2) of one smooth piece (d, n, 2) with steps (d, n - 1)."""
    h = steps[:, :, None]
    rise = np.diff(points, axis=1) / h
    bend = _second_derivatives(h, rise)
    return np.stack(
        [
            points[:, :-1],
            rise - h * (2.0 * bend[:, :-1] + bend[:, 1:]) / 6.0,
            0.5 * bend[:, :-1],
            np.diff(bend, axis=1) / (6.0 * h),
        ],
        axis=2,
    )


def _second_derivatives(h: Array, rise: Array) -> Array:
    """(d, n, 2) at the points; h (d, n - 1, 1), rise (d, n - 1, 2).

    The inner points' equations h0 M0 + 2 (h0 + h1) M1 + h1 M2 = 6 (rise1 - rise0), the outer M put in from the
    not-a-knot condition, solved by elimination without exchange of rows, all curves at once.
    """
    spans = rise.shape[1]
    if spans == 1:
        return np.zeros((len(rise), 2, 2))
    right = 6.0 * np.diff(rise, axis=1)
    if spans == 2:
        even = right / (3.0 * (h[:, :-1] + h[:, 1:]))
        return np.repeat(even, 3, axis=1)
    below, above = h[:, :-1].copy(), h[:, 1:].copy()
    middle = 2.0 * (below + above)
    near, far = h[:, 0] / h[:, 1], h[:, -1] / h[:, -2]
    middle[:, 0] += h[:, 0] * (1.0 + near)
    above[:, 0] -= h[:, 0] * near
    middle[:, -1] += h[:, -1] * (1.0 + far)
    below[:, -1] -= h[:, -1] * far
    inner = spans - 1
    for k in range(1, inner):
        factor = below[:, k] / middle[:, k - 1]
        middle[:, k] -= factor * above[:, k - 1]
        right[:, k] -= factor * right[:, k - 1]
    bend = np.empty((len(rise), spans + 1, 2))
    bend[:, inner] = right[:, inner - 1] / middle[:, inner - 1]
    for k in range(inner - 2, -1, -1):
        bend[:, k + 1] = (right[:, k] - above[:, k] * bend[:, k + 2]) / middle[:, k]
    bend[:, 0] = (1.0 + near) * bend[:, 1] - near * bend[:, 2]
    bend[:, -1] = (1.0 + far) * bend[:, -2] - far * bend[:, -3]
    return bend

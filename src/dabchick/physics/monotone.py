"""Monotone cubic interpolation (PCHIP), which adds no bump that the points do not have.

Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238, with the weighted harmonic mean of Fritsch and Butland,
SIAM J. Sci. Stat. Comput. 5 (1984) 300 (both from memory). The same curve as scipy's PchipInterpolator, to which a
test holds it; written here because loading scipy.interpolate takes longer than all else in a short command.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def monotone_cubic(at: Array, value: Array, where: Array) -> Array:
    """Values (m, ...) at `where` (m,) of the monotone cubic through `value` (n, ...) at rising `at` (n,), n >= 2.

    Outside the points the end pieces run on.
    """
    steps = np.diff(at).reshape(-1, *(1,) * (value.ndim - 1))
    rises = np.diff(value, axis=0) / steps
    slopes = _slopes(steps, rises)
    piece = np.clip(np.searchsorted(at, where, side="right") - 1, 0, len(at) - 2)
    share = (where - at[piece]).reshape(-1, *(1,) * (value.ndim - 1))
    h, rise = steps[piece], rises[piece]
    second = (3.0 * rise - 2.0 * slopes[piece] - slopes[piece + 1]) / h
    third = (slopes[piece] + slopes[piece + 1] - 2.0 * rise) / h**2
    return np.asarray(value[piece] + share * (slopes[piece] + share * (second + share * third)))


def _slopes(steps: Array, rises: Array) -> Array:
    if len(rises) == 1:
        return np.concatenate([rises, rises])
    before, after = rises[:-1], rises[1:]
    heavy_before, heavy_after = 2.0 * steps[1:] + steps[:-1], steps[1:] + 2.0 * steps[:-1]
    turns = before * after <= 0.0
    # Values equal but for rounding make a slope whose inverse overflows; its limit, slope 0, is meant.
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        mean = (heavy_before + heavy_after) / (heavy_before / before + heavy_after / after)
    inner = np.where(turns, 0.0, mean)
    return np.concatenate(
        [
            _end(steps[0], steps[1], rises[0], rises[1])[None],
            inner,
            _end(steps[-1], steps[-2], rises[-1], rises[-2])[None],
        ]
    )


def _end(near: Array, next_one: Array, rise: Array, next_rise: Array) -> Array:
    """Three-point slope at an end, held back where it would make a bump."""
    slope = ((2.0 * near + next_one) * rise - near * next_rise) / (near + next_one)
    slope = np.where(np.sign(slope) != np.sign(rise), 0.0, slope)
    steep = (np.sign(rise) != np.sign(next_rise)) & (np.abs(slope) > 3.0 * np.abs(rise))
    return np.asarray(np.where(steep, 3.0 * rise, slope))

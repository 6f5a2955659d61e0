"""Liquid in a tank: the level from the volume at any attitude."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from dabchick.physics.compiled import compiled
from dabchick.physics.cut import CUT_SIZE, Cut, Forest, as_cut, cut_into, lowest

Array = NDArray[np.float64]

_MOST_STEPS = 200


@compiled
def level_into(
    forest: Forest, first: int, last: int, nx: float, ny: float, nz: float, volume: float, out: Array
) -> float:
    """Find the level d [m] at which n.x < d holds `volume` [m3] of surfaces first:last; fill out (18,) there.

    volume <= 0: d is the lowest point and out is zeros; volume >= capacity: d is the highest point and the
    waterplane is zeros. Newton on log volume against log height above the bottom (or below the top when more
    than half full), on which every corner, edge and face is a straight line; bisection whenever that leaves
    the bracket.
    """
    low = lowest(forest, first, last, nx, ny, nz)
    high = -lowest(forest, first, last, -nx, -ny, -nz)
    out[:] = 0.0
    if not volume > 0.0:
        return low
    margin = 1.0 + (high - low)
    cut_into(forest, first, last, nx, ny, nz, high + margin, out)
    capacity = out[0]
    if volume >= capacity:
        out[4:14] = 0.0
        return high
    bottom, top = low, high
    upper_half = volume > 0.5 * capacity
    d = low + (high - low) * (volume / capacity)
    for _ in range(_MOST_STEPS):
        out[:] = 0.0
        cut_into(forest, first, last, nx, ny, nz, d, out)
        excess = out[0] - volume
        if abs(excess) <= 4e-16 * volume:
            break
        if excess > 0.0:
            high = min(high, d)
        else:
            low = max(low, d)
        following = 0.5 * (low + high)
        if out[4] > 0.0 and 0.0 < out[0] < capacity and bottom < d < top:
            if upper_half:
                left = capacity - out[0]
                power = left / (out[4] * (top - d))
                guess = top - (top - d) * ((capacity - volume) / left) ** power
            else:
                power = out[0] / (out[4] * (d - bottom))
                guess = bottom + (d - bottom) * (volume / out[0]) ** power
            if low < guess < high:
                following = guess
        if following in (d, low, high):
            break
        d = following
    return d


def level(
    forest: Forest, normal: ArrayLike, volume: float, first: int = 0, last: int | None = None
) -> tuple[float, Cut]:
    """The level d [m] of `volume` [m3] of liquid, n a unit vector up, and the cut there; see `level_into`."""
    up = np.asarray(normal, dtype=np.float64)
    if up.shape != (3,) or not abs(float(up @ up) - 1.0) <= 2e-9:
        raise ValueError(f"The up direction is {normal!r}. Give a unit vector of three numbers.")
    if not np.isfinite(volume):
        raise ValueError(f"The volume of liquid is {volume}. Give a finite volume in cubic metres.")
    end = len(forest.kinds) if last is None else last
    if not 0 <= first < end <= len(forest.kinds):
        raise ValueError(f"Surfaces {first}:{end} are not all there; the forest holds {len(forest.kinds)}.")
    out = np.zeros(CUT_SIZE)
    d = level_into(forest, first, end, float(up[0]), float(up[1]), float(up[2]), float(volume), out)
    return float(d), as_cut(out)

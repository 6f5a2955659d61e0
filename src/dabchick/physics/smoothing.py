"""A smooth line through measured points that are each off by their own spread.

The line is a smoothing spline on 0 to pi whose mirror goes on beyond both ends, written as its waves:

    f(t) = sum c_k w_k(t),   least   sum ((y_i - f(t_i)) / s_i)^2 + (1/v) sum_{k > free} k^6 c_k^2

The second sum is int f'''^2 dt without the lowest waves, which cost nothing: a body that is as long, as full and
as lopsided as it likes, and only then asked to be smooth. That is the mean of f, given the measures, when its higher
waves are taken for chance of strength v (Wahba, J. Roy. Statist. Soc. B 40 (1978) 364, from memory), and v is the one
that makes the measures most likely (restricted likelihood). So how stiff the line is comes from the points and their
spreads, and the line knows how well it is known between them.

At an end the line is `even`, level there, or `odd`, 0 there: cos k t, sin k t, or quarter waves where the ends differ.
A breadth that starts like the square root of the distance x is odd in t when x = L/2 (1 - cos t); one that starts like
the distance itself, or not at 0 at all, is even.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import minimize_scalar

Array = NDArray[np.float64]
Parity = Literal["even", "odd"]

LEAST_POINTS = 4
_WAVES = 48
_POWER = 6
_LEAST_SPREAD = 1e-5
"""Of the greatest measure: an exact value counts as known this well, to keep the equations sound."""
_NOTHING = 1e-9
"""Of the least spread: measures that lie nearer together than this are all one."""
_LOG_RANGE = (-20.0, 16.0)
"""Range of ln v searched, about the strength of waves as high as the measures differ."""


@dataclass(frozen=True, eq=False)
class Waves:
    """Where points stand and how the line goes on at its ends: all that does not hang on the measures."""

    first: Parity
    last: Parity
    at: Array
    """(k,) the points, from 0 to pi."""
    basis: Array
    """(k, waves) each wave at the points."""
    cost: Array
    """(waves,) what the square of each wave's height costs; 0 for the free ones."""


@dataclass(frozen=True, eq=False)
class Smooth:
    """A fitted line."""

    waves: Waves
    heights: Array
    """(waves,) of the waves, c."""
    strength: float
    """v."""
    gain: Array
    """(waves, k) from measures to heights."""
    doubt: Array
    """(waves, waves) covariance of the heights beside that which the spreads of the measures make: bends unseen."""

    def __call__(self, where: Array) -> Array:
        """The line at `where`, 0 to pi."""
        return np.asarray(_basis(where, self.waves.first, self.waves.last)[0] @ self.heights, np.float64)

    def slope(self, where: Array) -> Array:
        """Its slope there."""
        waves, number = _basis(where, self.waves.first, self.waves.last, 0.5 * np.pi)
        return np.asarray(waves @ (number * self.heights), np.float64)

    def through(self, measured: Array) -> "Smooth":
        """The same line, just as stiff, through other values of the same measures."""
        return replace(self, heights=self.gain @ np.where(np.isfinite(measured), measured, 0.0))

    def without(self, measured: Array, index: int) -> "Smooth":
        """The same line, just as stiff, without one of its measures: c - g_i (y_i - f_i) / (1 - h_ii)."""
        here, pull = self.waves.basis[index], self.gain[:, index]
        off = measured[index] - here @ self.heights
        return replace(self, heights=self.heights - pull * (off / (1.0 - here @ pull)))


def waves(at: Array, first: Parity, last: Parity) -> Waves:
    """For points `at` (k,), rising from 0 to pi at most (ValueError otherwise)."""
    at = np.asarray(at, np.float64)
    if not np.isfinite(at).all() or (np.diff(at) <= 0.0).any() or at[0] < 0.0 or at[-1] > np.pi + 1e-12:
        raise ValueError("The points of a line stand in rising order, each once.")
    basis, number = _basis(at, first, last)
    free = 3 if (first, last) == ("even", "even") else 2
    cost = number**_POWER
    cost[:free] = 0.0
    return Waves(first, last, at, basis, cost)


def smooth(waves: Waves, measured: Array, spread: Array) -> Smooth:
    """The line through `measured` (k,), each with its standard deviation `spread` (k,); infinite: not measured.

    Raises ValueError for fewer than four measures, or one that is no number.
    """
    weight, known, scale = _weights(measured, spread)
    strength = _likeliest(waves, known, weight, scale)
    factor, size = _factor((waves.basis.T * weight) @ waves.basis + np.diag(waves.cost / strength))
    inverse = cho_solve(factor, np.eye(len(size))) / np.multiply.outer(size, size)
    gain = inverse @ (waves.basis.T * weight)
    doubt = inverse @ ((waves.cost / strength)[:, None] * inverse)
    return Smooth(waves, gain @ known, strength, gain, doubt)


@dataclass(frozen=True)
class Expected:
    """What all the other measures make of one."""

    value: float
    """In line with them."""
    spread: float
    """Of that value, the measure's own not counted."""


def expected(waves: Waves, measured: Array, spread: Array, index: int) -> Expected:
    """Leave one measure out, find the stiffness and the line from the rest, and see what the line is at its place."""
    left = np.array(spread, np.float64)
    left[index] = np.inf
    weight, known, scale = _weights(measured, left)
    strength = _likeliest(waves, known, weight, scale)
    factor, size = _factor((waves.basis.T * weight) @ waves.basis + np.diag(waves.cost / strength))
    here = waves.basis[index] / size
    solved = cho_solve(factor, here)
    value = solved @ ((waves.basis.T @ (weight * known)) / size)
    return Expected(float(value), float(np.sqrt(here @ solved)))


def _basis(where: Array, first: Parity, last: Parity, shift: float = 0.0) -> tuple[Array, Array]:
    """Waves at places, and the number k of each; a shift of pi/2 gives d/dt over that number."""
    return _basis_at(np.ascontiguousarray(where, np.float64).tobytes(), first, last, shift)


@lru_cache(maxsize=128)
def _basis_at(where: bytes, first: Parity, last: Parity, shift: float) -> tuple[Array, Array]:
    """Kept, since the same places are asked for again and again."""
    half = 0.5 if first != last else 0.0
    number = np.arange(_WAVES, dtype=np.float64) + (1.0 if (first, last) == ("odd", "odd") else half)
    turn = -0.5 * np.pi if first == "odd" else 0.0
    found = np.cos(np.multiply.outer(np.frombuffer(where), number) + turn + shift)
    for array in (found, number):
        array.flags.writeable = False
    return found, number


def _weights(measured: Array, spread: Array) -> tuple[Array, Array, float]:
    spread = np.asarray(spread, np.float64)
    there = np.isfinite(spread)
    if np.count_nonzero(there) < LEAST_POINTS:
        raise ValueError(f"A smooth line needs {LEAST_POINTS} measures or more. Measure more stations.")
    known = np.where(there, measured, 0.0)
    if not np.isfinite(known).all():
        raise ValueError("A measure is not a number. Leave it empty if it was not taken.")
    scale = float(np.ptp(known[there])) or float(np.abs(known).max())
    # Measures that differ by nothing against their spreads say nothing of a size either.
    scale = max(scale, _NOTHING * float(spread[there].min())) or 1.0
    least = _LEAST_SPREAD * scale
    weight = np.where(there, 1.0 / np.maximum(np.where(there, spread, 1.0), least) ** 2, 0.0)
    return weight, known, scale


def _factor(matrix: Array) -> tuple[tuple[Array, bool], Array]:
    """Cholesky factor of the matrix with its diagonal brought to 1, and the sizes taken out for that."""
    size = np.sqrt(np.diag(matrix))
    return cho_factor(matrix / np.multiply.outer(size, size)), size


def _likeliest(waves: Waves, known: Array, weight: Array, scale: float) -> float:
    """The strength of the greatest restricted likelihood."""
    plain = (waves.basis.T * weight) @ waves.basis
    pulled = waves.basis.T @ (weight * known)
    total = float(np.sum(weight * known**2))
    rank = int(np.count_nonzero(waves.cost))

    def unlikely(log_strength: float) -> float:
        strength = scale**2 * np.exp(log_strength)
        factor, size = _factor(plain + np.diag(waves.cost / strength))
        scaled = pulled / size
        return float(
            2.0 * (np.log(np.diag(factor[0])) + np.log(size)).sum()
            + rank * np.log(strength)
            + total
            - scaled @ cho_solve(factor, scaled)
        )

    tries = np.linspace(*_LOG_RANGE, 13)
    costs = [unlikely(float(one)) for one in tries]
    best = int(np.argmin(costs))
    low, high = tries[max(best - 1, 0)], tries[min(best + 1, len(tries) - 1)]
    found = minimize_scalar(unlikely, bounds=(low, high), method="bounded", options={"xatol": 0.05})
    return float(scale**2 * np.exp(found.x))

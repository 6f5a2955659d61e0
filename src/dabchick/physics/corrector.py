"""Newton on immersion, attitude and progress at once: one point of a curve of rests, with its tangent and stiffness.

The unknowns are y = (n, d/R, s) with n on the unit sphere; the equations are the three slopes of the energy and
w . (y - y0) = 0 for a given way w (pseudo-arclength). With w along s it is Newton at a fixed progress.
"""

import numpy as np

from dabchick.physics.balance import Array, Balance
from dabchick.physics.compiled import compiled
from dabchick.physics.cut import CUT_SIZE
from dabchick.physics.filling import Filling, breathing_into, slopes_into
from dabchick.physics.settle import tangents

STATE = 5
"""n (3), offset over radius, progress."""
NUMBERS = 21
"""0:5 tangent; 5 energy; 6 mass; 7 waterplane; 8 residual; 9 least and 10 second stiffness over weight times radius,
immersion let free; 11 stiffness in immersion likewise; 12 GM in heel; 13 GM in trim; 14 ways in which energy falls;
15:20 way of least stiffness; 20 volume under water."""

NEUTRAL = 1e-9
_GOAL = 1e-13
_GOOD_ENOUGH = 1e-11
_MOST_STEPS = 14
_LONGEST = 0.3
_NO_PIVOT = 1e-13


@compiled
def solve_into(matrix: Array, right: Array) -> None:
    """Solve in place by elimination with full choice of rows; a direction without any hold gets no change."""
    size = right.size
    for column in range(size):
        best = column
        for row in range(column + 1, size):
            if abs(matrix[row, column]) > abs(matrix[best, column]):
                best = row
        if best != column:
            for k in range(size):
                matrix[column, k], matrix[best, k] = matrix[best, k], matrix[column, k]
            right[column], right[best] = right[best], right[column]
        pivot = matrix[column, column]
        if abs(pivot) < _NO_PIVOT:
            continue
        for row in range(column + 1, size):
            factor = matrix[row, column] / pivot
            for k in range(column, size):
                matrix[row, k] -= factor * matrix[column, k]
            right[row] -= factor * right[column]
    for column in range(size - 1, -1, -1):
        pivot = matrix[column, column]
        if abs(pivot) < _NO_PIVOT:
            right[column] = 0.0
            continue
        for k in range(column + 1, size):
            right[column] -= matrix[column, k] * right[k]
        right[column] /= pivot


@compiled
def _bordered_into(
    h: Array, growth: Array, scale: float, way: Array, a: Array, b: Array, matrix: Array
) -> None:
    for row in range(3):
        for column in range(3):
            matrix[row, column] = h[row, column] / scale
        matrix[row, 3] = growth[row] / scale
    matrix[3, 0] = way[3]
    matrix[3, 1] = way[0] * a[0] + way[1] * a[1] + way[2] * a[2]
    matrix[3, 2] = way[0] * b[0] + way[1] * b[1] + way[2] * b[2]
    matrix[3, 3] = way[4]


@compiled
def _stiffness_into(h: Array, scale: float, mass: float, a: Array, b: Array, numbers: Array) -> None:
    """Free stiffness, its eigenvalues, GM, falling ways and the way of least stiffness."""
    first = h[0, 0] / scale
    taken = np.zeros(2)
    if abs(first) > 1e-14:
        taken[0], taken[1] = h[0, 1] / h[0, 0], h[0, 2] / h[0, 0]
    paa = h[1, 1] - taken[0] * h[0, 1]
    pab = h[1, 2] - taken[0] * h[0, 2]
    pbb = h[2, 2] - taken[1] * h[0, 2]
    middle, half = 0.5 * (paa + pbb) / scale, 0.5 * (paa - pbb) / scale
    reach = np.sqrt(half * half + (pab / scale) ** 2)
    numbers[9], numbers[10], numbers[11] = middle - reach, middle + reach, first
    numbers[12], numbers[13] = pbb / mass, paa / mass
    falling = 0.0
    for index in (9, 10):
        if numbers[index] < -NEUTRAL:
            falling += 1.0
    if first < -1e-14:
        falling += 1.0
    numbers[14] = falling
    angle = 0.5 * np.arctan2(pab / scale, half) + 0.5 * np.pi
    one, two = np.cos(angle), np.sin(angle)
    for axis in range(3):
        numbers[15 + axis] = one * a[axis] + two * b[axis]
    numbers[18] = -(one * taken[0] + two * taken[1])
    numbers[19] = 0.0
    size = np.sqrt(1.0 + numbers[18] ** 2)
    for i in range(15, 20):
        numbers[i] /= size


@compiled
def correct_into(
    balance: Balance, filling: Filling, state: Array, hanging: bool, way: Array, anchor: Array, numbers: Array
) -> bool:
    """Bring `state` (5,) onto the curve of rests where way . (state - anchor) = 0; fill `numbers` (21,) there.

    False where Newton does not come to rest.
    """
    radius = balance.radius
    scale = balance.mass * radius
    g, growth, right = np.zeros(3), np.zeros(3), np.zeros(4)
    h, matrix, out = np.zeros((3, 3)), np.zeros((4, 4)), np.zeros(CUT_SIZE)
    best = np.inf
    for _ in range(_MOST_STEPS):
        n = state[:3].copy()
        d = state[3] * radius
        a, b = tangents(n)
        energy, mass = slopes_into(balance, filling, state[4], n, d, hanging, a, b, g, h, growth, out)
        residual = max(abs(g[0]), np.sqrt(g[1] * g[1] + g[2] * g[2])) / scale
        off = 0.0
        for i in range(STATE):
            off += way[i] * (state[i] - anchor[i])
        if not np.isfinite(residual):
            return False
        newton = h.copy()
        if hanging:
            breathing_into(balance, filling, state[4], n, d, a, b, newton)
        settled = residual <= _GOOD_ENOUGH and abs(off) <= 1e-12
        if settled and (residual <= _GOAL or residual > 0.3 * best):
            numbers[5], numbers[6], numbers[8], numbers[20] = energy, mass, residual, out[0]
            numbers[7] = 0.0 if hanging else out[4]
            _stiffness_into(h, scale, mass, a, b, numbers)
            _bordered_into(newton, growth, scale, way, a, b, matrix)
            right[:] = 0.0
            right[3] = 1.0
            solve_into(matrix, right)
            size = np.sqrt(right[0] ** 2 + right[1] ** 2 + right[2] ** 2 + right[3] ** 2)
            if not (np.isfinite(size) and size > 0.0):
                return False
            for axis in range(3):
                numbers[axis] = (right[1] * a[axis] + right[2] * b[axis]) / size
            numbers[3], numbers[4] = right[0] / size, right[3] / size
            return True
        best = min(best, residual)
        for row in range(3):
            right[row] = -g[row] / scale
        right[3] = -off
        _bordered_into(newton, growth, scale, way, a, b, matrix)
        solve_into(matrix, right)
        length = np.sqrt(right[0] ** 2 + right[1] ** 2 + right[2] ** 2 + right[3] ** 2)
        if not length < 1e6:
            return False
        if length > _LONGEST:
            right *= _LONGEST / length
        moved = n + right[1] * a + right[2] * b
        state[:3] = moved / np.sqrt(moved[0] ** 2 + moved[1] ** 2 + moved[2] ** 2)
        state[3] += right[0]
        state[4] += right[3]
    return False

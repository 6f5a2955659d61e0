"""Kernels that bring a boat to rest: Newton on immersion and attitude with the exact Hessian, safeguarded.

Attitude is a point n on the unit sphere and moves along great circles, so no attitude is singular. A step (s1, s2)
along the tangents t1, t2 gives, with q = dE/dn,

    dE/ds = t.q        d2E/ds2 = t.Hnn.t - (q.n) I        d2E/ds dd = t.Hnd

Steps are scaled by the boat's radius, so that immersion and angle are of one kind.
"""

import numpy as np

from dabchick.physics.balance import Array, Balance, evaluate, float_offset
from dabchick.physics.compiled import compiled
from dabchick.physics.cut import CUT_SIZE

AT_REST = 0
SINKS = 1
NOT_SETTLED = 2

_GOAL = 1e-13
"""Residual over weight (and weight times radius) at which little is left but rounding."""
_GOOD_ENOUGH = 1e-11
_LONGEST_STEP = 0.35


@compiled
def tangents(n: Array) -> tuple[Array, Array]:
    """Unit vectors of pure pitch (heel held) and pure heel at the attitude n."""
    level = np.sqrt(n[1] * n[1] + n[2] * n[2])
    if level < 1e-12:
        return np.array([0.0, 0.0, -1.0 if n[0] > 0.0 else 1.0]), np.array([0.0, 1.0, 0.0])
    sine, cosine = n[1] / level, n[2] / level
    return np.array([level, -n[0] * sine, -n[0] * cosine]), np.array([0.0, cosine, -sine])


@compiled
def turned(n: Array, tangent: Array, angle: float) -> Array:
    """The attitude reached from n along the great circle of the unit tangent."""
    moved = np.cos(angle) * n + np.sin(angle) * tangent
    return moved / np.sqrt(moved[0] ** 2 + moved[1] ** 2 + moved[2] ** 2)


@compiled
def reduced_into(
    n: Array, gradient: Array, hessian: Array, pitch: Array, roll: Array, radius: float, g: Array, h: Array
) -> None:
    """Gradient (3,) and Hessian (3, 3) in (immersion over radius, pitch, roll) [kg m]."""
    along = 0.0
    for axis in range(3):
        along += gradient[axis] * n[axis]
    g[0] = gradient[3] * radius
    g[1] = g[2] = 0.0
    h[0, 0] = hessian[3, 3] * radius * radius
    h[0, 1] = h[0, 2] = h[1, 1] = h[1, 2] = h[2, 2] = 0.0
    for row in range(3):
        g[1] += gradient[row] * pitch[row]
        g[2] += gradient[row] * roll[row]
        h[0, 1] += hessian[3, row] * pitch[row] * radius
        h[0, 2] += hessian[3, row] * roll[row] * radius
        for column in range(3):
            h[1, 1] += pitch[row] * hessian[row, column] * pitch[column]
            h[1, 2] += pitch[row] * hessian[row, column] * roll[column]
            h[2, 2] += roll[row] * hessian[row, column] * roll[column]
    h[1, 1] -= along
    h[2, 2] -= along
    h[1, 0], h[2, 0], h[2, 1] = h[0, 1], h[0, 2], h[1, 2]


@compiled
def _solve_raised(h: Array, raised: float, g: Array, step: Array) -> bool:
    """Solve (h + raised I) step = -g by Cholesky; False where the raised matrix is not positive definite."""
    a = h[0, 0] + raised
    if a <= 0.0:
        return False
    l00 = np.sqrt(a)
    l10, l20 = h[1, 0] / l00, h[2, 0] / l00
    a = h[1, 1] + raised - l10 * l10
    if a <= 1e-14 * (abs(h[1, 1]) + raised):
        return False
    l11 = np.sqrt(a)
    l21 = (h[2, 1] - l20 * l10) / l11
    a = h[2, 2] + raised - l20 * l20 - l21 * l21
    if a <= 1e-14 * (abs(h[2, 2]) + raised):
        return False
    l22 = np.sqrt(a)
    y0 = -g[0] / l00
    y1 = (-g[1] - l10 * y0) / l11
    y2 = (-g[2] - l20 * y0 - l21 * y1) / l22
    step[2] = y2 / l22
    step[1] = (y1 - l21 * step[2]) / l11
    step[0] = (y0 - l10 * step[1] - l20 * step[2]) / l00
    return True


@compiled
def _residual(g: Array, scale: float) -> float:
    return max(abs(g[0]), np.sqrt(g[1] * g[1] + g[2] * g[2])) / scale


@compiled
def settle_into(
    balance: Balance, n: Array, start: float, hanging: bool, heel_held: bool, known: bool
) -> tuple[float, int]:
    """Bring the boat to rest from the attitude `n` (overwritten): a minimum of energy in immersion, heel, trim.

    With `heel_held` only immersion and trim are free, which gives the free-trim righting arm. With `hanging`
    only attitude is free. `known` says that `start` is an offset near balance; else it is found first.
    Returns (offset, AT_REST | SINKS | NOT_SETTLED).
    """
    radius = balance.radius
    gradient, hessian, out = np.empty(4), np.empty((4, 4)), np.empty(CUT_SIZE)
    g, h, step = np.zeros(3), np.zeros((3, 3)), np.zeros(3)
    g_new, h_new = np.zeros(3), np.zeros((3, 3))
    d = start
    if not hanging and not known:
        d, floats = float_offset(balance, n, start, out)
        if not floats:
            return d, SINKS
    scale = balance.mass * radius
    energy = evaluate(balance, n, d, hanging, gradient, hessian, out)
    pitch, roll = tangents(n)
    reduced_into(n, gradient, hessian, pitch, roll, radius, g, h)
    if heel_held:
        _hold_heel(g, h, scale)
    residual = _residual(g, scale)
    raised = 0.0
    stalled = 0
    for _ in range(300):
        if residual <= _GOAL or stalled > 0:
            break
        while not _solve_raised(h, raised, g, step):
            raised = max(2.0 * raised, 1e-6 * scale)
        longest = max(abs(step[0]), np.sqrt(step[1] * step[1] + step[2] * step[2]))
        shrink = min(1.0, _LONGEST_STEP / longest) if longest > 0.0 else 1.0
        for entry in range(3):
            step[entry] *= shrink
        angle = np.sqrt(step[1] * step[1] + step[2] * step[2])
        trial = n.copy()
        if angle > 0.0:
            trial = turned(n, (step[1] * pitch + step[2] * roll) / angle, angle)
        d_trial = d + radius * step[0]
        e_trial = evaluate(balance, trial, d_trial, hanging, gradient, hessian, out)
        if not hanging and hessian[3, 3] <= 0.0:
            # Nothing breaks the surface, so the energy is a slope without an end: find the surface again.
            d_trial, floats = float_offset(balance, trial, d, out)
            if not floats:
                return d_trial, SINKS
            e_trial = evaluate(balance, trial, d_trial, hanging, gradient, hessian, out)
        pitch_trial, roll_trial = tangents(trial)
        reduced_into(trial, gradient, hessian, pitch_trial, roll_trial, radius, g_new, h_new)
        if heel_held:
            _hold_heel(g_new, h_new, scale)
        residual_new = _residual(g_new, scale)
        foreseen = g[0] * step[0] + g[1] * step[1] + g[2] * step[2]
        noise = 1e-14 * (abs(energy) + scale)
        if e_trial <= energy + 1e-4 * foreseen or (
            abs(e_trial - energy) <= noise and residual_new < residual
        ):
            stalled = stalled + 1 if residual_new > 0.5 * residual and residual < _GOOD_ENOUGH else 0
            n[:] = trial
            d, energy, residual = d_trial, e_trial, residual_new
            pitch, roll = pitch_trial, roll_trial
            g[:] = g_new
            h[:, :] = h_new
            raised = raised * 0.2 if raised > 1e-9 * scale else 0.0
        else:
            if residual < _GOOD_ENOUGH:
                stalled += 1
            raised = max(4.0 * raised, 1e-4 * scale)
            if raised > 1e12 * scale:
                break
    return d, AT_REST if residual <= _GOOD_ENOUGH else NOT_SETTLED


@compiled
def _hold_heel(g: Array, h: Array, scale: float) -> None:
    g[2] = 0.0
    h[0, 2] = h[2, 0] = h[1, 2] = h[2, 1] = 0.0
    h[2, 2] = scale


@compiled
def stationary_into(balance: Balance, n: Array, start: float, hanging: bool) -> tuple[float, int]:
    """Newton towards any point without force or moment, stable or not: damped least squares on the gradient.

    `n` is overwritten. Returns (offset, AT_REST | SINKS | NOT_SETTLED).
    """
    radius = balance.radius
    gradient, hessian, out = np.empty(4), np.empty((4, 4)), np.empty(CUT_SIZE)
    g, h, step = np.zeros(3), np.zeros((3, 3)), np.zeros(3)
    right, square = np.zeros(3), np.zeros((3, 3))
    d = start
    if not hanging:
        d, floats = float_offset(balance, n, start, out)
        if not floats:
            return d, SINKS
    scale = balance.mass * radius
    evaluate(balance, n, d, hanging, gradient, hessian, out)
    pitch, roll = tangents(n)
    reduced_into(n, gradient, hessian, pitch, roll, radius, g, h)
    residual = _residual(g, scale)
    damping = 1e-6
    for _ in range(100):
        if residual <= _GOAL:
            break
        for row in range(3):
            right[row] = 0.0
            for column in range(3):
                right[row] += h[row, column] * g[column]
                square[row, column] = 0.0
                for inner in range(3):
                    square[row, column] += h[row, inner] * h[inner, column]
        accepted = False
        for _try in range(25):
            if _solve_raised(square, damping * damping * scale * scale, right, step):
                longest = max(abs(step[0]), np.sqrt(step[1] * step[1] + step[2] * step[2]))
                if longest > _LONGEST_STEP:
                    step *= _LONGEST_STEP / longest
                angle = np.sqrt(step[1] * step[1] + step[2] * step[2])
                trial = n.copy()
                if angle > 0.0:
                    trial = turned(n, (step[1] * pitch + step[2] * roll) / angle, angle)
                d_trial = d + radius * step[0]
                evaluate(balance, trial, d_trial, hanging, gradient, hessian, out)
                if not hanging and hessian[3, 3] <= 0.0:
                    d_trial, floats = float_offset(balance, trial, d, out)
                    evaluate(balance, trial, d_trial, hanging, gradient, hessian, out)
                pitch_trial, roll_trial = tangents(trial)
                g_new, h_new = np.zeros(3), np.zeros((3, 3))
                reduced_into(trial, gradient, hessian, pitch_trial, roll_trial, radius, g_new, h_new)
                residual_new = _residual(g_new, scale)
                if residual_new < residual:
                    accepted = True
                    n[:] = trial
                    d, residual = d_trial, residual_new
                    pitch, roll = pitch_trial, roll_trial
                    g[:] = g_new
                    h[:, :] = h_new
                    damping *= 0.1
                    break
            damping = max(10.0 * damping, 1e-8)
        if not accepted:
            break
    return d, AT_REST if residual <= _GOOD_ENOUGH else NOT_SETTLED


@compiled
def stiffness_into(
    balance: Balance, n: Array, d: float, hanging: bool, stiffness: Array, out: Array
) -> Array:
    """Energy's second derivatives in (pitch, roll), immersion let free, into `stiffness` (2, 2) [kg m].

    `out` (18,) receives the cut. Returns [energy, force left, moment left about pitch, about roll, mass].
    """
    gradient, hessian = np.empty(4), np.empty((4, 4))
    g, h = np.zeros(3), np.zeros((3, 3))
    energy = evaluate(balance, n, d, hanging, gradient, hessian, out)
    pitch, roll = tangents(n)
    reduced_into(n, gradient, hessian, pitch, roll, balance.radius, g, h)
    for row in range(2):
        for column in range(2):
            stiffness[row, column] = h[1 + row, 1 + column]
            if h[0, 0] > 0.0:
                stiffness[row, column] -= h[0, 1 + row] * h[0, 1 + column] / h[0, 0]
    return np.array([energy, gradient[3], g[1], g[2], balance.density * out[0] - gradient[3]])


@compiled
def arms_into(
    balance: Balance,
    heels: Array,
    trim: float,
    start: float,
    hanging: bool,
    free_trim: bool,
    arms: Array,
    trims: Array,
) -> int:
    """Righting arm [m] at each heel [rad] into `arms` (k,), and the trim [rad] she takes into `trims` (k,).

    The arm is dE/dheel over the mass, positive where it turns her back from a starboard heel. Heels follow one
    another: each starts from the trim before. Returns AT_REST, NOT_SETTLED (somewhere) or SINKS.
    """
    gradient, hessian, out = np.empty(4), np.empty((4, 4)), np.empty(CUT_SIZE)
    d = start
    known = False
    worst = AT_REST
    for index in range(heels.size):
        sine, cosine = np.sin(heels[index]), np.cos(heels[index])
        n = np.array([np.sin(trim), np.cos(trim) * sine, np.cos(trim) * cosine])
        if free_trim:
            d, state = settle_into(balance, n, d, hanging, True, known)
            if state == SINKS:
                return SINKS
            worst = max(worst, state)
            known = True
        elif not hanging:
            d, floats = float_offset(balance, n, d, out)
            if not floats:
                return SINKS
        trim = np.arctan2(n[0], n[1] * sine + n[2] * cosine)
        evaluate(balance, n, d, hanging, gradient, hessian, out)
        lever = np.cos(trim) * (gradient[1] * cosine - gradient[2] * sine)
        arms[index] = lever / (balance.density * out[0] - gradient[3])
        trims[index] = trim
    return worst

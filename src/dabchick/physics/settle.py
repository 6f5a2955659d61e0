"""Kernels that bring a boat to rest: Newton on immersion and attitude with the exact Hessian, safeguarded.

Attitude is a point n on the unit sphere. A step (s1, s2) changes trim by s1 and heel by s2 / cos trim, so that a
round boat rolls without leaving her trim; near bow up or bow down, where heel has no meaning, it follows a great
circle instead. With q = dE/dn, m = (0, sin heel, cos heel), p and r the unit vectors of pitch and roll,

    dE/ds1 = p.q                            dE/ds2 = r.q
    d2E/ds1^2 = p.Hp - q.n                  d2E/ds2^2 = r.Hr - q.m / cos trim    (great circle: r.Hr - q.n)
    d2E/ds1 ds2 = p.Hr - tan trim r.q                                            (great circle: p.Hr)

Steps are scaled by the boat's radius, so that immersion and angle are of one kind. Directions in which energy curves
down are followed downhill at the length that the size of the curvature gives (saddle-free Newton).
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
_LONGEST_STEP = 0.15
"""In radians and in radii: long enough to come home from anywhere, short enough not to jump over a shallow well."""
_NO_HEEL = 0.2
"""Cosine of trim below which steps follow great circles."""
_LEAST_CURVATURE = 1e-13


@compiled
def tangents(n: Array) -> tuple[Array, Array]:
    """Unit vectors of pure pitch (heel held) and pure heel at the attitude n."""
    level = np.sqrt(n[1] * n[1] + n[2] * n[2])
    if level < 1e-12:
        return np.array([0.0, 0.0, -1.0 if n[0] > 0.0 else 1.0]), np.array([0.0, 1.0, 0.0])
    sine, cosine = n[1] / level, n[2] / level
    return np.array([level, -n[0] * sine, -n[0] * cosine]), np.array([0.0, cosine, -sine])


@compiled
def stepped(n: Array, pitch_by: float, roll_by: float) -> Array:
    """The attitude after a step of pitch and roll [rad] from n."""
    level = np.sqrt(n[1] * n[1] + n[2] * n[2])
    if level > _NO_HEEL:
        trim = np.arctan2(n[0], level) + pitch_by
        heel = np.arctan2(n[1], n[2]) + roll_by / level
        return np.array([np.sin(trim), np.cos(trim) * np.sin(heel), np.cos(trim) * np.cos(heel)])
    pitch, roll = tangents(n)
    angle = np.sqrt(pitch_by * pitch_by + roll_by * roll_by)
    if angle == 0.0:
        return n.copy()
    moved = np.cos(angle) * n + np.sin(angle) / angle * (pitch_by * pitch + roll_by * roll)
    return moved / np.sqrt(moved[0] ** 2 + moved[1] ** 2 + moved[2] ** 2)


@compiled
def reduced_into(
    n: Array, gradient: Array, hessian: Array, pitch: Array, roll: Array, radius: float, g: Array, h: Array
) -> None:
    """Gradient (3,) and Hessian (3, 3) in (immersion over radius, pitch, roll) [kg m]."""
    level = np.sqrt(n[1] * n[1] + n[2] * n[2])
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
    if level > _NO_HEEL:
        h[1, 2] -= n[0] / level * g[2]
        h[2, 2] -= (gradient[1] * n[1] + gradient[2] * n[2]) / (level * level)
    else:
        h[2, 2] -= along
    h[1, 0], h[2, 0], h[2, 1] = h[0, 1], h[0, 2], h[1, 2]


@compiled
def principal_into(h: Array, values: Array, axes: Array) -> None:
    """Eigenvalues (3,) and eigenvectors (3, 3, in columns) of a symmetric matrix: cyclic Jacobi rotations."""
    a = h.copy()
    axes[:, :] = 0.0
    axes[0, 0] = axes[1, 1] = axes[2, 2] = 1.0
    for _ in range(12):
        off = abs(a[0, 1]) + abs(a[0, 2]) + abs(a[1, 2])
        if off <= 1e-17 * (abs(a[0, 0]) + abs(a[1, 1]) + abs(a[2, 2])):
            break
        for i in range(2):
            for j in range(i + 1, 3):
                if a[i, j] == 0.0:
                    continue
                ratio = (a[j, j] - a[i, i]) / (2.0 * a[i, j])
                tangent = 1.0 / (abs(ratio) + np.sqrt(ratio * ratio + 1.0))
                if ratio < 0.0:
                    tangent = -tangent
                cosine = 1.0 / np.sqrt(tangent * tangent + 1.0)
                sine = tangent * cosine
                for k in range(3):
                    one, other = a[k, i], a[k, j]
                    a[k, i], a[k, j] = cosine * one - sine * other, sine * one + cosine * other
                for k in range(3):
                    one, other = a[i, k], a[j, k]
                    a[i, k], a[j, k] = cosine * one - sine * other, sine * one + cosine * other
                for k in range(3):
                    one, other = axes[k, i], axes[k, j]
                    axes[k, i], axes[k, j] = cosine * one - sine * other, sine * one + cosine * other
    for i in range(3):
        values[i] = a[i, i]


@compiled
def _downhill_into(values: Array, axes: Array, raised: float, scale: float, g: Array, step: Array) -> None:
    """Step -(|h| + raised I)^-1 g along the principal axes, no part of it longer than is allowed."""
    step[:] = 0.0
    for i in range(3):
        slope = axes[0, i] * g[0] + axes[1, i] * g[1] + axes[2, i] * g[2]
        length = -slope / (max(abs(values[i]), _LEAST_CURVATURE * scale) + raised)
        length = min(max(length, -_LONGEST_STEP), _LONGEST_STEP)
        for k in range(3):
            step[k] += axes[k, i] * length


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
    values, axes = np.zeros(3), np.zeros((3, 3))
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
    principal_into(h, values, axes)
    raised = 0.0
    stalled = 0
    for _ in range(300):
        if residual <= _GOAL or stalled > 0:
            break
        _downhill_into(values, axes, raised, scale, g, step)
        trial = stepped(n, step[1], step[2])
        d_trial = d + radius * step[0]
        e_trial = evaluate(balance, trial, d_trial, hanging, gradient, hessian, out)
        if not hanging and hessian[3, 3] <= 0.0:
            # Nothing breaks the surface, so the energy is a slope without an end: find the surface again.
            d_trial, floats = float_offset(balance, trial, d, out)
            if not floats:
                return d_trial, SINKS
            e_trial = evaluate(balance, trial, d_trial, hanging, gradient, hessian, out)
        pitch, roll = tangents(trial)
        reduced_into(trial, gradient, hessian, pitch, roll, radius, g_new, h_new)
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
            g[:] = g_new
            h[:, :] = h_new
            principal_into(h, values, axes)
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
    g_new, h_new = np.zeros(3), np.zeros((3, 3))
    values, axes = np.zeros(3), np.zeros((3, 3))
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
        principal_into(h, values, axes)
        accepted = False
        for _try in range(25):
            step[:] = 0.0
            for i in range(3):
                slope = axes[0, i] * g[0] + axes[1, i] * g[1] + axes[2, i] * g[2]
                length = -slope * values[i] / (values[i] * values[i] + (damping * scale) ** 2)
                length = min(max(length, -_LONGEST_STEP), _LONGEST_STEP)
                for k in range(3):
                    step[k] += axes[k, i] * length
            trial = stepped(n, step[1], step[2])
            d_trial = d + radius * step[0]
            evaluate(balance, trial, d_trial, hanging, gradient, hessian, out)
            if not hanging and hessian[3, 3] <= 0.0:
                d_trial, floats = float_offset(balance, trial, d, out)
                evaluate(balance, trial, d_trial, hanging, gradient, hessian, out)
            pitch, roll = tangents(trial)
            reduced_into(trial, gradient, hessian, pitch, roll, radius, g_new, h_new)
            residual_new = _residual(g_new, scale)
            if residual_new < residual:
                accepted = True
                n[:] = trial
                d, residual = d_trial, residual_new
                g[:] = g_new
                h[:, :] = h_new
                damping *= 0.1
                break
            damping = max(10.0 * damping, 1e-8)
        if not accepted:
            break
    return d, AT_REST if residual <= _GOOD_ENOUGH else NOT_SETTLED


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

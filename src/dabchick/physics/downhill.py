"""Downhill in small steps: where a boat goes when the rest she was in has ended."""

import numpy as np

from dabchick.physics.balance import Array, Balance, evaluate, float_offset
from dabchick.physics.compiled import compiled
from dabchick.physics.cut import CUT_SIZE
from dabchick.physics.pose import pose
from dabchick.physics.settle import (
    AT_REST,
    SINKS,
    principal_into,
    reduced_into,
    settle_into,
    stepped,
    tangents,
)

_SHORT = 0.02
"""In radians and radii: some 1 degree, so that no hollow wider than that is stepped over."""
_MOST_STEPS = 3000
_PUSHES = (1e-3, 5e-3, 2e-2)
"""Radians."""


@compiled
def run_down_into(balance: Balance, n: Array, start: float, hanging: bool) -> tuple[float, int]:
    """Go downhill from the attitude `n` (overwritten) and offset `start` in steps of a degree, then come to rest.

    No speed is carried: she ends in the hollow that the slope leads into. With `hanging` the air must be held.
    Returns (offset, AT_REST | SINKS | NOT_SETTLED).
    """
    radius = balance.radius
    gradient, hessian, out = np.empty(4), np.empty((4, 4)), np.empty(CUT_SIZE)
    g, h, step = np.zeros(3), np.zeros((3, 3)), np.zeros(3)
    values, axes = np.zeros(3), np.zeros((3, 3))
    scale = balance.mass * radius
    d = start
    energy = evaluate(balance, n, d, hanging, gradient, hessian, out)
    if not hanging and hessian[3, 3] <= 0.0:
        d, floats = float_offset(balance, n, d, out)
        if not floats:
            return d, SINKS
        energy = evaluate(balance, n, d, hanging, gradient, hessian, out)
    raised = 0.0
    for _ in range(_MOST_STEPS):
        pitch, roll = tangents(n)
        reduced_into(n, gradient, hessian, pitch, roll, radius, g, h)
        principal_into(h, values, axes)
        longest = 0.0
        step[:] = 0.0
        for i in range(3):
            slope = axes[0, i] * g[0] + axes[1, i] * g[1] + axes[2, i] * g[2]
            length = -slope / (max(abs(values[i]), 1e-13 * scale) + raised)
            length = min(max(length, -_SHORT), _SHORT)
            longest = max(longest, abs(length))
            for k in range(3):
                step[k] += axes[k, i] * length
        if longest < 1e-4 and values[0] > 0.0 and values[1] > 0.0 and values[2] > 0.0:
            break
        trial = stepped(n, step[1], step[2])
        d_trial = d + radius * step[0]
        e_trial = evaluate(balance, trial, d_trial, hanging, gradient, hessian, out)
        if not hanging and hessian[3, 3] <= 0.0:
            d_trial, floats = float_offset(balance, trial, d, out)
            if not floats:
                return d_trial, SINKS
            e_trial = evaluate(balance, trial, d_trial, hanging, gradient, hessian, out)
        if e_trial < energy:
            n[:] = trial
            d, energy = d_trial, e_trial
            raised = raised * 0.2 if raised > 1e-9 * scale else 0.0
        else:
            raised = max(4.0 * raised, 1e-4 * scale)
            evaluate(balance, n, d, hanging, gradient, hessian, out)
            if raised > 1e9 * scale:
                break
    d, state = settle_into(balance, n, d, hanging, False, True)
    return d, state


def run_down(
    balance: Balance, normal: Array, offset_m: float, *, hanging: bool = False
) -> tuple[Array, float] | None:
    """The pose (n (3,), offset [m]) she comes to rest in; None where she sinks.

    Raises ArithmeticError where no rest is found.
    """
    n = np.array(normal, dtype=np.float64)
    n /= np.linalg.norm(n)
    offset = float(offset_m)
    for push in (0.0, *_PUSHES):
        if push:
            # all but at rest on a ridge, where energy falls too little to be told from rounding
            n = _pushed(balance, n, offset, push, hanging)
        offset, state = run_down_into(balance, n, offset, hanging)
        if state == SINKS:
            return None
        if state == AT_REST:
            return n, float(offset)
    raise ArithmeticError("No rest was found downhill; she goes on without an end.")


def _pushed(balance: Balance, n: Array, offset: float, push: float, hanging: bool) -> Array:
    """The attitude turned the softest way, to starboard, or else bow up."""
    here = pose(balance, n, offset, hanging=hanging)
    soft = np.linalg.eigh(here.free_stiffness)[1][:, 0]
    side = soft[1] if abs(soft[1]) > 0.1 * abs(soft[0]) else soft[0]
    turned = n + push * np.copysign(1.0, side) * (soft[0] * here.pitch + soft[1] * here.roll)
    return np.asarray(turned / np.linalg.norm(turned))

"""A balance whose tank water, and the mass of water in piston tanks, change along a way of filling.

Progress s runs from 0 to 1 over straight legs. With t from 0 to 1 along a leg, the water held in a room and the air
shut in it are linear in t, the mass is linear and its moment quadratic (a piston's water column grows and so shifts).
"""

import itertools
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from dabchick.physics.balance import Array, Balance, air_squeezed_into, evaluate, tanks_into
from dabchick.physics.compiled import compiled
from dabchick.physics.cut import CUT_SIZE

_APART = 1e-6
"""In progress, for the slope of the tanks' pull with progress."""

_TURNED = 1e-5
"""Radians, for the slope of the moments with attitude where air follows it."""


class Filling(NamedTuple):
    """What changes along the way: arrays only."""

    knots: Array
    """(k,) progress at the ends of the legs, from 0 to 1 over the whole way."""
    mass: Array
    """(k-1, 2) at t = 0 and t = 1 of each leg [kg]."""
    moment: Array
    """(k-1, 3, 3) moment = row 0 + t row 1 + t^2 row 2 [kg m]."""
    water: Array
    """(k-1, 2, rooms) held in each room at t = 0 and 1 [m3]."""
    air: Array
    """(k-1, 2, rooms) as `tank_air` of a balance."""
    under_offset: float
    """Offset of the surface that sets the squeeze on shut-in air when she is wholly under [m]."""


def filling(
    knots: Sequence[float] | Array, sample: Callable[[float], Balance], under_offset_m: float
) -> Filling:
    """Read the legs off the balances that `sample` gives at a quarter, half and three quarters of each.

    So what changes by a step at a leg's end (a tank just shut, say) is taken at its limit from inside the leg.
    Raises ValueError unless the knots rise from 0 to 1.
    """
    ends = np.asarray(knots, dtype=np.float64)
    if ends.size < 2 or ends[0] != 0.0 or ends[-1] != 1.0 or not np.all(np.diff(ends) > 0.0):
        raise ValueError(f"The knots of a way of filling rise from 0 to 1; given {ends}.")
    mass, moment, water, air = [], [], [], []
    for first, last in itertools.pairwise(ends):
        early, middle, late = (sample(float(first + t * (last - first))) for t in (0.25, 0.5, 0.75))
        mass.append(_line(early.mass, late.mass))
        square = 8.0 * (early.moment - 2.0 * middle.moment + late.moment)
        slope = 2.0 * (late.moment - early.moment) - square
        moment.append([middle.moment - 0.5 * slope - 0.25 * square, slope, square])
        room = early.tank_capacity
        line = _line(early.tank_volume, late.tank_volume)
        line[np.abs(line) < 1e-12 * room] = 0.0
        # asked for a hair more than its room, a full tank is full whatever rounding says
        full = np.abs(line - room) < 3e-12 * room
        water.append(np.where(full, room * (1.0 + 1e-12), line))
        shut = np.maximum(_line(early.tank_air, late.tank_air), 0.0)
        shut[shut < 1e-12 * early.atmosphere_head * room] = 0.0
        air.append(shut)
    rooms = len(sample(0.5).tank_volume)
    legs = len(ends) - 1
    return Filling(
        ends,
        np.array(mass, dtype=np.float64),
        np.array(moment, dtype=np.float64),
        np.array(water, dtype=np.float64).reshape(legs, 2, rooms),
        np.array(air, dtype=np.float64).reshape(legs, 2, rooms),
        float(under_offset_m),
    )


def legs(way: Filling) -> tuple[Filling, ...]:
    """Each leg as a way of its own, in order."""
    return tuple(
        Filling(
            way.knots[leg : leg + 2],
            way.mass[leg : leg + 1],
            way.moment[leg : leg + 1],
            way.water[leg : leg + 1],
            way.air[leg : leg + 1],
            way.under_offset,
        )
        for leg in range(len(way.mass))
    )


def _line(early: Array | float, late: Array | float) -> Array:
    """Values at t = 0 and 1 of the straight line through those at 1/4 and 3/4."""
    return np.array([1.5 * early - 0.5 * late, 1.5 * late - 0.5 * early])


@compiled
def filled(balance: Balance, way: Filling, progress: float) -> Balance:
    """The balance at a progress; outside the knots as at the nearer end."""
    s = min(max(progress, way.knots[0]), way.knots[-1])
    leg = 0
    while leg < way.mass.shape[0] - 1 and s >= way.knots[leg + 1]:
        leg += 1
    t = (s - way.knots[leg]) / (way.knots[leg + 1] - way.knots[leg])
    return Balance(
        balance.forest,
        balance.last_displacer,
        balance.displacer_starts,
        (1.0 - t) * way.mass[leg, 0] + t * way.mass[leg, 1],
        way.moment[leg, 0] + t * (way.moment[leg, 1] + t * way.moment[leg, 2]),
        balance.density,
        balance.buoyant_volume,
        balance.buoyant_centre,
        balance.tank_first,
        balance.tank_last,
        (1.0 - t) * way.water[leg, 0] + t * way.water[leg, 1],
        balance.tank_capacity,
        (1.0 - t) * way.air[leg, 0] + t * way.air[leg, 1],
        balance.atmosphere_head,
        balance.middle,
        balance.radius,
    )


@compiled
def held_under(balance: Balance, n: Array, offset: float) -> Balance:
    """Every open-bottomed tank's water held at what depth makes of it; the same as `with_air_held`."""
    some = False
    for tank in range(balance.tank_air.size):
        some = some or balance.tank_air[tank] > 0.0
    if not some:
        return balance
    volumes = balance.tank_volume.copy()
    out = np.empty(CUT_SIZE)
    for tank in range(balance.tank_air.size):
        if balance.tank_air[tank] > 0.0:
            volumes[tank], _, _ = air_squeezed_into(
                balance.forest, balance.tank_first[tank], balance.tank_last[tank], n[0], n[1], n[2], offset,
                balance.tank_capacity[tank], balance.tank_air[tank], balance.atmosphere_head, out,
            )  # fmt: skip
    return Balance(
        balance.forest, balance.last_displacer, balance.displacer_starts, balance.mass, balance.moment,
        balance.density, balance.buoyant_volume, balance.buoyant_centre, balance.tank_first, balance.tank_last,
        volumes, balance.tank_capacity, np.zeros_like(volumes), balance.atmosphere_head, balance.middle,
        balance.radius,
    )  # fmt: skip


@compiled
def at_progress(balance: Balance, way: Filling, progress: float, n: Array, hanging: bool) -> Balance:
    """The balance at a progress, its air held when she counts as wholly under."""
    here = filled(balance, way, progress)
    return held_under(here, n, way.under_offset) if hanging else here


@compiled
def _weights_into(
    balance: Balance, way: Filling, progress: float, n: Array, d: float, hanging: bool, gradient: Array
) -> None:
    """The part of dE/d(n, d) that changes with progress, (4,), overwritten."""
    here = at_progress(balance, way, progress, n, hanging)
    gradient[:] = 0.0
    tanks_into(here, n[0], n[1], n[2], d, gradient, np.zeros((4, 4)))
    gradient[:3] += here.moment
    gradient[3] -= here.mass
    if hanging:
        gradient[:3] += gradient[3] * here.buoyant_centre
        gradient[3] = 0.0


@compiled
def slopes_into(
    balance: Balance, way: Filling, progress: float, n: Array, d: float, hanging: bool, a: Array, b: Array,
    g: Array, h: Array, growth: Array, out: Array,
) -> tuple[float, float]:  # fmt: skip
    """Gradient g (3,), Hessian h (3, 3) and dg/ds (3,) in (immersion over radius, turns about a and b) [kg m].

    a, b (3,) with n are orthonormal and turns follow great circles. Returns (energy, mass with the tank water).
    """
    here = at_progress(balance, way, progress, n, hanging)
    gradient, hessian = np.empty(4), np.empty((4, 4))
    energy = evaluate(here, n, d, hanging, gradient, hessian, out)
    mass = here.density * out[0] - gradient[3]
    low, high = max(progress - _APART, way.knots[0]), min(progress + _APART, way.knots[-1])
    before, after = np.empty(4), np.empty(4)
    _weights_into(balance, way, low, n, d, hanging, before)
    _weights_into(balance, way, high, n, d, hanging, after)
    change = (after - before) / (high - low)
    radius = balance.radius
    ways = np.zeros((3, 4))
    ways[0, 3] = radius
    ways[1, :3] = a
    ways[2, :3] = b
    along = gradient[0] * n[0] + gradient[1] * n[1] + gradient[2] * n[2]
    for row in range(3):
        g[row] = growth[row] = 0.0
        for i in range(4):
            g[row] += ways[row, i] * gradient[i]
            growth[row] += ways[row, i] * change[i]
        for column in range(3):
            h[row, column] = 0.0
            for i in range(4):
                for j in range(4):
                    h[row, column] += ways[row, i] * hessian[i, j] * ways[column, j]
    h[1, 1] -= along
    h[2, 2] -= along
    return energy, mass


@compiled
def breathing_into(
    balance: Balance, way: Filling, progress: float, n: Array, d: float, a: Array, b: Array, h: Array
) -> None:
    """Where air follows the attitude of a boat wholly under, put the true slopes of the moments into h (3, 3).

    No energy belongs to them, so they are not symmetric; Newton needs them, and hold is told without.
    """
    if not np.any(way.air > 0.0):
        return
    here, before, after = np.empty(4), np.empty(4), np.empty(4)
    _weights_into(balance, way, progress, n, d, True, here)
    along = here[0] * n[0] + here[1] * n[1] + here[2] * n[2]
    for column in range(2):
        turn = a if column == 0 else b
        _weights_into(balance, way, progress, np.cos(_TURNED) * n - np.sin(_TURNED) * turn, d, True, before)
        _weights_into(balance, way, progress, np.cos(_TURNED) * n + np.sin(_TURNED) * turn, d, True, after)
        change = (after - before) / (2.0 * _TURNED)
        h[1, 1 + column] = a[0] * change[0] + a[1] * change[1] + a[2] * change[2]
        h[2, 1 + column] = b[0] * change[0] + b[1] * change[1] + b[2] * change[2]
        h[1 + column, 1 + column] -= along

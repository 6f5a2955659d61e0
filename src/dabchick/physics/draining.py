"""Water that runs in and out of spaces through their openings while levels, air pressure and boat follow.

For each space, with water W [m3], room V, air n = absolute pressure times volume [Pa m3, one temperature]:

    dW/dt = sum of the water through its openings          dn/dt = sum of the air through them
    (atmosphere + gauge) (V - W) = n

A step is implicit in W, n and gauge, the boat's following included to first order, so levels that have met do not
chatter and an open vent needs no short steps. Each step is made once whole and once in two halves; their difference
sets its length and the result is carried to second order. All of it is sums of flows, so no water is lost.
"""

from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np

from dabchick.physics.balance import ATMOSPHERE_PA, GRAVITY_M_S2, Array, Counts
from dabchick.physics.compiled import compiled
from dabchick.physics.cut import CUT_SIZE, Forest, lowest
from dabchick.physics.liquid import level_into
from dabchick.physics.orifice import LEAST_HALF_HEIGHT_M, through_into

TRACE = 1e-6
"""Share of a space's room that is always left to its air, so that its pressure has a meaning when it is full."""
OUTSIDE = -1

_GOAL = 1e-11
_GOOD_ENOUGH = 1e-8
_MOST_ROUNDS = 60


class Spaces(NamedTuple):
    """Rooms that water runs into and out of: surfaces first[i]:last[i] of a forest."""

    forest: Forest
    first: Counts
    last: Counts
    room_m3: Array


class Holes(NamedTuple):
    """Round openings between a space and another, or the water outside (-1)."""

    places: Array
    """(k, 3) middles [m]."""
    normals: Array
    """(k, 3) unit vectors through them."""
    areas: Array
    discharge: Array
    """(k,) coefficients of discharge."""
    inner: Counts
    """(k,) the space on one side."""
    outer: Counts
    """(k,) the space on the other side, or -1."""


class Stand(NamedTuple):
    """How the boat stands with the waters at hand."""

    normal: Array
    offset_m: float
    """The surface outside is normal . x = offset."""
    pitch: Array
    roll: Array
    flexibility: Array
    """(3, 3) (immersion, pitch, roll) per load in (kg, kg m, kg m), minus the inverse stiffness; zeros where held."""
    under: bool
    """Nothing of her breaks the surface; it is then taken to stand at her highest point."""
    hold_kg_m: float = 0.0
    """The lowest stiffness from which she went over to another rest on the way here, below 0; 0: she never did."""


class Moment(NamedTuple):
    """One moment while water runs."""

    time_s: float
    water_m3: Array
    air_pa_m3: Array
    gauge_pa: Array
    left_m3: float
    """Water that has gone out since the beginning; negative: come in."""
    stand: Stand
    error: float
    """How far the last step's whole and halves differ, as a share of the room; the worst space."""


Rest = Callable[[float, Array, Stand], Stand]
"""The boat at rest at a time [s] with these waters (m,) [m3], looked for from an earlier stand."""


@compiled
def _solve(matrix: Array, right: Array) -> None:
    """Gauss with row exchange, in place; the answer in `right`."""
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
        if pivot == 0.0:
            continue
        for row in range(column + 1, size):
            share = matrix[row, column] / pivot
            if share != 0.0:
                for k in range(column, size):
                    matrix[row, k] -= share * matrix[column, k]
                right[row] -= share * right[column]
    for row in range(size - 1, -1, -1):
        total = right[row]
        for k in range(row + 1, size):
            total -= matrix[row, k] * right[k]
        right[row] = total / matrix[row, row] if matrix[row, row] != 0.0 else 0.0


@compiled
def flows_into(
    holes: Holes,
    n: Array,
    d: float,
    levels: Array,
    middles: Array,
    gauge: Array,
    bottoms: Array,
    tops: Array,
    turn: Array,
    rise: float,
    density: float,
    air: float,
    water_in: Array,
    air_in: Array,
) -> float:
    """Water [m3/s] and air [Pa m3/s] into each space; returns the water that goes outside [m3/s].

    `turn` (3,) and `rise` are what attitude and surface have moved since the levels were found; a level turns about
    the middle of its surface.
    """  # fmt: skip
    water_in[:] = 0.0
    air_in[:] = 0.0
    out = np.zeros(2)
    gone = 0.0
    for k in range(holes.areas.size):
        a, b = holes.inner[k], holes.outer[k]
        height = leaned = across = 0.0
        for axis in range(3):
            height += n[axis] * holes.places[k, axis]
            leaned += turn[axis] * holes.places[k, axis]
            across += n[axis] * holes.normals[k, axis]
        radius = np.sqrt(holes.areas[k] / np.pi)
        half = max(radius * np.sqrt(max(0.0, 1.0 - across * across)), LEAST_HALF_HEIGHT_M)
        # a hole in a floor or a roof ends with its space, so that the last of the water or air meets its edge
        height = min(max(height, bottoms[a] + half), max(bottoms[a] + half, tops[a] - half))
        above_a = levels[a] - height - leaned
        for axis in range(3):
            above_a += turn[axis] * middles[a, axis]
        if b >= 0:
            above_b = levels[b] - height - leaned
            for axis in range(3):
                above_b += turn[axis] * middles[b, axis]
            gauge_b = gauge[b]
        else:
            above_b = d + rise - height - leaned
            gauge_b = 0.0
        through_into(
            above_a, above_b, gauge[a], gauge_b, half, holes.areas[k], holes.discharge[k], density, air, out
        )
        water_in[a] -= out[0]
        air_in[a] -= out[1]
        if b >= 0:
            water_in[b] += out[0]
            air_in[b] += out[1]
        else:
            gone += out[0]
    return gone


@compiled
def _left_over(
    spaces: Spaces,
    holes: Holes,
    n: Array,
    d: float,
    moves: Array,
    dt: float,
    density: float,
    air_density: float,
    water: Array,
    air: Array,
    change: Array,
    gauge: Array,
    levels: Array,
    middles: Array,
    bottoms: Array,
    tops: Array,
    water_in: Array,
    air_in: Array,
    left: Array,
) -> float:
    """What the implicit equations leave, (2m,) as volumes; returns the water that goes outside [m3/s]."""  # fmt: skip
    count = water.size
    turn = np.zeros(3)
    rise = 0.0
    for s in range(count):
        for axis in range(3):
            turn[axis] += moves[s, axis] * change[s]
        rise += moves[s, 3] * change[s]
    gone = flows_into(
        holes, n, d, levels, middles, gauge, bottoms, tops, turn, rise, density, air_density, water_in, air_in
    )
    for s in range(count):
        room = spaces.room_m3[s]
        left[s] = change[s] - dt * water_in[s]
        amount = max(air[s] + dt * air_in[s], ATMOSPHERE_PA * TRACE * room)
        left[count + s] = (
            (ATMOSPHERE_PA + gauge[s]) * (room - water[s] - change[s]) - amount
        ) / ATMOSPHERE_PA
    return gone


@compiled
def _levels_into(
    spaces: Spaces, n: Array, water: Array, change: Array, levels: Array, middles: Array, slopes: Array
) -> None:
    out = np.empty(CUT_SIZE)
    for s in range(water.size):
        room = spaces.room_m3[s]
        volume = min(max(water[s] + change[s], 1e-12 * room), room * (1.0 - 1e-12))
        levels[s] = level_into(spaces.forest, spaces.first[s], spaces.last[s], n[0], n[1], n[2], volume, out)
        area = out[4]
        if area > 0.0:
            slopes[s] = 1.0 / area
            for axis in range(3):
                middles[s, axis] = out[5 + axis] / area
        else:
            slopes[s] = 0.0


@compiled
def implicit_into(
    spaces: Spaces,
    holes: Holes,
    n: Array,
    d: float,
    moves: Array,
    dt: float,
    density: float,
    air_density: float,
    water: Array,
    air: Array,
    gauge: Array,
    change: Array,
) -> tuple[float, bool]:
    """One implicit step of `dt`: `water`, `air`, `gauge` (m,) are overwritten, `change` is the guess and the answer.

    `moves` (m, 4) says how attitude and surface move with each m3 into a space. Returns (water gone outside [m3],
    whether the equations are met).
    """  # fmt: skip
    count = water.size
    size = 2 * count
    bottoms, tops = np.empty(count), np.empty(count)
    for s in range(count):
        bottoms[s] = lowest(spaces.forest, spaces.first[s], spaces.last[s], n[0], n[1], n[2])
        tops[s] = -lowest(spaces.forest, spaces.first[s], spaces.last[s], -n[0], -n[1], -n[2])
    levels, slopes, middles = np.zeros(count), np.zeros(count), np.zeros((count, 3))
    trial_levels, trial_slopes, trial_middles = np.zeros(count), np.zeros(count), np.zeros((count, 3))
    water_in, air_in = np.zeros(count), np.zeros(count)
    left, right, moved = np.zeros(size), np.zeros(size), np.zeros(size)
    matrix = np.zeros((size, size))
    trial_change, trial_gauge = np.zeros(count), np.zeros(count)
    for s in range(count):
        room = spaces.room_m3[s]
        change[s] = min(max(change[s], -water[s]), room - water[s] - 0.5 * TRACE * room)
    _levels_into(spaces, n, water, change, levels, middles, slopes)
    gone = _left_over(
        spaces, holes, n, d, moves, dt, density, air_density, water, air, change, gauge, levels, middles,
        bottoms, tops, water_in, air_in, left,
    )  # fmt: skip
    worst = _worst(left, spaces.room_m3)
    for _ in range(_MOST_ROUNDS):
        if worst <= _GOAL:
            break
        for k in range(size):
            s = k % count
            if k < count:
                by = 1e-7 * spaces.room_m3[s]
                change[s] += by
                levels[s] += slopes[s] * by
            else:
                by = 1e-4 + 1e-6 * abs(gauge[s])
                gauge[s] += by
            _left_over(
                spaces, holes, n, d, moves, dt, density, air_density, water, air, change, gauge, levels, middles,
                bottoms, tops, water_in, air_in, moved,
            )  # fmt: skip
            if k < count:
                change[s] -= by
                levels[s] -= slopes[s] * by
            else:
                gauge[s] -= by
            for row in range(size):
                matrix[row, k] = (moved[row] - left[row]) / by
        right[:] = -left
        _solve(matrix, right)
        share = 1.0
        better = False
        for _try in range(24):
            for s in range(count):
                room = spaces.room_m3[s]
                trial_change[s] = change[s] + share * right[s]
                trial_gauge[s] = max(gauge[s] + share * right[count + s], -0.9 * ATMOSPHERE_PA)
                # the air keeps a part of the room it has, the water never falls below nothing
                most = room - water[s] - 0.1 * max(room - water[s] - change[s], TRACE * room)
                trial_change[s] = min(max(trial_change[s], -water[s]), most)
            _levels_into(spaces, n, water, trial_change, trial_levels, trial_middles, trial_slopes)
            gone_trial = _left_over(
                spaces, holes, n, d, moves, dt, density, air_density, water, air, trial_change, trial_gauge,
                trial_levels, trial_middles, bottoms, tops, water_in, air_in, moved,
            )  # fmt: skip
            worst_trial = _worst(moved, spaces.room_m3)
            if worst_trial < worst:
                better = True
                change[:] = trial_change
                gauge[:] = trial_gauge
                levels[:] = trial_levels
                slopes[:] = trial_slopes
                middles[:, :] = trial_middles
                left[:] = moved
                worst, gone = worst_trial, gone_trial
                break
            share *= 0.5
        if not better:
            break
    gone = _left_over(
        spaces, holes, n, d, moves, dt, density, air_density, water, air, change, gauge, levels, middles,
        bottoms, tops, water_in, air_in, left,
    )  # fmt: skip
    for s in range(count):
        # the flows themselves, so that what leaves one side is what comes to the other
        change[s] = dt * water_in[s]
        water[s] += change[s]
        air[s] = max(air[s] + dt * air_in[s], ATMOSPHERE_PA * TRACE * spaces.room_m3[s])
    return dt * gone, worst <= _GOOD_ENOUGH


@compiled
def _worst(left: Array, room: Array) -> float:
    found = 0.0
    for k in range(left.size):
        found = max(found, abs(left[k]) / room[k % room.size])
    return found


def levels_m(spaces: Spaces, normal: Array, water_m3: Array) -> Array:
    """Height normal . x [m] of the water in each space, (m,)."""
    count = len(water_m3)
    levels, slopes, middles = np.zeros(count), np.zeros(count), np.zeros((count, 3))
    _levels_into(spaces, normal, water_m3, np.zeros(count), levels, middles, slopes)
    return levels


def begin(spaces: Spaces, water_m3: Array, stand: Stand, density_kg_m3: float) -> Moment:
    """The moment from which water runs: its air at the pressure outside, in a full space at that of its depth."""
    room = spaces.room_m3
    water = np.minimum(np.asarray(water_m3, dtype=np.float64), room * (1.0 - TRACE))
    levels = levels_m(spaces, stand.normal, water)
    full = water >= room * (1.0 - 2.0 * TRACE)
    gauge = np.where(full, density_kg_m3 * GRAVITY_M_S2 * (stand.offset_m - levels), 0.0)
    return Moment(0.0, water, (ATMOSPHERE_PA + gauge) * (room - water), gauge, 0.0, stand, 0.0)


def _moves(spaces: Spaces, stand: Stand, water: Array, density: float) -> Array:
    """(m, 4) change of (normal, offset) with each m3 into a space, at the middle of its surface."""
    count = len(water)
    levels, slopes, middles = np.zeros(count), np.zeros(count), np.zeros((count, 3))
    _levels_into(spaces, stand.normal, water, np.zeros(count), levels, middles, slopes)
    loads = density * np.column_stack([-np.ones(count), middles @ stand.pitch, middles @ stand.roll])
    moved = loads @ stand.flexibility.T
    turns = np.outer(moved[:, 1], stand.pitch) + np.outer(moved[:, 2], stand.roll)
    return np.column_stack([turns, moved[:, 0]])


def _advanced(
    spaces: Spaces, holes: Holes, rest: Rest, now: Moment, dt: float, guess: Array,
    density: float, air_density: float,
) -> tuple[Moment, Array, bool]:  # fmt: skip
    """One implicit step: the boat with the new ballast, the flows, the boat again."""
    time = now.time_s + dt
    stand = rest(time, now.water_m3, now.stand)
    water, air, gauge = now.water_m3.copy(), now.air_pa_m3.copy(), now.gauge_pa.copy()
    change = guess * dt
    gone, met = implicit_into(
        spaces, holes, stand.normal, stand.offset_m, _moves(spaces, stand, water, density), dt, density,
        air_density, water, air, gauge, change,
    )  # fmt: skip
    after = rest(time, water, stand)
    return Moment(time, water, air, gauge, now.left_m3 + gone, after, 0.0), change / dt, met


def run_off(
    spaces: Spaces,
    holes: Holes,
    rest: Rest,
    start: Moment,
    density_kg_m3: float,
    air_density_kg_m3: float,
    *,
    longest_s: Callable[[float], float],
    first_s: float,
    tolerance: float = 3e-4,
) -> Iterator[Moment]:
    """Every moment after `start`, without an end; `longest_s(time)` bounds the step that begins then.

    `tolerance` is how far, as a share of the room, a step may differ from its two halves. Raises ArithmeticError where
    even the shortest step does not come out.
    """
    now, dt = start, first_s
    guess = np.zeros(len(start.water_m3))
    while True:
        dt = min(dt, longest_s(now.time_s))
        while True:
            whole, _, met = _advanced(spaces, holes, rest, now, dt, guess, density_kg_m3, air_density_kg_m3)
            one, pace, met_one = _advanced(
                spaces, holes, rest, now, 0.5 * dt, guess, density_kg_m3, air_density_kg_m3
            )
            two, pace, met_two = _advanced(
                spaces, holes, rest, one, 0.5 * dt, pace, density_kg_m3, air_density_kg_m3
            )
            error = float(np.max(np.abs(two.water_m3 - whole.water_m3) / spaces.room_m3))
            if met and met_one and met_two and error <= tolerance:
                break
            if dt <= 1e-7:
                raise ArithmeticError(
                    f"The water does not come out at {now.time_s:.4g} s. Give openings and a time that can be."
                )
            dt *= 0.25 if not (met and met_one and met_two) else max(0.2, 0.8 * np.sqrt(tolerance / error))
        water = 2.0 * two.water_m3 - whole.water_m3
        if np.any(water < 0.0) or np.any(water > spaces.room_m3 * (1.0 - 0.5 * TRACE)):
            water, left = two.water_m3, two.left_m3
        else:
            left = 2.0 * two.left_m3 - whole.left_m3
        air = (ATMOSPHERE_PA + two.gauge_pa) * (spaces.room_m3 - water)
        now = Moment(two.time_s, water, air, two.gauge_pa, left, rest(two.time_s, water, two.stand), error)
        guess = pace
        yield now
        dt *= min(2.0, max(0.3, 0.8 * np.sqrt(tolerance / max(error, 1e-3 * tolerance))))

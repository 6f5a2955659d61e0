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
from dabchick.physics.orifice import LEAST_HALF_HEIGHT_M, SMOOTH_PA, through_into

TRACE = 1e-6
"""Share of a space's room that is always left to its air, so that its pressure has a meaning when it is full."""
OUTSIDE = -1

_GOAL = 1e-11
_GOOD_ENOUGH = 3e-7
_SMOOTHER = (1e4, 1e3, 100.0, 10.0, 3.0, 1.0)
"""Where the equations resist, they are first met with flows that are smoother by these factors."""
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


class Fluids(NamedTuple):
    """What flows."""

    water: float
    """[kg/m3]"""
    air: float
    smooth: float
    """[Pa], see `orifice.SMOOTH_PA`."""


class Surfaces(NamedTuple):
    """The water in each space."""

    levels: Array
    """(m,) heights normal . x [m]."""
    slopes: Array
    """(m,) rise of the level with each m3."""
    middles: Array
    """(m, 3) centres of the free surfaces."""
    bottoms: Array
    tops: Array
    """(m,) ends of the spaces."""


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
    holes: Holes, n: Array, d: float, surfaces: Surfaces, gauge: Array, turn: Array, rise: float, fluids: Fluids,
    water_in: Array, air_in: Array,
) -> float:  # fmt: skip
    """Water [m3/s] and air [Pa m3/s] into each space; returns the water that goes outside [m3/s].

    `turn` (3,) and `rise` are what attitude and surface have moved since the levels were found; a level turns about
    the middle of its surface.
    """
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
        low, high = surfaces.bottoms[a] + half, surfaces.tops[a] - half
        height = min(max(height, low), max(low, high))
        above_a = surfaces.levels[a] - height - leaned
        above_b = d + rise - height - leaned
        gauge_b = 0.0
        if b >= 0:
            above_b = surfaces.levels[b] - height - leaned
            gauge_b = gauge[b]
        for axis in range(3):
            above_a += turn[axis] * surfaces.middles[a, axis]
            if b >= 0:
                above_b += turn[axis] * surfaces.middles[b, axis]
        through_into(
            above_a, above_b, gauge[a], gauge_b, half, holes.areas[k], holes.discharge[k],
            fluids.water, fluids.air, fluids.smooth, out,
        )  # fmt: skip
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
    spaces: Spaces, holes: Holes, n: Array, d: float, moves: Array, dt: float, fluids: Fluids, surfaces: Surfaces,
    water: Array, air: Array, change: Array, gauge: Array, water_in: Array, air_in: Array, left: Array,
) -> float:  # fmt: skip
    """What the implicit equations leave, (2m,) as volumes; returns the water that goes outside [m3/s]."""
    count = water.size
    turn = np.zeros(3)
    rise = 0.0
    for s in range(count):
        for axis in range(3):
            turn[axis] += moves[s, axis] * change[s]
        rise += moves[s, 3] * change[s]
    gone = flows_into(holes, n, d, surfaces, gauge, turn, rise, fluids, water_in, air_in)
    for s in range(count):
        room = spaces.room_m3[s]
        left[s] = change[s] - dt * water_in[s]
        amount = max(air[s] + dt * air_in[s], ATMOSPHERE_PA * TRACE * room)
        left[count + s] = (
            (ATMOSPHERE_PA + gauge[s]) * (room - water[s] - change[s]) - amount
        ) / ATMOSPHERE_PA
    return gone


@compiled
def _surfaces_into(spaces: Spaces, n: Array, water: Array, change: Array, found: Surfaces) -> None:
    """Level, middle and slope of the water in each space after its change."""
    out = np.empty(CUT_SIZE)
    for s in range(water.size):
        room = spaces.room_m3[s]
        volume = min(max(water[s] + change[s], 1e-12 * room), room * (1.0 - 1e-12))
        found.levels[s] = level_into(
            spaces.forest, spaces.first[s], spaces.last[s], n[0], n[1], n[2], volume, out
        )
        area = out[4]
        found.slopes[s] = 1.0 / area if area > 0.0 else 0.0
        for axis in range(3):
            if area > 0.0:
                found.middles[s, axis] = out[5 + axis] / area


@compiled
def _new_surfaces(spaces: Spaces, n: Array) -> Surfaces:
    count = spaces.room_m3.size
    bottoms, tops = np.empty(count), np.empty(count)
    for s in range(count):
        bottoms[s] = lowest(spaces.forest, spaces.first[s], spaces.last[s], n[0], n[1], n[2])
        tops[s] = -lowest(spaces.forest, spaces.first[s], spaces.last[s], -n[0], -n[1], -n[2])
    return Surfaces(np.zeros(count), np.zeros(count), np.zeros((count, 3)), bottoms, tops)


@compiled
def _copied(into: Surfaces, source: Surfaces) -> None:
    into.levels[:] = source.levels
    into.slopes[:] = source.slopes
    into.middles[:, :] = source.middles


@compiled
def _meet_into(
    spaces: Spaces, holes: Holes, n: Array, d: float, moves: Array, dt: float, fluids: Fluids,
    water: Array, air: Array, gauge: Array, change: Array,
) -> float:  # fmt: skip
    """Newton on `change` and `gauge` (m,), overwritten; returns the worst that is left, as a share of a room."""
    count = water.size
    size = 2 * count
    here, trial = _new_surfaces(spaces, n), _new_surfaces(spaces, n)
    water_in, air_in = np.zeros(count), np.zeros(count)
    left, right, moved = np.zeros(size), np.zeros(size), np.zeros(size)
    matrix = np.zeros((size, size))
    trial_change, trial_gauge = np.zeros(count), np.zeros(count)
    for s in range(count):
        room = spaces.room_m3[s]
        change[s] = min(max(change[s], -water[s]), room - water[s] - 0.5 * TRACE * room)
    _surfaces_into(spaces, n, water, change, here)
    _left_over(
        spaces, holes, n, d, moves, dt, fluids, here, water, air, change, gauge, water_in, air_in, left
    )
    worst = _worst(left, spaces.room_m3)
    for _ in range(_MOST_ROUNDS):
        if worst <= _GOAL:
            break
        for k in range(size):
            s = k % count
            if k < count:
                by = 1e-7 * spaces.room_m3[s]
                change[s] += by
                here.levels[s] += here.slopes[s] * by
            else:
                by = 1e-4 + 1e-6 * abs(gauge[s])
                gauge[s] += by
            _left_over(
                spaces,
                holes,
                n,
                d,
                moves,
                dt,
                fluids,
                here,
                water,
                air,
                change,
                gauge,
                water_in,
                air_in,
                moved,
            )
            if k < count:
                change[s] -= by
                here.levels[s] -= here.slopes[s] * by
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
                trial_gauge[s] = max(gauge[s] + share * right[count + s], -0.9 * ATMOSPHERE_PA)
                # the air keeps a part of the room it has, the water never falls below nothing
                most = room - water[s] - 0.1 * max(room - water[s] - change[s], TRACE * room)
                trial_change[s] = min(max(change[s] + share * right[s], -water[s]), most)
            _surfaces_into(spaces, n, water, trial_change, trial)
            _left_over(
                spaces, holes, n, d, moves, dt, fluids, trial, water, air, trial_change, trial_gauge,
                water_in, air_in, moved,
            )  # fmt: skip
            worst_trial = _worst(moved, spaces.room_m3)
            if worst_trial < worst:
                better = True
                change[:] = trial_change
                gauge[:] = trial_gauge
                _copied(here, trial)
                left[:] = moved
                worst = worst_trial
                break
            share *= 0.5
        if not better:
            break
    return worst


@compiled
def implicit_into(
    spaces: Spaces, holes: Holes, n: Array, d: float, moves: Array, dt: float, fluids: Fluids,
    water: Array, air: Array, gauge: Array, change: Array,
) -> tuple[float, bool]:  # fmt: skip
    """One implicit step of `dt`: `water`, `air`, `gauge` (m,) are overwritten, `change` is the guess and the answer.

    `moves` (m, 4) says how attitude and surface move with each m3 into a space. Returns (water gone outside [m3],
    whether the equations are met).
    """
    count = water.size
    first_change, first_gauge = change.copy(), gauge.copy()
    worst = _meet_into(spaces, holes, n, d, moves, dt, fluids, water, air, gauge, change)
    if worst > _GOOD_ENOUGH:
        # a root rises too steeply near nothing for Newton to cross: flows that are smoother show the way
        change[:] = first_change
        gauge[:] = first_gauge
        for factor in _SMOOTHER:
            smooth = Fluids(fluids.water, fluids.air, factor * fluids.smooth)
            worst = _meet_into(spaces, holes, n, d, moves, dt, smooth, water, air, gauge, change)
    surfaces = _new_surfaces(spaces, n)
    _surfaces_into(spaces, n, water, change, surfaces)
    water_in, air_in, left = np.zeros(count), np.zeros(count), np.zeros(2 * count)
    gone = _left_over(
        spaces, holes, n, d, moves, dt, fluids, surfaces, water, air, change, gauge, water_in, air_in, left
    )
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
    return _surfaces(spaces, normal, water_m3).levels


def _surfaces(spaces: Spaces, normal: Array, water_m3: Array) -> Surfaces:
    found = _new_surfaces(spaces, normal)
    _surfaces_into(spaces, normal, water_m3, np.zeros(len(water_m3)), found)
    return found


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
    count, middles = len(water), _surfaces(spaces, stand.normal, water).middles
    loads = density * np.column_stack([-np.ones(count), middles @ stand.pitch, middles @ stand.roll])
    moved = loads @ stand.flexibility.T
    turns = np.outer(moved[:, 1], stand.pitch) + np.outer(moved[:, 2], stand.roll)
    return np.column_stack([turns, moved[:, 0]])


def _advanced(
    spaces: Spaces, holes: Holes, rest: Rest, now: Moment, dt: float, guess: Array,
    density: float, air_density: float,
) -> tuple[Moment, Array, bool]:  # fmt: skip
    """One implicit step: the boat with the new ballast, the flows, the boat again."""
    time = float(now.time_s + dt)
    stand = rest(time, now.water_m3, now.stand)
    water, air, gauge = now.water_m3.copy(), now.air_pa_m3.copy(), now.gauge_pa.copy()
    change = guess * dt
    gone, met = implicit_into(
        spaces, holes, stand.normal, stand.offset_m, _moves(spaces, stand, water, density), dt,
        Fluids(density, air_density, SMOOTH_PA), water, air, gauge, change,
    )  # fmt: skip
    after = rest(time, water, stand)
    return Moment(time, water, air, gauge, now.left_m3 + gone, after, 0.0), change / dt, met


def _carried(spaces: Spaces, whole: Moment, two: Moment) -> Moment:
    """The two halves carried to second order, where that leaves every space with water and air."""
    room = spaces.room_m3
    water = 2.0 * two.water_m3 - whole.water_m3
    if np.any(water < 0.0) or np.any(water > room * (1.0 - 0.5 * TRACE)):
        return two
    air = np.maximum(2.0 * two.air_pa_m3 - whole.air_pa_m3, ATMOSPHERE_PA * TRACE * room)
    left = room - water
    # what is left in a full space is too little to tell its pressure from
    gauge = np.where(left > 1e-4 * room, air / left - ATMOSPHERE_PA, two.gauge_pa)
    return two._replace(
        water_m3=water, air_pa_m3=air, gauge_pa=gauge, left_m3=2.0 * two.left_m3 - whole.left_m3
    )


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
        now = _carried(spaces, whole, two)
        now = now._replace(stand=rest(now.time_s, now.water_m3, two.stand), error=error)
        guess = pace
        yield now
        dt *= min(2.0, max(0.3, 0.8 * np.sqrt(tolerance / max(error, 1e-3 * tolerance))))

"""A boat wholly under water, held by one of her points at a depth and free to turn, with air that breathes.

A point P of the boat is held at the depth D, so the surface stands at d = n.P + D and the energy of `balance` becomes
a function of the up-vector n alone,

    E(n; D) = E(n, n.P + D),        dE/dn = E_n + E_d P,        d2E = E_nn + E_nd P^T + P E_nd^T + E_dd P P^T

whose minima over the attitudes are the ways she can hang there. dE/dD = E_d is the net lift [kg], and with the
attitude let follow (t: the unit vectors of pitch and roll, K: the stiffness in them)

    dL/dD = E_dd - h K^-1 h,        h = t (E_nd + E_dd P).

Air in an open-bottomed tank is squeezed by its own depth at every attitude, so a tank that does not stand at P takes
part in the pitch: its end that goes down loses lift.
"""

from dataclasses import dataclass

import numpy as np

from dabchick.physics.balance import Array, Balance, air_squeezed_into, tanks_into
from dabchick.physics.compiled import compiled
from dabchick.physics.cut import CUT_SIZE
from dabchick.physics.equilibrium import NotSettledError, heel_and_trim_deg
from dabchick.physics.liquid import level_into
from dabchick.physics.settle import AT_REST, NOT_SETTLED, reduced_into, stepped, tangents

_GOAL = 1e-13
_GOOD_ENOUGH = 1e-9
_LONGEST_STEP = 0.15
_LEAST_CURVATURE = 1e-13
STEEPEST_DEG = 75.0
"""Rests are looked for up to this trim either way; beyond it heel loses its meaning."""
_SAME_REST = 1e-4


@compiled
def under_into(balance: Balance, n: Array, d: float, gradient: Array, hessian: Array) -> float:
    """Energy over g [kg m] wholly under water, dE/d(n, d) into (4,), d2E into (4, 4); all overwritten.

    gradient[3] is the net lift [kg]: what displaces, less the mass with the tank water. Nothing is cut but the
    tanks, so whether she is wholly under is for the caller to know.
    """
    gradient[:] = 0.0
    hessian[:, :] = 0.0
    energy = tanks_into(balance, n[0], n[1], n[2], d, gradient, hessian)
    carried = balance.density * balance.buoyant_volume
    for axis in range(3):
        net = balance.moment[axis] - carried * balance.buoyant_centre[axis]
        gradient[axis] += net
        energy += net * n[axis]
    gradient[3] += carried - balance.mass
    return energy + (carried - balance.mass) * d


@compiled
def _held_into(
    balance: Balance, n: Array, point: Array, depth: float, gradient: Array, hessian: Array
) -> float:
    """As `under_into` with `point` held `depth` under the surface: the fourth row and column are zeros."""
    d = n[0] * point[0] + n[1] * point[1] + n[2] * point[2] + depth
    energy = under_into(balance, n, d, gradient, hessian)
    lift, spring = gradient[3], hessian[3, 3]
    for row in range(3):
        gradient[row] += lift * point[row]
        for column in range(3):
            hessian[row, column] += (
                hessian[row, 3] * point[column]
                + point[row] * hessian[3, column]
                + spring * point[row] * point[column]
            )
    gradient[3] = 0.0
    hessian[3, :] = 0.0
    hessian[:, 3] = 0.0
    return energy


@compiled
def hang_into(balance: Balance, n: Array, point: Array, depth: float, trim_held: bool) -> int:
    """Bring her to rest from the attitude `n` (overwritten), `point` held at `depth` [m]: downhill in energy.

    With `trim_held` she is free in heel only. Returns AT_REST or NOT_SETTLED.
    """
    gradient, hessian = np.empty(4), np.empty((4, 4))
    g, h = np.zeros(3), np.zeros((3, 3))
    g_new, h_new = np.zeros(3), np.zeros((3, 3))
    scale = balance.mass * balance.radius
    energy = _held_into(balance, n, point, depth, gradient, hessian)
    pitch, roll = tangents(n)
    reduced_into(n, gradient, hessian, pitch, roll, balance.radius, g, h)
    if trim_held:
        _hold_trim(g, h, scale)
    residual = np.sqrt(g[1] * g[1] + g[2] * g[2]) / scale
    raised = 0.0
    stalled = 0
    for _ in range(300):
        if residual <= _GOAL or stalled > 0:
            break
        # the principal axes of the 2 x 2 stiffness
        angle = 0.5 * np.arctan2(2.0 * h[1, 2], h[1, 1] - h[2, 2])
        cosine, sine = np.cos(angle), np.sin(angle)
        bend = 2.0 * cosine * sine * h[1, 2]
        along = cosine * cosine * h[1, 1] + sine * sine * h[2, 2] + bend
        across = sine * sine * h[1, 1] + cosine * cosine * h[2, 2] - bend
        one = -(cosine * g[1] + sine * g[2]) / (max(abs(along), _LEAST_CURVATURE * scale) + raised)
        two = -(cosine * g[2] - sine * g[1]) / (max(abs(across), _LEAST_CURVATURE * scale) + raised)
        one = min(max(one, -_LONGEST_STEP), _LONGEST_STEP)
        two = min(max(two, -_LONGEST_STEP), _LONGEST_STEP)
        by_pitch, by_roll = cosine * one - sine * two, sine * one + cosine * two
        trial = stepped(n, by_pitch, by_roll)
        e_trial = _held_into(balance, trial, point, depth, gradient, hessian)
        pitch, roll = tangents(trial)
        reduced_into(trial, gradient, hessian, pitch, roll, balance.radius, g_new, h_new)
        if trim_held:
            _hold_trim(g_new, h_new, scale)
        residual_new = np.sqrt(g_new[1] * g_new[1] + g_new[2] * g_new[2]) / scale
        foreseen = g[1] * by_pitch + g[2] * by_roll
        noise = 1e-12 * (abs(energy) + scale)
        # where a rest has just ended the energy is flat within its rounding: the slope still says which way is down
        onward = g_new[1] * by_pitch + g_new[2] * by_roll <= 0.0
        if e_trial <= energy + 1e-4 * foreseen or (
            abs(e_trial - energy) <= noise and (onward or residual_new < residual)
        ):
            stalled = stalled + 1 if 0.5 * residual < residual_new < _GOOD_ENOUGH else 0
            n[:] = trial
            energy, residual = e_trial, residual_new
            g[:] = g_new
            h[:, :] = h_new
            raised = raised * 0.2 if raised > 1e-9 * scale else 0.0
        else:
            if residual < _GOOD_ENOUGH:
                stalled += 1
            raised = max(4.0 * raised, 1e-4 * scale)
            if raised > 1e12 * scale:
                break
    return AT_REST if residual <= _GOOD_ENOUGH else NOT_SETTLED


@compiled
def _hold_trim(g: Array, h: Array, scale: float) -> None:
    g[1] = 0.0
    h[1, 2] = h[2, 1] = 0.0
    h[1, 1] = scale


@compiled
def pitch_slopes_into(
    balance: Balance, point: Array, depth: float, trims: Array, heel: float, slopes: Array, heels: Array
) -> None:
    """dE/dtrim [kg m] at each trim [rad] into `slopes` (k,), her heel [rad] let settle there into `heels` (k,).

    Trims follow one another: each begins at the heel of the one before, the first at `heel`.
    """
    gradient, hessian = np.empty(4), np.empty((4, 4))
    still = 1e-10 * balance.mass * balance.radius
    for index in range(trims.size):
        level = np.cos(trims[index])
        n = np.array([np.sin(trims[index]), level * np.sin(heel), level * np.cos(heel)])
        _held_into(balance, n, point, depth, gradient, hessian)
        pitch, roll = tangents(n)
        if abs(gradient[0] * roll[0] + gradient[1] * roll[1] + gradient[2] * roll[2]) > still:
            hang_into(balance, n, point, depth, True)
            heel = np.arctan2(n[1], n[2])
            _held_into(balance, n, point, depth, gradient, hessian)
            pitch, roll = tangents(n)
        slopes[index] = gradient[0] * pitch[0] + gradient[1] * pitch[1] + gradient[2] * pitch[2]
        heels[index] = heel


@dataclass(frozen=True, eq=False)
class RoomState:
    """Water and air of one tank as they lie."""

    water_m3: float
    water_moment_m4: Array
    air_m3: float
    """What is not water; in a tank whose water is held as well."""
    surface_m2: float
    surface_moment_m3: Array
    """(3,) first moments of the free surface."""
    softness_m2: float
    """Water that comes in per metre further down; 0 where it is held or the room is full of air."""


@dataclass(frozen=True, eq=False)
class Hung:
    """She hangs at rest, a point of hers held at a depth."""

    normal: Array
    """Up in the boat's frame, (3,)."""
    heel_deg: float
    """Positive to starboard."""
    trim_deg: float
    """Positive bow up."""
    lift_kg: float
    """Net lift; negative: she falls."""
    loss_kg_m: float
    """Lift lost per metre further down, her attitude following."""
    stiffness_kg_m: Array
    """(2, 2) in (pitch, roll), air and water let move."""
    stable: bool
    mass_kg: float
    """With the tank water."""
    moment_kg_m: Array
    """(3,) mass times centre of gravity."""
    rooms: tuple[RoomState, ...]


def hang(balance: Balance, point: Array, depth_m: float, start: Array) -> Hung:
    """The rest that she comes to from the attitude `start` (3,), `point` (3,) held `depth_m` under the surface.

    Downhill in energy; a start on a ridge is left with the bow going up. Raises ValueError for a depth or a start that
    is not finite and NotSettledError where no rest is found.
    """
    normal = np.array(start, dtype=np.float64)
    length = float(np.linalg.norm(normal))
    if not (np.isfinite(length) and length > 0.0 and np.isfinite(depth_m)):
        raise ValueError(
            f"The start is {start} at {depth_m} m. Give a finite vector that is not zero, and a depth."
        )
    normal /= length
    state = hang_into(balance, normal, point, depth_m, False)
    found = described(balance, point, depth_m, normal)
    if state == AT_REST and not found.stable:
        values, ways = np.linalg.eigh(found.stiffness_kg_m)
        if values[0] < -1e-9 * balance.mass * balance.radius:
            way = ways[:, 0] * (1.0 if ways[0, 0] >= 0.0 else -1.0)
            normal = stepped(normal, 0.01 * float(way[0]), 0.01 * float(way[1]))
            state = hang_into(balance, normal, point, depth_m, False)
            found = described(balance, point, depth_m, normal)
    if state != AT_REST:
        raise NotSettledError(
            f"No rest was found under water from heel and trim {heel_and_trim_deg(start)} deg."
        )
    return found


def described(balance: Balance, point: Array, depth_m: float, normal: Array) -> Hung:
    """All about one attitude (3,), taken as one of rest."""
    gradient, hessian = np.empty(4), np.empty((4, 4))
    offset = float(normal @ point) + depth_m
    under_into(balance, normal, offset, gradient, hessian)
    lift = float(gradient[3])
    stiffness, coupling, _ = _reduced(point, normal, gradient, hessian)
    values = np.linalg.eigvalsh(stiffness)
    least = 1e-9 * balance.mass * balance.radius
    follow = np.linalg.solve(stiffness, coupling) if np.all(np.abs(values) > least) else np.zeros(2)
    heel, trim = heel_and_trim_deg(normal)
    carried = balance.density * balance.buoyant_volume
    return Hung(
        normal=normal.copy(),
        heel_deg=heel,
        trim_deg=trim,
        lift_kg=lift,
        loss_kg_m=float(coupling @ follow - hessian[3, 3]),
        stiffness_kg_m=stiffness,
        stable=bool(values[0] > least),
        mass_kg=carried - lift,
        moment_kg_m=gradient[:3] + carried * balance.buoyant_centre,
        rooms=_rooms(balance, normal, offset),
    )


def followed(
    balance: Balance, point: Array, depth_m: float, normal: Array, lift_per_m: float, moment_per_m: Array
) -> float:
    """Loss of lift [kg/m] at a rest where a lift of its own changes with depth as well.

    That lift grows by `lift_per_m` [kg/m] and its first moment by `moment_per_m` (3,) [kg]; both are usually negative,
    as those of a pocket of air. The balance holds it as it is at this depth.
    """
    gradient, hessian = np.empty(4), np.empty((4, 4))
    under_into(balance, normal, float(normal @ point) + depth_m, gradient, hessian)
    stiffness, coupling, ways = _reduced(point, normal, gradient, hessian)
    pushed = coupling + ways @ (lift_per_m * point - moment_per_m)
    return float(coupling @ np.linalg.solve(stiffness, pushed) - hessian[3, 3] - lift_per_m)


def _reduced(point: Array, normal: Array, gradient: Array, hessian: Array) -> tuple[Array, Array, Array]:
    """Stiffness (2, 2), how the lift couples to pitch and roll (2,), and their unit vectors (2, 3)."""
    pitch, roll = tangents(normal)
    ways = np.stack([pitch, roll])
    down = hessian[3, :3] + hessian[3, 3] * point
    whole = hessian[:3, :3] + np.outer(hessian[:3, 3], point) + np.outer(point, down)
    slope = gradient[:3] + gradient[3] * point
    stiffness = ways @ whole @ ways.T - float(slope @ normal) * np.eye(2)
    return np.asarray(stiffness), np.asarray(ways @ down), ways


def _rooms(balance: Balance, normal: Array, offset: float) -> tuple[RoomState, ...]:
    rooms = []
    out = np.empty(CUT_SIZE)
    for tank in range(balance.tank_first.size):
        first, last = int(balance.tank_first[tank]), int(balance.tank_last[tank])
        capacity, air = float(balance.tank_capacity[tank]), float(balance.tank_air[tank])
        out[:] = 0.0
        softness = 0.0
        if air > 0.0:
            water, _, room = air_squeezed_into(
                balance.forest, first, last, normal[0], normal[1], normal[2], offset,
                capacity, air, balance.atmosphere_head, out,
            )  # fmt: skip
            if out[4] > 0.0 and room < capacity:
                softness = 1.0 / (1.0 / float(out[4]) + air / (room * room))
        else:
            water = float(balance.tank_volume[tank])
            level_into(balance.forest, first, last, normal[0], normal[1], normal[2], water, out)
        rooms.append(
            RoomState(
                water_m3=float(water),
                water_moment_m4=out[1:4].copy(),
                air_m3=capacity - float(water),
                surface_m2=float(out[4]),
                surface_moment_m3=out[5:8].copy(),
                softness_m2=softness,
            )
        )
    return tuple(rooms)


def _trims() -> Array:
    """Trims [rad] at which slopes are looked at: a tenth of a degree apart near level, two degrees far from it."""
    most = np.radians(STEEPEST_DEG)
    way = np.linspace(-1.0, 1.0, 140)
    return np.asarray(most * np.sinh(4.2 * way) / np.sinh(4.2))


def rests(balance: Balance, point: Array, depth_m: float, heel_deg: float = 0.0) -> tuple[Hung, ...]:
    """Every stable way she hangs with a trim of up to 75 degrees, bow down first, `point` (3,) held at `depth_m`.

    The slope of the energy over trim is followed with the heel let settle, from `heel_deg` on; each fall of it through
    zero that lasts over more than a tenth of a degree near level, two degrees far from it, is met.
    """
    trims = _trims()
    slopes, heels = np.empty(trims.size), np.empty(trims.size)
    pitch_slopes_into(balance, point, depth_m, trims, np.radians(heel_deg), slopes, heels)
    found: list[Hung] = []
    for index in np.flatnonzero((slopes[:-1] < 0.0) & (slopes[1:] >= 0.0)):
        share = -slopes[index] / (slopes[index + 1] - slopes[index])
        trim = trims[index] + share * (trims[index + 1] - trims[index])
        heel = heels[index]
        normal = np.array([np.sin(trim), np.cos(trim) * np.sin(heel), np.cos(trim) * np.cos(heel)])
        if hang_into(balance, normal, point, depth_m, False) != AT_REST:
            continue
        here = described(balance, point, depth_m, normal)
        known = any(float(np.linalg.norm(other.normal - normal)) < _SAME_REST for other in found)
        if here.stable and not known:
            found.append(here)
    return tuple(sorted(found, key=lambda rest: rest.trim_deg))

"""Where a boat comes to rest: one equilibrium from a start, or all of them, each proven and named stable or not.

After immersion is let free, energy is a smooth function on the sphere of attitudes, so by Morse's theorem
minima - saddles + maxima = 2 when none is degenerate. The count tells whether an equilibrium was missed.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from dabchick.physics.balance import Array, Balance, float_offset, with_air_held
from dabchick.physics.cut import CUT_SIZE
from dabchick.physics.pose import pose
from dabchick.physics.settle import AT_REST, SINKS, settle_into, stationary_into

UPRIGHT = np.array([0.0, 0.0, 1.0])

_SAME_ATTITUDE = 1e-5
"""Two equilibria closer than this chord on the unit sphere are one."""
_NEUTRAL = 1e-9
"""Stiffness over weight times radius below which an attitude is called neutral."""


@dataclass(frozen=True, eq=False)
class Equilibrium:
    """A pose without force or moment.

    `falling_ways` counts the independent directions in (heel, trim) in which energy falls: 0 is stable. `hanging`
    means wholly under water, held against the net lift; its offset then has no meaning and is NaN.
    """

    normal: Array
    """Up in the boat's frame, (3,)."""
    offset_m: float
    """The water surface is normal . x = offset."""
    heel_deg: float
    """Positive to starboard, -180 to 180."""
    trim_deg: float
    """Positive bow up, -90 to 90."""
    stable: bool
    neutral: bool
    """No stiffness in some direction (a round body, say): she rests at any such angle."""
    falling_ways: int
    hanging: bool
    mass_kg: float
    displaced_m3: float
    centre_of_buoyancy_m: Array
    gm_transverse_m: float
    """Second derivative of energy in heel over the mass, immersion let free; free surfaces counted."""
    gm_longitudinal_m: float
    energy_kg_m: float
    force_residual: float
    """Force left over weight."""
    moment_residual: float
    """Moment left over weight times length (the diameter of the ball round the boat)."""
    waterplane_m2: float


class SinksError(ValueError):
    """She is heavier than all the water she can displace."""

    def __init__(self) -> None:
        super().__init__("She sinks: her mass is more than all the water she can displace. Use hanging=True.")


class NotSettledError(ArithmeticError):
    """The search for rest stopped short; the message says how close it came."""


def heel_and_trim_deg(normal: Array) -> tuple[float, float]:
    """Heel and trim [deg] of the attitude n = (sin trim, cos trim sin heel, cos trim cos heel)."""
    return (
        math.degrees(math.atan2(normal[1], normal[2])),
        math.degrees(math.atan2(normal[0], math.hypot(normal[1], normal[2]))),
    )


def up_vector(heel_deg: float, trim_deg: float) -> Array:
    """The world's up in the boat's frame, (3,), for a heel to starboard and a trim bow up [deg]."""
    heel, trim = math.radians(heel_deg), math.radians(trim_deg)
    return np.array([math.sin(trim), math.cos(trim) * math.sin(heel), math.cos(trim) * math.cos(heel)])


def sinks(balance: Balance) -> bool:
    """True where she is heavier than all the water she can displace."""
    _, floats = float_offset(balance, UPRIGHT, 0.0, np.empty(CUT_SIZE))
    return not floats


def described(balance: Balance, normal: Array, offset: float, hanging: bool) -> Equilibrium:
    """A pose that is known to be one of rest, with all that is told of it; when hanging the air must be held."""
    here = pose(balance, normal, offset, hanging=hanging)
    weighing = here.mass_kg * balance.radius
    stiffness = here.free_stiffness
    values = np.linalg.eigvalsh(stiffness)
    neutral = bool(np.any(np.abs(values) < _NEUTRAL * weighing))
    falling = int(np.sum(values < -_NEUTRAL * weighing))
    heel, trim = heel_and_trim_deg(normal)
    return Equilibrium(
        normal=normal.copy(),
        offset_m=math.nan if hanging else float(offset),
        heel_deg=heel,
        trim_deg=trim,
        stable=falling == 0 and not neutral,
        neutral=neutral,
        falling_ways=falling,
        hanging=hanging,
        mass_kg=here.mass_kg,
        displaced_m3=here.volume_m3,
        centre_of_buoyancy_m=here.volume_moment_m4 / here.volume_m3,
        gm_transverse_m=float(stiffness[1, 1] / here.mass_kg),
        gm_longitudinal_m=float(stiffness[0, 0] / here.mass_kg),
        energy_kg_m=here.energy_kg_m,
        force_residual=abs(float(here.slopes[0])) / here.mass_kg,
        moment_residual=math.hypot(here.slopes[1], here.slopes[2]) / (2.0 * weighing),
        waterplane_m2=here.waterplane_m2,
    )


def find(
    balance: Balance, start: Array = UPRIGHT, *, hanging: bool = False, depth_m: float = 0.0
) -> Equilibrium:
    """A stable equilibrium reached by going downhill in energy, in short steps, from the attitude `start` (3,).

    With `hanging` she is wholly under and free to turn only; `depth_m` then sets the squeeze on shut-in air, as
    the offset of the surface in the attitude `start`. Raises SinksError where she sinks and
    NotSettledError where no rest was found.
    """
    normal = np.array(start, dtype=np.float64)
    length = float(np.linalg.norm(normal))
    if not (math.isfinite(length) and length > 0.0):
        raise ValueError(f"The start attitude is {normal}. Give a finite vector that is not zero.")
    normal /= length
    if hanging:
        balance = with_air_held(balance, normal, depth_m)
    offset, state = settle_into(balance, normal, depth_m, hanging, False, False)
    if state == SINKS:
        raise SinksError
    found = described(balance, normal, offset, hanging)
    if state != AT_REST:
        raise NotSettledError(
            f"No rest was found from heel and trim {heel_and_trim_deg(start)} deg; force {found.force_residual:.1e} "
            f"and moment {found.moment_residual:.1e} of weight are left."
        )
    return found


def spread_directions(count: int) -> Array:
    """Evenly spread unit vectors (count, 3): a Fibonacci lattice on the sphere."""
    index = np.arange(count) + 0.5
    height = 1.0 - 2.0 * index / count
    around = np.pi * (1.0 + math.sqrt(5.0)) * index
    level = np.sqrt(1.0 - height**2)
    return np.column_stack([height, level * np.cos(around), level * np.sin(around)])


@dataclass(frozen=True)
class AllEquilibria:
    """Every equilibrium found, least energy first, and whether the count is complete."""

    found: tuple[Equilibrium, ...]
    complete: bool
    """Minima - saddles + maxima = 2 holds and none is neutral: nothing was missed in pairs that add up to 0."""
    starts: int


def _merge(found: list[Equilibrium], candidate: Equilibrium, scale: float) -> None:
    for other in found:
        if float(np.linalg.norm(other.normal - candidate.normal)) < _SAME_ATTITUDE:
            return
        # A round body rests at any angle of a whole circle; one of them stands for all.
        if (
            other.neutral
            and candidate.neutral
            and abs(other.energy_kg_m - candidate.energy_kg_m) < 1e-9 * scale
        ):
            return
    found.append(candidate)


def all_equilibria(balance: Balance, *, hanging: bool = False, starts: int = 120) -> AllEquilibria:
    """All equilibria over every attitude, by many starts on the sphere, doubled until Morse's count closes.

    Raises SinksError where she sinks and `hanging` is not asked for.
    """
    if hanging:
        balance = with_air_held(balance, UPRIGHT, float(np.linalg.norm(balance.middle)) + balance.radius)
    elif sinks(balance):
        raise SinksError
    scale = balance.mass * balance.radius
    found: list[Equilibrium] = []
    count = starts
    complete = False
    while True:
        for normal, offset in _rest_points(balance, spread_directions(count), hanging):
            _merge(found, described(balance, normal, offset, hanging), scale)
        sum_of_signs = sum((-1) ** entry.falling_ways for entry in found)
        degenerate = any(entry.neutral for entry in found)
        complete = sum_of_signs == 2 and not degenerate
        if complete or degenerate or count >= 8 * starts:
            break
        count *= 2
    found.sort(key=lambda entry: entry.energy_kg_m)
    return AllEquilibria(tuple(found), complete, count)


def _rest_points(balance: Balance, directions: Array, hanging: bool) -> Iterable[tuple[Array, float]]:
    for direction in directions:
        for search_minimum in (True, False):
            normal = direction.copy()
            if search_minimum:
                offset, state = settle_into(balance, normal, 0.0, hanging, False, False)
            else:
                offset, state = stationary_into(balance, normal, 0.0, hanging)
            if state == AT_REST:
                yield normal, offset

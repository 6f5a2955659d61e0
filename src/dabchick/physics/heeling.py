"""A boat under a heeling moment: where she rests, how far she swings, and how much she bears.

A heeling lever l(heel) [m] is the moment about the boat's long axis over her weight. Along the curve on which trim
and immersion are free, her energy over her weight is the integral of the righting arm, so

    she rests where             arm = lever, and the arm overtakes the lever there
    let go at rest, she swings  until the integral of (arm - lever) from where she started is 0 (equal areas)
    she bears at most           the greatest arm / lever times that lever
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq, minimize_scalar

from dabchick.physics.balance import Balance, float_offset
from dabchick.physics.cut import CUT_SIZE
from dabchick.physics.equilibrium import up_vector
from dabchick.physics.righting import arm_curve

Array = NDArray[np.float64]
Lever = Callable[[float], float]
"""Heeling lever [m] over heel [deg]; positive heels her to starboard."""

STEP_DEG = 2.0
"""Between two heels of the curve; each asked-for angle is then found on the boat herself, not on the curve."""
STARBOARD, PORT = 1, -1
_ALL_ROUND_DEG = 179.9
"""An arm lost only keel up is not lost: there she stands on a knife edge."""
_ON_END_DEG = 45.0
_ALL_GONE = 0.02
"""Where the lever has faded to this share of what it was and she still has an arm, no multiple of it matters."""
_STARTS_M = 1e-15
"""A lever below this moves nothing."""


@dataclass(frozen=True, eq=False)
class RightingCurve:
    """Righting arms to both sides of the heel she rests at, trim let free."""

    balance: Balance
    hanging: bool
    rest_deg: float
    heels_deg: Array
    """(k,) rising, from half a turn to port of the rest to half a turn to starboard of it."""
    arms_m: Array
    """(k,) positive where the arm turns her back to port."""
    trims_deg: Array
    settled: bool

    @cached_property
    def _smooth(self) -> CubicSpline:
        return CubicSpline(self.heels_deg, self.arms_m)

    def arm_m(self, heel_deg: float) -> float:
        """The arm at any heel, found on the boat herself."""
        start = float(np.interp(heel_deg, self.heels_deg, self.trims_deg))
        found = arm_curve(self.balance, [heel_deg], hanging=self.hanging, start_trim_deg=start)
        return float(found.arms_m[0])

    def trim_deg(self, heel_deg: float) -> float:
        return float(np.interp(heel_deg, self.heels_deg, self.trims_deg))

    def normal(self, heel_deg: float) -> Array:
        """Up in the boat's frame at a heel, with the trim that she takes there."""
        return up_vector(heel_deg, self.trim_deg(heel_deg))

    def offset_m(self, heel_deg: float) -> float:
        """Of the water's surface at a heel; NaN when hanging."""
        if self.hanging:
            return math.nan
        offset, _ = float_offset(self.balance, self.normal(heel_deg), 0.0, np.empty(CUT_SIZE))
        return float(offset)

    def side(self, way: int) -> tuple[Array, Array]:
        """Heels and arms from the rest outwards, to starboard (+1) or to port (-1)."""
        middle = len(self.heels_deg) // 2
        rows = slice(middle, None) if way > 0 else slice(middle, None, -1)
        return self.heels_deg[rows], self.arms_m[rows]

    def lost_deg(self, way: int) -> float:
        """The heel at which the arm no longer turns her back; NaN where it does all the way round.

        A hanging boat that is not quite level swings on end when she is held on her side: there heel has no meaning
        and the arm's change of sign is no loss.
        """
        heels, arms = self.side(way)
        after = np.flatnonzero(way * arms[1:] <= 0.0)
        if not after.size:
            return math.nan
        index = int(after[0]) + 1
        if index == 1:
            return float(heels[0])
        lost = _crossing(self.arm_m, float(heels[index - 1]), float(heels[index]))
        on_end = abs(self.trim_deg(lost)) > _ON_END_DEG
        return math.nan if on_end or abs(lost - self.rest_deg) > _ALL_ROUND_DEG else lost


def righting_curve(
    balance: Balance, rest_deg: float, trim_deg: float, *, hanging: bool, step_deg: float = STEP_DEG
) -> RightingCurve:
    """The arms half a turn to either side of a rest at this heel and trim [deg]. Raises SinksError where she sinks."""
    away = np.linspace(0.0, 180.0, round(180.0 / step_deg) + 1)
    right, left = (
        arm_curve(balance, rest_deg + way * away, hanging=hanging, start_trim_deg=trim_deg)
        for way in (STARBOARD, PORT)
    )

    def joined(one: Array, other: Array) -> Array:
        return np.concatenate([one[:0:-1], other])

    return RightingCurve(
        balance=balance,
        hanging=hanging,
        rest_deg=rest_deg,
        heels_deg=joined(left.heels_deg, right.heels_deg),
        arms_m=joined(left.arms_m, right.arms_m),
        trims_deg=joined(left.trims_deg, right.trims_deg),
        settled=left.settled and right.settled,
    )


def way_of(curve: RightingCurve, lever: Lever, from_deg: float | None = None) -> int:
    """The side that the lever takes her to from her rest: +1 starboard, -1 port, 0 where it moves nothing."""
    start = lever(curve.rest_deg if from_deg is None else from_deg)
    return 0 if abs(start) <= _STARTS_M else (STARBOARD if start > 0.0 else PORT)


def rest_under(curve: RightingCurve, lever: Lever) -> float:
    """Heel [deg] at which she rests under a lever that comes on slowly; NaN where no rest is left on that side."""
    way = way_of(curve, lever)
    if way == 0:
        return curve.rest_deg
    heels, arms = curve.side(way)
    left = way * (arms - np.array([lever(float(heel)) for heel in heels]))
    found = np.flatnonzero(left[1:] >= 0.0)
    if not found.size:
        return math.nan
    index = int(found[0]) + 1
    return _crossing(
        lambda heel: curve.arm_m(heel) - lever(heel), float(heels[index - 1]), float(heels[index])
    )


def _crossing(value: Lever, inner: float, outer: float) -> float:
    """Where a value passes zero; the end nearer to zero where rounding hides the change of sign."""
    ends = value(inner), value(outer)
    if ends[0] * ends[1] >= 0.0:
        return inner if abs(ends[0]) < abs(ends[1]) else outer
    return float(brentq(value, inner, outer, xtol=1e-10, rtol=1e-14))


def swing_under(curve: RightingCurve, lever: Lever, from_deg: float) -> float:
    """Heel [deg] to which she swings when the lever comes at once while she lies still at `from_deg`, undamped.

    Equal areas: the work of the lever has all gone into righting her again. NaN where she goes on over.
    """
    start = lever(from_deg) - float(curve._smooth(from_deg))
    if abs(start) <= _STARTS_M:
        return from_deg
    way = STARBOARD if start > 0.0 else PORT
    end = curve.rest_deg + way * 180.0
    fine = np.linspace(from_deg, end, max(int(abs(end - from_deg) / 0.25), 8) + 1)
    knots = np.linspace(from_deg, end, max(int(abs(end - from_deg) / STEP_DEG), 8) + 1)
    levers = CubicSpline(way * knots, [lever(float(heel)) for heel in knots])
    arm_work = curve._smooth.antiderivative()
    lever_work = levers.antiderivative()

    arm_before, lever_before = arm_work(from_deg), lever_work(way * from_deg)

    def work_left(heel: Array | float) -> Array:
        """Energy over weight [m deg] beyond that of the start, at this heel."""
        given = way * (lever_work(way * np.asarray(heel)) - lever_before)
        return np.asarray(arm_work(heel) - arm_before - given)

    excess = work_left(fine)
    pull = way * (curve._smooth(fine) - levers(way * fine))
    risen = False
    for index in range(1, len(fine)):
        if risen and pull[index] < 0.0:
            return math.nan
        risen = risen or bool(pull[index] > 0.0)
        if risen and excess[index] >= 0.0:
            if excess[index - 1] >= 0.0:
                return float(fine[index - 1])
            return float(brentq(work_left, fine[index - 1], fine[index], xtol=1e-10))
    return math.nan


@dataclass(frozen=True)
class Borne:
    """The most that she bears of a lever that grows in proportion."""

    factor: float
    """Times the lever; infinite where no multiple of it lays her over, 0 where she has no arm on that side."""
    heel_deg: float
    """Where the arm stands highest over the lever; NaN where the factor is infinite."""


def most_borne(curve: RightingCurve, lever: Lever, way: int) -> Borne:
    """How many times the lever she bears on one side before no rest is left, and the heel there."""
    heels, arms = curve.side(way)
    ratios = []
    for heel, arm in zip(heels[1:], arms[1:], strict=True):
        own, pushing = way * float(arm), way * lever(float(heel))
        if own <= 0.0:
            break
        if pushing <= _ALL_GONE * abs(lever(curve.rest_deg)):
            return Borne(math.inf, math.nan)
        ratios.append(own / pushing)
    if not ratios:
        return Borne(0.0, float(heels[0]))
    best = int(np.argmax(ratios)) + 1
    inner, outer = float(heels[best - 1]), float(heels[min(best + 1, len(heels) - 1)])
    low, high = min(inner, outer), max(inner, outer)

    def short(heel: float) -> float:
        pushing = way * lever(heel)
        return -way * curve.arm_m(heel) / pushing if pushing > 0.0 else 0.0

    peak = minimize_scalar(short, bounds=(low, high), method="bounded", options={"xatol": 1e-7})
    if -float(peak.fun) < ratios[best - 1]:
        return Borne(ratios[best - 1], float(heels[best]))
    return Borne(-float(peak.fun), float(peak.x))

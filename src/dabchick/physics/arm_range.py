"""Righting arms about the heel she rests at: to either side, how far they hold, the work under them, the greatest.

In free trim the arm is the slope of the least energy over heel, GZ = (1/M) dE/dheel. So the heel at which it is lost is
itself a rest, found by Newton, and the area under the curve up to there is the rise in energy over M, exactly; only
where her trim jumps on the way is it summed up over the heels.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import CubicSpline

from dabchick.physics.balance import Array, Balance, tanks_into, with_air_held
from dabchick.physics.equilibrium import heel_and_trim_deg, up_vector
from dabchick.physics.pose import pose
from dabchick.physics.settle import AT_REST, SINKS, arms_into, stationary_into, tangents

_NO_ARM = 1e-10
"""Of the boat's radius: smaller arms turn nothing."""
_LEAST_HEEL_DEG = 1e-5
_ONE_TRIM_DEG = 3.0
"""Trims nearer than this at the heel where the arm is lost belong to one curve."""
_SUMS_AGREE = 0.03
_PEAK_ROUNDS = 4
_ENOUGH = 4
"""Heels from which on a smooth curve can be told from one with a jump."""


@dataclass(frozen=True, eq=False)
class SideArms:
    """One side, from the heel she rests at."""

    range_deg: float
    area_m_rad: float
    greatest_m: float
    greatest_at_deg: float


@dataclass(frozen=True, eq=False)
class ArmsAbout:
    """Arms over a grid of heels, and both sides of her rest."""

    heels_deg: Array
    arms_m: Array
    trims_deg: Array
    starboard: SideArms
    port: SideArms
    upright_holds: bool
    """Held upright and let go a little to one side, she comes back."""
    settled: bool


def arms_about(
    balance: Balance, normal: Array, offset_m: float, heels_deg: ArrayLike, *, hanging: bool = False
) -> ArmsAbout:
    """The curve about a stable rest: attitude (3,), offset [m]; heels [deg] rise from -180 to 180.

    With `hanging` the air is held as it is in this pose. So it is where a boat with shut-in air floats but would
    sink once pushed under.
    """
    curve = _Curve(balance, normal, offset_m, np.asarray(heels_deg, dtype=np.float64), hanging)
    return curve.whole()


class _Curve:
    def __init__(self, balance: Balance, normal: Array, offset: float, heels: Array, hanging: bool) -> None:
        self.balance = with_air_held(balance, normal, offset) if hanging else balance
        self.normal, self.offset, self.hanging = normal, offset, hanging
        self.heel, self.trim = heel_and_trim_deg(normal)
        self.heels = heels
        self.least = _NO_ARM * balance.radius
        self.state = AT_REST
        self.arms, self.trims = np.empty(heels.size), np.empty(heels.size)

    def whole(self) -> ArmsAbout:
        up, down = np.flatnonzero(self.heels >= self.heel), np.flatnonzero(self.heels < self.heel)[::-1]
        for order in (up, down):
            self.arms[order], self.trims[order] = self._chain(self.heels[order], self.trim)
        starboard, port = self._side(1.0), self._side(-1.0)
        near = self._chain(np.array([-0.05, 0.05]), self._trim_at(0.0))[0]
        return ArmsAbout(
            self.heels, self.arms, self.trims, starboard, port,
            upright_holds=bool(near[1] - near[0] > -self.least), settled=self.state == AT_REST,
        )  # fmt: skip

    def _trim_at(self, heel: float) -> float:
        return float(self.trims[np.argmin(np.abs(self.heels - heel))])

    def _chain(self, heels: Array, trim: float) -> tuple[Array, Array]:
        arms, trims = np.empty(heels.size), np.empty(heels.size)
        if not heels.size:
            return arms, trims
        state = self._arms(self.balance, heels, trim, arms, trims)
        if state == SINKS:
            self.balance = with_air_held(self.balance, self.normal, self.offset)
            state = self._arms(self.balance, heels, trim, arms, trims)
        self.state = max(self.state, state)
        return arms, np.degrees(trims)

    def _arms(self, balance: Balance, heels: Array, trim: float, arms: Array, trims: Array) -> int:
        return arms_into(
            balance, np.radians(heels), math.radians(trim), self.offset, self.hanging, True, arms, trims
        )

    def _side(self, side: float) -> SideArms:
        """Walk from the rest to one side, round the circle if need be, until the arm is lost."""
        order = np.argsort(side * self.heels)
        away = np.concatenate([side * (self.heels[order] - self.heel) + 360.0 * turn for turn in (0, 1)])
        arms = np.concatenate([side * self.arms[order]] * 2)
        trims = np.concatenate([self.trims[order]] * 2)
        # keel up stands at both ends of the grid: once is enough
        keep = (away > _LEAST_HEEL_DEG) & (away <= 360.0) & (np.diff(away, prepend=-1.0) > _LEAST_HEEL_DEG)
        away, arms, trims = away[keep], arms[keep], trims[keep]
        if not away.size:
            return SideArms(0.0, 0.0, 0.0, self.heel)
        if arms[0] <= self.least:
            away, arms, trims = self._nearer(side, float(away[0]), float(arms[0]), float(trims[0]))
            if not away.size:
                return SideArms(0.0, 0.0, 0.0, self.heel)
        lost = np.flatnonzero(arms <= self.least)
        end = int(lost[0]) if lost.size else len(arms) - 1
        far, area = float(away[end]), math.nan
        if lost.size:
            pair = slice(end - 1, end + 1)
            far, area = self._lost(side, away[pair], arms[pair], trims[pair])
        before = away[:end] < far
        heels = np.concatenate([[0.0], away[:end][before], [far]])
        held = np.concatenate([[0.0], arms[:end][before], [0.0]])
        if not self._agrees(area, heels, held):
            area = float(np.trapezoid(held, np.radians(heels)))
        best = int(np.argmax(arms[:end]))
        at, greatest = self._peak(side, heels, held, best + 1, float(trims[best]))
        return SideArms(far, area, greatest, _within(self.heel + side * at))

    @staticmethod
    def _agrees(area: float, heels: Array, arms: Array) -> bool:
        """Whether the rise in energy is the area under one smooth curve; a jump of trim on the way lets some go."""
        if heels.size < _ENOUGH:
            return math.isfinite(area)
        smooth = float(CubicSpline(np.radians(heels), arms).integrate(0.0, math.radians(heels[-1])))
        return abs(area - smooth) <= _SUMS_AGREE * abs(smooth)

    def _nearer(self, side: float, far: float, arm: float, trim: float) -> tuple[Array, Array, Array]:
        """Between her rest and the first heel of the grid: ever nearer, until an arm turns her back."""
        away = far
        while away > _LEAST_HEEL_DEG:
            away *= 0.5
            held, trims = self._chain(np.array([self.heel + side * away]), self.trim)
            if side * held[0] > self.least:
                return (
                    np.array([away, 2.0 * away]),
                    np.array([side * held[0], min(arm, 0.0)]),
                    np.array([trims[0], trim]),
                )
        none = np.empty(0)
        return none, none, none

    def _lost(self, side: float, away: Array, arms: Array, trims: Array) -> tuple[float, float]:
        """Heel from the rest at which the arm is lost, between two heels, and the area up to there."""
        share = arms[0] / (arms[0] - arms[1]) if arms[1] < arms[0] else 0.5
        found = self._rest_near(
            side, away, float(away[0] + share * (away[1] - away[0])), float(np.mean(trims))
        )
        if found is not None:
            return found
        low, high, trim = float(away[0]), float(away[1]), float(trims[0])
        while high - low > 1e-9:
            middle = 0.5 * (low + high)
            at_middle, at = self._chain(np.array([self.heel + side * middle]), trim)
            if side * at_middle[0] > self.least:
                low, trim = middle, float(at[0])
            else:
                high = middle
        return self._rest_near(side, np.array([low - 1e-3, high + 1e-3]), low, trim) or (low, math.nan)

    def _rest_near(self, side: float, away: Array, guess: float, trim: float) -> tuple[float, float] | None:
        """The rest, held or not, between two heels from hers, and the area up to it."""
        normal = up_vector(self.heel + side * guess, trim)
        offset, state = stationary_into(self.balance, normal, self.offset, self.hanging)
        heel, trim_found = heel_and_trim_deg(normal)
        found = (side * (heel - self.heel)) % 360.0
        if state != AT_REST or not away[0] <= found <= away[1] or abs(trim_found - trim) > _ONE_TRIM_DEG:
            return None
        return found, self._risen(normal, offset)

    def _risen(self, normal: Array, offset: float) -> float:
        here = pose(self.balance, self.normal, self.offset, hanging=self.hanging)
        there = pose(self.balance, normal, offset, hanging=self.hanging)
        return (there.energy_kg_m - here.energy_kg_m) / here.mass_kg

    def _peak(self, side: float, heels: Array, arms: Array, index: int, trim: float) -> tuple[float, float]:
        """Heel from the rest and size of the greatest arm: the top of the parabola through three, again and again."""
        x, y = (
            [float(v) for v in heels[index - 1 : index + 2]],
            [float(v) for v in arms[index - 1 : index + 2]],
        )
        for _ in range(_PEAK_ROUNDS):
            one, two = (y[1] - y[0]) / (x[1] - x[0]), (y[2] - y[1]) / (x[2] - x[1])
            bend = (two - one) / (x[2] - x[0])
            top = 0.5 * (x[0] + x[1]) - 0.5 * one / bend if bend < 0.0 else x[1]
            if not (x[0] < top < x[2] and abs(top - x[1]) > 1e-3):
                break
            again = side * float(self._chain(np.array([self.heel + side * top]), trim)[0][0])
            place = 1 if top < x[1] else 2
            x.insert(place, top)
            y.insert(place, again)
            best = int(np.argmax(y))
            first = min(max(best - 1, 0), 1)
            x, y = x[first : first + 3], y[first : first + 3]
        best = int(np.argmax(y))
        return x[best], y[best]


def _within(heel_deg: float) -> float:
    return (heel_deg + 180.0) % 360.0 - 180.0 if abs(heel_deg) > 180.0 else heel_deg


def free_surface_m(balance: Balance, normal: Array, offset_m: float) -> float:
    """GM in heel lost to the free surfaces of the tanks in a pose [m]: what it would be more with their water frozen.

    rho times the sum of second moments of the surfaces about their own long axes over the mass, exact at any
    attitude; shut-in air counts as it is squeezed in this pose.
    """
    held = with_air_held(balance, normal, offset_m)
    gradient, hessian = np.zeros(4), np.zeros((4, 4))
    tanks_into(held, normal[0], normal[1], normal[2], offset_m, gradient, hessian)
    mass = held.mass - gradient[3]
    _, roll = tangents(normal)
    return max(0.0, -float(roll @ hessian[:3, :3] @ roll)) / mass

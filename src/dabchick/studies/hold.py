"""How firmly she is held upright at one filling, and what a small change does to that, exact to first order.

GM is the free stiffness in heel over the mass. A change e of the energy moves her by dx = -H^-1 grad e, so

    d(stiffness) = stiffness of e + sum over x of d(stiffness)/dx dx

with the third derivatives of the energy from central differences of its exact second ones. Where she rests level, a
mass m raised by dz gives d(GM) = -m dz / M: the rest falls away.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Vessel
from dabchick.physics.cut import Forest, cut, forest
from dabchick.physics.equilibrium import UPRIGHT, NotSettledError, SinksError, find, heel_and_trim_deg
from dabchick.physics.pose import pose
from dabchick.physics.response import Response, response_at
from dabchick.physics.righting import arm_curve
from dabchick.physics.settle import AT_REST, stationary_into
from dabchick.physics.solid import Solid
from dabchick.studies.loading import Loading, load, under_offset_m

Array = NDArray[np.float64]

LOLL_DEG = 5.0
"""Heeled by more than this at rest she is asked how she is held upright as well; common practice, no source."""
SMALL_HEEL_DEG = 0.5
STEP = 2e-5
"""Of the central differences [rad]; in radii for immersion."""
WIDE_STEP = 1e-3
JUMP = 0.05
"""Slopes from the two steps that differ by more than this share come from a jump."""


@dataclass(frozen=True, eq=False)
class Hold:
    """A rest that she keeps, or the upright one that she has lost."""

    loading: Loading
    normal: Array
    offset_m: float
    hanging: bool
    gm_transverse_m: float
    gm_longitudinal_m: float


def held(
    vessel: Vessel, fills: Mapping[str, float], start: Array = UPRIGHT, *, hanging: bool = False
) -> Hold:
    """The rest reached from the attitude `start` (3,), or the upright one where that is lost and she lolls.

    Raises NotSettledError where neither is found.
    """
    loading = load(vessel, fills)
    depth = under_offset_m(loading)
    try:
        rest = find(loading.balance, start, hanging=hanging, depth_m=depth)
    except SinksError:
        hanging = True
        rest = find(loading.balance, start, hanging=True, depth_m=depth)
    except NotSettledError:
        # Alike on both sides she may stay on the knife edge of a rest that is lost.
        upright = upright_hold(loading, hanging=hanging)
        if upright is None:
            raise
        return upright
    if abs(rest.heel_deg) > LOLL_DEG:
        upright = upright_hold(loading, hanging=hanging)
        if upright is not None:
            return upright
    offset = depth if hanging else rest.offset_m
    return Hold(loading, rest.normal, offset, hanging, rest.gm_transverse_m, rest.gm_longitudinal_m)


def upright_hold(loading: Loading, *, hanging: bool = False) -> Hold | None:
    """The rest near upright, stable or not; None where there is none any more."""
    normal = UPRIGHT.copy()
    offset, state = stationary_into(loading.balance, normal, 0.0, hanging)
    heel, trim = heel_and_trim_deg(normal)
    if state != AT_REST or abs(heel) > LOLL_DEG or abs(trim) > 45.0:
        return None
    if hanging:
        offset = under_offset_m(loading)
    here = pose(loading.balance, normal, offset, hanging=hanging)
    stiffness = here.free_stiffness / here.mass_kg
    return Hold(loading, normal, offset, hanging, float(stiffness[1, 1]), float(stiffness[0, 0]))


def upright_gm_m(loading: Loading, *, hanging: bool = False) -> float:
    """GM in heel where she stands upright, at rest there or held: below zero where she does not stay."""
    hold = upright_hold(loading, hanging=hanging)
    if hold is not None:
        return hold.gm_transverse_m
    arms = arm_curve(loading.balance, (-SMALL_HEEL_DEG, 0.0, SMALL_HEEL_DEG), hanging=hanging).arms_m
    return float((arms[2] - arms[0]) / math.radians(2.0 * SMALL_HEEL_DEG))


@dataclass(frozen=True, eq=False)
class GmSlopes:
    """What small additions do to (GM transverse, GM longitudinal), each (2,) [m] per unit, moment and sinkage followed.

    Raises ValueError on construction by `gm_slopes` where she has no stiffness in some direction.
    """

    moved: Response
    stiffness: Array
    """(3, 3) in immersion, pitch, roll."""
    turning: Array
    """(3, 3, 3): change of the stiffness with immersion [1/m], pitch and roll [1/rad]."""

    def of_mass(self, centre: Array) -> Array:
        """(2,) per kg put at `centre` (3,)."""
        normal = self.moved.normal
        arm = centre - self.moved.balance.buoyant_centre if self.moved.hanging else centre
        own = np.zeros((3, 3))
        own[1, 1] = own[2, 2] = -float(arm @ normal)
        return self._changed(self.moved.of_mass(centre[None, :])[0], own, 1.0)

    def of_solid(self, solid: Solid) -> Array:
        """(2,) for the whole of a solid without mass, displacing as far as it is under."""
        moved, normal = self.moved, self.moved.normal
        rho = moved.balance.density
        if moved.hanging:
            arm = -moved.mass_kg * solid.volume / moved.balance.buoyant_volume
            load = arm * (solid.centre - moved.balance.buoyant_centre)
            own = np.zeros((3, 3))
            own[1, 1] = own[2, 2] = -float(load @ normal)
            return self._changed(np.array([0.0, load @ moved.pitch, load @ moved.roll]), own, 0.0)
        wet = cut(_laid_out(solid), normal, moved.offset_m)
        gradient = -rho * wet.moment
        hessian = np.zeros((4, 4))
        hessian[:3, :3] = rho * wet.waterplane_second
        hessian[:3, 3] = hessian[3, :3] = -rho * wet.waterplane_moment
        hessian[3, 3] = rho * wet.waterplane_area
        ways = np.zeros((4, 3))
        ways[3, 0] = 1.0
        ways[:3, 1], ways[:3, 2] = moved.pitch, moved.roll
        own = ways.T @ hessian @ ways
        own[1, 1] -= float(gradient @ normal)
        own[2, 2] -= float(gradient @ normal)
        load = np.array([rho * wet.volume, gradient @ moved.pitch, gradient @ moved.roll])
        return self._changed(load, own, 0.0)

    def _changed(self, load: Array, own: Array, mass: float) -> Array:
        step = self.moved.flexibility @ load
        change = own + np.einsum("i,ijk->jk", step, self.turning)
        total, h = self.moved.mass_kg, self.stiffness
        out = np.empty(2)
        for row, axis in enumerate((2, 1)):
            free, slope = h[axis, axis], change[axis, axis]
            if h[0, 0] > 0.0 and not self.moved.hanging:
                way = h[axis, 0] / h[0, 0]
                free -= way * h[axis, 0]
                slope += -2.0 * way * change[axis, 0] + way * way * change[0, 0]
            out[row] = (slope - free / total * mass) / total
        return out


@lru_cache(maxsize=1024)
def _laid_out(solid: Solid) -> Forest:
    return forest([solid])[0]


def gm_slopes(hold: Hold) -> GmSlopes:
    """The slopes at a rest. Raises ValueError where a direction has no stiffness at all."""
    moved = response_at(hold.loading.balance, hold.normal, hold.offset_m, hanging=hold.hanging)
    here = pose(moved.balance, hold.normal, hold.offset_m, hanging=hold.hanging)
    near, wide = _turning(moved, hold, STEP), _turning(moved, hold, WIDE_STEP)
    # Where the water stands just at an edge, the stiffness jumps there and has no slope: the mean over a change that
    # a builder makes says more than the jump.
    scale = moved.mass_kg * moved.balance.radius
    smooth = float(np.max(np.abs(near - wide))) < JUMP * max(float(np.max(np.abs(wide))), scale)
    return GmSlopes(moved, here.stiffness, near if smooth else wide)


def _turning(moved: Response, hold: Hold, step: float) -> Array:
    turning = np.zeros((3, 3, 3))
    level = np.zeros(3)
    ways = [(1, moved.pitch, step, 0.0), (2, moved.roll, step, 0.0)]
    if not hold.hanging:
        ways.append((0, level, 0.0, step * moved.balance.radius))
    for way, axis, turn, sink in ways:
        more, less = _stiffness(moved, hold, axis, turn, sink), _stiffness(moved, hold, axis, -turn, -sink)
        turning[way] = (more - less) / (2.0 * (turn or sink))
    return turning


def _stiffness(moved: Response, hold: Hold, axis: Array, turn: float, sink: float) -> Array:
    normal = np.cos(turn) * hold.normal + np.sin(turn) * axis
    return pose(moved.balance, normal, hold.offset_m + sink, hanging=hold.hanging).stiffness

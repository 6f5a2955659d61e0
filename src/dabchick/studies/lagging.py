"""The boat with water of its own level in her flooded spaces: each space displaces, and holds water like a tank.

At equal levels inside and outside this is the free-flooding balance again: what the space displaces below the water is
just what it holds.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from dabchick.model.vessel import Vessel
from dabchick.physics.balance import Array, Balance, Bodies, balance_of, bodies
from dabchick.physics.cut import CUT_SIZE, cut_into, forest, lowest
from dabchick.physics.draining import TRACE, Holes, Spaces, Stand
from dabchick.physics.pose import Pose, pose
from dabchick.physics.settle import AT_REST, SINKS, settle_into
from dabchick.studies.drain_spaces import WaterSpaces
from dabchick.studies.loading import load

_SOFTEST = 1e-4
"""Stiffness over weight times radius that the flow's forecast of the boat's own turn reckons with at least."""
_NUDGE_RAD = 1e-3


@dataclass(frozen=True, eq=False)
class Lagging:
    """A vessel whose flooded spaces hold water of their own."""

    vessel: Vessel
    found: WaterSpaces
    bodies: Bodies
    spaces: Spaces

    def balance(self, fills: Mapping[str, float], water_m3: Array) -> Balance:
        """With tanks filled to these shares and this water in each space; `water_m3` (m,)."""
        dry = load(self.vessel, fills).balance
        room = self.spaces.room_m3
        # a full space has no free surface; the trace of air that the flow keeps in it is none
        held = np.where(water_m3 >= room * (1.0 - 2.0 * TRACE), room * (1.0 + TRACE), water_m3)
        return balance_of(
            self.bodies, dry.mass, dry.moment / dry.mass, dry.density, [*dry.tank_volume, *held]
        )

    def own_mass_kg(self, fills: Mapping[str, float]) -> float:
        """With the tanks' water, without the water in the spaces."""
        return load(self.vessel, fills).mass_kg

    def rest(self, fills: Mapping[str, float], water_m3: Array, before: Stand) -> Stand:
        """At rest from an earlier stand. Raises ArithmeticError where no rest is found."""
        entry = self.balance(fills, water_m3)
        normal = before.normal.copy()
        known = not before.under and math.isfinite(before.offset_m)
        offset, state = settle_into(entry, normal, before.offset_m if known else 0.0, False, False, known)
        if state not in (AT_REST, SINKS) and known:
            normal = before.normal.copy()
            offset, state = settle_into(entry, normal, 0.0, False, False, False)
        under = state == SINKS
        if under:
            normal = before.normal.copy()
            _, state = settle_into(entry, normal, 0.0, True, False, False)
            offset = self.highest_m(normal)
        if state != AT_REST:
            raise ArithmeticError("She comes to no rest with the water in her.")
        here = pose(entry, normal, self._deep(offset) if under else offset, hanging=under)
        return self._steadied(entry, here, offset, under, before.hold_kg_m)

    def _steadied(self, entry: Balance, here: Pose, offset: float, under: bool, hold: float) -> Stand:
        """On a knife edge she is given a touch, and goes to where she comes to rest."""
        values, axes = np.linalg.eigh(here.free_stiffness)
        weighing = here.mass_kg * entry.radius
        if values[0] < -1e-9 * weighing:
            nudge = _NUDGE_RAD * (axes[0, 0] * here.pitch + axes[1, 0] * here.roll)
            normal = here.normal + nudge
            normal = normal / np.linalg.norm(normal)
            settled, state = settle_into(entry, normal, offset, under, False, not under)
            if state == AT_REST:
                hold = min(hold, float(values[0]))
                offset = self.highest_m(normal) if under else settled
                here = pose(entry, normal, self._deep(offset) if under else offset, hanging=under)
        return Stand(
            here.normal,
            float(offset),
            here.pitch,
            here.roll,
            _flexibility(here, entry.radius, under),
            under,
            hold,
        )

    def _deep(self, offset: float) -> float:
        return offset + 1e-3

    def highest_m(self, normal: Array) -> float:
        """Height of the highest point of all that displaces."""
        up = -np.asarray(normal)
        last = int(self.bodies.starts[self.bodies.displacers])
        return -float(lowest(self.bodies.trees, 0, last, up[0], up[1], up[2]))

    def pose(self, fills: Mapping[str, float], water_m3: Array, stand: Stand) -> Pose:
        offset = self._deep(stand.offset_m) if stand.under else stand.offset_m
        return pose(self.balance(fills, water_m3), stand.normal, offset, hanging=stand.under)

    def flooded_to(self, normal: Array, offset_m: float) -> Array:
        """Water (m,) [m3] in each space when it stands as high as the water outside."""
        found: list[float] = []
        for first, last in zip(self.spaces.first, self.spaces.last, strict=True):
            out = np.zeros(CUT_SIZE)
            cut_into(self.spaces.forest, first, last, normal[0], normal[1], normal[2], offset_m, out)
            found.append(float(out[0]))
        most: Array = self.spaces.room_m3 * (1.0 - TRACE)
        return np.asarray(np.minimum(np.array(found), most))


def _flexibility(here: Pose, radius: float, under: bool) -> Array:
    """Minus the inverse stiffness, (3, 3); a direction that hardly holds is taken as a soft one."""
    scale = np.array([radius, 1.0, 1.0])
    stiffness = here.stiffness * np.outer(scale, scale)
    if under:
        stiffness[0, :] = stiffness[:, 0] = 0.0
        stiffness[0, 0] = 1.0
    values, axes = np.linalg.eigh(stiffness)
    values = np.maximum(values, _SOFTEST * here.mass_kg * radius)
    flexibility: Array = -(axes / values) @ axes.T * np.outer(scale, scale)
    if under:
        flexibility[0, :] = flexibility[:, 0] = 0.0
    return flexibility


def lagging(vessel: Vessel, found: WaterSpaces) -> Lagging:
    """Gather a vessel with her flooded spaces, once for any filling."""
    dry = load(vessel)
    rooms = [tank.solid for tank in vessel.tanks if tank.system != "piston"]
    waters = [space.solid for space in found.spaces]
    displacing = [solid for entry in dry.displacing if (solid := entry.solid) is not None]
    trees, starts = forest(waters)
    starts = starts.astype(np.int64)
    return Lagging(
        vessel=vessel,
        found=found,
        bodies=bodies([*displacing, *waters], [*rooms, *waters]),
        spaces=Spaces(trees, starts[:-1], starts[1:], np.array([space.room_m3 for space in found.spaces])),
    )


def holes_of(found: WaterSpaces, discharge: float, factors: Array | None = None) -> Holes:
    """The openings, with each one's area times its factor (k,)."""
    passages = found.passages
    factor = np.ones(len(passages)) if factors is None else factors
    return Holes(
        places=np.array([passage.place_m for passage in passages], dtype=np.float64).reshape(-1, 3),
        normals=np.array([passage.normal for passage in passages], dtype=np.float64).reshape(-1, 3),
        areas=np.array([passage.area_m2 for passage in passages], dtype=np.float64) * factor,
        discharge=np.full(len(passages), float(discharge)),
        inner=np.array([passage.space for passage in passages], dtype=np.int64),
        outer=np.array([passage.other for passage in passages], dtype=np.int64),
    )

"""Pockets of air as a builder reads them: how much, where, what it lifts and how far it turns her."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.placed_hull import vector
from dabchick.model.vessel import Vector
from dabchick.physics.trapped_air import Air, Pocket
from dabchick.studies.flooded_space import FloodedSpace
from dabchick.studies.lie import Lie

Array = NDArray[np.float64]

NAMED_M3: Final = 5e-8
"""Pockets from this volume on are listed one by one."""
MOST_NAMED: Final = 24
COARSE: Final = 0.41
"""Spread of a volume from columns, times their spacing over the pocket's width: two straight walls, each anywhere
within a spacing, give sqrt(2 / 12)."""


@dataclass(frozen=True)
class AirPocket:
    """One pocket."""

    volume_m3: float
    volume_spread_m3: float
    """From the columns' spacing; 0 where the faces themselves are measured."""
    lift_kg: float
    centre_m: Vector
    water_m: float
    """House z of the water in it, under its centre; NaN where no opening is reached."""
    top_m: float
    """Height of its highest point over its water; NaN where no opening is reached."""
    opening: int
    """Whose height sets the water's level, counted from 1; 0: no opening is reached at all."""
    by_passage: bool
    """The level is that of a passage on the way to that opening, not of the opening itself."""
    pitch_deg: float
    """What this pocket alone does to her when dived, to first order; NaN where BG gives no hold."""
    heel_deg: float


def listed(space: FloodedSpace, air: Air, density: float, dry: Lie) -> tuple[AirPocket, ...]:
    """The pockets worth a line of their own, the largest first; `dry` is how she hangs dived without air."""
    named = [pocket for pocket in air.pockets if pocket.volume_m3 >= NAMED_M3][:MOST_NAMED]
    return tuple(_pocket(space, air.up, pocket, density, dry) for pocket in named)


def _pocket(space: FloodedSpace, up: Array, pocket: Pocket, density: float, dry: Lie) -> AirPocket:
    reached = math.isfinite(pocket.level)
    level, centre = pocket.level, pocket.centre_m
    flat = up[0] * centre[0] + up[1] * centre[1]
    upright = abs(up[2]) > 1e-9
    pitch, heel = turns(pocket.volume_m3, centre, density, dry)
    width = math.sqrt(len(pocket.columns)) * space.columns.spacing
    return AirPocket(
        volume_m3=pocket.volume_m3,
        volume_spread_m3=0.0 if pocket.exact else COARSE * space.columns.spacing / width * pocket.volume_m3,
        lift_kg=density * pocket.volume_m3,
        centre_m=vector(centre),
        water_m=float((level - flat) / up[2]) if reached and upright else math.nan,
        top_m=pocket.top - level if reached else math.nan,
        opening=space.numbers[pocket.mouth] if pocket.mouth >= 0 else 0,
        by_passage=pocket.by_passage,
        pitch_deg=pitch,
        heel_deg=heel,
    )


def turns(volume_m3: float, centre: Array, density: float, dry: Lie) -> tuple[float, float]:
    """First-order pitch and heel [deg]: tan = rho V (arm from G) / (M BG), bow up and starboard down."""
    if volume_m3 == 0.0:
        return 0.0, 0.0
    hold = dry.mass_kg.value * dry.bg_m.value
    if not hold > 0.0:
        return math.nan, math.nan
    arms = density * volume_m3 * (centre - np.array(dry.cg_m)) / hold
    return math.degrees(math.atan(float(arms[0]))), math.degrees(math.atan(float(arms[1])))

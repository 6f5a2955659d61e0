"""Small helpers round the physics layer: one boat of plain solids, and where it lies."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.balance import Balance, TankWater, balance, float_offset
from dabchick.physics.cut import CUT_SIZE, Cut, cut
from dabchick.physics.solid import Solid

Array = NDArray[np.float64]
UP = np.array([0.0, 0.0, 1.0])


def boat(
    solids: Sequence[Solid],
    mass_kg: float,
    centre_m: Sequence[float] | Array = (0.0, 0.0, 0.0),
    density_kg_m3: float = 1000.0,
    tanks: Sequence[TankWater] = (),
) -> Balance:
    """A balance in fresh water of 1000 kg/m3 unless told otherwise."""
    return balance(solids, mass_kg, centre_m, density_kg_m3, tanks)


def level_offset(afloat: Balance, normal: Array = UP) -> float:
    """Height of the surface when she floats held at an attitude; fails where she sinks."""
    offset, floats = float_offset(afloat, normal, 0.0, np.empty(CUT_SIZE))
    assert floats
    return float(offset)


def level_cut(afloat: Balance, normal: Array = UP) -> Cut:
    """The cut of all that displaces when she floats held at an attitude."""
    return cut(afloat.forest, normal, level_offset(afloat, normal), 0, afloat.last_displacer)


def own_second_moments(part: Cut) -> Array:
    """Second moments of a waterplane about its centroid, (3, 3): [0, 0] longitudinal, [1, 1] transverse."""
    moment = part.waterplane_moment
    return np.asarray(part.waterplane_second - np.outer(moment, moment) / part.waterplane_area)

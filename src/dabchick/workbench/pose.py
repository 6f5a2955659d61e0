"""Where the boat is drawn: from the house frame to a world with z up and the water's surface at z = 0."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Vessel
from dabchick.studies.lie import Lie
from dabchick.studies.loading import highest_m

Array = NDArray[np.float64]

UNDER_SHARE: Final = 0.03
"""Of her length: how far under a boat is drawn that hangs or sinks, over the highest thing on her."""


def pose(vessel: Vessel, lie: Lie) -> list[float]:
    """The 4 x 4 matrix, column by column. The middle of the hull's box keeps its place in the plane.

    Her bow keeps pointing along the world's x.
    """
    return pose_at(vessel, np.array(lie.normal), lie.offset_m)


def pose_at(vessel: Vessel, up: Array, offset: float = math.nan) -> list[float]:
    """The same for an attitude (3,); NaN as the water's height draws her just under."""
    if math.isnan(offset):
        offset = highest_m(vessel, up) + UNDER_SHARE * vessel.length_m
    ahead = _ahead(up)
    turn = np.vstack([ahead, np.cross(up, ahead), up])
    middle = 0.5 * (np.array(vessel.low_m) + np.array(vessel.high_m))
    shift = middle - turn @ middle
    shift[2] = -offset
    matrix = np.eye(4)
    matrix[:3, :3], matrix[:3, 3] = turn, shift
    return [float(entry) for entry in matrix.T.ravel()]


def _ahead(up: Array) -> Array:
    """The house x, level: the world's x as the boat sees it. Standing on end, it is the way her keel looks."""
    ahead = np.array([1.0, 0.0, 0.0]) - up[0] * up
    if np.linalg.norm(ahead) < 1e-9:
        ahead = np.array([0.0, 0.0, -math.copysign(1.0, up[0])])
    return np.asarray(ahead / np.linalg.norm(ahead))

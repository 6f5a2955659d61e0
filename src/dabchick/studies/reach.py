"""Can a place be got at with the hull open at its break line, from above in the lower half, from below in the upper?

Parts are taken by the boxes round them, so a part may count as in the way that leaves just enough room beside it.
"""

from typing import Literal

import numpy as np

from dabchick.model.vessel import Place, Vessel
from dabchick.physics.free_space import Array, Flags
from dabchick.physics.halves import height_at
from dabchick.studies.room import Room
from dabchick.studies.split import half_of, standing

Reach = Literal["open", "behind", "unknown"]
SLACK_M = 1e-4
OPEN_SHARE = 0.5
"""Of a place seen from the opening: with less of it in the open it counts as behind something."""
LEFT_WHOLE = "the end of the hull that stays whole"
SKIN = "skin"


def reach_of(vessel: Vessel, room: Room, place: Place) -> tuple[Reach, tuple[str, ...]]:
    """Whether at least half of the place lies open, and otherwise what covers it; "unknown" without a break line."""
    if not vessel.break_line_m:
        return "unknown", ()
    line = np.array(vessel.break_line_m)
    low, high = np.array(place.low_m), np.array(place.high_m)
    x, y = (_within(room.cells.centres(axis), low[axis], high[axis]) for axis in (0, 1))
    heights = height_at(line, room.cells.centres(0)[x])
    middle = 0.5 * float(low[2] + high[2])
    if np.isnan(heights).any():
        return "behind", (LEFT_WHOLE,)
    below = middle < float(np.median(heights))
    names: list[str] = []
    hidden = _by_hull(room, x, y, (low, high), heights, below)
    if hidden.any():
        names.append(SKIN)
    for thing, solid in standing(vessel):
        if half_of(vessel, thing) != ("lower" if below else "upper"):
            continue
        body_low, body_high = solid.bounds()
        beyond = body_high[2] <= high[2] + SLACK_M if below else body_low[2] >= low[2] - SLACK_M
        covered = [
            _within(room.cells.centres(axis)[cells], body_low[axis] + SLACK_M, body_high[axis] - SLACK_M)
            for axis, cells in ((0, x), (1, y))
        ]
        if beyond or not covered[0].any() or not covered[1].any():
            continue
        hidden |= covered[0][:, None] & covered[1][None, :]
        names.append(thing.name)
    return ("open", ()) if 1.0 - float(hidden.mean()) >= OPEN_SHARE else ("behind", tuple(names))


def _within(middles: Array, low: float, high: float) -> Flags:
    return np.asarray((middles > low) & (middles < high))


def _by_hull(room: Room, x: Flags, y: Flags, box: tuple[Array, Array], heights: Array, below: bool) -> Flags:
    """For each column of cells of the place, whether the hull closes over it before the line."""
    low, high = box
    inside = room.inside[np.ix_(x, y)]
    z = room.cells.centres(2)[None, :]
    way = (z > high[2]) & (z < heights[:, None]) if below else (z < low[2]) & (z > heights[:, None])
    return np.asarray((way[:, None, :] & ~inside).any(axis=2))

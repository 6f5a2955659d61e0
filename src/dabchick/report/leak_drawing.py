"""Side views of a boat with water inside, each as she lies: the surface level, seen square to her length."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Vessel
from dabchick.physics.solid import Solid, together
from dabchick.report.silhouettes import Loops, silhouette
from dabchick.studies.leak_result import LeakResult, LeakStage, StateKind
from dabchick.studies.leak_water import rooms_of, water_bodies
from dabchick.studies.lie import Lie
from dabchick.studies.loading import highest_m

Array = NDArray[np.float64]

GRID_SHARE: Final = 1.0 / 600.0
"""Of her length: outlines are drawn to this."""
UNDER_SHARE: Final = 0.03
"""Of her length: so far under the surface she is drawn when she hangs or sinks."""
SIDES: Final = 48
SAME_HEEL_DEG: Final = 0.5


@dataclass(frozen=True, eq=False)
class LeakView:
    """One side view; points (k, 2) [m], along and over the water's surface, the middle of her length at 0."""

    state: StateKind
    stage: LeakStage
    hull: Loops
    parts: Loops
    water: Loops


def views(vessel: Vessel, result: LeakResult, wall_m: float | None, most: int = 12) -> tuple[LeakView, ...]:
    """Side views over the water inside, afloat and dived."""
    rooms = rooms_of(vessel, result.part, wall_m)
    boat = together(
        [vessel.hull, *(item.solid for item in vessel.items if item.solid is not None and item.outside)]
    )
    dry = together([room.outer for room in rooms])
    grid = GRID_SHARE * vessel.length_m
    count = len(result.stages)
    picked = sorted({round(index * (count - 1) / max(most - 1, 1)) for index in range(min(most, count))})
    found = []
    kept: dict[int, tuple[Loops, Loops]] = {}
    states: tuple[StateKind, ...] = ("afloat", "dived")
    for state in states:
        for number in picked:
            stage = result.stages[number]
            lie = stage.afloat if state == "afloat" else stage.dived
            up = np.array(lie.normal)
            heel = math.atan2(up[1], up[2])
            about = round(math.degrees(heel) / SAME_HEEL_DEG)
            if about not in kept:
                turned = math.radians(about * SAME_HEEL_DEG)
                kept[about] = (_seen([boat], turned, grid), _seen([dry], turned, grid))
            hull, parts = kept[about]
            water = _seen(water_bodies(rooms, up, stage.water_m3), heel, grid)
            offset = _offset(vessel, lie, up)
            middle = 0.5 * (vessel.low_m[0] + vessel.high_m[0])
            laid = [_laid(loops, up, offset, middle) for loops in (hull, parts, water)]
            found.append(LeakView(state, stage, *laid))
    return tuple(found)


def _offset(vessel: Vessel, lie: Lie, up: Array) -> float:
    if math.isfinite(lie.offset_m):
        return lie.offset_m
    return highest_m(vessel, up) + UNDER_SHARE * vessel.length_m


def _seen(solids: Sequence[Solid], heel: float, grid: float) -> Loops:
    """Outlines in (along the keel, up) of solids heeled by an angle [rad], not yet trimmed."""
    if not solids:
        return ()
    sine, cosine = math.sin(heel), math.cos(heel)
    turn = np.array([[1.0, 0.0, 0.0], [0.0, cosine, -sine], [0.0, sine, cosine]])
    return silhouette(together(solids).moved((0.0, 0.0, 0.0), turn), "side", grid, SIDES)


def _laid(loops: Loops, up: Array, offset: float, middle: float) -> Loops:
    """The outlines trimmed, with the surface at 0."""
    sine = float(up[0])
    cosine = float(np.hypot(up[1], up[2]))
    return tuple(
        np.column_stack(
            [
                loop[:, 0] * cosine - loop[:, 1] * sine - middle * cosine,
                loop[:, 0] * sine + loop[:, 1] * cosine - offset,
            ]
        )
        for loop in loops
    )

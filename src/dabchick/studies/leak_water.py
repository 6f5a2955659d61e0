"""The water in a dry part as a body, as it lies at an attitude."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Vessel
from dabchick.physics.cut import forest
from dabchick.physics.liquid import level
from dabchick.physics.solid import Solid
from dabchick.studies.leak import TOGETHER
from dabchick.studies.leak_room import DryRoom, as_solid, dry_rooms

Array = NDArray[np.float64]


def rooms_of(vessel: Vessel, part: str, wall_m: float | None) -> tuple[DryRoom, ...]:
    """The rooms that the water of this part is in."""
    return tuple(room for room in dry_rooms(vessel, wall_m) if part in (room.name, TOGETHER))


def water_bodies(rooms: Sequence[DryRoom], normal: Array, water_m3: float) -> list[Solid]:
    """So much water, shared out among the rooms in proportion, each level with n (3,) up; no body without water."""
    share = min(water_m3 / sum(room.volume_m3 for room in rooms), 1.0)
    up = normal / np.linalg.norm(normal)
    found = []
    for room in rooms:
        if share <= 0.0:
            continue
        trees, _ = forest([room.solid])
        height, _ = level(trees, up, share * room.volume_m3)
        below = room.whole.whole.trim_by_plane((-float(up[0]), -float(up[1]), -float(up[2])), -height)
        if not below.is_empty():
            found.append(as_solid(below))
    return found

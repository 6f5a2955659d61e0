"""A water alarm in a dry part: where its sensor belongs, and how much water it takes to wet it."""

import itertools
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Vector
from dabchick.physics.equilibrium import up_vector
from dabchick.studies.leak_result import Alarm, Wetting
from dabchick.studies.leak_room import DryRoom
from dabchick.studies.leak_source import LeakSource

Array = NDArray[np.float64]

OVER_FLOOR_M: Final = 2e-3
"""The sensor's ends stand this far over the floor; common practice, no source."""
TRIMS_DEG: Final = (0.0, 10.0, -10.0)
STATIONS: Final = 25
LEAST_SLICE: Final = 1e-9


def alarms(room: DryRoom, source: LeakSource, end_m3: float) -> tuple[Alarm, ...]:
    """The best place for one sensor and for two, and the water that wets them level and 10 deg bow up and down.

    Best is where the greatest of the three volumes is least. `end_m3` is the water she stands.
    """
    places = floor_places(room)
    needed = np.array(
        [
            [room.below(up_vector(0.0, trim), float(up_vector(0.0, trim) @ place))[0] for trim in TRIMS_DEG]
            for place in places
        ]
    )
    single = int(np.argmin(needed.max(axis=1)))
    pairs = [(a, b) for a in range(len(places)) for b in range(a + 1, len(places))]
    chosen: list[tuple[int, ...]] = [(single,)]
    if pairs:
        chosen.append(min(pairs, key=lambda pair: float(np.minimum(needed[pair[0]], needed[pair[1]]).max())))
    return tuple(
        _alarm([places[one] for one in ones], needed[list(ones)].min(axis=0), room, source, end_m3)
        for ones in chosen
    )


def _alarm(places: Sequence[Array], needed: Array, room: DryRoom, source: LeakSource, end_m3: float) -> Alarm:
    end = source.seconds(end_m3, room.volume_m3)
    wettings = []
    for trim, water in zip(TRIMS_DEG, needed, strict=True):
        after = source.seconds(float(water), room.volume_m3)
        wettings.append(
            Wetting(trim, float(water), after, end - after if np.isfinite(after) else float("nan"))
        )
    return Alarm(tuple(_vector(place) for place in places), tuple(wettings))


def floor_places(room: DryRoom) -> list[Array]:
    """Points a little over the lowest floor at stations along the room, where there is room for a sensor."""
    aft, fore = room.ends_m
    whole = room.whole.whole
    places = []
    edges = np.linspace(aft, fore, STATIONS + 1)
    for low, high in itertools.pairwise(edges):
        slab = whole.trim_by_plane((1.0, 0.0, 0.0), float(low)).trim_by_plane((-1.0, 0.0, 0.0), -float(high))
        if slab.volume() <= LEAST_SLICE:
            continue
        points = np.array(slab.to_mesh64().vert_properties, dtype=np.float64)[:, :3]
        floor = points[points[:, 2] <= points[:, 2].min() + 1e-5]
        y = float(floor[np.argmin(np.abs(floor[:, 1])), 1])
        places.append(np.array([0.5 * (low + high), y, float(points[:, 2].min()) + OVER_FLOOR_M]))
    return places


def _vector(point: Array) -> Vector:
    return float(point[0]), float(point[1]), float(point[2])

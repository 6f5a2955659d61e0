"""Rails: long free prisms along the boat at one section, on which lead and foam can be shifted fore and aft.

Found in the same free cells as the places of `places.py`, over the whole length instead of slab by slab: the largest
empty boxes that are long enough, in turn. A rail and the blocks in its way are two uses of the same room.
"""

from dataclasses import replace

import numpy as np

from dabchick.model.vessel import Place, Vessel
from dabchick.studies.places import LEAST_EDGE_M, LEAST_HEIGHT_M, Found, Slab, named
from dabchick.studies.room import Room

LEAST_SHARE = 1.0 / 6.0
"""Of her length: a shorter prism is a block; common practice, no source."""
LEAST_LENGTH_M = 0.080
SLENDER = 4.0
"""A rail is at least so many times longer than it is wide or high."""
MOST_EDGE_M = 0.040
"""A thicker one is cut from several pieces anyway; common practice, no source."""
ZONES = (("keel rail", "both", 2), ("low rail", "both", 3), ("high rail", "foam", 2))
"""Word, what it may hold, and how many are looked for: near the keel, under the waterline, above it."""


def find_rails(vessel: Vessel, room: Room) -> tuple[Place, ...]:
    """Free prisms along x, none sharing room with another; those alike on both sides come in pairs; deterministic.

    At least a sixth of her length and 80 mm long, 10 mm wide and 5 mm high, four times longer than wide or high and no
    thicker than 40 mm (all common practice, no source). None crosses the waterline.
    """
    free, cells = room.free, room.cells
    size = np.array(cells.size_m)
    sections = np.flatnonzero(free.any(axis=(1, 2)))
    if not sections.size:
        return ()
    slab = Slab(vessel, cells, free, 0)
    length = max(LEAST_LENGTH_M, LEAST_SHARE * vessel.length_m)
    least = np.array([length, LEAST_EDGE_M, LEAST_HEIGHT_M])
    layers = np.flatnonzero(free[:, :, : slab.level].any(axis=(0, 1)))
    bottom = int(layers[0]) if layers.size else slab.level
    low_top = min(slab.level, bottom + round(slab.lead_zone / float(size[2])))
    ranges = {
        "keel rail": (bottom, low_top),
        "low rail": (bottom, slab.level),
        "high rail": (slab.level, free.shape[2]),
    }
    found: list[Found] = []
    for word, holds, most in ZONES:
        start, stop = ranges[word]
        if stop > start:
            found += slab.prisms(
                word, "foam" if holds == "foam" else "both", start, stop, least, most, MOST_EDGE_M, SLENDER
            )
    rails = (_slim(rail) for rail in named(vessel, cells, found))
    return tuple(rail for rail in rails if _is_slender(rail))


def _slim(rail: Place) -> Place:
    """One on a single side no thicker than allowed either, towards the keel and the centreline."""
    (x0, y0, z0), (x1, y1, z1) = rail.low_m, rail.high_m
    edge = min(MOST_EDGE_M, (x1 - x0) / SLENDER)
    if y0 >= 0.0:
        y1 = min(y1, y0 + edge)
    elif y1 <= 0.0:
        y0 = max(y0, y1 - edge)
    return replace(rail, low_m=(x0, y0, z0), high_m=(x1, y1, min(z1, z0 + edge)))


def _is_slender(rail: Place) -> bool:
    length, width, height = np.subtract(rail.high_m, rail.low_m)
    return bool(length >= SLENDER * max(width, height))

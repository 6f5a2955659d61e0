"""Places for lead and foam, found from the free space inside the hull.

The length is divided into slabs, shorter towards the ends, where a little lead does much. In each slab the
largest empty boxes are taken in turn: low ones for lead; ones wholly under the waterline and ones wholly
above it for foam, since the first carry in both states and the second only when she dives. Room that is
alike on both sides gives pairs; what is left on one side alone gives single places.
"""

from collections import Counter
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from dabchick.model.units import written
from dabchick.model.vessel import Place, PlaceFor, Vector, Vessel
from dabchick.physics.free_space import Array, Box, Cells, Flags, largest_box
from dabchick.studies.room import Room, room_of

LEAST_EDGE_M = 0.010
"""A shorter edge is hard to cut and to fix; common practice, no source."""
LEAST_HEIGHT_M = 0.005
"""Sheets and strips are lower than they are wide; common practice, no source."""

SLABS = (16, 14, 12, 20, 24)
"""Numbers of slabs to try, in this order."""
FEWEST, MOST = 20, 60
"""Places wanted: enough to trim with, few enough to build and to solve."""

END_CROWDING = 0.5
"""0: slabs of one length; 1: of no length at the very ends."""


@dataclass(frozen=True)
class Found:
    """A box on the port half (second axis from the centreline outward), or on one side only."""

    word: str
    holds: PlaceFor
    box: Box
    sides: tuple[str, ...]
    """`port` and `starboard`, one of them, or `centre` for a box across the centreline."""


def find_places(vessel: Vessel, room: Room | None = None) -> tuple[Place, ...]:
    """Empty boxes inside the hull that keep the wished clearance and do not overlap; deterministic.

    The builder's own places are kept free of them, and no box crosses the waterline. Places are at least
    10 mm long and wide and 5 mm high (common practice, no source); foam boxes hold at least the least foam
    block, lead boxes the lightest piece. Up to 60 places; none where nothing fits. `room` is where to look, by
    default as finely as usual and at the wished clearance.
    """
    room = room_of(vessel) if room is None else room
    cells, free = room.cells, room.free
    best: list[Found] = []
    for slabs in SLABS:
        found = _in_slabs(vessel, cells, free, slabs)
        count = sum(len(entry.sides) for entry in found)
        if FEWEST <= count <= MOST:
            best = found
            break
        if count < FEWEST and count > sum(len(entry.sides) for entry in best):
            best = found
        elif count > MOST and slabs == min(SLABS):
            best = _fewer(found, cells)
            break
    return named(vessel, cells, best)


def _in_slabs(vessel: Vessel, cells: Cells, free: Flags, slabs: int) -> list[Found]:
    sections = np.flatnonzero(free.any(axis=(1, 2)))
    if not sections.size:
        return []
    even = np.linspace(-1.0, 1.0, slabs + 1)
    spread = (1.0 - END_CROWDING) * even + END_CROWDING * np.sin(np.pi / 2 * even)
    half = (sections[-1] + 1 - sections[0]) / 2
    sides = [round(float(step)) for step in sections[0] + half * (1.0 + spread)]
    found: list[Found] = []
    for start, stop in pairwise(sides):
        found += Slab(vessel, cells, free[start:stop], start).boxes()
    return found


class Slab:
    """One slab of the hull, or all of it, folded at the centreline; what is taken out of it is no longer free."""

    def __init__(self, vessel: Vessel, cells: Cells, free: Flags, start: int) -> None:
        middle = cells.shape[1] // 2
        self.port = free[:, middle:].copy()
        self.starboard = free[:, :middle][:, ::-1].copy()
        self.start = start
        self.size = np.array(cells.size_m)
        self.level = int(np.clip(-cells.first[2], 0, cells.shape[2]))
        wishes = vessel.wishes
        self.least = np.array([LEAST_EDGE_M, LEAST_EDGE_M, LEAST_HEIGHT_M])
        self.least_foam = np.array([LEAST_EDGE_M, LEAST_EDGE_M, max(LEAST_HEIGHT_M, wishes.foam_sheet_m)])
        self.least_foam_volume = wishes.foam_least_volume_m3
        self.least_lead_volume = min(wishes.lead_pieces_kg, default=0.0) / wishes.lead_density_kg_m3
        self.lead_zone = max(2.5 * LEAST_EDGE_M, 0.25 * (vessel.waterline_m - vessel.low_m[2]))

    def boxes(self) -> list[Found]:
        lead = self._lead()
        low = self._foam("low foam", 0, self.level, 1)
        high = self._foam("high foam", self.level, self.port.shape[2], 2)
        if not low:
            lead = [Found(entry.word, self._lead_or_both(entry), entry.box, entry.sides) for entry in lead]
        return lead + low + high

    def _lead_or_both(self, entry: Found) -> PlaceFor:
        low, high = entry.box
        edges = (np.array(high) - np.array(low)) * self.size
        if entry.sides == ("centre",):
            edges[1] *= 2
        fits = float(np.prod(edges)) >= self.least_foam_volume and bool(
            np.all(edges >= self.least_foam - 1e-9)
        )
        return "both" if fits else "lead"

    def _lead(self) -> list[Found]:
        """Boxes near the lowest free point of the slab: one across the keel and pairs beside it."""
        layers = np.flatnonzero((self.port | self.starboard)[:, :, : self.level].any(axis=(0, 1)))
        if not layers.size:
            return []
        bottom = int(layers[0])
        top = min(self.level, bottom + round(self.lead_zone / float(self.size[2])))
        found: list[Found] = []
        for _ in range(2):
            box = self._largest(self.port & self.starboard, bottom, top, self.least, self.least_lead_volume)
            if box is None:
                break
            for part, centred in self._split(box):
                sides = ("centre",) if centred else ("port", "starboard")
                found.append(self._take("keel" if centred else "bilge", "lead", part, sides))
        return found + self._one_sided("bilge", "lead", bottom, top, self.least, self.least_lead_volume)

    def _split(self, box: Box) -> list[tuple[Box, bool]]:
        """A wide box across the keel gives one on the keel and one on each side, to set heel right with."""
        (i0, j0, k0), (i1, j1, k1) = box
        if j0 > 0:
            return [(box, False)]
        least = int(np.ceil(LEAST_EDGE_M / self.size[1] - 1e-9))
        inner = max((j1 + 1) // 3, (least + 1) // 2)
        if j1 - inner < least:
            return [(box, True)]
        return [(((i0, 0, k0), (i1, inner, k1)), True), (((i0, inner, k0), (i1, j1, k1)), False)]

    def _foam(self, word: str, bottom: int, top: int, most: int) -> list[Found]:
        found: list[Found] = []
        for _ in range(most):
            box = self._largest(
                self.port & self.starboard, bottom, top, self.least_foam, self.least_foam_volume
            )
            if box is None:
                break
            sides = ("centre",) if box[0][1] == 0 else ("port", "starboard")
            found.append(self._take(word, "foam", box, sides))
        return found + self._one_sided(word, "foam", bottom, top, self.least_foam, self.least_foam_volume)

    def prisms(
        self,
        word: str,
        holds: PlaceFor,
        bottom: int,
        top: int,
        least: Array,
        most: int,
        most_edge_m: float,
        slender: float,
    ) -> list[Found]:
        """Up to `most` boxes between two layers, each at least so long, wide and high, then one-sided ones.

        A pair or a box across the middle is made no wider or higher than `most_edge_m`, and `slender` times longer.
        """
        found: list[Found] = []
        for _ in range(most):
            box = self._largest(self.port & self.starboard, bottom, top, least, 0.0)
            if box is None:
                break
            sides = ("centre",) if box[0][1] == 0 else ("port", "starboard")
            found.append(self._take(word, holds, self._slimmer(box, most_edge_m, slender), sides))
        return found + self._one_sided(word, holds, bottom, top, least, 0.0)

    def _slimmer(self, box: Box, most_edge_m: float, slender: float) -> Box:
        """The box no wider and higher than allowed, towards the keel and the centreline; the rest stays free."""
        (i0, j0, k0), (i1, j1, k1) = box
        edge = min(most_edge_m, (i1 - i0) * float(self.size[0]) / slender)
        wide = max(1, int((edge / 2 if j0 == 0 else edge) / self.size[1] + 1e-9))
        high = max(1, int(edge / self.size[2] + 1e-9))
        return (i0, j0, k0), (i1, min(j1, j0 + wide), min(k1, k0 + high))

    def _one_sided(
        self, word: str, holds: PlaceFor, bottom: int, top: int, least: Array, least_volume: float
    ) -> list[Found]:
        """The largest box on each side that has no twin: at least half of it is taken on the other side."""
        found = []
        for side, here, there in (
            ("port", self.port, self.starboard),
            ("starboard", self.starboard, self.port),
        ):
            if not (here & ~there)[:, :, bottom:top].any():
                continue
            box = self._largest(here, bottom, top, least, least_volume, mirrored=False)
            if box is None:
                continue
            (i0, j0, k0), (i1, j1, k1) = box
            if there[i0:i1, j0:j1, k0:k1].mean() <= 0.5:
                found.append((side, box))
        return [self._take(word, holds, box, (side,)) for side, box in found]

    def _largest(
        self, free: Flags, bottom: int, top: int, least: Array, least_volume: float, mirrored: bool = True
    ) -> Box | None:
        """Largest box between two layers, if large enough; one across the centreline is twice its half."""
        found = largest_box(free[:, :, bottom:top], self.size, least, mirrored)
        if found is None:
            return None
        (i0, j0, k0), (i1, j1, k1) = found
        volume = (i1 - i0) * (j1 - j0) * (k1 - k0) * float(np.prod(self.size))
        if volume * (2 if mirrored and j0 == 0 else 1) < least_volume:
            return None
        return (i0, j0, k0 + bottom), (i1, j1, k1 + bottom)

    def _take(self, word: str, holds: PlaceFor, box: Box, sides: tuple[str, ...]) -> Found:
        (i0, j0, k0), (i1, j1, k1) = box
        if "starboard" not in sides or len(sides) == 2:
            self.port[i0:i1, j0:j1, k0:k1] = False
        if "port" not in sides or len(sides) == 2:
            self.starboard[i0:i1, j0:j1, k0:k1] = False
        return Found(word, holds, ((i0 + self.start, j0, k0), (i1 + self.start, j1, k1)), sides)


def _fewer(found: list[Found], cells: Cells) -> list[Found]:
    """The boxes that do most, by volume times distance from the middle of the length; each kind in turn."""
    middle = cells.shape[0] / 2

    def use(entry: Found) -> float:
        (i0, j0, k0), (i1, j1, k1) = entry.box
        lever = abs((i0 + i1) / 2 - middle) / middle
        return float((i1 - i0) * (j1 - j0) * (k1 - k0)) * (0.25 + lever)

    words = sorted({entry.word for entry in found})
    queues = {
        word: sorted((e for e in found if e.word == word), key=lambda e: (-use(e), e.box)) for word in words
    }
    kept: list[Found] = []
    count = 0
    while any(queues.values()):
        for word in words:
            if queues[word]:
                entry = queues[word].pop(0)
                if count + len(entry.sides) <= MOST:
                    kept.append(entry)
                    count += len(entry.sides)
    return [entry for entry in found if entry in kept]


def named(vessel: Vessel, cells: Cells, found: list[Found]) -> tuple[Place, ...]:
    half = cells.shape[1] // 2
    seen: Counter[str] = Counter(place.name for place in vessel.wishes.places)
    places: list[Place] = []
    for entry in found:
        (i0, j0, k0), (i1, j1, k1) = entry.box
        ends = (cells.side(0, i0), cells.side(0, i1))
        at = vessel.datum.to_builder(((ends[0] + ends[1]) / 2, 0.0, 0.0))[0]
        for side in entry.sides:
            inner, outer = cells.side(1, half + j0), cells.side(1, half + j1)
            across = {"port": (inner, outer), "starboard": (-outer, -inner), "centre": (-outer, outer)}[side]
            name = f"{entry.word} {spoken(at, vessel)}{'' if side == 'centre' else f' {side}'}"
            seen[name] += 1
            low: Vector = (ends[0], across[0], cells.side(2, k0))
            high: Vector = (ends[1], across[1], cells.side(2, k1))
            places.append(
                Place(name if seen[name] == 1 else f"{name} no. {seen[name]}", entry.holds, low, high)
            )
    return tuple(places)


def spoken(length_m: float, vessel: Vessel) -> str:
    """A length as one says it over the bench: whole millimetres or tenths of an inch."""
    step = 1e-3 if vessel.units == "metric" else 0.1 * 0.0254
    return written(round(length_m / step) * step, "length", vessel.units)

"""`space`: where lead and foam can go: the free room inside the hull by station, as blocks, and as rails.

The cells and the places are those that `trim` itself looks into with `places = "auto"`.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.units import shown
from dabchick.model.vessel import Place, PlaceFor, Vector, Vessel
from dabchick.physics.cell_faces import beside, coarser_cells, outside_faces
from dabchick.physics.free_space import Cells, Flags
from dabchick.studies.common import assumptions, warnings
from dabchick.studies.places import find_places
from dabchick.studies.rails import find_rails
from dabchick.studies.reach import Reach, reach_of
from dabchick.studies.result import StudyResult
from dabchick.studies.room import SEGMENTS, Room, room_of, water_room

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Tell = Callable[[str, float], None]

STATIONS = 20
"""Slabs of one length from stern to bow."""
MOST_FACES = 12_000
"""Of the picture's two surfaces together; more would only slow it."""


@dataclass(frozen=True)
class Station:
    """One slab of the length."""

    aft_m: float
    fore_m: float
    floods_below_m3: float
    """Room that floods in it, under the waterline."""
    floods_above_m3: float
    free_below_m3: float
    """Of that what lead and foam can use."""
    free_above_m3: float


@dataclass(frozen=True)
class Section:
    """One layer of cells across the boat: areas at its middle."""

    x_m: float
    floods_below_m2: float
    floods_above_m2: float
    free_below_m2: float
    free_above_m2: float


@dataclass(frozen=True)
class FoundPlace:
    """A free box that could be cut and fixed."""

    kind: Literal["block", "rail"]
    name: str
    holds: PlaceFor
    low_m: Vector
    high_m: Vector
    volume_m3: float
    reach: Reach
    """With the hull open at its break line."""
    behind: tuple[str, ...]
    """What stands in the way."""

    @property
    def place(self) -> Place:
        return Place(self.name, self.holds, self.low_m, self.high_m)

    @property
    def size_m(self) -> Vector:
        """Length, width, height."""
        x, y, z = (high - low for low, high in zip(self.low_m, self.high_m, strict=True))
        return (x, y, z)


@dataclass(frozen=True)
class Moving:
    """A part that lead and foam keep farther off than other things."""

    name: str
    clearance_m: float


@dataclass(frozen=True, kw_only=True)
class SpaceResult(StudyResult):
    """The free room inside the hull."""

    cell_m: Vector
    clearance_m: float
    waterline_m: float
    floods_below_m3: float
    """All room that floods under the waterline, whatever its width."""
    floods_above_m3: float
    free_below_m3: float
    """Room for lead and foam: whole cells, the clearance off everything."""
    free_above_m3: float
    cut_below_m3: float
    """Cells beside the free ones that something cuts: about so much more there may be at most."""
    cut_above_m3: float
    stations: tuple[Station, ...]
    sections: tuple[Section, ...]
    places: tuple[FoundPlace, ...]
    """Blocks as `trim` finds them."""
    rails: tuple[FoundPlace, ...]
    """Prisms along the boat; they share room with the blocks."""
    moving: tuple[Moving, ...]
    keep_outs: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class SpaceMap:
    """The answer, and the free cells as two closed surfaces to look at."""

    result: SpaceResult
    below: tuple[Array, Indices]
    """Vertices (n, 3) [m] and triangles (m, 3)."""
    above: tuple[Array, Indices]
    shown_cell_m: Vector
    """Size of the cells in the picture."""


def run(
    vessel: Vessel,
    *,
    cell_m: float | None = None,
    clearance_m: float | None = None,
    progress: Tell = lambda text, share: None,
) -> SpaceResult:
    """The free room inside the hull; by default in the cells and at the clearance with which `trim` looks for places.

    Raises BoatError for cells that are too small or too large, and for a clearance below zero.
    """
    return space_map(vessel, cell_m=cell_m, clearance_m=clearance_m, progress=progress).result


def space_map(
    vessel: Vessel,
    *,
    cell_m: float | None = None,
    clearance_m: float | None = None,
    progress: Tell = lambda text, share: None,
) -> SpaceMap:
    """As `run`, with the surfaces."""
    if clearance_m is not None and not 0.0 <= clearance_m < np.inf:
        raise BoatError(
            Advice(
                what="A clearance below zero makes no sense.",
                todo="Give how far lead and foam are to stay off everything.",
                key="clearance",
                given=shown(clearance_m, "length", vessel.units),
                allowed="from 0",
            )
        )
    bare = replace(vessel, items=tuple(item for item in vessel.items if not item.from_trim))
    if clearance_m is not None:
        bare = replace(bare, wishes=replace(bare.wishes, clearance_m=clearance_m))
    room = room_of(bare, cell_m, None, progress)
    cells = room.cells
    progress("Where water comes", 0.65)
    floods = water_room(bare, cells)
    progress("Blocks to cut", 0.7)
    blocks = find_places(bare, room)
    progress("Rails along the boat", 0.8)
    rails = find_rails(bare, room)
    progress("The picture", 0.95)
    level = int(np.clip(-cells.first[2], 0, cells.shape[2]))
    below, above, shown_cell = _surfaces(room, level)
    counts = [(flags[:, :, :level], flags[:, :, level:]) for flags in (floods, room.free, beside(room.free))]
    volumes = [tuple(float(half.sum()) * cells.volume_m3 for half in pair) for pair in counts]
    result = SpaceResult(
        boat=vessel.name,
        method=(
            "cells over the hull's inside; a cell is free when no face comes nearer to it than the clearance, and "
            "floods when its middle lies in no material; blocks and rails are the largest boxes of free cells"
        ),
        sources=("separating axes for boxes and triangles; counted crossings along upright columns",),
        validity=(
            f"cells of {_mm(cells.size_m)} mm; free room is never more than there is, and short by less than a "
            f"layer of one cell along every face; what floods may err by half of that to either side; round bodies "
            f"are polyhedra of {SEGMENTS} sides, with their roundness allowed for"
        ),
        assumptions=assumptions(vessel, *_assumed(vessel, bare, room)),
        warnings=warnings(vessel, *_left_out(vessel), *_nothing_free(room)),
        cell_m=cells.size_m,
        clearance_m=room.clearance_m,
        waterline_m=vessel.waterline_m,
        floods_below_m3=volumes[0][0],
        floods_above_m3=volumes[0][1],
        free_below_m3=volumes[1][0],
        free_above_m3=volumes[1][1],
        cut_below_m3=volumes[2][0],
        cut_above_m3=volumes[2][1],
        stations=_stations(vessel, cells, floods, room.free, level),
        sections=_sections(cells, floods, room.free, level),
        places=tuple(_found(bare, room, "block", place) for place in blocks),
        rails=tuple(_found(bare, room, "rail", place) for place in rails),
        moving=tuple(Moving(item.name, item.moves_m) for item in bare.items if item.moves_m > 0.0),
        keep_outs=tuple(box.name for box in vessel.keep_outs),
    )
    return SpaceMap(result, below, above, shown_cell)


def _mm(size: Vector) -> str:
    return " x ".join(f"{1000.0 * edge:.3g}" for edge in size)


def _found(vessel: Vessel, room: Room, kind: Literal["block", "rail"], place: Place) -> FoundPlace:
    reach, behind = reach_of(vessel, room, place)
    volume = float(np.prod(np.subtract(place.high_m, place.low_m)))
    return FoundPlace(kind, place.name, place.holds, place.low_m, place.high_m, volume, reach, behind)


def _areas(flags: Flags, cells: Cells, level: int) -> tuple[Array, Array]:
    """Area [m2] of each layer across the boat, below and above the waterline."""
    area = cells.size_m[1] * cells.size_m[2]
    below, above = (half.sum(axis=(1, 2)) * area for half in (flags[:, :, :level], flags[:, :, level:]))
    return below, above


def _sections(cells: Cells, floods: Flags, free: Flags, level: int) -> tuple[Section, ...]:
    columns = (cells.centres(0), *_areas(floods, cells, level), *_areas(free, cells, level))
    return tuple(Section(*(float(value) for value in row)) for row in zip(*columns, strict=True))


def _stations(vessel: Vessel, cells: Cells, floods: Flags, free: Flags, level: int) -> tuple[Station, ...]:
    """Slabs of one length; a layer of cells that a slab's end runs through is shared out by length."""
    ends = np.linspace(0.0, vessel.length_m, STATIONS + 1)
    sides = np.array([cells.side(0, index) for index in range(cells.shape[0] + 1)])
    # What little of the outermost cells lies beyond the hull belongs to the slabs at the ends.
    ends[0], ends[-1] = min(ends[0], sides[0]), max(ends[-1], sides[-1])
    volumes = []
    for areas in (*_areas(floods, cells, level), *_areas(free, cells, level)):
        running = np.concatenate([[0.0], np.cumsum(areas * cells.size_m[0])])
        volumes.append(np.diff(np.interp(ends, sides, running)))
    return tuple(
        Station(aft, fore, *(float(column[row]) for column in volumes))
        for row, (aft, fore) in enumerate(pairwise(np.linspace(0.0, vessel.length_m, STATIONS + 1).tolist()))
    )


def _surfaces(room: Room, level: int) -> tuple[tuple[Array, Indices], tuple[Array, Indices], Vector]:
    """The free cells below and above the waterline, as coarse as it takes."""
    lower, upper = room.free.copy(), room.free.copy()
    lower[:, :, level:] = False
    upper[:, :, :level] = False
    factor = 1
    while True:
        steps = (factor, 2 * factor, 2 * factor)
        surfaces = []
        for flags in (lower, upper):
            larger, cells = coarser_cells(flags, room.cells, steps)
            surfaces.append(outside_faces(larger, cells))
        if sum(len(triangles) for _, triangles in surfaces) <= MOST_FACES:
            return surfaces[0], surfaces[1], cells.size_m
        factor += 1


def _assumed(vessel: Vessel, bare: Vessel, room: Room) -> list[str]:
    found = [f"space: everything keeps {1000.0 * room.clearance_m:g} mm off what it stands beside"]
    if len(bare.items) < len(vessel.items):
        found.append("space: the lead and foam of the last trim are taken out, as a new trim would")
    if not any(item.moves_m > 0.0 for item in bare.items):
        found.append("space: no part is said to move, so shafts and linkages keep no more than that either")
    if not vessel.break_line_m:
        found.append("space: no break line is given, so what can be reached is not known")
    return found


def _left_out(vessel: Vessel) -> list[Advice]:
    if not vessel.unweighed:
        return []
    return [
        Advice(
            what=f"The room that these take is shown as free, since they have no mass yet: "
            f"{', '.join(vessel.unweighed)}.",
            todo="Give each a mass, if only a guess, so that nothing is planned into it.",
            key="part",
            severity="warning",
        )
    ]


def _nothing_free(room: Room) -> list[Advice]:
    if room.free.any():
        return []
    return [
        Advice(
            what="No room is left inside the hull at this clearance.",
            todo="Take a smaller clearance or smaller cells, or look whether a part fills the hull.",
            key="trim.clearance",
            severity="warning",
        )
    ]

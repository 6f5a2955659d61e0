"""A first layout for a bare hull: where a watertight cylinder fits, where the tank goes, and how the usual gear lies.

Nothing here is a finished design: it is a start that opens, floats and can be trimmed, to be changed by the builder.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Vector, Vessel
from dabchick.physics.inside import turns_at

Array = NDArray[np.float64]
Row = Literal["low", "high", "whole"]
End = Literal["fore", "aft"]

CLEARANCE_M: Final = 0.003
"""Between cylinder and hull; common practice, no source."""
DIAMETER_SHARES: Final = (0.80, 0.76, 0.72, 0.68, 0.64, 0.60, 0.55, 0.50, 0.45, 0.40, 0.35, 0.30)
"""Of the hull's lesser side, tried from above."""
HEIGHTS: Final = (-0.15, -0.10, -0.05, 0.0)
"""Of the axis off the middle of the hull, as shares of its height: low is good for stability."""
MOST_LENGTH: Final = 0.62
"""Of the hull: the ends are wanted for planes, shaft and lead."""
SLIDE_M: Final = 0.005
"""A part on a rail may be shifted so far either way."""
CAP_M: Final = 0.014
"""Length of each cap."""
GAP_M: Final = 0.003
"""Between two parts."""
PRINT_KG_M3: Final = 1240.0
STEEL_KG_M3: Final = 7850.0
ABS_KG_M3: Final = 1050.0
"""As in data/materials.toml."""
_STATIONS: Final = 121
_AROUND: Final = 24
_COLUMN: Final = 400


@dataclass(frozen=True)
class CylinderRoom:
    """A cylinder along the boat, house frame."""

    aft_m: float
    fore_m: float
    diameter_m: float
    axis_m: float
    """Height of its axis."""

    @property
    def length_m(self) -> float:
        return self.fore_m - self.aft_m

    @property
    def centre_m(self) -> Vector:
        return (0.5 * (self.aft_m + self.fore_m), 0.0, self.axis_m)


@dataclass(frozen=True)
class Gear:
    """A thing to go into the cylinder: its box, and where it would rather lie."""

    name: str
    size_m: Vector
    end: End
    row: Row


@dataclass(frozen=True)
class OutsideGear:
    """A thing outside the hull: its box, or its length and diameter, and a first guess of its mass."""

    size_m: Vector
    centre_m: Vector
    mass_kg: float
    material: str
    is_round: bool = False


@dataclass(frozen=True)
class Lying:
    """Where a thing lies; `fits` is False where there is no room for its box, so that only its mass is placed."""

    centre_m: Vector
    fits: bool


def cylinder_room(vessel: Vessel) -> CylinderRoom | None:
    """The largest cylinder wholly inside the hull's skin that leaves the ends free; None where there is hardly any."""
    inner = [(vertices, faces) for vertices, faces, _ in vessel.hull_inside.meshes()]
    low, high = vessel.hull_inside.bounds()
    x = np.linspace(low[0], high[0], _STATIONS)
    angles = np.linspace(0.0, 2.0 * math.pi, _AROUND, endpoint=False)
    sides = high - low
    trials = [
        (share * float(min(sides[1], sides[2])), float(0.5 * (low[2] + high[2]) + off * sides[2]))
        for share in DIAMETER_SHARES
        for off in HEIGHTS
    ]
    points = np.empty((len(trials), _STATIONS, _AROUND, 3))
    for k, (diameter, axis) in enumerate(trials):
        reach = 0.5 * diameter + CLEARANCE_M
        points[k, :, :, 0] = x[:, None]
        points[k, :, :, 1] = reach * np.cos(angles)
        points[k, :, :, 2] = axis + reach * np.sin(angles)
    turns = sum(turns_at(vertices, faces, points.reshape(-1, 3)) for vertices, faces in inner)
    within: NDArray[np.bool_] = np.asarray(turns).reshape(points.shape[:3]) >= 1
    free: NDArray[np.bool_] = np.asarray(within.all(axis=2))
    best: CylinderRoom | None = None
    for (diameter, axis), along in zip(trials, free, strict=True):
        span = _longest(along)
        if span is None:
            continue
        aft, fore = float(x[span[0]]), float(x[span[1]])
        most = MOST_LENGTH * vessel.length_m
        if fore - aft > most:
            # a little before the middle, as the tail is finer than the bow
            middle = min(max(0.52 * vessel.length_m, aft + 0.5 * most), fore - 0.5 * most)
            aft, fore = middle - 0.5 * most, middle + 0.5 * most
        room = CylinderRoom(aft, fore, diameter, axis)
        if fore - aft > 4.0 * CAP_M and (best is None or _volume(room) > 1.02 * _volume(best)):
            best = room
    return best


def _volume(room: CylinderRoom) -> float:
    return room.diameter_m**2 * room.length_m


def _longest(free: NDArray[np.bool_]) -> tuple[int, int] | None:
    """First and last index of the longest run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], free, [False]]).astype(np.int8)))
    if not edges.size:
        return None
    starts, ends = edges[0::2], edges[1::2] - 1
    k = int(np.argmax(ends - starts))
    return int(starts[k]), int(ends[k])


def wall(room: CylinderRoom) -> float:
    """Thickness of the cylinder's wall [m]: a twentieth of the diameter, 1.5 to 4 mm; common practice, no source."""
    return min(max(0.05 * room.diameter_m, 0.0015), 0.004)


def bore(room: CylinderRoom) -> float:
    """Bore [m] of the largest tank in the cylinder: its own wall is as thick as the cylinder's, with play between."""
    return room.diameter_m - 4.0 * wall(room) - 0.002


def outside_gear(vessel: Vessel, room: CylinderRoom | None) -> dict[str, OutsideGear]:
    """Sail, shaft with propeller, aft planes and rudder in sizes and places that suit the hull; common practice, no
    source.
    """
    low, high = vessel.hull.bounds()
    length, beam, height = (float(side) for side in high - low)
    sail_x = 0.56 * length
    tail, middle = keel_and_deck(vessel, (0.02 * length, sail_x))
    axis = 0.5 * sum(tail or (0.4 * height, 0.6 * height))
    deck = (middle or (0.0, height))[1]
    sheet = min(max(0.0016 * length, 0.0008), 0.003)
    sail = (0.13 * length, 0.2 * beam, 0.4 * height)
    shell = 2.0 * sail[2] * (sail[0] + sail[1]) + sail[0] * sail[1]
    fore = room.aft_m - GAP_M if room is not None else 0.2 * length
    aft = -0.015 * length
    shaft = min(max(0.006 * length, 0.002), 0.006)
    planes = (0.035 * length, 0.95 * beam, sheet)
    rudder = (0.025 * length, sheet, 0.6 * height)
    return {
        "sail": OutsideGear(sail, (sail_x, 0.0, deck + 0.5 * sail[2]), PRINT_KG_M3 * 0.0012 * shell, "PLA"),
        "propeller": OutsideGear(
            (fore - aft, shaft, shaft),
            (0.5 * (fore + aft), 0.0, axis),
            STEEL_KG_M3 * 0.25 * math.pi * shaft**2 * (fore - aft) * 0.8,
            "steel",
            is_round=True,
        ),
        "aft planes": OutsideGear(
            planes, (0.06 * length, 0.0, axis + 2.0 * shaft), _sheet_mass(planes), "ABS"
        ),
        "rudder": OutsideGear(rudder, (-0.035 * length, 0.0, axis), _sheet_mass(rudder), "ABS"),
    }


def _sheet_mass(size: Vector) -> float:
    return ABS_KG_M3 * size[0] * size[1] * size[2]


def keel_and_deck(vessel: Vessel, x_m: Sequence[float]) -> list[tuple[float, float] | None]:
    """Lowest and highest point of the hull's outside on the middle plane at each station; None off the hull."""
    low, high = vessel.hull.bounds()
    z = np.linspace(low[2], high[2], _COLUMN)
    points = np.empty((len(x_m), _COLUMN, 3))
    points[:, :, 0] = np.asarray(x_m)[:, None]
    points[:, :, 1] = 1e-7  # a hair off the plane in which many meshes have their edges
    points[:, :, 2] = z
    turns = sum(
        turns_at(vertices, faces, points.reshape(-1, 3)) for vertices, faces, _ in vessel.hull.meshes()
    )
    within = np.asarray(turns).reshape(points.shape[:2]) >= 1
    found: list[tuple[float, float] | None] = []
    for column in within:
        heights = z[column]
        found.append((float(heights[0]), float(heights[-1])) if heights.size else None)
    return found


def highest_deck(vessel: Vessel, stations: int = 61) -> Vector:
    """The highest point of the hull on the middle plane; the middle one where the deck is level."""
    x = (np.linspace(0.05, 0.95, stations) * vessel.length_m).tolist()
    heights = np.array([-math.inf if ends is None else ends[1] for ends in keel_and_deck(vessel, x)])
    tops = np.flatnonzero(heights >= heights.max() - 1e-4)
    k = int(tops[len(tops) // 2])
    return (float(x[k]), 0.0, float(heights[k]))


def lay_out(room: CylinderRoom, tank: tuple[float, float] | None, gear: Sequence[Gear]) -> list[Lying]:
    """Places for gear in the cylinder, fore and aft of the tank (its ends), in a low and a high row; in order."""
    aft, fore = room.aft_m + CAP_M, room.fore_m - CAP_M
    radius = 0.5 * room.diameter_m - wall(room)
    if tank is None:
        middle = 0.5 * (aft + fore)
        tank = (middle, middle)
    bays = {
        "fore": _Bay(tank[1] + GAP_M, fore, radius, from_fore=True),
        "aft": _Bay(aft, tank[0] - GAP_M, radius, from_fore=False),
    }
    places: list[Lying] = []
    for entry in gear:
        first, other = (bays["fore"], bays["aft"]) if entry.end == "fore" else (bays["aft"], bays["fore"])
        found = first.put(entry) or other.put(entry)
        if found is None:
            x = 0.5 * (first.low + first.high) if first.high > first.low else 0.5 * (aft + fore)
            places.append(Lying((x, 0.0, room.axis_m - 0.3 * radius), fits=False))
        else:
            x, z = found
            places.append(Lying((x, 0.0, room.axis_m + z), fits=True))
    return places


class _Bay:
    """The round room between a cap and the tank; things are put in from the cap towards the tank, in two rows."""

    def __init__(self, low: float, high: float, radius: float, *, from_fore: bool) -> None:
        self.low = low
        self.high = high
        self.radius = radius
        self.from_fore = from_fore
        self.taken = {"low": 0.0, "high": 0.0}
        """Length taken of each row, from the cap."""

    def put(self, gear: Gear) -> tuple[float, float] | None:
        """x of its middle, and z of its middle off the axis; None where it does not fit."""
        length, width, height = gear.size_m
        half = 0.5 * width
        if half >= self.radius:
            return None
        chord = math.sqrt(self.radius**2 - half**2)
        rows: tuple[str, ...]
        if gear.row == "high" and height + 0.5 * GAP_M <= chord:
            rows, z = ("high",), 0.5 * GAP_M + 0.5 * height
        elif gear.row != "whole" and height + 0.5 * GAP_M <= chord:
            rows, z = ("low",), -chord + 0.5 * height
        elif height <= 2.0 * chord:
            rows, z = ("low", "high"), -chord + 0.5 * height
        else:
            return None
        start = max(self.taken[row] for row in rows)
        if start + length > self.high - self.low:
            return None
        for row in rows:
            self.taken[row] = start + length + GAP_M
        middle = start + 0.5 * length
        return (self.high - middle if self.from_fore else self.low + middle), z

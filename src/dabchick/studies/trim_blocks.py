"""The blocks of lead and foam that a person cuts: size and place from the room and the amount."""

from dataclasses import dataclass

import numpy as np

from dabchick.model.vessel import Item, Place, Vector, Wishes
from dabchick.physics import shapes
from dabchick.studies.trim_result import Piece

LEAD_LEAST_THICKNESS_M = 0.002
"""Sheet lead thinner than this is not cut for ballast; common practice, no source."""
FOAM_LEAST_EDGE_M = 0.010
"""Foam edges shorter than this crumble; common practice, no source."""


@dataclass(frozen=True)
class Block:
    """A box of lead or foam along the house axes."""

    size_m: Vector
    centre_m: Vector

    def volume_under(self, waterline_m: float) -> tuple[float, Vector]:
        """Volume [m3] below a level waterline and its centre."""
        length, width, height = self.size_m
        bottom = self.centre_m[2] - 0.5 * height
        wet = min(max(waterline_m - bottom, 0.0), height)
        return length * width * wet, (self.centre_m[0], self.centre_m[1], bottom + 0.5 * wet)


def lead_room_m3(place: Place, wishes: Wishes) -> float:
    """The most lead that fits a place, by its box and by the builder's own limit."""
    size = np.subtract(place.high_m, place.low_m)
    return min(float(np.prod(size)), place.most_kg / wishes.lead_density_kg_m3)


def foam_room_m3(place: Place, wishes: Wishes) -> float:
    """The most foam that fits a place in whole sheets; 0 where not even one does."""
    length, width, _ = np.subtract(place.high_m, place.low_m)
    return float(length * width) * _foam_height(place, wishes)


def _foam_height(place: Place, wishes: Wishes) -> float:
    height = place.high_m[2] - place.low_m[2]
    if wishes.foam_sheet_m > 0.0:
        height = int(height / wishes.foam_sheet_m + 1e-9) * wishes.foam_sheet_m
    return height


def lead_block(place: Place, volume_m3: float) -> Block:
    """Lead lies on the floor of its place, over its whole length where it is thick enough, else in its middle."""
    length, width, height = np.subtract(place.high_m, place.low_m)
    thickness = min(max(volume_m3 / (length * width), LEAD_LEAST_THICKNESS_M), height)
    return _cut(place, volume_m3, thickness, place.low_m[2] + 0.5 * thickness, 0.0)


def foam_block(place: Place, volume_m3: float, wishes: Wishes) -> Block:
    """Foam hangs under the roof of its place, in its middle along the boat."""
    height = _foam_height(place, wishes)
    return _cut(place, volume_m3, height, place.high_m[2] - 0.5 * height, FOAM_LEAST_EDGE_M)


def _cut(place: Place, volume: float, height: float, z: float, least_edge: float) -> Block:
    room_length, room_width, _ = np.subtract(place.high_m, place.low_m)
    area = volume / height
    length = min(max(area / room_width, min(least_edge, room_length)), room_length)
    width = area / length
    middle = 0.5 * np.add(place.low_m, place.high_m)
    return Block((float(length), float(width), float(height)), (float(middle[0]), float(middle[1]), float(z)))


def as_item(piece: Piece, density: float) -> Item:
    """A piece as an item of the ledger, known as computed."""
    solid = shapes.box(*piece.size_m).moved(np.array(piece.centre_m))
    length, width, height = piece.size_m
    squares = np.array([width**2 + height**2, length**2 + height**2, length**2 + width**2])
    return Item(
        name=f"{piece.material} {piece.place}",
        kind=piece.material,
        mass_kg=piece.mass_kg,
        mass_spread_kg=0.0,
        centre_m=piece.centre_m,
        centre_spread_m=(0.0, 0.0, 0.0),
        known="computed",
        solid=solid,
        volume_m3=piece.mass_kg / density,
        volume_spread_m3=0.0,
        volume_centre_m=piece.centre_m,
        inertia_kg_m2=np.diag(piece.mass_kg / 12.0 * squares),
        envelope=solid,
        from_trim=True,
    )

"""The vessel: a boat as the studies see it, in SI and in the house frame, frozen.

House frame: x forward from the aftermost point of the hull, y to port, z up from the keel.
"""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice
from dabchick.physics.solid import Solid

Vector = tuple[float, float, float]
Known = Literal["weighed", "measured", "drawing", "catalogue", "guess", "computed"]
ItemKind = Literal["skin", "dry", "solid", "inside", "lead", "foam"]
Half = Literal["upper", "lower"]
TankSystem = Literal["vented pump", "sealed pump", "bag", "piston", "gas blown", "air blown"]


@dataclass(frozen=True)
class Datum:
    """Where the builder measures from; the house frame and the builder's differ by a flip and a shift only."""

    x_from: Literal["bow", "stern"]
    z_from: Literal["keel", "waterline", "axis"]
    x_origin_m: float
    """House x of the builder's zero."""
    z_origin_m: float
    """House z of the builder's zero."""

    def to_house(self, point: Vector) -> Vector:
        x, y, z = point
        return (self.x_origin_m + (x if self.x_from == "stern" else -x), y, self.z_origin_m + z)

    def to_builder(self, point: Vector) -> Vector:
        x, y, z = point
        along = x - self.x_origin_m
        return (along if self.x_from == "stern" else -along, y, z - self.z_origin_m)


@dataclass(frozen=True)
class Rail:
    """The straight way along which a movable part may be fixed, as shifts of its centre from where it is."""

    direction: Vector
    low_m: float
    high_m: float


@dataclass(frozen=True, eq=False)
class Item:
    """One thing with mass: a part, the skin, a piece of lead or foam."""

    name: str
    kind: ItemKind
    mass_kg: float
    mass_spread_kg: float
    """One standard deviation."""
    centre_m: Vector
    """Centre of mass."""
    centre_spread_m: Vector
    """One standard deviation along each axis."""
    known: Known
    solid: Solid | None
    """What displaces water, placed in the house frame; None for kind `inside`."""
    volume_m3: float
    """Displaced when wholly under; 0 for kind `inside`."""
    volume_spread_m3: float
    volume_centre_m: Vector
    inertia_kg_m2: NDArray[np.float64]
    """3x3, about the item's own centre of mass, along the house axes; zeros for a point mass."""
    envelope: Solid | None = None
    """The room it takes up (for fit checks and drawings), also for kind `inside`; None for a point."""
    inside: str = ""
    """Name of the dry part that holds it; empty when it stands in the flooded space."""
    rail: Rail | None = None
    key: str = ""
    """Where it stands in the boat file, such as `part[3]`."""
    from_trim: bool = False
    """Put there by `trim --apply`; a new trim starts without it."""
    outside: bool = False
    """The builder says that it belongs outside the hull, or reaches out of it."""
    volume_by_mass: bool = False
    """Its volume is its mass over its density: another mass displaces otherwise."""
    moves_m: float = 0.0
    """Room that lead and foam leave round a part that turns or slides; 0 for one that stands still."""
    half: Half | None = None
    """The half of the hull that the builder fixes it to; None: the one that its centre lies in."""


@dataclass(frozen=True, eq=False)
class Tank:
    """A ballast tank: the room for water, and how that water gets in."""

    name: str
    system: TankSystem
    solid: Solid
    """The room for water, placed in the house frame (weight +1)."""
    capacity_m3: float
    centre_m: Vector
    """Centre of the full tank."""
    inside: str
    """Name of the dry part that holds it; empty when it stands in the flooded space, where its room displaces."""
    piston_direction: Vector
    """For system `piston`: unit vector from the water's fixed end towards the piston; zeros otherwise."""
    bore_area_m2: float = 0.0
    """For system `piston`: area of the bore; 0 otherwise."""
    key: str = ""


PlaceFor = Literal["lead", "foam", "both"]


@dataclass(frozen=True)
class Place:
    """A box of room for lead or foam, along the house axes."""

    name: str
    holds: PlaceFor
    low_m: Vector
    high_m: Vector
    most_kg: float = float("inf")
    """The builder's own limit on the lead here."""


@dataclass(frozen=True)
class KeepOut:
    """A box, along the house axes, in which no lead or foam is to go."""

    name: str
    low_m: Vector
    high_m: Vector
    key: str = ""


@dataclass(frozen=True)
class Space:
    """A box, along the house axes, whose flooded room fills and drains by itself."""

    name: str
    low_m: Vector
    high_m: Vector
    key: str = ""


@dataclass(frozen=True)
class InnerOpening:
    """A hole from one space into another; an empty name is the rest of the hull."""

    space: str
    other: str
    at_m: Vector
    area_m2: float
    key: str = ""


@dataclass(frozen=True)
class Wishes:
    """What the builder asks of the trim."""

    lift_dived_kg: float
    least_bg_m: float
    lead_pieces_kg: tuple[float, ...]
    """Masses of the pieces at hand; empty for sheet lead cut to mass."""
    lead_density_kg_m3: float
    foam_density_kg_m3: float
    foam_least_volume_m3: float
    foam_sheet_m: float
    """Thickness of the foam sheet; 0 for a block cut freely."""
    places: tuple[Place, ...]
    """Given by the builder; empty when the tool is to find them."""
    find_places: bool
    clearance_m: float


@dataclass(frozen=True, eq=False)
class Vessel:
    """A boat in SI and in the house frame."""

    name: str
    datum: Datum
    units: Literal["metric", "inch"]
    water_density_kg_m3: float
    water_density_spread_kg_m3: float
    water_temperature_c: float
    water_salinity_g_kg: float
    length_m: float
    low_m: Vector
    """Lowest corner of the box round the hull."""
    high_m: Vector
    hull: Solid
    """The closed outer form of the hull (weight +1), for drawings, draughts and free space."""
    hull_inside: Solid
    """The inner face of the skin; the same as `hull` where there is no skin."""
    waterline_m: float
    """House z of the waterline wished for, boat level."""
    mark_bow_m: float
    """House x of the forward draught mark."""
    mark_stern_m: float
    items: tuple[Item, ...]
    tanks: tuple[Tank, ...]
    wishes: Wishes
    openings: tuple[tuple[Vector, float], ...] = ()
    """Place and area [m2] of each opening."""
    keep_outs: tuple[KeepOut, ...] = ()
    spaces: tuple[Space, ...] = ()
    """Parts of the flooded inside that fill and drain by themselves; what belongs to none is the hull."""
    inner_openings: tuple[InnerOpening, ...] = ()
    break_line_m: tuple[tuple[float, float], ...] = ()
    """Where the hull comes apart, seen from the side: (x, z) from the stern forward; empty where unknown."""
    unweighed: tuple[str, ...] = ()
    """Names of the parts without a mass; they are left out of every sum and listed in every result."""
    assumptions: tuple[str, ...] = ()
    advice: tuple[Advice, ...] = field(default=())

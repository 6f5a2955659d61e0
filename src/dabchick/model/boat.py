"""The boat file as typed, frozen tables: what the builder says, in SI but still from the builder's own datum.

Every value is checked by itself here; what must fit together is checked in `mistakes.py`.
"""

from typing import Annotated, Literal

from pydantic import AfterValidator, ConfigDict, Field

from dabchick.model.fields import (
    Angles,
    Area,
    BreakLine,
    Density,
    Extent,
    Gap,
    Length,
    Lift,
    Mass,
    MaterialName,
    Name,
    Placed,
    PlaceNames,
    Point,
    RailEnd,
    Salinity,
    StatedMass,
    StatedVolume,
    Table,
    Temperature,
    Volume,
    mistake,
)
from dabchick.model.hull_surface import Direction
from dabchick.model.shape import MeshUnit, Shape
from dabchick.model.units import UnitSet
from dabchick.model.vessel import Half, PlaceFor, TankSystem
from dabchick.physics import water

FORMAT_VERSION = 1

PartKind = Literal["dry", "solid", "inside", "lead", "foam"]
WaterEnd = Literal["bow", "stern", "top", "bottom"]


def _scale(value: float) -> float:
    if value <= 0.0:
        raise mistake("A scale is the second number of 1:60.", "Write it like scale = 60.", "above 0")
    return value


def _reachable_temperature(value: float) -> float:
    low, high = water.LEAST_TEMPERATURE_C, water.MOST_TEMPERATURE_C
    if not low <= value <= high:
        raise mistake(
            "No boat sails in water of this temperature.",
            'Write it like "12 degC".',
            f"{low:g} to {high:g} degC",
        )
    return value


def _reachable_salinity(value: float) -> float:
    high = water.MOST_SALINITY_G_KG
    if value > high:
        raise mistake(
            "The formula for water does not reach this salt.",
            "Weigh a litre of the water and give its density instead.",
            f"0 to {high:g} g/kg",
        )
    return value


def _likely_density(value: float) -> float:
    if not 950.0 <= value <= 1250.0:
        raise mistake(
            "This is not the density of any water.", 'Write it like "998.2 kg/m^3".', "950 to 1250 kg/m^3"
        )
    return value


class MeasuredFrom(Table):
    """Where the builder's zero is; y is always positive to port, from the middle plane.

    x from the bow grows aft, x from the stern grows forward. `axis`: z is measured from the axis of a
    cylinder that runs along the boat, and `axis_height` says how high that axis lies over the keel.
    """

    x: Literal["bow", "stern"]
    z: Literal["keel", "waterline", "axis"]
    axis_height: Gap | None = None


class Water(Table):
    """The water: temperature and salt, or a density, or just fresh or sea."""

    where: str = ""
    kind: Literal["fresh", "sea"] | None = None
    temperature: Annotated[Temperature, AfterValidator(_reachable_temperature)] | None = None
    salinity: Annotated[Salinity, AfterValidator(_reachable_salinity)] | None = None
    density: Annotated[Density, AfterValidator(_likely_density)] | None = None


class Skin(Table):
    """The skin of a free-flooding hull; without a weighed mass, area x thickness x density."""

    thickness: Extent | None = None
    spread: Gap | None = None
    material: MaterialName | None = None
    density: Density | None = None
    mass: StatedMass | None = None
    outside: bool = False
    """The surface in the file is the inner face; the skin lies outside it."""


class Marks(Table):
    """Where the draught is read, x from the builder's zero."""

    bow: Length
    stern: Length


class Opening(Table):
    """A hole in the skin through which the hull floods and drains."""

    at: Point
    area: Area


HULL_FORMS = ("stations", "mesh", "trace", "measures")
"""Keys of which a hull has just one, each with the name of a file."""


class Hull(Table):
    """The hull's form, its skin and the waterline wished for."""

    stations: str | None = None
    mesh: str | None = None
    trace: str | None = None
    measures: str | None = None
    unit: MeshUnit | None = None
    bow: Direction = "+x"
    """Which way the bow points in the mesh file."""
    up: Direction = "+z"
    solid_walled: bool = False
    """The mesh is the material itself, as it was printed; `skin` then says only what it is made of."""
    separate_shells: bool = False
    """The mesh file holds several bodies that do not touch, a hull and a fin say, and all are hull."""
    skin: Skin = Skin()
    waterline: Extent
    """Height of the waterline over the keel, boat level, whatever z is measured from."""
    marks: Marks | None = None
    openings: tuple[Opening, ...] = ()
    break_line: BreakLine = ()
    """Where she comes apart, seen from the side: one height, or points (x, z); from the builder's zeros."""

    @property
    def forms(self) -> tuple[str, ...]:
        """The keys that give its form; a right hull has one."""
        return tuple(key for key in HULL_FORMS if getattr(self, key) is not None)


class RailTable(Table):
    """Where `at` may be moved to: along x, y or z between two values, or straight between two points."""

    direction: Literal["x", "y", "z"] | None = None
    start: RailEnd = Field(alias="from")
    end: RailEnd = Field(alias="to")


class Part(Table):
    """One part.

    Kinds: dry (sealed volume), solid (displaces its own volume), inside (mass in a dry part), lead, foam.
    """

    name: Name
    kind: PartKind
    shape: Shape | None = None
    turn: Angles = (0.0, 0.0, 0.0)
    """Roll (starboard down), pitch (bow up), yaw (bow to port), in this order."""
    at: Point
    """The middle of the shape, and the centre of mass of a part without one."""
    centre: Point | None = None
    """Centre of mass, where it is not that of an even body."""
    placed: Placed = Placed()
    mass: StatedMass | None = None
    volume: StatedVolume | None = None
    """What it displaces, where that is known better than its shape."""
    material: MaterialName | None = None
    density: Density | None = None
    inside: str | None = None
    outside: bool = False
    """It belongs outside the hull, or reaches out of it: sail, mast, planes, propeller."""
    rail: RailTable | None = None
    moves: Extent | None = None
    """It turns or slides: so far lead and foam stay off it."""
    half: Half | None = None
    """The half of the hull that it is fixed to, where its centre lies in the other one."""
    source: Literal["trim"] | None = Field(default=None, alias="from")
    """Set on lead and foam that `trim` has put in, so that the next time takes its place."""
    note: str = ""


class Walls(Table):
    """What a tank is made of, without its water: thickness and material, or mass and volume."""

    thickness: Extent | None = None
    material: MaterialName | None = None
    density: Density | None = None
    mass: StatedMass | None = None
    volume: StatedVolume | None = None


class TankTable(Table):
    """A ballast tank; its shape is the room for water."""

    name: Name
    system: TankSystem
    shape: Shape
    turn: Angles = (0.0, 0.0, 0.0)
    at: Point
    inside: str | None = None
    """The dry part that holds it; without it the tank stands in the flooded space."""
    walls: Walls | None = None
    water_end: WaterEnd | None = None
    """For a piston: the end where the water comes in; the piston draws away from it."""
    note: str = ""


class PlaceRail(Table):
    """A straight line of spots for lead or foam, between the middles of the first and the last."""

    start: Point = Field(alias="from")
    end: Point = Field(alias="to")


class PlaceTable(Table):
    """Room for lead or foam.

    A box between two opposite corners, a box round its middle, a point with the most lead that may hang there, or
    a rail of boxes of one size.
    """

    name: Name
    holds: PlaceFor = Field(default="both", alias="for")
    low: Point | None = None
    high: Point | None = None
    at: Point | None = None
    size: tuple[Extent, Extent, Extent] | None = None
    rail: PlaceRail | None = None
    """Spots of `size`, as many as fit side by side between the rail's ends."""
    most: Mass | None = None
    """Limit on the lead here; on a rail, at each spot."""


class KeepOutTable(Table):
    """A box in which no lead or foam is to go: between two opposite corners, or round its middle."""

    name: Name
    low: Point | None = None
    high: Point | None = None
    at: Point | None = None
    size: tuple[Extent, Extent, Extent] | None = None


class InnerOpening(Table):
    """A hole from one space into another, or into the rest of the hull."""

    at: Point
    area: Area
    to: str | None = None
    """The other space; without it the rest of the hull."""


class SpaceTable(Table):
    """A part of the flooded inside that fills and drains by itself, such as the casing over a deck.

    A box, between two opposite corners or round its middle; what lies in no box is the hull.
    """

    name: Name
    low: Point | None = None
    high: Point | None = None
    at: Point | None = None
    size: tuple[Extent, Extent, Extent] | None = None
    openings: tuple[InnerOpening, ...] = ()


class Lead(Table):
    """Lead at hand: pieces of stated mass, or sheet that is cut to mass."""

    pieces: tuple[Mass, ...] = ()
    sheet: bool = False
    material: MaterialName | None = None
    density: Density | None = None
    places: PlaceNames | None = None


class Foam(Table):
    """Foam at hand: its density, the thickness of the sheet and the smallest piece worth cutting."""

    material: MaterialName | None = None
    density: Density | None = None
    sheet: Extent | None = None
    least: Volume | None = None
    places: PlaceNames | None = None


class Trim(Table):
    """What is asked of the trim."""

    lift_dived: Lift | None = None
    """Mass that the dived boat could still carry."""
    least_bg: Gap | None = None
    clearance: Gap | None = None
    lead: Lead = Lead()
    foam: Foam = Foam()


class Boat(Table):
    """A whole boat file."""

    model_config = ConfigDict(title="Dabchick boat file")

    dabchick: Literal[1]
    """Version of the format."""
    name: Name
    scale: Annotated[float, AfterValidator(_scale)] | None = None
    measured_from: MeasuredFrom
    units: UnitSet = "metric"
    water: Water = Water()
    hull: Hull
    parts: tuple[Part, ...] = Field(default=(), alias="part")
    tanks: tuple[TankTable, ...] = Field(default=(), alias="tank")
    places: tuple[PlaceTable, ...] = Field(default=(), alias="place")
    keep_outs: tuple[KeepOutTable, ...] = Field(default=(), alias="keep_out")
    spaces: tuple[SpaceTable, ...] = Field(default=(), alias="space")
    trim: Trim = Trim()
    note: str = ""

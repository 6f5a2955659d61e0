"""What `leak` finds: how she lies with water in a dry part, how much she stands, and how long that lasts."""

from dataclasses import dataclass
from typing import Literal

from dabchick.model.vessel import Vector
from dabchick.studies.leak_room import Content
from dabchick.studies.leak_source import LeakSource
from dabchick.studies.lie import Lie
from dabchick.studies.result import Figure, StudyResult

EventKind = Literal["tips", "heels", "on end", "over", "deck", "top", "sinks", "full"]
"""What comes of the water.

tips: her trim has changed by 10 deg. heels: her heel has. on end: she stands steeper than 45 deg. over: she lies keel
up. deck: the top of the hull is under. top: the highest point of all is, sail and masts counted. sinks: the lift has
run out. full: the part is full and she still floats.
"""
StateKind = Literal["afloat", "dived"]


@dataclass(frozen=True)
class LeakEvent:
    """What happens at so much water, in one of two states."""

    kind: EventKind
    state: StateKind
    water_m3: float
    after_s: float
    """Infinite where the air stops the leak before."""
    trim_deg: float
    heel_deg: float
    """As she lies once it has happened."""


@dataclass(frozen=True)
class LeakStage:
    """So much water in the part."""

    water_m3: float
    after_s: float
    pressure_pa: float
    """Of the air in the part over the atmosphere; 0 where it gets out."""
    flow_m3_s: float
    """Still coming in at the depth asked for."""
    afloat: Lie
    """Tanks empty: as she lies at the surface, or sinks."""
    dived: Lie
    """Tanks full: held wholly under and free to turn."""
    free_surface_afloat_m: float
    """GM lost to the surface of the water inside."""
    free_surface_dived_m: float


@dataclass(frozen=True)
class Reserve:
    """The water she stands with these fills."""

    fills: dict[str, float]
    lift_kg: Figure
    """Without water inside."""
    water_m3: Figure
    """Until her lift has run out; no more than the room holds."""
    floods_wholly: bool
    """The whole room may fill and lift is left."""
    after_s: float


@dataclass(frozen=True)
class BulkheadSide:
    """What happens when the water stays on one side of a bulkhead."""

    side: Literal["aft", "fore"]
    room_m3: float
    survives: bool
    """Filled wholly, she floats with her tanks empty, keel down, less steep than 45 deg."""
    lift_kg: float
    """Left when that side is full."""
    trim_deg: float
    worst: EventKind | None
    """The gravest thing on the way there; None where she neither tips nor heels by 10 deg."""


@dataclass(frozen=True)
class Bulkheads:
    """Where the part could be divided so that she still comes up with one room full."""

    longest_aft_m: float
    """The longest room from the aft end that may fill wholly."""
    longest_fore_m: float
    low_x_m: float
    """One bulkhead saves her anywhere between these (house x); NaN where none does."""
    high_x_m: float
    best_x_m: float
    """Within that stretch, the place where least stands in the way."""
    crosses: tuple[str, ...]
    """What a bulkhead there would cut through."""
    sides: tuple[BulkheadSide, ...]
    """For a bulkhead at the best place."""
    needed_x_m: tuple[float, ...]
    """Where one does not do: the fewest that do, from aft forward; empty where not even many do."""


@dataclass(frozen=True)
class Wetting:
    """The water that reaches an alarm at one attitude."""

    trim_deg: float
    water_m3: float
    after_s: float
    before_end_s: float
    """From then until she no longer comes up."""


@dataclass(frozen=True)
class Alarm:
    """A water alarm in one part."""

    places_m: tuple[Vector, ...]
    """One sensor, or two that work as one, whichever is wet first."""
    wettings: tuple[Wetting, ...]


@dataclass(frozen=True)
class LeakPart:
    """One dry part, or all of them."""

    name: str
    wall_m: float
    body_m3: float
    room_m3: float
    room_low_m3: float
    """With the wall as thick as its band goes; the same as `room_m3` where the wall was given."""
    room_high_m3: float
    contents: tuple[Content, ...]
    reserve_m3: float
    """Tanks empty, until the lift has run out; no more than the room holds."""
    floods_wholly: bool
    after_s: float
    stops_at_m3: float
    """Water at which the squeezed air stops the leak; NaN where nothing stops it."""
    events: tuple[LeakEvent, ...]
    """In the order of the water, afloat and dived."""
    bulkheads: Bulkheads | None
    """None for all parts together, and where the whole part may fill."""
    alarms: tuple[Alarm, ...]
    """One sensor, then two."""


@dataclass(frozen=True, kw_only=True)
class LeakResult(StudyResult):
    """A watertight part that fills slowly."""

    part: str
    """Name of the dry part, or `all together`."""
    source: LeakSource
    wall_given: bool
    water_density_kg_m3: float
    stages: tuple[LeakStage, ...]
    """From dry to where she no longer comes up."""
    reserves: tuple[Reserve, ...]
    parts: tuple[LeakPart, ...]
    """Every dry part on its own; all together last where there are several."""
    short: bool
    """A reserve is below the limit that was given."""

    @property
    def chosen(self) -> LeakPart:
        """The part that was asked for."""
        return next(part for part in self.parts if part.name == self.part)

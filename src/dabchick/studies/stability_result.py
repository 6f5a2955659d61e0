"""What `stability` finds on the way from empty tanks to full ones and back."""

from dataclasses import dataclass
from typing import Literal

from dabchick.model.vessel import Vector
from dabchick.studies.dive_path import DivePath
from dabchick.studies.lie import Lie
from dabchick.studies.result import StudyResult

Way = Literal["down", "up"]
EventKind = Literal["fold", "fork", "jump", "under", "out"]


@dataclass(frozen=True)
class Arms:
    """Righting arms in free trim over heel, at one moment of the dive."""

    heels_deg: tuple[float, ...]
    """Rising, both sides; positive to starboard."""
    arms_m: tuple[float, ...]
    """Positive where the arm turns her back from a heel to starboard."""
    trims_deg: tuple[float, ...]
    range_starboard_deg: float
    """From the heel she rests at to where the arm to starboard is lost; 0 where she has none."""
    range_port_deg: float
    area_starboard_m_rad: float
    """Under the curve over that range."""
    area_port_m_rad: float
    greatest_m: float
    """The greatest arm of the weaker side."""
    greatest_at_deg: float
    loll_deg: float
    """The heel she rests at when upright is no rest, to the side she goes first; NaN where upright is stable."""
    settled: bool


@dataclass(frozen=True)
class Stage:
    """One moment of the dive."""

    progress: float
    """Along the path, 0 to 1."""
    way: Way
    lie: Lie
    """As she lies at this moment, having come from the moment before."""
    under: Lie
    """Held wholly under with the same fills, from the attitude at hand."""
    free_surface_m: float
    """GM lost to the free surfaces of the tanks as she lies."""
    waterplane_m2: float
    arms: Arms


@dataclass(frozen=True)
class Attitude:
    heel_deg: float
    trim_deg: float
    normal: Vector
    offset_m: float
    """NaN when wholly under."""


@dataclass(frozen=True)
class DiveEvent:
    """Something that happens between two stages, found and named.

    fold: the rest she was in ends. fork: it loses or regains its hold, and others part from it. jump: she goes over
    into another rest. under: nothing of her breaks the surface any more. out: something breaks it again.
    """

    kind: EventKind
    way: Way
    progress: float
    fills: dict[str, float]
    before: Attitude
    after: Attitude
    """The same as before where she does not move."""


@dataclass(frozen=True)
class LeastMoment:
    """Where she is least stable on the whole way, refined between the stages."""

    way: Way
    progress: float
    fills: dict[str, float]
    lie: Lie


@dataclass(frozen=True)
class Branch:
    """A curve of rests over the path: what she could lie in, whether she ever does or not."""

    progress: tuple[float, ...]
    """In the order the curve runs; it may turn back at a fold."""
    heel_deg: tuple[float, ...]
    trim_deg: tuple[float, ...]
    draught_m: tuple[float, ...]
    """At the middle of the length, along the boat's z; NaN when wholly under."""
    stable: tuple[bool, ...]


@dataclass(frozen=True, kw_only=True)
class StabilityResult(StudyResult):
    """The way down and up again."""

    path: DivePath
    water_density_kg_m3: float
    down: tuple[Stage, ...]
    up: tuple[Stage, ...]
    """In the order she passes them: from full to empty."""
    events: tuple[DiveEvent, ...]
    least: LeastMoment
    branches: tuple[Branch, ...]
    """All curves of rests, where they were asked for."""
    complete: bool
    """All rests were asked for, and Morse's count holds at every stage: none is missing."""

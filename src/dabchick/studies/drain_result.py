"""What `drain` finds: how the water follows when she comes up and goes down, and what that does to her."""

from dataclasses import dataclass
from typing import Literal

from dabchick.studies.result import StudyResult

Way = Literal["up", "down"]


@dataclass(frozen=True)
class WaterLevel:
    """One space at one moment."""

    water_m3: float
    level_m: float
    """Height of its water, in the boat's z at the middle of the space."""
    over_m: float
    """So far its water stands above the water outside; below it when negative."""
    air_pa: float
    """Pressure of the air over it, above the atmosphere's."""


@dataclass(frozen=True)
class DrainMoment:
    """One moment on the way."""

    time_s: float
    fills: dict[str, float]
    spaces: tuple[WaterLevel, ...]
    """In the order of the result's `spaces`."""
    draught_bow_m: float
    """As in a lie; NaN when wholly under."""
    draught_stern_m: float
    heel_deg: float
    trim_deg: float
    gm_m: float
    """Second derivative of energy in heel over her own mass: the water in the spaces held, its free surface counted."""
    gm_drained_m: float
    """With these fills and the spaces flooded just to the water outside."""
    bg_m: float
    """Moment of weight and displacement about their heights over her own mass; drained, it is the usual BG."""
    lift_kg: float
    """Mass that she could still carry with the spaces flooded."""
    lagging_kg: float
    """Water in the spaces over what stands below the water outside; negative: air that keeps water out."""
    under: bool


@dataclass(frozen=True)
class SpaceTimes:
    """How long one space takes on one way, from the beginning of blowing or filling."""

    name: str
    moved_m3: float
    """All that is to run out or in."""
    to_95_s: float
    """NaN: it never comes so far."""
    to_99_s: float
    left_m3: float
    """What stays behind at the end of the time followed: water on the way up, missing water on the way down."""


@dataclass(frozen=True)
class Course:
    """One way, followed in time."""

    way: Way
    ballast_s: float
    """Until the last tank is empty, or full."""
    moments: tuple[DrainMoment, ...]
    least_gm_m: float
    least_at_s: float
    least_drained_gm_m: float
    """The least on the same way when no water lags."""
    times: tuple[SpaceTimes, ...]
    lets_go_s: float
    """When she loses her hold and goes over to another rest; NaN: never. The least GM is then 0 or less."""
    water_gone_m3: float
    """Out of all openings together, by the sum of the flows."""


@dataclass(frozen=True)
class OpeningArea:
    name: str
    key: str
    now_m2: float
    wanted_m2: float


@dataclass(frozen=True)
class Remedy:
    """The smallest common factor on the openings of a space, or of all, that keeps GM above the limit on the way up."""

    space: str
    """Empty: all spaces."""
    factor: float
    """NaN: none does."""
    gm_m: float
    """Least GM with the factor: the proof that it is enough."""
    smaller_factor: float
    """NaN where even the smallest factor tried is enough."""
    smaller_gm_m: float
    """Least GM with that one: the proof that it is not."""
    openings: tuple[OpeningArea, ...]


@dataclass(frozen=True)
class Matters:
    """What one space's lagging costs: the least GM if its openings were so large that its water never lags."""

    space: str
    gm_m: float
    gain_m: float


@dataclass(frozen=True)
class Slower:
    """The shortest time of blowing that keeps GM above the limit with the openings as they are."""

    blow_s: float
    """NaN: none does."""
    gm_m: float
    shorter_s: float
    """NaN where even the shortest time tried is long enough."""
    shorter_gm_m: float


@dataclass(frozen=True)
class Band:
    """The same with another edge of the openings."""

    discharge: float
    least_gm_m: float
    up: tuple[SpaceTimes, ...]
    down: tuple[SpaceTimes, ...]


@dataclass(frozen=True)
class DrainSpace:
    name: str
    key: str
    room_m3: float
    opening_count: int


@dataclass(frozen=True, kw_only=True)
class DrainResult(StudyResult):
    """Both ways, and what helps."""

    water_density_kg_m3: float
    air_density_kg_m3: float
    discharge: float
    limit_m: float
    """GM to keep; NaN: none was asked for."""
    spaces: tuple[DrainSpace, ...]
    up: Course
    down: Course
    band: tuple[Band, ...]
    matters: tuple[Matters, ...]
    """The space that matters most first."""
    remedies: tuple[Remedy, ...]
    """Where a limit was asked for: all openings together, then each space alone."""
    slower: Slower | None

"""What `heel` finds: how much she bears in each state, and where each cause takes her."""

from dataclasses import dataclass
from typing import Literal

from dabchick.studies.heel_causes import Side, Torque, Turn, Wind
from dabchick.studies.lie import Lie
from dabchick.studies.result import StudyResult

Cause = Literal["torque", "turn", "wind", "gust", "side"]
Way = Literal[
    "ahead", "astern", "turn to port", "turn to starboard", "from port", "from starboard",
    "moved to port", "moved to starboard", "hung on",
]  # fmt: skip


@dataclass(frozen=True)
class MomentTo:
    """The steady moment about her own long axis that takes her so far from where she lies."""

    by_deg: float
    starboard_n_m: float
    port_n_m: float


@dataclass(frozen=True)
class Greatest:
    """The greatest steady moment about her own long axis that she bears to one side."""

    moment_n_m: float
    """0 where she has no hold on that side."""
    heel_deg: float
    """Where she lies under it, the last heel before she goes over."""
    lost_deg: float
    """The heel beyond which nothing turns her back; NaN where she comes back from any."""


@dataclass(frozen=True)
class Heeled:
    """Where one value of the moment takes her."""

    moment_n_m: float
    """About her long axis where she lies without it, positive to starboard."""
    heel_deg: float
    """Where she rests under it; NaN where no rest is left on that side."""
    swings_deg: float
    """How far she swings when it comes at once, undamped; NaN where she goes on over."""
    bears: float
    """How many times as much she bears; infinite where no multiple of it lays her over."""


@dataclass(frozen=True)
class Caused:
    """One cause, one way round, in one state."""

    cause: Cause
    way: Way
    likely: Heeled
    low: Heeled
    """At the weak end of what is uncertain about the cause; the same as `likely` where nothing is."""
    high: Heeled
    line_n_m: tuple[float, ...]
    """The heeling moment over the state's `heels_deg`, likely value."""
    lateral_area_m2: float = float("nan")
    """Above the water for wind, under it for a turn, as she lies."""
    height_m: float = float("nan")
    """Of what pushes over what holds: for wind its lever; for a turn how far all that is thrown lies above it."""
    half_draught_height_m: float = float("nan")
    """The same over half the draught."""
    flooded_kg: float = float("nan")
    """Water inside the hull that turns with her."""


@dataclass(frozen=True)
class HeelState:
    """One state of the boat."""

    name: str
    """`surfaced`, `dived`, `least stable` or `as filled`."""
    lie: Lie
    holds: bool
    """She lies stable with her keel down; where not, no cause is worked out."""
    per_10g_moved_10mm_deg: float
    """Heel for 10 g moved 10 mm across."""
    moments: tuple[MomentTo, ...]
    starboard: Greatest
    port: Greatest
    heels_deg: tuple[float, ...]
    """Rising, half a turn to either side of where she lies."""
    arms_n_m: tuple[float, ...]
    """Righting moment at each, positive where it turns her back to port."""
    trims_deg: tuple[float, ...]
    settled: bool
    caused: tuple[Caused, ...]


@dataclass(frozen=True, kw_only=True)
class HeelResult(StudyResult):
    """What heels her, in every state asked for."""

    water_density_kg_m3: float
    torque: Torque | None
    turn: Turn | None
    wind: Wind | None
    side: Side | None
    states: tuple[HeelState, ...]

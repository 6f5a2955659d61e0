"""What `squeeze` finds about a boat whose air shrinks as she goes down."""

from dataclasses import dataclass
from typing import Literal

from dabchick.model.vessel import Vector
from dabchick.studies.result import StudyResult

Reach = Literal["any depth", "down to", "never"]
"""Whether an amount of air brings her back: from any depth, from no deeper than a stated one, or not at all."""


@dataclass(frozen=True)
class Rest:
    """One stable way she can hang at a depth."""

    trim_deg: float
    heel_deg: float
    gm_longitudinal_m: float
    """With the bubble let move and breathe."""
    air_shift_m: float
    """How far forward of the middle of their rooms the air of the soft tanks lies; negative: aft."""


@dataclass(frozen=True)
class DepthRow:
    """Held at one depth, free to turn."""

    depth_m: float
    """Water over her highest point, counted in the attitude she hangs in with full tanks."""
    lift_kg: float
    """Negative: she falls."""
    loss_kg_m: float
    """Lift lost per metre further down, her attitude following; 0 or more."""
    air_m3: float
    """As squeezed: in the soft tanks and, where it was asked for, trapped in the flooded space."""
    trim_deg: float
    """Positive bow up."""
    heel_deg: float
    bg_m: float
    gm_transverse_m: float
    """With all free surfaces, the bubble let breathe."""
    gm_longitudinal_m: float
    lost_at_m: Vector
    """Where the next gram of lift goes, house frame; NaN where none does."""
    rests: tuple[Rest, ...]
    """Every stable way to hang here, bow down first; the row itself is one of them."""


@dataclass(frozen=True)
class Jump:
    """On the way down a rest that she may have gone under in ends, and she goes over into another."""

    depth_m: float
    trim_before_deg: float
    trim_after_deg: float
    heel_before_deg: float
    heel_after_deg: float


@dataclass(frozen=True)
class Loss:
    """How fast lift goes, at one depth."""

    depth_m: float
    kg_m: float


@dataclass(frozen=True)
class Track:
    """One filling of the tanks taken down from just under the surface."""

    fills: dict[str, float]
    """Water in each tank at the surface, as a share of its room, 0 to 1."""
    air_free_m3: float
    """Air shut in the soft tanks, as it would be at one atmosphere."""
    lift_under_kg: float
    """Just wholly under."""
    lift_spread_kg: float
    rows: tuple[DepthRow, ...]
    loss_at_surface: Loss
    loss_at_depth: Loss
    loss_worst: Loss
    lost_centre_m: Vector
    """Of all the lift lost on the way, house frame; NaN where none is."""
    neutral: Reach
    """Where her lift stays above zero: at any depth, down to `neutral_depth_m`, or nowhere."""
    neutral_depth_m: float
    """There she neither rises nor falls; above it she rises, below it she falls. NaN unless `neutral` is "down to"."""
    neutral_spread_m: float
    jumps: tuple[Jump, ...]
    closed: tuple[DepthRow, ...]
    """The same depths with the soft tanks shut as she goes under: a bag or a piston that holds its water."""


@dataclass(frozen=True)
class BlowPoint:
    """So much air blown into flooded soft tanks."""

    air_free_m3: float
    """As it would be at one atmosphere."""
    air_kg: float
    """What that air weighs, dry and at the water's temperature."""
    lift_under_kg: float
    """What it gives her just under the surface."""
    back: Reach
    depth_m: float
    """The depth beyond which it does not bring her back; NaN unless `back` is "down to"."""


@dataclass(frozen=True, kw_only=True)
class SqueezeResult(StudyResult):
    """Air and depth."""

    water_density_kg_m3: float
    depth_m: float
    """The depth asked for: the deepest of the rows."""
    soft: tuple[str, ...]
    """Tanks open at the bottom, whose air is squeezed."""
    holding: tuple[str, ...]
    """Tanks that hold their water at any depth."""
    trapped_m3: float
    """Air trapped in the flooded space as she goes under, at one atmosphere; NaN where it was not asked for."""
    tracks: tuple[Track, ...]
    """In the order of the fills asked for."""
    blown_m3: float
    """Air blown in at depth on top of what the first track holds, as it would be at one atmosphere."""
    lift_blown_kg: float
    """Her lift at the depth asked for with that air too."""
    back: Reach
    """Whether the first track with that air brings her back."""
    back_depth_m: float
    """The depth beyond which it does not; NaN unless `back` is "down to"."""
    comes_back: bool
    """From the depth asked for."""
    needed_m3: float
    """Air at one atmosphere that the soft tanks must hold in all to just bring her back from the depth asked for;
    0 where she comes back without any, NaN where not even tanks blown dry would do."""
    blows: tuple[BlowPoint, ...]
    """From little air to as much as blows the soft tanks dry at the depth asked for; empty without soft tanks."""
    cautions: tuple[str, ...]

"""What `trim` answers: pieces to cut, things to move, the proof of both states, or what stands in the way."""

from dataclasses import dataclass
from typing import Literal

from dabchick.model.vessel import Vector
from dabchick.studies.lie import Lie
from dabchick.studies.result import StudyResult

PLACES_STAGE = "fewest places"
"""The last stage of the search; its gap stands in `gaps` alone."""


@dataclass(frozen=True)
class Piece:
    """Lead or foam that goes to one place."""

    material: Literal["lead", "foam"]
    place: str
    mass_kg: float
    volume_m3: float
    size_m: Vector
    """Length, width, height along the house axes."""
    centre_m: Vector
    counts: dict[str, int]
    """For lead in pieces: how many of each mass, such as {"20 g": 2, "5 g": 1}; empty for sheet and foam."""


@dataclass(frozen=True)
class Move:
    """A heavy part shifted along its rail."""

    part: str
    from_m: Vector
    to_m: Vector


@dataclass(frozen=True)
class Obstacle:
    """One wish that cannot be kept, how far it is missed, and the nearest boat that can."""

    wish: str
    """Such as `waterline`, `lift`, `bg`, `tank`, `weight`, `places`."""
    text: str
    """A whole sentence with figures."""
    amount: float
    unit: str


@dataclass(frozen=True)
class Sensitivities:
    """What small changes do, at the answer."""

    pitch_surfaced_deg_per_10g_at_bow: float
    pitch_surfaced_deg_per_10g_at_stern: float
    pitch_dived_deg_per_10g_at_bow: float
    pitch_dived_deg_per_10g_at_stern: float
    pitch_dived_deg_per_10g_moved_100mm: float
    pitch_surfaced_deg_per_10g_moved_100mm: float
    heel_surfaced_deg_per_10g_moved_10mm: float
    heel_dived_deg_per_10g_moved_10mm: float
    draught_mm_per_10g: float
    lift_g_per_degc: float
    """Change of dived lift for one degree warmer water."""
    lift_g_per_g_kg_salt: float
    """Change of dived lift for 1 g/kg more salt."""


@dataclass(frozen=True, kw_only=True)
class TrimResult(StudyResult):
    """Lead and foam for both states at once, and the proof by full equilibrium."""

    feasible: bool
    """All wishes kept (within what the pieces allow)."""
    pieces: tuple[Piece, ...]
    moves: tuple[Move, ...]
    before: tuple[Lie, Lie]
    """Surfaced and dived, as she is in the boat file (before any lead and foam found here)."""
    after: tuple[Lie, Lie]
    """Surfaced and dived with the pieces and moves, by full equilibrium."""
    wished_draught_bow_m: float
    wished_draught_stern_m: float
    wished_lift_kg: float
    wished_bg_m: float
    draught_bow_miss_m: float
    draught_stern_miss_m: float
    lift_miss_kg: float
    added_lead_kg: float
    added_foam_m3: float
    added_foam_kg: float
    place_count: int
    gap: float
    """Proven relative gap of the integer programme, the largest of its stages but the count of places."""
    gaps: dict[str, float]
    """The same by stage: least misses, least added mass, least foam, fewest places."""
    largest_miss: float
    """Misses left at the answer, in units of half of what counts as right (0.25 mm mean draught, 1 g of lift ...)."""
    rounds: int
    """How often the linear programme was set up afresh from the full equilibrium."""
    obstacles: tuple[Obstacle, ...]
    sensitivities: Sensitivities

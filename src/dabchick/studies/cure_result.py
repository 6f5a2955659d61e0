"""What `cure` answers: what to change so that she keeps the limits, what that gives, or why nothing does."""

from dataclasses import dataclass
from typing import Literal

from dabchick.model.vessel import Vector
from dabchick.studies.criteria import Criterion, Mark, Verdict
from dabchick.studies.result import Figure, StudyResult
from dabchick.studies.trim_result import Move, Piece

CureKind = Literal["one move", "fewest changes", "lead and foam", "trim again", "lower"]
Reason = Literal["", "kept", "sinks", "no means", "room", "trims", "edge", "others"]


@dataclass(frozen=True)
class Step:
    """One thing to do."""

    kind: Literal["move", "shift", "add", "take out", "lower"]
    """move: a piece of lead or foam to another place. shift: a part along its rail. lower: a part that has no rail."""
    part: str
    """Name of what is moved; of a new piece its place."""
    material: Literal["lead", "foam", ""]
    mass_kg: float
    from_m: Vector | None
    """Middle, in the house frame; None for a new piece."""
    to_m: Vector | None
    """None for one taken out."""
    size_m: Vector | None
    """Of a block cut anew."""
    place: str
    counts: dict[str, int]
    """Pieces of lead, such as {"20 g": 2}; empty for sheet and foam."""


@dataclass(frozen=True)
class BothTrims:
    """How she floats with her tanks empty and hangs with them full."""

    draught_bow_m: float
    draught_stern_m: float
    heel_deg: float
    trim_deg: float
    lift_kg: float
    dived_heel_deg: float
    dived_trim_deg: float


@dataclass(frozen=True)
class Cure:
    """Things to do, proven by following her down and up with all of them done."""

    kind: CureKind
    steps: tuple[Step, ...]
    pieces: tuple[Piece, ...]
    """All lead and foam of the trim, after it."""
    moves: tuple[Move, ...]
    """All other parts that stand elsewhere, after it."""
    kept: bool
    """Proven: no limit is missed."""
    keeps_trims: bool
    """Both trims are as right as before, or within 1 mm, 0.5 deg and 2 g."""
    mark: Mark
    criteria: tuple[Criterion, ...]
    """Afterwards."""
    least_gm_before_m: Figure
    least_gm_after_m: Figure
    bg_before_m: Figure
    bg_after_m: Figure
    before: BothTrims
    after: BothTrims
    added_lead_kg: float
    """More than before; below zero: less."""
    added_foam_kg: float
    by_hand: bool
    """The builder has to see whether there is room, and change the boat file himself."""
    rounds: int
    """How often the linear programme was set right by full equilibria."""


@dataclass(frozen=True)
class Lever:
    """What lowering one thing by a millimetre gives, by full equilibria."""

    part: str
    with_contents: bool
    mass_kg: float
    """With what is in it, the tank water at the least moment too."""
    height_m: float
    """Of its middle, house z."""
    gm_m_per_mm: float
    """At the least moment."""
    bg_m_per_mm: float
    """Dived."""
    trim_dived_deg_per_mm: float
    alone_m: float
    """How far it alone would have to come down for the limits; NaN where it helps nothing."""
    clear_m: float
    """Down to what is below it, by the boxes round both; what is round leaves less or more."""


@dataclass(frozen=True, kw_only=True)
class CureResult(StudyResult):
    """The verdict as she is, the cures from the best on, and what lowering things gives."""

    verdict: Verdict
    cures: tuple[Cure, ...]
    levers: tuple[Lever, ...]
    reason: Reason
    """Why no cure reaches the limits; `kept`: none is needed; empty: the first cure does."""
    text: str
    """The reason as a sentence; empty where a cure reaches them."""
    best_gm_m: float
    """The largest least GM that any of these reaches; that of today where there is none."""
    best_bg_m: float

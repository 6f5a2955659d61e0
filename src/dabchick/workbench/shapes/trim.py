"""The trim.

POST /api/boats/{boat}/trim  TrimAsk      -> JobOut     (the wishes are those of the boat file; edit them first)
GET  /api/boats/{boat}/trim               -> TrimOut    (the trim that is written in the file; 404 where there is none)
GET  /api/jobs/{job}/trim                 -> TrimOut
POST /api/boats/{boat}/trim/apply Apply   -> BoatState  (one step, undoable)
GET  /api/boats/{boat}/trim/sheet.pdf?job=&paper=a4|letter&save=, .../sheet.svg likewise, .../pieces.csv?job=
     (without a job: of the trim that is written in the file; save: to be saved, not shown)
"""

from typing import Literal

from pydantic import Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.boat import Base
from dabchick.workbench.shapes.figures import GlanceOut, LieOut, Shown, Verdict
from dabchick.workbench.shapes.live import Mesh
from dabchick.workbench.shapes.scene import Outlines
from dabchick.workbench.shapes.tank import Line


class TrimAsk(Shape):
    """How to solve."""

    sheet: bool | None = None
    """Sheet lead cut to mass, or pieces; None: as the boat file says."""
    gap: float = Field(default=0.01, gt=0.0, le=0.5)
    seconds: float = Field(default=7.0, gt=0.0, le=120.0)


class PieceOut(Shape):
    """Lead or foam that goes to one place."""

    material: Literal["lead", "foam"]
    place: str
    mass: Shown
    volume: Shown
    size: str
    """Length x width x height."""
    pieces: str
    """Such as "2 x 20 g + 5 g"; empty for sheet and foam."""
    at: list[str]
    """Its middle from the builder's zeros."""
    centre_m: tuple[float, float, float]
    mesh: Mesh
    outlines: Outlines


class MoveOut(Shape):
    """A part shifted along its rail."""

    part: str
    key: str
    text: str
    shift_m: tuple[float, float, float]


class ObstacleOut(Shape):
    """A wish that stands in the way."""

    wish: str
    text: str


class StateCompare(Shape):
    """One state before and after."""

    name: str
    before: LieOut
    after: LieOut
    before_glance: GlanceOut
    after_glance: GlanceOut


class TrimOut(Shape):
    """Lead and foam for both states, and the proof."""

    revision: int
    """Of the boat that it was worked out for."""
    job: str | None
    verdict: Verdict
    feasible: bool
    sentence: str
    pieces: list[PieceOut]
    moves: list[MoveOut]
    states: list[StateCompare]
    totals: list[Line]
    sensitivities: list[Line]
    """What small changes do, a line for each state that they do something in."""
    obstacles: list[ObstacleOut]
    gap: str
    """The proof of the search, in words."""
    method: str
    assumptions: list[str]
    warnings: list[AdviceOut]
    sources: list[str]


class Apply(Base):
    """Write this job's answer into the boat file."""

    job: str

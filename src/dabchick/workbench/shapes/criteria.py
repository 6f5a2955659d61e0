"""Is she stable enough, and what cures her.

POST /api/boats/{boat}/criteria  LimitsAsk -> JobOut, then GET /api/jobs/{job}/criteria -> CriteriaOut
POST /api/boats/{boat}/cure      LimitsAsk -> JobOut, then GET /api/jobs/{job}/cure     -> CureOut
POST /api/boats/{boat}/cure/apply  CureApply -> BoatState
Limits are as typed, with their unit; none given: the usual ones for her size, BG that of the boat file.
"""

from typing import Literal

from pydantic import Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.boat import Base

MarkWord = Literal["pass", "doubtful", "fail"]


class LimitsAsk(Shape):
    """The builder's own limits, as typed."""

    gm: str | None = Field(default=None, max_length=40)
    bg: str | None = Field(default=None, max_length=40)
    range: str | None = Field(default=None, max_length=40)
    arm: str | None = Field(default=None, max_length=40)
    gm_longitudinal: str | None = Field(default=None, max_length=40)


class LimitOut(Shape):
    """One limit that can be typed."""

    key: Literal["gm", "bg", "range", "arm", "gm_longitudinal"]
    label: str
    usual: str
    """With its unit."""
    source: str
    """Of the usual one."""


class CriterionOut(Shape):
    """One line of the verdict."""

    key: str
    label: str
    value: str
    limit: str
    margin: str
    chance: str
    mark: MarkWord
    where: str
    """Where on the way the worst is; empty where that is nowhere in particular."""


class CriteriaOut(Shape):
    """The verdict."""

    revision: int
    sentence: str
    mark: MarkWord
    kept: bool
    limits: list[LimitOut]
    rows: list[CriterionOut]
    beside: list[str]
    """Published figures, and how far they can be trusted."""
    method: str
    validity: str
    sources: list[str]
    assumptions: list[str]
    warnings: list[AdviceOut]


class BeforeAfter(Shape):
    """One figure before and after."""

    label: str
    before: str
    after: str


class CureCard(Shape):
    """One cure."""

    title: str
    kept: bool
    keeps_trims: bool
    mark: MarkWord
    standing: str
    weights: str
    steps: list[str]
    """What to do, one after the other."""
    figures: list[BeforeAfter]
    writable: bool
    """It can be written into the boat file."""


class LeverOut(Shape):
    """What 1 mm lower gives."""

    part: str
    mass: str
    gives: str
    alone: str
    clear: str


class CureOut(Shape):
    """Cures from the best on, or why there is none."""

    revision: int
    sentence: str
    found: bool
    """The first one keeps every limit and both trims."""
    cures: list[CureCard]
    levers: list[LeverOut]
    caution: str
    criteria: CriteriaOut
    method: str
    sources: list[str]
    assumptions: list[str]


class CureApply(Base):
    """Write one cure of a job into the boat file."""

    job: str = Field(max_length=60)
    number: int = Field(ge=0, le=20)
    """Counted from 0, in the order of the answer."""

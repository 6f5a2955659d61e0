"""The study of air and depth.

POST /api/boats/{boat}/squeeze      SqueezeAsk -> SqueezeOut, at once
POST /api/boats/{boat}/squeeze/air  SqueezeAsk -> JobOut, then GET /api/jobs/{job}/squeeze -> SqueezeOut
The second counts the air trapped in the flooded space as well.
"""

from pydantic import Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.figures import Verdict
from dabchick.workbench.shapes.tank import Line


class SqueezeAsk(Shape):
    """How full she goes under, how deep, and what is blown there."""

    fills: dict[str, float] | None = Field(default=None, max_length=40)
    """Water in each tank, 0 to 1; None: found so that she has the lift wished for when dived."""
    depth: str | None = Field(default=None, max_length=40)
    """With its unit; 3 m when not given."""
    blow: str | None = Field(default=None, max_length=40)
    """Air blown in at that depth, as it would be at the surface."""


class SqueezeFill(Shape):
    """One tank as she goes under."""

    name: str
    share: float
    soft: bool
    """Open at the bottom, so that depth squeezes its air."""


class SqueezeMark(Shape):
    """A depth with its meaning, drawn across the curves."""

    kind: str
    """`neutral`, `back` or `jump`."""
    depth: float
    """In the chart's unit."""
    text: str


class SqueezeWay(Shape):
    """One of several ways to hang."""

    depth: float
    trim: float


class SqueezeChart(Shape):
    """Curves over depth, in the units of the axes."""

    depth_unit: str
    lift_unit: str
    depth: list[float]
    lift: list[float]
    closed: list[float]
    """With the same water held; empty without soft tanks."""
    trim: list[float]
    """Degrees, bow up positive."""
    others: list[SqueezeWay]
    """Other stable trims."""
    marks: list[SqueezeMark]


class SqueezeTable(Shape):
    """A table in the builder's units."""

    headings: list[str]
    rows: list[list[str]]


class SqueezeOut(Shape):
    """Air and depth."""

    revision: int
    sentence: str
    verdict: Verdict
    notes: list[str]
    """More sentences: with what she goes under, where she is neutral, what it takes to come back, the cure."""
    fills: list[SqueezeFill]
    depth: str
    """The depth asked for, as the boat file would have it."""
    soft: bool
    """Something in her is squeezed."""
    figures: list[Line]
    chart: SqueezeChart
    table: SqueezeTable
    blows: SqueezeTable
    """Empty rows without soft tanks."""
    cautions: list[str]
    assumptions: list[str]
    warnings: list[AdviceOut]
    method: str
    sources: list[str]

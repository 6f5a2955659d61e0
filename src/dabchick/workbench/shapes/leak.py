"""The leak study.

POST /api/boats/{boat}/leak  LeakAsk -> JobOut, then GET /api/jobs/{job}/leak -> LeakOut
"""

from typing import Literal

from pydantic import Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.figures import Shown

Ring = list[tuple[float, float]]


class LeakAsk(Shape):
    """Which part leaks, and how; all as typed, with units. Without drip, hole and gap: 3 drops a minute."""

    part: str | None = Field(default=None, max_length=200)
    """Name of a dry part or "all together"; None: the one with the most room."""
    drip: str | None = Field(default=None, max_length=60)
    hole: str | None = Field(default=None, max_length=60)
    gap: str | None = Field(default=None, max_length=80)
    depth: str | None = Field(default=None, max_length=40)
    wall: str | None = Field(default=None, max_length=40)
    vented: bool = False


class LeakViewOut(Shape):
    """A side view as she lies, the bow to the right; [m], the surface at 0."""

    state: Literal["afloat", "dived"]
    water: str
    caption: str
    """How she lies, in words."""
    hull: list[Ring]
    parts: list[Ring]
    inside: list[Ring]
    """The water inside."""


class LeakCurve(Shape):
    """One figure over the water inside, in the builder's unit; null where she sinks or it says nothing."""

    label: str
    unit: str
    afloat: list[float | None]
    dived: list[float | None]


class LeakMark(Shape):
    """Something that happens, marked on the curves."""

    at: float
    """In the unit of the water."""
    state: Literal["afloat", "dived"]
    grave: bool
    """The end, or she stands on end or lies keel up."""
    words: str


class LeakTable(Shape):
    """Rows of text under their headings."""

    headings: list[str]
    rows: list[list[str]]


class LeakAlarmOut(Shape):
    """Where sensors belong, and when they are wet."""

    sentence: str
    table: LeakTable


class LeakOut(Shape):
    """A dry part that fills slowly."""

    revision: int
    sentence: str
    flow: str
    part: str
    parts: list[str]
    """What may be chosen."""
    reserve: Shown
    lasts: str
    stops: str
    """Water at which the squeezed air stops the leak, or that nothing does."""
    room: Shown
    """Its spread is the band of an assumed wall."""
    water: list[float]
    """Of each point of the curves."""
    water_unit: str
    end: float
    curves: list[LeakCurve]
    marks: list[LeakMark]
    views: list[LeakViewOut]
    stages: LeakTable
    events: LeakTable
    reserves: LeakTable
    compartments: LeakTable
    bulkheads: list[str]
    """Sentences; none where there is nothing to divide."""
    alarms: list[LeakAlarmOut]
    caution: str
    assumptions: list[str]
    warnings: list[AdviceOut]
    method: str
    validity: str
    sources: list[str]

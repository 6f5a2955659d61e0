"""Hand measures of the hull.

GET  /api/boats/{boat}/measures                     -> MeasuresStart   (what there is to begin with)
POST /api/boats/{boat}/measures       MeasuresTable -> MeasuresLook, then GET /api/jobs/{job}/measures -> MeasuresOut
POST /api/boats/{boat}/measures/use   MeasuresUse   -> BoatState       (one step, undoable)
"""

from typing import Annotated, Literal

from pydantic import Field

from dabchick.model.units import UnitSet
from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.boat import Base
from dabchick.workbench.shapes.jobs import JobOut
from dabchick.workbench.shapes.tank import Line

CellText = Annotated[str, Field(max_length=40)]
RowText = Annotated[list[CellText], Field(min_length=5, max_length=5)]
"""Place, beam, height, lowest point, girth, as typed; empty: not measured."""


class MeasuresTable(Shape):
    """The measures as they are typed, in any unit."""

    unit: Literal["mm", "cm", "m", "in", "ft"]
    """Of every number that has none of its own."""
    measured_from: Literal["bow", "stern"]
    girth: Literal["", "whole", "half", "half shell"]
    bow: CellText = ""
    """Empty, `round`, `pointed` or `radius 6 mm`."""
    stern: CellText = ""
    calliper: CellText = ""
    tape: CellText = ""
    ruler: CellText = ""
    rows: list[RowText] = Field(max_length=200)


class MeasuresStart(Shape):
    """What stands on the page when it is opened."""

    revision: int
    file: str
    """Of the measures that are her hull; empty where another form is."""
    units: UnitSet
    table: MeasuresTable
    usual: dict[str, str]
    """Spreads that count where none is given, by the field's name."""
    advice: list[AdviceOut]
    """Where her file of measures cannot be read."""


class MeasuresLook(Shape):
    """Advice on the table as it is, or the work that has begun on it."""

    advice: list[AdviceOut]
    """Keys such as `station[3].girth` or `tape`, stations counted from 1 in the order of the rows sent."""
    job: JobOut | None


class StationOut(Shape):
    """The faired form at one row."""

    label: str
    """Its place."""
    beam: str
    height: str
    lowest: str
    girth: str
    exponent: str
    x_m: float
    """From the aftermost station."""
    low_m: float
    high_m: float
    half_m: float
    outline: list[tuple[float, float]]
    """The section, y and z [m]; empty at a tip."""


class SlipOut(Shape):
    """A measure out of line."""

    row: int
    """Counted from 0 in the rows sent."""
    measure: Literal["section", "beam", "height", "keel", "girth"]
    in_line: str
    """What would be in line."""
    sentence: str


class MeasuresOut(Shape):
    """The hull of the measures."""

    sentence: str
    lines: list[Line]
    stations: list[StationOut]
    slips: list[SlipOut]
    side: list[tuple[float, float]]
    """Closed outline, x and z [m], heights over the lowest point."""
    top: list[tuple[float, float]]
    """x and y [m]."""
    length_m: float
    high_m: float
    half_m: float
    assumptions: list[str]
    warnings: list[AdviceOut]
    method: str


class MeasuresUse(Base):
    """Make these measures her hull."""

    table: MeasuresTable

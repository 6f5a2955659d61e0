"""The weight list.

GET  /api/boats/{boat}/weights          -> WeightsOut
GET  /api/boats/{boat}/weights.csv      -> text/csv
POST /api/boats/{boat}/weights/pasted  Pasted -> PastedOut   (nothing is changed: ops to send as an edit, after a look)
Edits go through POST /api/boats/{boat}/edits.
"""

from typing import Literal

from pydantic import Field, JsonValue

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.boat import AddRow, Put
from dabchick.workbench.shapes.figures import GlanceOut, Shown

Column = Literal[
    "name",
    "kind",
    "mass",
    "known",
    "spread",
    "x",
    "y",
    "z",
    "inside",
    "material",
    "volume",
    "outside",
    "note",
]


class Cell(Shape):
    """One cell as written in the file; `path` is where an edit of it goes."""

    text: str
    path: list[str | int]
    value: JsonValue
    """What stands in the file there; None for nothing."""
    assumed: str = ""
    """What counts where the cell is empty, such as "1 g, weighed"."""
    advice: list[AdviceOut] = Field(default=[])


class WeightRow(Shape):
    """One part or tank."""

    table: Literal["part", "tank", "skin"]
    row: int
    key: str
    from_trim: bool
    cells: dict[Column, Cell]
    mass: Shown
    share: str
    """Of the total mass, such as "12 %"."""
    matters: str
    """How much of the doubt of the result comes from it, in words; empty when little."""


class WeightsOut(Shape):
    """The whole list with its totals."""

    revision: int
    figures_revision: int | None
    rows: list[WeightRow]
    count: int
    total: Shown | None
    centre: list[Shown]
    """x, y, z from the builder's zeros."""
    surfaced: GlanceOut | None
    dived: GlanceOut | None
    kinds: list[str]
    knowns: list[str]
    holders: list[str]
    """Names of the dry parts that can hold others."""
    materials: list[str]
    advice: list[AdviceOut]
    """Of the whole list, not of a cell."""


class Pasted(Shape):
    """Cells from a spreadsheet or a CSV file."""

    text: str = Field(max_length=2_000_000)
    row: int | None = None
    """Row that the paste starts at; None: new rows, first line may be headings."""
    column: Column | None = None


class PastedOut(Shape):
    """What the pasted text would do."""

    ops: list[Put | AddRow]
    what: str
    lines: list[str]
    """In words, for a look before."""
    advice: list[AdviceOut]

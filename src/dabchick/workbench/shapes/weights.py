"""The weight list.

GET  /api/boats/{boat}/weights              -> WeightsOut
GET  /api/boats/{boat}/weights.csv          -> text/csv  (the parts, to be opened by a spreadsheet and pasted back)
POST /api/boats/{boat}/weights/cell    CellEdit -> BoatState   (one cell as typed; one step)
POST /api/boats/{boat}/weights/pasted  Pasted   -> PastedOut   (nothing is changed: ops for an edit)
Other edits (rows added, copied, moved, taken out) go through POST /api/boats/{boat}/edits.
"""

from pydantic import Field, JsonValue

from dabchick.storage.part_columns import ColumnName, TableName
from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.boat import AddRow, Base, Drop, Put
from dabchick.workbench.shapes.figures import GlanceOut, Shown

Column = ColumnName


class Cell(Shape):
    """One cell as written in the file."""

    text: str
    """Yes or no for a switch, a table as it is written; empty where nothing stands."""
    path: list[str | int]
    """Where it stands in the file; empty for a figure that is only worked out."""
    value: JsonValue
    """What stands in the file there; None for nothing."""
    assumed: str = ""
    """What counts where the cell is empty, such as "1 g, weighed"."""
    order: float | None = None
    """SI, for sorting; None for words and for what cannot be read."""
    advice: list[AdviceOut] = Field(default=[])


class WeightRow(Shape):
    """One part, a tank with its walls, or the skin."""

    table: TableName
    row: int
    key: str
    from_trim: bool
    cells: dict[Column, Cell]
    """The columns that such a row has; the others are not asked of it."""
    mass: Shown
    """As it counts in the figures, which may be older than the file; unknown while it has none."""
    share: str
    """Of the total mass, such as "12 %"."""
    matters: str
    """How much of the doubt of the result comes from it, in words; empty when little."""


class WeightsOut(Shape):
    """The whole list with its totals."""

    revision: int
    figures_revision: int | None
    rows: list[WeightRow]
    """In the order of the file: parts and tanks, the skin before them."""
    count: int
    sentence: str
    """Mass and centre in plain words; empty while there are no figures."""
    total: Shown | None
    centre: list[Shown]
    """x, y, z from the builder's zeros; empty while there are no figures."""
    axes: list[str]
    """What x, y and z are measured from, such as "from the bow"."""
    length_unit: str
    """What numbers without a unit are in with `usual_units` in a paste."""
    mass_unit: str
    surfaced: GlanceOut | None
    dived: GlanceOut | None
    kinds: list[str]
    """Of a part."""
    systems: list[str]
    """Of a tank: what stands in its column "kind"."""
    knowns: list[str]
    holders: list[str]
    """Names of the dry parts that can hold others."""
    materials: list[str]
    advice: list[AdviceOut]
    """Of the whole list, not of a cell."""


class CellEdit(Base):
    """One cell as the builder typed it; an empty text takes the key away."""

    table: TableName
    row: int = Field(ge=0)
    row_name: str | None = None
    """Name of the row as the page saw it."""
    column: Column
    text: str = Field(max_length=2000)
    was: str = Field(default="", max_length=10_000)
    """The text that the page saw there: with it, an edit on an older base can still be taken."""


class Pasted(Shape):
    """Cells from a spreadsheet or a CSV file."""

    text: str = Field(max_length=2_000_000)
    row: int | None = Field(default=None, ge=0)
    """Row of the list that the paste starts at; None: new rows, first line may be headings."""
    column: Column | None = None
    """Column that it starts at, where the text has no headings."""
    order: list[int] = Field(default=[], max_length=10_000)
    """The rows of the list in the order in which the page shows them; empty: that of the list."""
    usual_units: bool = False
    """Numbers without a unit are in mm, g and ml, or in, oz and in^3, as the boat's units say."""
    by_name: bool = False
    """With new rows: those whose name the boat has already change that part."""


class PastedOut(Shape):
    """What the pasted text would do."""

    revision: int
    """Of the boat that it was worked out for: the base of the edit to send."""
    ops: list[Put | Drop | AddRow]
    what: str
    """A name for the step."""
    lines: list[str]
    """In words, for a look before."""
    advice: list[AdviceOut]
    """What is wrong, with the line of the text that it is in. The ops write faulty texts too, to be set right there."""

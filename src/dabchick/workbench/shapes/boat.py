"""A boat's state, edits, steps and versions.

GET  /api/boats                          -> ShelfOut
GET  /api/boats/{boat}                   -> BoatState
GET  /api/boats/{boat}/text              -> BoatText
POST /api/boats/{boat}/edits   Edit      -> BoatState (409 Refusal when `base` is stale and it cannot be merged)
POST /api/boats/{boat}/undo    Base      -> BoatState
POST /api/boats/{boat}/redo    Base      -> BoatState
GET  /api/boats/{boat}/steps             -> StepsOut
POST /api/boats/{boat}/steps/{step}/name   Named  -> StepsOut (an empty name takes it away)
POST /api/boats/{boat}/steps/{step}/restore  Base -> BoatState
GET  /api/boats/{boat}/steps/{step}/difference?against=N -> DifferenceOut
GET  /api/boats/{boat}/zip               -> application/zip
POST /api/boats/zip  (body: the zip)     -> BoatName
"""

from typing import Literal

from pydantic import Field, JsonValue

from dabchick.model.units import UnitSet
from dabchick.workbench.shapes.advice import AdviceOut, Shape

Key = str | int


class BoatName(Shape):
    """A boat by the name of her folder."""

    boat: str


class ShelvedBoat(Shape):
    """One boat of the shelf."""

    boat: str
    name: str
    """As in her file; her folder's name where the file cannot be read."""
    changed: str
    """ISO 8601, UTC."""
    errors: int
    about: str
    """A short line: length, parts, tanks."""


class ShelfOut(Shape):
    """The boats of the folder that is served."""

    folder: str
    """Its name, not its path."""
    first: str | None
    """The boat named when the server was started."""
    boats: list[ShelvedBoat]
    version: str
    lan: bool


class Tankful(Shape):
    """What a page needs of a tank to offer a slider."""

    key: str
    name: str
    system: str
    capacity_m3: float
    capacity: str


class Count(Shape):
    """How many things of each kind the boat has."""

    parts: int
    tanks: int
    lead: int
    foam: int
    openings: int
    unweighed: int


class DatumOut(Shape):
    """Where the builder's zeros are: house = origin + sign * builder."""

    x_from: Literal["bow", "stern"]
    z_from: Literal["keel", "waterline", "axis"]
    x_origin_m: float
    z_origin_m: float
    x_sign: int


class BoatState(Shape):
    """The boat as her file says now; `figures_at` is older than `revision` while the file is faulty."""

    boat: str
    name: str
    revision: int
    figures_revision: int | None
    """Revision of the last right file, from which figures and pictures come; None when there never was one."""
    units: UnitSet
    saved: str
    """ISO 8601, UTC."""
    errors: list[AdviceOut]
    warnings: list[AdviceOut]
    assumptions: list[str]
    undo: str | None
    """What undo would take back, in the builder's words; None when there is nothing."""
    redo: str | None
    values: dict[str, JsonValue]
    """The whole file as parsed, values as written (strings with units); empty while it is no TOML."""
    datum: DatumOut | None
    tanks: list[Tankful]
    count: Count | None


class BoatText(Shape):
    """The file itself."""

    revision: int
    text: str


class Put(Shape):
    """Write a value at a path; added where nothing stands there."""

    op: Literal["put"]
    path: list[Key]
    value: JsonValue
    was: JsonValue = None
    """The value that the page saw there (None: nothing): with it, an edit on an older base can still be taken."""
    row_name: str | None = None
    """Name of the row that the path goes through, where it goes through one."""


class Drop(Shape):
    """Take a key away, or a row."""

    op: Literal["drop"]
    path: list[Key]


class AddRow(Shape):
    """Add a part, tank, place, keep-out or space; last, or before row `at`."""

    op: Literal["add row"]
    table: Literal["part", "tank", "place", "keep_out", "space"]
    values: dict[str, JsonValue]
    at: int | None = None


class CopyRow(Shape):
    """Copy a row directly behind itself, under a free name."""

    op: Literal["copy row"]
    table: Literal["part", "tank", "place", "keep_out", "space"]
    row: int


class MoveRow(Shape):
    """Put a row before another one."""

    op: Literal["move row"]
    table: Literal["part", "tank", "place", "keep_out", "space"]
    row: int
    to: int


class Shift(Shape):
    """Move a part or tank by a way in the house frame [m]: `at` and `centre` follow, in the builder's own units."""

    op: Literal["shift"]
    table: Literal["part", "tank"]
    row: int
    by_m: tuple[float, float, float]


class Base(Shape):
    """The revision that the page shows, and who asks."""

    base: int
    by: str = ""


class Edit(Base):
    """One step of work: all of its ops, or none."""

    what: str = Field(min_length=1, max_length=200)
    """In the builder's words, such as "Move battery"."""
    ops: list[Put | Drop | AddRow | CopyRow | MoveRow | Shift] = Field(min_length=1, max_length=2000)


class Step(Shape):
    """One step in the boat's history."""

    step: int
    parent: int | None
    when: str
    what: str
    by: str
    name: str
    """Of a named version; empty for a plain step."""
    here: bool
    """The boat stands at this step."""


class StepsOut(Shape):
    """Every step, newest first."""

    steps: list[Step]


class Named(Shape):
    """A name for a version."""

    name: str = Field(max_length=80)


class DifferenceOut(Shape):
    """What differs, in the builder's words."""

    lines: list[str]
    before: str
    after: str
    """Both files whole."""

"""Free room inside the hull.

POST /api/boats/{boat}/space  SpaceAsk -> JobOut, then GET /api/jobs/{job}/space -> SpaceOut
A place that is taken over, a keep-out and what moves are edits of the boat file.
"""

from typing import Literal

from pydantic import Field, JsonValue

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.figures import Shown
from dabchick.workbench.shapes.live import Mesh
from dabchick.workbench.shapes.tank import Line

Vector = tuple[float, float, float]


class SpaceAsk(Shape):
    """How finely to look, and how far to stay off; lengths as typed, with their unit."""

    cell: str | None = Field(default=None, max_length=40)
    clearance: str | None = Field(default=None, max_length=40)


class StationOut(Shape):
    """One slab of the length."""

    ends: str
    """From the builder's zero, such as "45 to 90 mm"."""
    free_below: Shown
    free_above: Shown
    floods_below: Shown
    floods_above: Shown


class Curve(Shape):
    """Areas along the boat, for a drawn curve."""

    x_m: list[float]
    """House frame, from aft forward."""
    free_below_m2: list[float]
    free_above_m2: list[float]
    floods_below_m2: list[float]
    floods_above_m2: list[float]


class FoundOut(Shape):
    """A free box that could be cut and fixed."""

    kind: Literal["block", "rail"]
    name: str
    holds: str
    """"lead", "foam" or "lead or foam"."""
    ends: str
    side: str
    height: str
    size: str
    volume: Shown
    reach: Literal["open", "behind", "unknown"]
    reach_words: str
    low_m: Vector
    high_m: Vector
    row: dict[str, JsonValue]
    """The [[place]] that takes it over, in the builder's datum and units."""


class SpaceOut(Shape):
    """Where lead and foam can go."""

    revision: int
    sentence: str
    lines: list[Line]
    cell: str
    clearance: str
    stations: list[StationOut]
    curve: Curve
    area_unit: str
    """Of the curve's scale."""
    area_unit_m2: float
    places: list[FoundOut]
    rails: list[FoundOut]
    below: Mesh
    """The free cells under the waterline as one closed surface, house frame."""
    above: Mesh
    shown_cell: str
    assumptions: list[str]
    warnings: list[AdviceOut]
    method: str
    validity: str
    sources: list[str]

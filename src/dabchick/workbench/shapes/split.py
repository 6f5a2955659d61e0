"""The hull parted at its break line.

POST /api/boats/{boat}/split  SplitAsk -> SplitOut
The line itself is an edit of the boat file: `hull.break_line` takes the texts of the answer.
"""

from typing import Literal

from pydantic import Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.figures import Shown
from dabchick.workbench.shapes.tank import Line

Flat = tuple[float, float]


class SplitAsk(Shape):
    """A line to try; without one the file's, and without that the waterline."""

    points: list[tuple[str, str]] | None = Field(default=None, min_length=1, max_length=200)
    """As typed, x and z from the builder's zeros; one point is a level line at its z."""
    points_m: list[Flat] | None = Field(default=None, min_length=2, max_length=200)
    """Or house frame, as dragged in the drawing."""


class HalfOut(Shape):
    """One half of the boat."""

    half: Literal["upper", "lower"]
    mass: Shown
    skin: Shown
    centre: str
    centre_m: tuple[float, float, float] | None
    parts: list[str]


class CrossingOut(Shape):
    """A thing that reaches over the line."""

    key: str
    name: str
    half: Literal["upper", "lower"]
    above: Shown
    below: Shown


class SplitOut(Shape):
    """The boat in two halves."""

    revision: int
    from_file: bool
    """The line is the one that stands in the file."""
    proposed: bool
    """Nothing was asked and the file names no line: this is her waterline."""
    points_m: list[Flat]
    """House frame, from aft forward."""
    texts: list[tuple[str, str]]
    """The same points as the builder writes them."""
    sentence: str
    upper: HalfOut
    lower: HalfOut
    crossings: list[CrossingOut]
    lift: str
    """How the longest thing comes out; empty where nothing has a shape."""
    lift_fits: bool
    lines: list[Line]
    assumptions: list[str]
    warnings: list[AdviceOut]
    method: str
    validity: str
    sources: list[str]

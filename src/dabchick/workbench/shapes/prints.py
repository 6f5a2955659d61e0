"""Print files as one hull.

POST /api/boats/{boat}/prints  PrintsIn -> JobOut, then GET /api/jobs/{job}/prints -> PrintsOut
The joined mesh is an upload like any other: POST /api/boats/{boat}/hull makes it the hull.
"""

from typing import Literal

from pydantic import Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.hull import SkinFound
from dabchick.workbench.shapes.live import Mesh
from dabchick.workbench.shapes.tank import Line


class PrintPiece(Shape):
    """One uploaded piece and how it is to be read."""

    upload: str
    unit: Literal["mm", "cm", "m", "in", "ft"] = "mm"
    shift: str = Field(default="", max_length=80)
    """Three lengths such as "300 mm, 0, 0"; empty: as it lies in its file."""
    turn: str = Field(default="", max_length=80)
    """Three angles in degrees, about x, then y, then z."""


class PrintsIn(Shape):
    """What to join, and what the builder knows; empty texts: not known."""

    pieces: list[PrintPiece] = Field(min_length=1, max_length=60)
    stack: bool = False
    gap: str = Field(default="", max_length=40)
    length: str = Field(default="", max_length=40)
    between: tuple[str, str] | None = None
    walled: bool | None = None
    """The mesh is the material itself; None: not decided yet."""
    material: str = Field(default="", max_length=80)
    weighed: str = Field(default="", max_length=40)
    infill: str = Field(default="", max_length=40)
    infill_spread: str = Field(default="", max_length=40)
    lines: int | None = Field(default=None, ge=0, le=50)
    line_width: str = Field(default="", max_length=40)
    water: str = Field(default="", max_length=40)
    water_spread: str = Field(default="", max_length=40)


class JoinedPiece(Shape):
    """One piece among the others."""

    name: str
    size: str
    volume: str
    moved: str
    """In words, where it was moved to stack it or to close a gap; else empty."""


class JointOut(Shape):
    """Two pieces that meet."""

    first: str
    second: str
    how: str
    """Such as "touch, on 9.1 cm²", "0.04 mm apart, closed, on 9.1 cm²", "share 2.2 ml"."""


class BandOut(Shape):
    """Part of the walls whose thickness lies between two values."""

    number: int
    """From 1, the thinnest."""
    text: str
    share: float
    share_text: str


class ThinOut(Shape):
    """A place where the wall is thinnest."""

    number: int
    text: str
    at: str
    at_m: tuple[float, float, float]


class PrintsOut(Shape):
    """The pieces as one hull, in the axes of their files."""

    upload: str
    """The joined mesh, itself an upload."""
    unit: Literal["mm"]
    sentence: str
    pieces: list[JoinedPiece]
    joints: list[JointOut]
    kind: Literal["walls", "surface", "unclear"]
    reasons: list[str]
    walled: bool | None
    """As the builder said."""
    lines: list[Line]
    bands: list[BandOut]
    thin: list[ThinOut]
    longest: Literal["x", "y", "z"]
    preview: Mesh
    band_of: list[int]
    """Number of the band of each triangle of the preview; 0 for none."""
    preview_note: str
    skin: SkinFound | None
    """What a hull of these walls weighs, to be written with it."""
    warnings: list[AdviceOut]
    assumptions: list[str]
    method: str
    sources: list[str]

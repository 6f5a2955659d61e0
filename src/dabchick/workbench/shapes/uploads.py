"""Files brought in.

POST /api/uploads?name=FILE&purpose=hull|plan (body: the bytes) -> UploadOut
POST /api/uploads/{upload}/look  Look                -> JobOut, then GET /api/jobs/{job}/look   -> LookOut
POST /api/uploads/{upload}/repair  Look              -> JobOut, then GET /api/jobs/{job}/repair -> RepairOut
"""

from typing import Literal

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.live import Mesh


class UploadOut(Shape):
    """A file that was taken in, kept for an hour."""

    upload: str
    name: str
    kind: Literal["mesh", "stations", "plan"]
    size: int


class Look(Shape):
    """How to read it."""

    unit: Literal["mm", "cm", "m", "in", "ft"] | None = None
    separate_shells: bool = False
    """Several bodies that do not touch, a hull and a fin say, are all hull."""
    part: bool = False
    """It is one piece of a hull, which may be smaller than any hull."""


class UnitGuess(Shape):
    """How large the boat would be, read in this unit."""

    unit: str
    size: str
    likely: bool


class LookOut(Shape):
    """What is in the file."""

    upload: str
    kind: Literal["mesh", "stations"]
    triangles: int
    bodies: int
    size: str
    """Length x breadth x height; empty without a unit."""
    volume: str
    units: list[UnitGuess]
    sound: bool
    solid_walled: bool
    advice: list[AdviceOut]
    assumptions: list[str]
    """What the reader of a station table had to decide."""
    longest: Literal["x", "y", "z"]
    """Axis of the file along which it is longest, where the bow most likely lies."""
    fault_points_m: list[tuple[float, float, float]]
    preview: Mesh | None
    preview_note: str


class RepairOut(Shape):
    """What a repair changed."""

    upload: str
    """The mended file, itself an upload."""
    changes: list[str]
    before: LookOut
    after: LookOut

"""The hull.

POST /api/boats/{boat}/hull  HullFile -> BoatState
GET  /api/boats/{boat}/hull           -> HullOut
POST /api/boats/{boat}/check          -> JobOut, then GET /api/jobs/{job}/check -> CheckOut
Skin, waterline, marks and openings are edits of the boat file.
"""

from typing import Literal

from pydantic import Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.boat import Base
from dabchick.workbench.shapes.tank import Line

Direction = Literal["+x", "-x", "+y", "-y", "+z", "-z"]


class SkinFound(Shape):
    """What is known of the mass of a hull's walls, written with a new hull."""

    mass: str = Field(max_length=40)
    known: Literal["weighed", "guess"]
    spread: str | None = Field(default=None, max_length=40)
    material: str | None = Field(default=None, max_length=80)


class HullFile(Base):
    """An uploaded file to become the hull."""

    upload: str
    unit: Literal["mm", "cm", "m", "in", "ft"] | None = None
    bow: Direction = "+x"
    up: Direction = "+z"
    solid_walled: bool = False
    separate_shells: bool = False
    skin: SkinFound | None = None
    """Its walls' mass, where the mesh is the material itself."""


class HullOut(Shape):
    """The hull as it stands."""

    revision: int
    file: str
    lines: list[Line]
    """Length, beam, height, volume of form, skin area, skin mass and volume, triangles."""


class CheckOut(Shape):
    """What `check` finds: fit, clashes, closedness."""

    revision: int
    advice: list[AdviceOut]
    lines: list[Line]
    assumptions: list[str]

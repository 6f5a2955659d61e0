"""The hull.

POST /api/boats/{boat}/hull  HullFile -> BoatState
GET  /api/boats/{boat}/hull           -> HullOut
POST /api/boats/{boat}/check          -> JobOut, then GET /api/jobs/{job}/check -> CheckOut
Skin, waterline, marks and openings are edits of the boat file.
"""

from typing import Literal

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.boat import Base
from dabchick.workbench.shapes.tank import Line

Direction = Literal["+x", "-x", "+y", "-y", "+z", "-z"]


class HullFile(Base):
    """An uploaded file to become the hull."""

    upload: str
    unit: Literal["mm", "cm", "m", "in", "ft"] | None = None
    bow: Direction = "+x"
    up: Direction = "+z"
    solid_walled: bool = False
    separate_shells: bool = False


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

"""The tank study.

GET  /api/boats/{boat}/tank?bore=TEXT         -> TankOut
POST /api/boats/{boat}/tank/apply  TankApply  -> BoatState   (one step, undoable)
"""

from pydantic import Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.boat import Base
from dabchick.workbench.shapes.figures import Shown, Verdict


class Line(Shape):
    """A figure with what it is."""

    label: str
    figure: Shown
    note: str = ""


class Proposal(Shape):
    """A tank that would do, ready to be written."""

    title: str
    sentence: str
    tank: str
    """Key of the tank that it changes, such as `tank[1]`; empty for a new one."""
    centre_m: tuple[float, float, float] | None
    length_m: float | None
    lines: list[Line]
    """Every tank that it changes, and what the boat would do with them."""


class TankOut(Shape):
    """What tank this boat needs, and what the present one would do."""

    revision: int
    verdict: Verdict
    sentence: str
    needed: list[Line]
    present: list[Line]
    proposals: list[Proposal]
    assumptions: list[str]
    warnings: list[AdviceOut]
    method: str
    sources: list[str]


class TankApply(Base):
    """Write a proposal into the boat file."""

    proposal: int = Field(ge=0)
    """Its place in the list."""
    title: str
    """As it was shown, so that no other is taken for it."""
    bore: str | None = Field(default=None, max_length=40)
    """The bore that was asked for when it was shown."""

"""The tank study. GET /api/boats/{boat}/tank?bore=TEXT -> TankOut."""

from dabchick.workbench.shapes.advice import AdviceOut, Shape
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
    """Key of the tank that it changes, such as `tank[0]`; empty for a new one."""
    centre_m: tuple[float, float, float] | None
    length_m: float | None
    lines: list[Line]


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

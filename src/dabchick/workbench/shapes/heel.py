"""The heel study.

POST /api/boats/{boat}/heel        HeelAsk -> HeelOut, surfaced, dived and at a fill
POST /api/boats/{boat}/heel/least  HeelAsk -> JobOut, also where she is least stable; then
GET  /api/jobs/{job}/heel          -> HeelOut
"""

from pydantic import Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.figures import Shown
from dabchick.workbench.shapes.tank import Line


class HeelAsk(Shape):
    """What heels her, as typed; empty where not asked."""

    power: str | None = Field(default=None, max_length=40)
    rpm: str | None = Field(default=None, max_length=40)
    efficiency: str | None = Field(default=None, max_length=40)
    left_handed: bool = False
    turn: str | None = Field(default=None, max_length=40)
    """Radius."""
    rate: str | None = Field(default=None, max_length=40)
    speed: str | None = Field(default=None, max_length=40)
    wind: str | None = Field(default=None, max_length=40)
    gust: str | None = Field(default=None, max_length=40)
    drag: str | None = Field(default=None, max_length=40)
    side: str | None = Field(default=None, max_length=80)
    """Such as "50g@20mm", or "50g@x,y,z" from the builder's zeros."""
    fill: str | None = Field(default=None, max_length=40)
    """A fill of all tanks to look at too, such as "50%"."""


class HeelCauseOut(Shape):
    """One cause, one way round, in one state."""

    name: str
    over: bool
    """No rest is left on that side."""
    moment: str
    rests: str
    band: str
    """Empty where nothing about it is uncertain."""
    swings: str
    bears: str
    heel_deg: float | None
    swings_deg: float | None
    line_n_m: list[float]
    """Over the state's `heels_deg`."""


class HeelStateOut(Shape):
    """One state of the boat."""

    title: str
    holds: bool
    rest_deg: float
    figures: list[Line]
    causes: list[HeelCauseOut]
    notes: list[str]
    """Areas and levers behind the causes."""
    heels_deg: list[float]
    arms_n_m: list[float]
    """Righting moment, positive where it turns her back to port."""


class HeelOut(Shape):
    """What heels her."""

    revision: int
    sentence: str
    verdict_bad: bool
    """Something lays her over, or she does not hold herself upright."""
    states: list[HeelStateOut]
    moment_unit: str
    moment_unit_n_m: float
    """Size of the unit that moments are drawn in."""
    ten: Shown
    """Heel for 10 g moved 10 mm in the weakest state."""
    assumptions: list[str]
    warnings: list[AdviceOut]
    method: str
    sources: list[str]

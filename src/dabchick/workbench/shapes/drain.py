"""Water that lags in casing and hull.

POST /api/boats/{boat}/drain  DrainAsk -> JobOut, then GET /api/jobs/{job}/drain -> DrainOut
Openings that are proposed are edits of the boat file, and so are spaces.
"""

from pydantic import Field, JsonValue

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.figures import Shown
from dabchick.workbench.shapes.tank import Line


class DrainAsk(Shape):
    """Times, limit and coefficient as typed, with their units; empty: what is usual."""

    blow: str | None = Field(default=None, max_length=40)
    fill: str | None = Field(default=None, max_length=40)
    limit: str | None = Field(default=None, max_length=40)
    cd: float | None = Field(default=None, allow_inf_nan=False)


class DrainCurve(Shape):
    """One way for a drawn curve; lists run with `time_s`."""

    time_s: list[float]
    gm_m: list[float]
    gm_drained_m: list[float]
    over_m: list[list[float]]
    """For each space: its water over the water outside."""
    ballast_s: float
    """Until the tanks are empty, or full."""
    least_s: float
    least_gm_m: float
    end: str
    """How long it was followed, in words."""


class DrainWay(Shape):
    """One way: its curve and its moments in words."""

    title: str
    curve: DrainCurve
    heads: list[str]
    moments: list[list[str]]
    least: str
    """Such as "3.8 mm after 7.8 s"."""


class DrainOpening(Shape):
    """An opening as it is and as it should be."""

    name: str
    now: str
    wanted: str
    path: list[str | int]
    """Of its area in the boat file."""
    area: JsonValue
    """To be written there."""


class DrainCure(Shape):
    """The smallest openings that keep the limit."""

    title: str
    sentence: str
    openings: list[DrainOpening]
    """Empty where none does."""


class DrainOut(Shape):
    """Both ways, and what helps."""

    revision: int
    sentence: str
    figures: list[Line]
    spaces: list[str]
    length_unit: str
    """Of the curves' scales."""
    length_unit_m: float
    limit_m: float | None
    up: DrainWay
    down: DrainWay
    times_heads: list[str]
    times: list[list[str]]
    band: str
    matters: str
    slower: str
    cures: list[DrainCure]
    least: Shown
    assumptions: list[str]
    warnings: list[AdviceOut]
    method: str
    validity: str
    sources: list[str]

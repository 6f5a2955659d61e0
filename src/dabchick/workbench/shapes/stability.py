"""The stability study: from empty tanks to full ones and back.

POST /api/boats/{boat}/stability  StabilityAsk -> JobOut, then
GET  /api/jobs/{job}/stability                 -> StabilityOut
GET  /api/jobs/{job}/dive                      -> DiveOut   (the same way as pictures that follow one another)
GET  /api/jobs/{job}/dive/waters               -> bytes     (the tank water's meshes, as the DiveOut says where)
GET  /api/jobs/{job}/stability/{file}          -> the sheet, a drawing or a table, to be saved
"""

from typing import Literal

from pydantic import Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.figures import LieOut, Shown
from dabchick.workbench.shapes.live import Share
from dabchick.workbench.shapes.scene import MeshPlace
from dabchick.workbench.shapes.tank import Line

Way = Literal["down", "up"]
EventKind = Literal["fold", "fork", "jump", "under", "out"]

File = Literal[
    "stability-sheet.pdf",
    "dive-diagram.svg",
    "dive-diagram.png",
    "righting-arms.svg",
    "righting-arms.png",
    "dive-strip.svg",
    "dive-strip.png",
    "stability-stages.csv",
    "stability-arms.csv",
]


class StabilityAsk(Shape):
    """Follow her down and up again."""

    filling: Literal["together", "order", "rates", "through"] = "together"
    order: list[str] = Field(default=[], max_length=40)
    """With `order`: names of tanks, first one first; those that are not named fill together at the end."""
    rates: dict[str, str] = Field(default={}, max_length=40)
    """With `rates`: by the tank's name, such as "20 ml/s"; a tank without a rate stays empty."""
    through: list[dict[str, Share]] = Field(default=[], max_length=200)
    """With `through`: fills by the tank's name, one after the other."""
    stages: int = Field(default=21, ge=3, le=201)
    every: bool = False
    """Find every way to rest as well."""


class ArmsOut(Shape):
    """Righting arms at one moment."""

    heels_deg: list[float]
    arms: list[float | None]
    """In the answer's length unit, positive where the arm turns her back from a heel to starboard."""
    range_starboard: Shown
    range_port: Shown
    area_starboard: Shown
    area_port: Shown
    greatest: Shown
    greatest_at: Shown
    loll: Shown
    """Unknown where upright is stable."""
    settled: bool


class MomentOut(Shape):
    """One moment of the dive with all its figures."""

    way: Way
    progress: float
    at: float
    """Place on the whole way: 0 to 1 going down, 1 to 2 coming up."""
    least: bool
    """The least stable one of the whole way."""
    title: str
    """Such as "45 % in, going down"."""
    fills: list[Line]
    lie: LieOut
    free_surface: Shown | None
    """GM lost to free surfaces; nothing where it was not worked out."""
    waterplane: Shown | None
    under_gm: Shown | None
    """Held wholly under with the same fills."""
    arms: ArmsOut | None
    """Nothing at the least stable moment when it lies between two stages: look at the nearest stage."""


class PlotLine(Shape):
    """One figure over the way; None where it is not known."""

    key: str
    label: str
    down: list[float | None]
    down_spread: list[float | None]
    up: list[float | None]
    up_spread: list[float | None]
    differs: list[bool]
    """For each place on the way up: she lies otherwise there than she did going down."""


class Panel(Shape):
    """Figures of one kind, drawn over one another."""

    key: str
    title: str
    unit: str
    lines: list[PlotLine]


class EventOut(Shape):
    """Something that happens on the way."""

    kind: EventKind
    way: Way
    progress: float
    at: float
    label: str
    """Short, for the plot."""
    sentence: str


class BranchOut(Shape):
    """A curve of rests, whether she ever lies in one of them or not."""

    progress: list[float]
    heel_deg: list[float]
    trim_deg: list[float]
    draught: list[float | None]
    stable: list[bool]


class StabilityOut(Shape):
    """The way down and up again, in the builder's units."""

    revision: int
    sentence: str
    more: str
    """What else is to be said of the whole way; may be empty."""
    filling: str
    """How the tanks fill, in words."""
    length_unit: str
    down: list[float]
    """Progress at the stages going down."""
    up: list[float]
    """Progress at the stages coming up, in the order she passes them."""
    panels: list[Panel]
    moments: list[MomentOut]
    """Every stage and the least stable moment, in the order she passes them."""
    events: list[EventOut]
    least: int
    """Place of the least stable moment among the moments."""
    least_sentence: str
    branches: list[BranchOut]
    complete: bool
    """All ways to rest were asked for, and none is missing."""
    assumptions: list[str]
    warnings: list[AdviceOut]
    method: str
    sources: list[str]
    validity: str


class WaterPlace(Shape):
    """The water in one tank in one frame."""

    key: str
    share: float
    amount: str
    mesh: MeshPlace | None
    """Where its mesh lies among the bytes of the waters: positions (float32), then corners (uint32). None: empty."""


class FrameOut(Shape):
    """One picture of the dive."""

    at: float
    """Place on the whole way: 0 to 1 going down, 1 to 2 coming up."""
    progress: float
    pose: list[float]
    """4 x 4 matrix, column by column, as of a lie."""
    went_over: bool
    """She went over into this pose from that of the frame before."""
    under: bool
    note: str
    """What is to be said over the picture; mostly nothing."""
    waters: list[WaterPlace]


class DiveOut(Shape):
    """The whole dive as pictures that follow one another."""

    revision: int
    frames: list[FrameOut]
    """In the order she passes them: down, then up."""

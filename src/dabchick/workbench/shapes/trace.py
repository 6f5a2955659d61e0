"""A plan that is traced: pictures, curves over them, and the hull that they make.

POST /api/uploads/{upload}/plan  PlanAsk   -> JobOut, then GET /api/jobs/{job}/plan -> PlanOut
GET  /api/uploads/{upload}/plan.jpg        -> image/jpeg, once it was looked at
GET  /api/boats/{boat}/trace               -> TraceOut
POST /api/boats/{boat}/trace     TraceIn   -> TraceOut (409 Refusal when `base` is stale)
POST /api/boats/{boat}/trace/views NewView -> TraceOut; the picture goes into the boat's folder
GET  /api/boats/{boat}/trace/picture.jpg?name=FILE -> image/jpeg, small enough to show
POST /api/boats/{boat}/trace/figures       -> JobOut, then GET /api/jobs/{job}/trace -> TraceFigures
POST /api/boats/{boat}/trace/use Base      -> BoatState
POST /api/trace/fair             FairAsk   -> FairOut

All places are in pixels of the whole picture in the boat's folder, x right and y down.
"""

from typing import Annotated, Literal

from pydantic import BeforeValidator, ConfigDict, Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.live import Mesh
from dabchick.workbench.shapes.tank import Line

MOST_POINTS = 400
MOST_CURVES = 60
MOST_VIEWS = 60

Pixel = Annotated[float, Field(ge=-1e6, le=1e6, allow_inf_nan=False)]
Place = tuple[Pixel, Pixel]
ViewKind = Literal["side", "top", "section"]
BodyKind = Literal["sail", "casing", "plane", "fin"]
Role = Literal["upper", "lower", "half_breadth", "section", "outline"]


def _as_written(value: object) -> object:
    """A bare 0 in a file is a text here like every other measure."""
    return str(value) if isinstance(value, int | float) and not isinstance(value, bool) else value


Typed = Annotated[str, BeforeValidator(_as_written), Field(max_length=80)]
"""A measure with its unit, as the builder wrote it."""
Name = Annotated[str, Field(max_length=80)]


class Stretch(Shape):
    """Two points on the picture; level lines lead from astern to the bow, across to port in a section."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    start: Place = Field(alias="from")
    end: Place = Field(alias="to")


class ScaleStretch(Stretch):
    """Two points whose distance on the boat is known."""

    length: Typed | None = None


class SquareStretch(Stretch):
    """Two points on a line square to the level one; with a length, a second scale."""

    length: Typed | None = None


class TracedCurve(Shape):
    """One line of the plan."""

    name: Name = ""
    role: Role
    body: Name = ""
    """The hull where empty; otherwise the name of a body of its own."""
    points: list[Place] = Field(default=[], max_length=MOST_POINTS)
    corners: list[Annotated[int, Field(ge=0, lt=MOST_POINTS)]] = Field(default=[], max_length=MOST_POINTS)


class TracedView(Shape):
    """One view of the plan on one picture."""

    name: Name
    kind: ViewKind
    picture: Annotated[str, Field(max_length=200)] = ""
    at: Typed | None = None
    """Where a section lies, from the builder's own zero."""
    scale: ScaleStretch | None = None
    level: Stretch | None = None
    square: SquareStretch | None = None
    bow: Literal["left", "right"] | None = None
    curve: list[TracedCurve] = Field(default=[], max_length=MOST_CURVES)


class TracedBody(Shape):
    """A body of its own, such as the sail."""

    name: Name
    kind: BodyKind
    breadth: Typed | None = None
    thickness: Typed | None = None
    height: Typed | None = None
    part_of_hull: bool = True
    """False: the boat file has it as a part of its own."""


class SectionForm(Shape):
    """How sections between the traced ones are rounded."""

    form: Literal["ellipse", "superellipse", "blended"] = "ellipse"
    exponents: list[tuple[Pixel, Pixel]] = Field(default=[], max_length=50)
    """Share of the length from the stern, exponent."""


class Trace(Shape):
    """The whole document, values as written."""

    length: Typed | None = None
    measured_from: Literal["bow", "stern"] | None = None
    """Where `at` of a section counts from: the hull's own end."""
    noise: Annotated[float, Field(ge=0.0, le=50.0, allow_inf_nan=False)] | None = None
    """How exactly points were set, one standard deviation [pixels]."""
    note: Annotated[str, Field(max_length=2000)] | None = None
    section: SectionForm | None = None
    view: list[TracedView] = Field(default=[], max_length=MOST_VIEWS)
    body: list[TracedBody] = Field(default=[], max_length=20)


class PictureOut(Shape):
    """A picture that the document names."""

    name: str
    width: int
    """Of the whole picture, upright [pixels]; 0 where it cannot be read."""
    height: int
    mark: str
    """Changes when the picture does."""


class CurveDrawn(Shape):
    """A faired curve to draw."""

    line: list[float]
    """x, y, x, y ..."""
    comb: list[float]
    """Start and tip of each tooth of its curvature comb: x, y, x, y ..."""
    comb_scale: float
    """Length of a tooth by curvature [pixels squared]; 0 for a curve without."""


class TraceOut(Shape):
    """The document as it stands on disk."""

    base: str
    """To be said with the next change; empty before there is a file."""
    file: str
    used: bool
    """The boat's file names it as her hull."""
    trace: Trace
    pictures: list[PictureOut]
    drawn: list[list[CurveDrawn]]
    """Of each view each curve."""
    advice: list[AdviceOut]


class TraceIn(Shape):
    """A changed document."""

    base: Annotated[str, Field(max_length=80)]
    trace: Trace


class NewView(Shape):
    """A view on a picture that was brought in, or on one that lies in the boat's folder already."""

    base: Annotated[str, Field(max_length=80)]
    kind: ViewKind
    name: Name = ""
    upload: str | None = None
    picture: Annotated[str, Field(max_length=200)] | None = None


class FairWish(Shape):
    """Points to lay a curve through."""

    points: list[Place] = Field(max_length=MOST_POINTS)
    corners: list[Annotated[int, Field(ge=0, lt=MOST_POINTS)]] = Field(default=[], max_length=MOST_POINTS)
    closed: bool = False
    """Back to its first point, where it has a corner."""
    comb_scale: Annotated[float, Field(ge=0.0, le=1e12, allow_inf_nan=False)] | None = None
    """As told the last time, so that the comb does not jump while a point is dragged."""


class FairAsk(Shape):
    """Curves to fair; nothing is saved."""

    curves: list[FairWish] = Field(min_length=1, max_length=MOST_CURVES)


class FairOut(Shape):
    """The curves in the order asked for."""

    curves: list[CurveDrawn]


class TracedShell(Shape):
    """One closed body to draw."""

    name: str
    kind: str
    mesh: Mesh


class TraceFigures(Shape):
    """What the trace amounts to."""

    base: str
    """Of the document that was worked out."""
    closes: bool
    """It can be a boat's hull: nothing in `advice` is an error."""
    lines: list[Line]
    bodies: list[TracedShell]
    """The hull first; empty while it cannot be drawn."""
    advice: list[AdviceOut]
    assumptions: list[str]
    validity: str
    """What the bands hold and what not."""


class PlanAsk(Shape):
    """Which page of a document."""

    page: Annotated[int, Field(ge=1, le=5000)] = 1


class PlanOut(Shape):
    """A plan looked at."""

    upload: str
    """Of the picture; for a document, of its page as drawn."""
    name: str
    pages: int
    """0 for a picture."""
    page: int
    width: int
    height: int
    note: str
    """What was done to show it; empty where nothing was."""

"""What fits.

POST /api/boats/{boat}/fit           FitAsk      -> JobOut, then GET /api/jobs/{job}/fit      -> FitOut
POST /api/boats/{boat}/fit/slide     SlideAsk    -> JobOut, then GET /api/jobs/{job}/slide    -> SlideOut
POST /api/boats/{boat}/fit/cylinder  CylinderAsk -> JobOut, then GET /api/jobs/{job}/cylinder -> CylinderOut
Lengths that are asked with are text as typed, with their unit; places are measured as the builder measures.
"""

from typing import Annotated, Literal

from pydantic import Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.figures import Shown, Verdict
from dabchick.workbench.shapes.live import Mesh
from dabchick.workbench.shapes.tank import Line

Vector = tuple[float, float, float]
Text = Annotated[str, Field(max_length=40)]
Name = Annotated[str, Field(max_length=200)]


class TurnAsk(Shape):
    """A part that turns each way about an axis through its middle."""

    part: Name
    axis: Literal["x", "y", "z"]
    angle: Text


class FitAsk(Shape):
    """What touches what."""

    clearance: Text | None = None
    """Wished between any two things; 2 mm without it."""
    wall: Text | None = None
    """Of the dry parts, taken off their inside."""
    turns: Annotated[tuple[TurnAsk, ...], Field(max_length=20)] = ()


class PairOut(Shape):
    """Two things that share room, touch, or come too near."""

    first: str
    second: str
    first_key: str
    second_key: str
    held: bool
    """The second holds the first, which is measured to its inside."""
    verdict: Verdict
    kind: str
    """In words, such as "touching"."""
    amount: Shown
    """The room shared, or the clearance."""
    place: str
    """Where, as the builder measures."""
    note: str
    first_point_m: Vector
    second_point_m: Vector


class FitOut(Shape):
    """Every pair that does not keep the clearance, the worst first."""

    revision: int
    verdict: Verdict
    sentence: str
    clearance: str
    """As wished, with its unit."""
    pairs: list[PairOut]
    walls: list[str]
    """How near the contents of each dry part come to its outside."""
    turning: list[str]
    """Parts that could be told to turn."""
    movable: list[str]
    """Parts and tanks that could be asked to slide in."""
    assumptions: list[str]
    warnings: list[AdviceOut]
    method: str
    validity: str


class SlideAsk(Shape):
    """Does a part slide in to its place?"""

    part: Name
    way: Literal["bow", "stern", "top"] = "top"
    opened: Text | None = None
    """Where the hull is opened: z for the top, x for bow and stern."""
    past: bool = True
    """The other parts are in their places."""
    clearance: Text | None = None


class HindranceOut(Shape):
    """What stands in the way or is passed too near."""

    name: str
    key: str
    verdict: Verdict
    how: str
    amount: str
    to_go: str
    """How far from its place the part is by then, in words."""
    place: str
    to_go_m: float
    first_point_m: Vector
    second_point_m: Vector
    """What to look at."""


class SlideOut(Shape):
    """Whether it gets to its place."""

    revision: int
    verdict: Verdict
    sentence: str
    part: str
    keys: list[str]
    """Of all that moves together."""
    outward: Vector
    """Unit vector along which it comes out."""
    opened_normal: Vector
    opened_offset_m: float
    """What lies at normal . x > offset is taken off."""
    way_m: float
    stops_m: float
    """How far from its place it gets stuck; 0 where it gets there."""
    hindrances: list[HindranceOut]
    assumptions: list[str]
    method: str
    validity: str


class CylinderAsk(Shape):
    """The longest cylinder of a diameter, or the widest of a length: one of the two."""

    diameter: Text | None = None
    length: Text | None = None
    clearance: Text | None = None
    past: bool = False
    """Keep clear of the parts too, but for dry ones."""
    tilt: bool = False


class Beside(Shape):
    """Room beside the cylinder at one place."""

    at: str
    room: Shown


class CylinderOut(Shape):
    """The cylinder that fits."""

    revision: int
    sentence: str
    lines: list[Line]
    aft_m: Vector
    fore_m: Vector
    diameter_m: float
    mesh: Mesh
    beside: list[Beside]
    assumptions: list[str]
    method: str
    validity: str

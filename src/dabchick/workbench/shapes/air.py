"""The trapped air study.

GET  /api/boats/{boat}/air?pitch=DEG&heel=DEG&depth=TEXT -> AirOut
POST /api/boats/{boat}/air/vents  VentsAsk               -> JobOut, then GET /api/jobs/{job}/vents -> VentsOut
A vent is put into the boat file by an edit of her openings.
"""

from pydantic import Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.figures import Shown
from dabchick.workbench.shapes.live import Mesh
from dabchick.workbench.shapes.scene import Outlines
from dabchick.workbench.shapes.tank import Line


class AirPocketOut(Shape):
    """One pocket of air."""

    name: str
    """A letter, as on the drawings."""
    volume: Shown
    lift: Shown
    pitch: str
    """What it alone does to her when dived, to first order, such as "+1.2°"."""
    heel: str
    place: str
    """Its middle: along, across, up, from the builder's zeros."""
    water: str
    """Height of the water in it."""
    held_by: str
    centre_m: tuple[float, float, float]
    outlines: Outlines
    mesh: Mesh


class AirOut(Shape):
    """The air that stays in at one attitude."""

    revision: int
    sentence: str
    volume: Shown
    lift: Shown
    pitch: Shown
    """What all of it does to her when dived, to first order [deg]."""
    heel: Shown
    place_heading: str
    pockets: list[AirPocketOut]
    rest: str
    """Pockets too small to be listed; empty without any."""
    pose: list[float]
    """4 x 4 matrix, column by column, as of a lie: just under water at this attitude."""
    depths: list[Line]
    """Lift of the air with so much water over her."""
    assumptions: list[str]
    warnings: list[AdviceOut]
    method: str
    sources: list[str]


class VentsAsk(Shape):
    """Find the fewest vents, and how she hangs with her air."""

    leave: str | None = Field(default=None, max_length=40)
    """How much may stay in, with its unit; 1 ml when not given."""


class VentOut(Shape):
    """A hole to make, ready to be written."""

    title: str
    place: str
    size: str
    row: int | None
    """Of the opening to make larger, counted from 0; None for a new hole."""
    at: list[str]
    """As the boat file has it, from the builder's zeros."""
    area: str
    pair: int
    """Vents with the same number belong together."""
    at_m: tuple[float, float, float]


class VentedOut(Shape):
    """What stays in at one attitude, before and after."""

    attitude: str
    before: Shown
    after: Shown


class VentsOut(Shape):
    """The fewest vents found, and how she hangs with her air as she is."""

    revision: int
    sentence: str
    hangs: str
    """Where she goes when let go under water with the air that stays in."""
    vents: list[VentOut]
    attitudes: list[VentedOut]
    warnings: list[AdviceOut]

"""The live channel: WebSocket /api/boats/{boat}/live. A page sends Ask; the server sends Told."""

from typing import Annotated, Literal

from pydantic import Field

from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.figures import GlanceOut, LieOut

Share = Annotated[float, Field(ge=0.0, le=1.0, allow_inf_nan=False)]
Metres = Annotated[float, Field(ge=-1000.0, le=1000.0, allow_inf_nan=False)]


class Change(Shape):
    """A what-if on one part or tank; nothing is saved."""

    key: str
    """As in the scene: `part[3]` is the third part of the file. What is in a dry part stays unless it is named too."""
    shift_m: tuple[Metres, Metres, Metres] = (0.0, 0.0, 0.0)
    """In the house frame."""
    mass_kg: Annotated[float, Field(ge=0.0, le=10_000.0, allow_inf_nan=False)] | None = None
    mass: str | None = Field(default=None, max_length=60)
    """The same as text with a unit, as a builder types it."""


class Ask(Shape):
    """How would she lie with these fills and changes?"""

    kind: Literal["ask"] = "ask"
    seq: int
    fills: dict[str, Share]
    """By the tank's key, such as `tank[1]`, or its name; a tank that is not named is empty."""
    changes: list[Change] = Field(default=[], max_length=200)


class Mesh(Shape):
    """A small mesh in the house frame."""

    positions: list[float]
    indices: list[int]


class TankWaterOut(Shape):
    """The water in one tank as it lies."""

    key: str
    share: float
    amount: str
    """Volume of water held, with its unit."""
    water: Mesh


class Answer(Shape):
    """How she lies, for the newest ask."""

    kind: Literal["answer"] = "answer"
    seq: int
    revision: int
    lie: LieOut
    tanks: list[TankWaterOut]
    now: GlanceOut
    """With the fills asked for."""
    surfaced: GlanceOut
    """Tanks empty, with the changes asked for."""
    dived: GlanceOut
    advice: list[AdviceOut]


class Refused(Shape):
    """The ask could not be answered, and why."""

    kind: Literal["refused"] = "refused"
    seq: int
    revision: int
    advice: list[AdviceOut]


class Changed(Shape):
    """The boat's file has a new text; fetch the state anew."""

    kind: Literal["changed"] = "changed"
    revision: int
    what: str
    by: str


class JobTold(Shape):
    """Where a long piece of work stands."""

    kind: Literal["job"] = "job"
    job: str
    state: Literal["running", "done", "failed", "cancelled"]
    text: str
    share: float


class Hello(Shape):
    """The first word on a channel."""

    kind: Literal["hello"] = "hello"
    revision: int


Told = Annotated[Answer | Refused | Changed | JobTold | Hello, Field(discriminator="kind")]

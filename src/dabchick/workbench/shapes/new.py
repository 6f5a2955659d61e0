"""A new boat.

GET  /api/parts?length=TEXT&units=SET                          -> list[StarterPart]
GET  /api/forms?length=TEXT&beam=TEXT&height=TEXT&units=SET    -> FormsOut
GET  /api/materials?units=SET                                  -> list[MaterialOut]
POST /api/boats  NewBoat                                       -> BoatName
"""

from typing import Annotated, Literal

from pydantic import Field

from dabchick.model.units import UnitSet
from dabchick.workbench.shapes.advice import AdviceOut, Shape
from dabchick.workbench.shapes.hull import Direction
from dabchick.workbench.shapes.scene import Outlines

LengthText = Annotated[str, Field(max_length=40)]


class StarterPart(Shape):
    """A usual part with a usual size and mass."""

    part: str
    name: str
    group: str
    size: str
    mass: str
    about: str
    usual: bool
    """Ticked at the start."""


class FormOut(Shape):
    """A hull form in the sizes asked for."""

    form: Literal["round", "flat deck", "slender"]
    outlines: Outlines


class FormsOut(Shape):
    """What can be made from three sizes."""

    size: str
    skin: str
    """Usual thickness of the skin at this length."""
    forms: list[FormOut]
    """None while the sizes are no submarine's."""
    advice: list[AdviceOut]
    """On each size that cannot be."""


class MaterialOut(Shape):
    """A material that the boat file knows."""

    name: str
    density: str


class FromSize(Shape):
    """A hull made from its main sizes."""

    source: Literal["size"]
    length: LengthText
    beam: LengthText
    height: LengthText
    form: Literal["round", "flat deck", "slender"]


class FromUpload(Shape):
    """A hull from an uploaded mesh or station table."""

    source: Literal["upload"]
    upload: str
    unit: Literal["mm", "cm", "m", "in", "ft"] | None = None
    bow: Direction = "+x"
    up: Direction = "+z"
    solid_walled: bool = False
    separate_shells: bool = False


class FromDemo(Shape):
    """A copy of the demo boat."""

    source: Literal["demo"]


class NewBoat(Shape):
    """What a new boat starts with."""

    name: str = Field(min_length=1, max_length=80)
    units: UnitSet = "metric"
    hull: Annotated[FromSize | FromUpload | FromDemo, Field(discriminator="source")]
    skin: LengthText = ""
    skin_material: str = ""
    waterline: LengthText = ""
    """Height over the keel; empty: suggested from the form."""
    parts: list[str] = Field(default=[], max_length=60)

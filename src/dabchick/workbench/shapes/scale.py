"""Which scale?

GET /api/scale?length=TEXT&beam=TEXT&draught=TEXT&displacement=TEXT&... -> ScaleOut
"""

from typing import Literal

from dabchick.workbench.shapes.advice import AdviceOut, Shape


class ScaleSizes(Shape):
    """Main sizes of a model as the page for a new boat takes them."""

    length: str
    beam: str
    height: str
    waterline: str


class ScaleRowOut(Shape):
    """The model at one scale, in words; ranges are rules of thumb."""

    scale: str
    length: str
    beam: str
    draught: str
    wet: str
    dived: str
    dry: str
    speed: str
    lift: str
    depth: str
    turning: str
    box: str
    hands: Literal["one", "better two", "two or more"]
    sizes: ScaleSizes


class ScaleOut(Shape):
    """The table, or advice on what was typed."""

    rows: list[ScaleRowOut]
    advice: list[AdviceOut]
    """On each figure that cannot be; then there are no rows."""
    warnings: list[AdviceOut]
    assumptions: list[str]
    sources: list[str]
    method: str

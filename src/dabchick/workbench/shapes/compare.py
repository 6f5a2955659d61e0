"""Two steps of a boat side by side.

POST /api/boats/{boat}/steps/{step}/compare?against=STEP -> JobOut, then GET /api/jobs/{job}/compare -> CompareOut
"""

from dabchick.workbench.shapes.advice import AdviceOut, Shape


class CompareRow(Shape):
    """One figure of both."""

    key: str
    label: str
    one: str
    other: str
    difference: str
    """Second less first; "same" where nobody could measure it."""


class CompareView(Shape):
    """One of the two, from the side."""

    title: str
    outline: list[list[tuple[float, float]]]
    """Loops of (x, z) [m], to be filled by the nonzero rule."""
    low_m: tuple[float, float]
    high_m: tuple[float, float]
    water_m: list[tuple[float, float]]
    """The surface as she lies with empty tanks, from end to end of her; empty where she sinks."""


class CompareOut(Shape):
    """Two steps side by side, the older one first as asked."""

    sentence: str
    one: CompareView
    other: CompareView
    rows: list[CompareRow]
    warnings: list[AdviceOut]
    assumptions: list[str]
    method: str
    sources: list[str]

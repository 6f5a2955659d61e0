"""The factor that gives a print its known length, and whether it looks like a mistaken unit."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from dabchick.model.advice import Advice, BoatError
from dabchick.model.pile import Pile
from dabchick.model.prints_ask import Between

METRES: Final = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, "ft": 0.3048}
"""Exact; inch and foot by the international yard and pound agreement of 1959."""
LIKE_A_UNIT: Final = 0.02
"""Part by which a factor may differ from the ratio of two units and still look like it."""
SHRINKAGE: Final = 0.01
"""Prints and casts come out within a hundredth of the drawing: common practice, no source."""


@dataclass(frozen=True)
class Scale:
    """How much longer the boat is than the files say."""

    factor: float
    measured_m: float
    """In the files."""
    known_m: float
    """NaN where no length was given; the factor is then 1."""
    between_m: Between | None
    """The two points in the files; None: over all, along the longest side."""
    axis: str
    """Of the longest side; empty where two points were given."""
    unit_mistake: str
    """Such as `in for mm`, where the factor is that of a mistaken unit; else empty."""


def scale_of(pile: Pile, length_m: float | None, between_m: Between | None) -> Scale:
    """The factor for a known length. Raises BoatError where it is not above zero, or the points are one."""
    wrong = []
    if length_m is not None and not (math.isfinite(length_m) and length_m > 0.0):
        wrong.append(
            Advice(
                "The known length is not above zero.",
                "Give the length that you measured.",
                key="length",
                given=f"{length_m} m",
            )
        )
    if between_m is not None and length_m is None:
        wrong.append(
            Advice("Two points were given, but no length.", "Give the length between them.", key="length")
        )
    if between_m is not None and not np.isfinite(np.array(between_m)).all():
        wrong.append(Advice("A point is no number.", "Give three coordinates for each.", key="between"))
    if wrong:
        raise BoatError(*wrong)
    sides = pile.vertices_m.max(axis=0) - pile.vertices_m.min(axis=0)
    axis = "" if between_m is not None else "xyz"[int(np.argmax(sides))]
    measured = (
        float(sides.max())
        if between_m is None
        else float(np.linalg.norm(np.subtract(between_m[1], between_m[0])))
    )
    if not measured > 0.0:
        raise BoatError(
            Advice("The two points are one and the same.", "Give two points apart.", key="between")
        )
    factor = 1.0 if length_m is None else length_m / measured
    units = sorted({piece.unit for piece in pile.pieces})
    return Scale(
        factor=factor,
        measured_m=measured,
        known_m=math.nan if length_m is None else length_m,
        between_m=between_m,
        axis=axis,
        unit_mistake=_unit_mistake(factor, units),
    )


def scale_advice(scale: Scale) -> list[Advice]:
    """A factor that looks like a mistaken unit, or is no mere shrinkage."""
    if scale.unit_mistake:
        drawn, _, said = scale.unit_mistake.partition(" for ")
        return [
            Advice(
                what=f"The factor {scale.factor:.5g} looks like a mistaken unit: drawn in {drawn}, read as {said}.",
                todo=f"If so, read the pieces with unit {drawn}, and give the length once more as a check.",
                key="unit",
                given=f"unit {said}",
                severity="warning",
            )
        ]
    if abs(scale.factor - 1.0) > SHRINKAGE:
        return [
            Advice(
                what=f"All is scaled by {scale.factor:.5g}, walls included: their thickness is multiplied too.",
                todo="Right for a file of another scale that was printed so; a hull printed from the file as it is has "
                "the file's own size, so measure the length once more.",
                key="length",
                severity="warning",
            )
        ]
    return []


def _unit_mistake(factor: float, units: list[str]) -> str:
    best, found = LIKE_A_UNIT, ""
    for said in units:
        for drawn, size in METRES.items():
            off = abs(factor * METRES[said] / size - 1.0)
            if drawn != said and off < best:
                best, found = off, f"{drawn} for {said}"
    return found

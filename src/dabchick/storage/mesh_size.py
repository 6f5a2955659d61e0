"""Units of length in hull files, and whether a size is that of a model submarine."""

from typing import Final

from dabchick.model.advice import Advice

METRES: Final[dict[str, float]] = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, "ft": 0.3048}
"""Exact; inch and foot by the international yard and pound agreement of 1959."""
HULL_LENGTH_M: Final = (0.15, 5.0)
"""Model submarines lie well within this: common practice, no source."""
PART_LENGTH_M: Final = (0.0005, 5.0)


def unit_advice(unit: str, where: str, key: str) -> Advice | None:
    """Advice when a unit is not one of METRES."""
    if unit in METRES:
        return None
    near = {
        "inch": "in",
        "inches": "in",
        '"': "in",
        "foot": "ft",
        "feet": "ft",
        "metre": "m",
        "millimetre": "mm",
    }
    guess = near.get(unit.lower().strip(), unit.lower().strip())
    return Advice(
        what="The unit of length is not known." if unit else "The file has no unit of length.",
        todo=f'Write "{guess}".'
        if guess in METRES
        else 'Give the unit in which the hull was drawn, such as "mm".',
        where=where,
        key=key,
        given=f'"{unit}"' if unit else "",
        allowed=", ".join(METRES),
    )


def length_advice(length: float, unit: str, where: str, key: str, part: bool = False) -> Advice | None:
    """Advice when the longest side of a hull (or of a part), in the file's own unit, is no likely size."""
    low, high = PART_LENGTH_M if part else HULL_LENGTH_M
    thing = "part" if part else "hull"
    if low <= length * METRES[unit] <= high:
        return None
    likely = [other for other, metres in METRES.items() if low <= length * metres <= high]
    if likely:
        choice = " or ".join(
            f'unit = "{other}" ({spoken_length(length * METRES[other])})' for other in likely
        )
        todo = f"Did you mean {choice}?"
    else:
        todo = "No unit makes this a likely size: scale the file in your drawing program."
    return Advice(
        what=f"The {thing} would be {spoken_length(length * METRES[unit])} long.",
        todo=todo,
        where=where,
        key=key,
        given=f'{length:.6g} with unit = "{unit}"',
        allowed=f"{spoken_length(low)} to {spoken_length(high)}",
    )


def spoken_length(metres: float) -> str:
    """A length in the unit that suits its size: `0.9 mm`, `420 mm`, `900 m`."""
    return f"{metres * 1000.0:.3g} mm" if abs(metres) < 0.9995 else f"{metres:.4g} m"

"""Dimension lines round the hull, in the builder's own datum and units."""

from typing import Final, Literal

from dabchick.model.vessel import Vector, Vessel
from dabchick.report.builder_units import short_with_unit
from dabchick.workbench.shapes.scene import Dimension

GAP_SHARE: Final = 0.03
"""Of her length: how far apart the lines stand, and the first one from the boat."""

AXES: Final = {"side": (0, 2), "top": (0, 1), "end": (1, 2)}
"""House axes of each view's points."""


def dimensions(vessel: Vessel, low_m: Vector, high_m: Vector) -> list[Dimension]:
    """Length, beam and height of the hull, her waterline, and where the draught marks stand.

    `low_m` and `high_m` bound all that is drawn; the lines stand outside it.
    """
    gap = GAP_SHARE * vessel.length_m
    datum, units = vessel.datum, vessel.units
    hull_low, hull_high = vessel.low_m, vessel.high_m
    zero_x = datum.x_origin_m
    below, beside, ahead = low_m[2] - gap, low_m[1] - gap, high_m[0] + gap
    length = short_with_unit(hull_high[0] - hull_low[0], "length", units)
    beam = short_with_unit(hull_high[1] - hull_low[1], "length", units)
    height = short_with_unit(hull_high[2] - hull_low[2], "length", units)
    lines = [
        _line("side", (hull_low[0], below - 2.0 * gap), (hull_high[0], below - 2.0 * gap), length),
        _line("side", (ahead + gap, hull_low[2]), (ahead + gap, hull_high[2]), height),
        _line("top", (hull_low[0], beside - gap), (hull_high[0], beside - gap), length),
        _line("top", (ahead, hull_low[1]), (ahead, hull_high[1]), beam),
        _line("end", (hull_low[1], below), (hull_high[1], below), beam),
        _line("end", (high_m[1] + gap, hull_low[2]), (high_m[1] + gap, hull_high[2]), height),
    ]
    waterline = short_with_unit(vessel.waterline_m, "length", units)
    lines.append(_line("side", (ahead, 0.0), (ahead, vessel.waterline_m), f"waterline {waterline}"))
    for name, mark, level in (("bow", vessel.mark_bow_m, below), ("stern", vessel.mark_stern_m, below - gap)):
        along = datum.to_builder((mark, 0.0, 0.0))[0]
        text = f"{name} mark {short_with_unit(along, 'length', units)}"
        lines.append(_line("side", (zero_x, level), (mark, level), text))
    return lines


def _line(
    view: Literal["side", "top", "end"], start: tuple[float, float], end: tuple[float, float], text: str
) -> Dimension:
    return Dimension(view=view, start=start, end=end, text=text)


def with_dimensions(low_m: Vector, high_m: Vector, lines: list[Dimension]) -> tuple[Vector, Vector]:
    """The box of all that is drawn, with the dimension lines in their views."""
    low, high = list(low_m), list(high_m)
    for line in lines:
        for point in (line.start, line.end):
            for axis, value in zip(AXES[line.view], point, strict=True):
                low[axis], high[axis] = min(low[axis], value), max(high[axis], value)
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])

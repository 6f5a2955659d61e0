"""Rulers along and up the hull in the builder's own datum and units."""

import math

from dabchick.model.vessel import Vessel
from dabchick.report import svg
from dabchick.report.builder_units import length_unit
from dabchick.report.marks import HAIR, THIN
from dabchick.report.palette import INK, PAPER, SLATE
from dabchick.report.views import Frame


def along_ruler(vessel: Vessel, frame: Frame, ends_m: tuple[float, float], y: float) -> str:
    """Lengths from the builder's zero between two house x, drawn at `y` on paper [mm]; the zero is marked."""
    datum = vessel.datum
    unit, unit_m = length_unit(vessel.units)
    step = tick_step(14.0 / (unit_m * frame.scale.mm_per_m))
    sign = 1.0 if datum.x_from == "stern" else -1.0
    ends = sorted(sign * (x - datum.x_origin_m) / unit_m for x in ends_m)
    drawn = [svg.line(frame.x(ends_m[0]), y, frame.x(ends_m[1]), y, INK, THIN)]
    fine = step / 5.0
    for count in range(math.ceil(ends[0] / fine - 1e-6), math.floor(ends[1] / fine + 1e-6) + 1):
        x = frame.x(datum.x_origin_m + sign * count * fine * unit_m)
        main = count % 5 == 0
        drawn.append(svg.line(x, y, x, y + (1.5 if main else 0.8), INK, THIN if main else HAIR))
        if main:
            amount = f"{abs(count // 5 * step):g}"
            words = ("−" if count < 0 else "") + amount
            weight = "600" if count == 0 else "400"
            drawn.append(
                svg.text(x, y + 4.0, words, 2.6, INK if count == 0 else SLATE, text_anchor="middle",
                         font_weight=weight, class_="tick", stroke=PAPER, stroke_width=0.6,
                         paint_order="stroke")
            )  # fmt: skip
    drawn.append(svg.text(0, y + 0.6, unit, 2.6, SLATE, font_style="italic"))
    drawn.append(svg.text(0, y + 3.6, f"from {datum.x_from}", 2.6, SLATE, font_style="italic"))
    zero = frame.x(datum.x_origin_m)
    if frame.x(ends_m[0]) - 1e-6 <= zero <= frame.x(ends_m[1]) + 1e-6:
        drawn.append(svg.element("circle", class_="zero", cx=zero, cy=y, r=0.75, fill=PAPER, stroke=INK,
                                 stroke_width=THIN))  # fmt: skip
    return svg.group(drawn, class_="ruler")


def tick_step(least: float) -> float:
    """The smallest of 1, 2, 5 times a power of ten that is at least `least` > 0."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(step * power for step in (1.0, 2.0, 5.0, 10.0) if step * power >= least * (1 - 1e-9))


def height_ruler(vessel: Vessel, frame: Frame, ends_m: tuple[float, float]) -> str:
    """Heights from the builder's zero: a small upright ruler at the stern, and a line at the zero."""
    datum = vessel.datum
    _, unit_m = length_unit(vessel.units)
    step = tick_step(4.5 / (unit_m * frame.scale.mm_per_m))
    x = frame.x(ends_m[0]) - 3.2
    low, high = ((z - datum.z_origin_m) / unit_m for z in (vessel.low_m[2], vessel.high_m[2]))
    drawn = [svg.line(x, frame.y(vessel.low_m[2]), x, frame.y(vessel.high_m[2]), INK, HAIR)]
    for count in range(math.ceil(low / step - 1e-6), math.floor(high / step + 1e-6) + 1):
        y = frame.y(datum.z_origin_m + count * step * unit_m)
        words = ("−" if count < 0 else "") + f"{abs(count * step):g}"
        drawn.append(svg.line(x - 0.9, y, x, y, INK, HAIR))
        drawn.append(
            svg.text(x - 1.4, y + 0.8, words, 2.4, INK if count == 0 else SLATE, text_anchor="end",
                     font_weight="600" if count == 0 else "400", class_="height-tick")
        )  # fmt: skip
    zero = frame.y(datum.z_origin_m)
    drawn.append(svg.line(x, zero, frame.x(ends_m[1]) + 3.0, zero, INK, HAIR, stroke_dasharray="0.4 0.9"))
    return svg.group(drawn, class_="heights")

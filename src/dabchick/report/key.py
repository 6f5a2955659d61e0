"""The foot of the drawing: scale bar, key of signs, and CG and CB magnified."""

import math
from typing import Final

from dabchick.model.vessel import Vector, Vessel
from dabchick.report import svg
from dabchick.report.builder_units import figure, length_unit
from dabchick.report.marks import (
    HAIR,
    THIN,
    State,
    balloon,
    buoyancy_mark,
    foam_box,
    gravity_mark,
    lead_box,
    pointer,
    wave,
)
from dabchick.report.palette import CHESTNUT, FEATHER, INK, PAPER, POND, SHALLOWS, SLATE
from dabchick.report.views import Scale, round_scale
from dabchick.studies.trim_result import TrimResult

_STATES: Final[tuple[State, State]] = ("surfaced", "dived")
_GLASS_WIDTH: Final = 58.0
_BAR_WIDTH: Final = 40.0


def key_strip(vessel: Vessel, result: TrimResult, scale: Scale, y: float, width: float, height: float) -> str:
    """Scale bar at the left, signs in the middle, magnifying glass at the right of a strip [mm]."""
    return svg.group(
        [
            _scale_bar(vessel, scale, y),
            _signs(vessel, result, _BAR_WIDTH + 6.0, y),
            _glass(vessel, result, width - _GLASS_WIDTH, y, _GLASS_WIDTH, height),
        ],
        class_="key",
    )


def _scale_bar(vessel: Vessel, scale: Scale, y: float) -> str:
    """A round length in the builder's units, in five fields."""
    unit, unit_m = length_unit(vessel.units)
    most = (_BAR_WIDTH - 6.0) / (unit_m * scale.mm_per_m)
    power = 10.0 ** math.floor(math.log10(most))
    length = next(step * power for step in (5.0, 2.0, 1.0) if step * power <= most * (1 + 1e-9))
    field = length * unit_m * scale.mm_per_m / 5.0
    top = y + 4.2
    drawn = [
        svg.rectangle(
            1.0 + count * field,
            top,
            field,
            1.4,
            fill=INK if count % 2 == 0 else PAPER,
            stroke=INK,
            stroke_width=HAIR,
        )
        for count in range(5)
    ]
    drawn.append(svg.text(1.0, top + 4.4, "0", 2.6, SLATE, text_anchor="middle"))
    end = 1.0 + 5 * field
    drawn.append(svg.text(end, top + 4.4, f"{length:g}\u00a0{unit}", 2.6, SLATE, text_anchor="middle"))
    drawn.append(
        svg.text(0.0, y + 2.4, f"SCALE {scale.words()}", 2.4, SLATE, letter_spacing="0.1", font_weight="600")
    )
    drawn.append(svg.text(0.0, top + 8.4, "printed at 100 %", 2.4, SLATE, font_style="italic"))
    return svg.group(
        drawn, class_="scale-bar", data_length_m=f"{length * unit_m:.9g}", data_length_mm=svg.mm(5 * field)
    )


def _signs(vessel: Vessel, result: TrimResult, x: float, y: float) -> str:
    middle = y + 2.0
    pitch = 4.5
    entries = [
        (gravity_mark(0, 0, 1.25, "surfaced"), "CG surfaced"),
        (gravity_mark(0, 0, 1.25, "dived"), "CG dived"),
        (buoyancy_mark(0, 0, 1.25, "surfaced"), "CB surfaced"),
        (buoyancy_mark(0, 0, 1.25, "dived"), "CB dived"),
        (lead_box(-2.2, -1.2, 4.4, 2.4), "lead"),
        (foam_box(-2.2, -1.2, 4.4, 2.4), "foam"),
        (svg.rectangle(-2.2, -1.2, 4.4, 2.4, fill=SHALLOWS, stroke=POND, stroke_width=THIN), "ballast tank"),
        (wave(-2.4, 2.4, 0.2), "waterline wished for"),
        (balloon(-1.2, 0, "1", "foam", 0.62) + svg.text(0.6, 0.9, "↑", 2.6, INK),
         f"middle: from {vessel.datum.x_from} ↑ from {vessel.datum.z_from}"),
        (pointer(0, 0.2, 0.8), "draught at mark"),
    ]  # fmt: skip
    if result.moves:
        dashed = svg.rectangle(-2.2, -1.2, 4.4, 2.4, fill="none", stroke=CHESTNUT, stroke_width=THIN,
                               stroke_dasharray="0.9 0.7")  # fmt: skip
        entries.append((dashed, "moved from here"))
    drawn = []
    columns = (0.0, 23.0, 43.0)
    for index, (sign, words) in enumerate(entries):
        column, row = divmod(index, 4)
        left, line = x + columns[column], middle + row * pitch
        drawn.append(svg.group([sign], transform=f"translate({svg.mm(left + 2.6)} {svg.mm(line)})"))
        drawn.append(svg.text(left + 6.2, line + 0.9, words, 2.6, INK))
    return svg.group(drawn, class_="signs")


def _glass(vessel: Vessel, result: TrimResult, x: float, y: float, width: float, height: float) -> str:
    """Heights of CG and CB side by side and magnified, since on a drawing to scale they lie on each other."""
    entries: list[tuple[State, bool, Vector]] = [
        (state, buoyant, point)
        for state, lie in zip(_STATES, result.after, strict=True)
        for buoyant, point in ((False, lie.cg_m), (True, lie.cb_m))
        if all(map(math.isfinite, point))
    ]
    drawn = [svg.rectangle(x, y, width, height, fill=PAPER, stroke=FEATHER, stroke_width=THIN, rx=1.2)]
    if not entries:
        return svg.group(drawn, class_="glass")
    ups = [point[2] for _, _, point in entries]
    inner_y, inner_height = y + 5.2, height - 11.0
    scale = round_scale(1000.0 * max((max(ups) - min(ups)) / inner_height, 1e-5))
    datum = vessel.datum
    drawn.append(
        svg.text(
            x + 1.6, y + 3.0, f"↑ from {datum.z_from} {scale.words()}; below: from {datum.x_from}", 2.4,
            SLATE, font_style="italic",
        )
    )  # fmt: skip
    pitch = (width - 3.0) / 4.0
    for column, (state, buoyant, point) in enumerate(entries):
        at_x = x + 3.6 + column * pitch
        at_y = inner_y + inner_height / 2 - (point[2] - (max(ups) + min(ups)) / 2) * scale.mm_per_m
        along, _, up = datum.to_builder(point)
        mark = buoyancy_mark if buoyant else gravity_mark
        drawn += [
            svg.line(at_x, at_y, at_x + pitch - 3.4, at_y, FEATHER, HAIR),
            mark(at_x, at_y, 1.5, state),
            svg.text(at_x + 2.6, at_y - 0.4, figure(up, "length", vessel.units), 2.7, INK, font_weight="600"),
            svg.text(at_x - 1.4, y + height - 1.6, figure(along, "length", vessel.units), 2.4, SLATE),
        ]
    return svg.group(drawn, class_="glass")

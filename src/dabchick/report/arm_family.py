"""The family of righting arms: arm over heel for fills from empty to full, down the whole way."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from dabchick.model.vessel import Vessel
from dabchick.report import svg
from dabchick.report.builder_units import figure, length_unit, number
from dabchick.report.chart import (
    SMALL,
    Flag,
    Span,
    caption,
    curve,
    grid,
    halo,
    lanes,
    round_ends,
    text_width,
    whole,
)
from dabchick.report.marks import HAIR, THIN
from dabchick.report.palette import CHESTNUT, FEATHER, INK, PAPER, POND, SLATE
from dabchick.report.stability_words import short_fills
from dabchick.studies.stability_result import Arms, StabilityResult, Stage

WIDTH_MM: Final = 186.0
HEIGHT_MM: Final = 92.0
MOST_CURVES: Final = 7
_LEFT, _GAP, _TABLE = 12.0, 4.0, 62.0
_TOP, _FOOT = 10.5, 9.5
_ROW: Final = 3.9
_KINDS: Final = (
    "0.4 0.75",
    "1.3 0.7",
    "2.6 0.7",
    "4.2 0.8",
    "2.6 0.6 0.5 0.6",
    "5.4 0.6 0.5 0.6 0.5 0.6",
    "",
)
"""From dotted when empty to whole when full."""
_SAME_SHARE: Final = 0.03
_SAME_RANGE_DEG: Final = 1.0


@dataclass(frozen=True)
class _Curve:
    """One fill and how its line is drawn."""

    stage: Stage
    dashes: str
    width: float
    colour: str


def arm_family_svg(
    vessel: Vessel, result: StabilityResult, *, width_mm: float = WIDTH_MM, height_mm: float = HEIGHT_MM
) -> str:
    """A standalone SVG of the righting arms going down, with a table of ranges, areas and greatest arms beside it.

    Curves stand in order: finely dotted and thin when empty, whole and firm when full, each with its fill over it
    from left to right. A square marks where an arm is lost, a ring where she rests other than upright. Where both
    sides are alike only starboard is drawn. Raises ValueError where there is no room for the plot.
    """
    if width_mm < _TABLE + 60.0 or height_mm < 45.0:
        raise ValueError(f"The righting arms need at least {_TABLE + 60.0:g} x 45 mm.")
    curves = _chosen(result)
    alike = all(_alike(entry.stage.arms) for entry in curves)
    unit, size = length_unit(vessel.units)
    x = Span(0.0 if alike else -180.0, 180.0, _LEFT, width_mm - _TABLE - _GAP)
    values = [
        arm / size
        for entry in curves
        for heel, arm in zip(entry.stage.arms.heels_deg, entry.stage.arms.arms_m, strict=True)
        if heel >= x.low
    ]
    y = Span(*round_ends(values, 0.001 / size, zero=True), height_mm - _FOOT, _TOP)
    words = f"{unit}, going down, trim free" + ("; both sides alike" if alike else "; + turns her to port")
    drawn = [caption(0.0, 2.6, "Righting arms", words), *grid(x, y, 6.5), *_heels(x, y)]
    for entry in curves:
        points = [
            (x.at(heel), y.at(arm / size))
            for heel, arm in zip(entry.stage.arms.heels_deg, entry.stage.arms.arms_m, strict=True)
            if heel >= x.low - 1e-9
        ]
        drawn.append(
            curve(
                points,
                entry.colour,
                entry.width,
                entry.dashes,
                class_="arm",
                data_filled=short_fills(entry.stage.lie.fills),
            )
        )
    drawn += _ends(curves, x, y)
    drawn += _names(curves, x, y, size)
    drawn += _table(vessel, curves, width_mm - _TABLE, _labels(curves, x)[2])
    if not all(entry.stage.arms.settled for entry in curves):
        drawn.append(
            halo(x.start + 1.0, y.start - 1.2, "at some heels her trim found no rest", SMALL, CHESTNUT)
        )
    return whole(width_mm, height_mm, f"Righting arms of {vessel.name}", drawn)


def chosen_stages(result: StabilityResult, most: int) -> list[Stage]:
    """At most that many stages of the way down, evenly, with both ends and the one nearest to the least moment."""
    down = result.down
    count = min(most, len(down))
    picked = {round(at) for at in np.linspace(0, len(down) - 1, count)}
    if result.least.way == "down" and len(down) > 2:
        near = min(range(len(down)), key=lambda at: abs(down[at].progress - result.least.progress))
        inner = [at for at in picked if 0 < at < len(down) - 1]
        if near not in picked and inner:
            picked.remove(min(inner, key=lambda at: abs(at - near)))
            picked.add(near)
    return [down[at] for at in sorted(picked)]


def _chosen(result: StabilityResult) -> list[_Curve]:
    stages = chosen_stages(result, MOST_CURVES)
    last = max(1, len(stages) - 1)
    found = []
    for index, stage in enumerate(stages):
        share = index / last
        kind = _KINDS[round(share * (len(_KINDS) - 1))]
        colour = SLATE if share < 0.34 else POND if share < 0.67 else INK
        found.append(_Curve(stage, kind, 0.22 + 0.22 * share, colour))
    return found


def _alike(arms: Arms) -> bool:
    """Port mirrors starboard, as far as can be seen."""
    heels, values = np.array(arms.heels_deg), np.array(arms.arms_m)
    known = np.isfinite(values)
    if not known.any() or heels[0] > -1.0:
        return True
    mirrored = np.interp(-heels, heels, values)
    most = float(np.max(np.abs(values[known])))
    return bool(
        np.all(np.abs(values + mirrored)[known] <= _SAME_SHARE * most)
        and not abs(arms.range_port_deg - arms.range_starboard_deg) > _SAME_RANGE_DEG
    )


def rest_deg(stage: Stage) -> float:
    """The heel that ranges count from: where she rests."""
    arms = stage.arms
    if math.isfinite(arms.loll_deg):
        return arms.loll_deg
    heel = stage.lie.heel_deg.value
    return heel if math.isfinite(heel) else 0.0


def _heels(x: Span, y: Span) -> list[str]:
    drawn = []
    for heel in range(int(x.low), 181, 30):
        u = x.at(heel)
        drawn.append(svg.line(u, y.start, u, y.end, FEATHER, HAIR * 0.7))
        words = f"{number(abs(heel), 0)}°"
        drawn.append(svg.text(u, y.start + 3.4, words, SMALL, SLATE, text_anchor="middle"))
    sides = [(x.end, "end", "heel to starboard")]
    if x.low < 0.0:
        sides.append((x.start, "start", "heel to port"))
    drawn += [
        svg.text(u, y.start + 6.8, words, SMALL, SLATE, text_anchor=anchor, font_style="italic")
        for u, anchor, words in sides
    ]
    return drawn


def _ends(curves: Sequence[_Curve], x: Span, y: Span) -> list[str]:
    """A square where each arm is lost, with its heel once, and a ring at every rest that is not upright."""
    zero = y.at(0.0)
    drawn, told = [], set()
    for entry in curves:
        arms, rest = entry.stage.arms, rest_deg(entry.stage)
        for reach, side in ((arms.range_starboard_deg, 1.0), (arms.range_port_deg, -1.0)):
            end = rest + side * reach
            if not math.isfinite(end) or reach <= 0.0 or abs(end) >= 179.5 or not x.low <= end <= x.high:
                continue
            u, r = x.at(end), 0.7
            drawn.append(
                svg.rectangle(u - r, zero - r, 2 * r, 2 * r, class_="lost", fill=PAPER, stroke=entry.colour,
                              stroke_width=THIN)
            )  # fmt: skip
            told.add(round(end))
        if math.isfinite(arms.loll_deg) and x.low <= arms.loll_deg <= x.high:
            drawn.append(
                svg.element("circle", class_="loll", cx=x.at(arms.loll_deg), cy=zero, r=0.8, fill=PAPER,
                            stroke=entry.colour, stroke_width=THIN * 1.3)
            )  # fmt: skip
    flags = [Flag(x.at(end), f"{abs(end)}°", SLATE, "") for end in sorted(told)]
    for flag, (lane, left) in zip(flags, lanes(flags, x.start, x.end), strict=True):
        if lane < 3:
            drawn.append(halo(left, zero + 4.0 + 3.0 * lane, flag.words, SMALL, flag.colour))
    return drawn


def _labels(curves: Sequence[_Curve], x: Span) -> tuple[list[float], list[str], bool]:
    """The heels at which the curves are named, their names, and whether these are mere numbers for want of room.

    The places lie where the curves stand apart: from 20 deg to short of the first arm that is lost.
    """
    lost = [rest_deg(entry.stage) + entry.stage.arms.range_starboard_deg for entry in curves]
    most = min([0.88 * end for end in lost if end > 60.0] + [140.0])
    heels = (
        [float(heel) for heel in np.linspace(20.0, most, len(curves))] if len(curves) > 1 else [0.5 * most]
    )
    words = [short_fills(entry.stage.lie.fills) for entry in curves]
    pitch = (x.at(most) - x.at(20.0)) / max(1, len(curves) - 1)
    if max(text_width(text, SMALL) for text in words) <= pitch - 0.8:
        return heels, words, False
    return heels, [str(index) for index in range(1, len(curves) + 1)], True


def _names(curves: Sequence[_Curve], x: Span, y: Span, size: float) -> list[str]:
    """The fills from left to right over the plot, each with a line down to a point on its own curve."""
    drawn = []
    heels, words, _ = _labels(curves, x)
    for entry, heel, text in zip(curves, heels, words, strict=True):
        u = x.at(heel)
        arm = float(np.interp(heel, entry.stage.arms.heels_deg, entry.stage.arms.arms_m))
        drawn.append(halo(u, _TOP - 1.6, text, SMALL, INK, text_anchor="middle", class_="filled"))
        if math.isfinite(arm):
            v = y.at(arm / size)
            drawn.append(svg.line(u, _TOP - 0.9, u, v, entry.colour, HAIR))
            drawn.append(
                svg.element("circle", cx=u, cy=v, r=0.6, fill=entry.colour, stroke=PAPER, stroke_width=HAIR)
            )
    return drawn


_SAMPLE: Final = 7.6
_COLUMNS: Final = (
    (28.5, "range", "port", "end"), (36.0, "", "stbd", "end"), (46.0, "greatest", "", "end"),
    (52.5, "", "at", "end"), (62.0, "area", "", "end"),
)  # fmt: skip


def _table(vessel: Vessel, curves: Sequence[_Curve], left: float, numbered: bool) -> list[str]:
    """Line, fill, ranges, greatest arm and smaller area of every curve drawn, from empty to full."""
    unit = length_unit(vessel.units)[0]
    top = 6.0
    words = [short_fills(entry.stage.lie.fills) for entry in curves]
    if numbered:
        words = [f"{index}: {text}" for index, text in enumerate(words, start=1)]
    words = [svg.shortened(text, 14) for text in words]
    drawn = [svg.text(left, top + 3.0, "filled", SMALL, SLATE, font_style="italic")]
    for at, upper, lower, anchor in _COLUMNS:
        last = f"{unit} rad" if upper == "area" else unit if upper == "greatest" else lower
        for y, text in ((top, upper), (top + 3.0, last)):
            drawn.append(svg.text(left + at, y, text, SMALL, SLATE, text_anchor=anchor, font_style="italic"))
    y = top + 4.2
    drawn.append(svg.line(left, y, left + _TABLE, y, INK, HAIR))
    for entry, text in zip(curves, words, strict=True):
        y += _ROW
        arms = entry.stage.arms
        style = {"stroke_dasharray": entry.dashes} if entry.dashes else {}
        drawn.append(svg.line(left, y - 0.8, left + _SAMPLE, y - 0.8, entry.colour, entry.width, **style))
        drawn.append(svg.text(left + _SAMPLE + 0.9, y, text, SMALL, INK))
        cells = (
            f"{number(arms.range_port_deg, 0)}°", f"{number(arms.range_starboard_deg, 0)}°",
            figure(arms.greatest_m, "length", vessel.units), f"{number(arms.greatest_at_deg, 0)}°",
            figure(min(arms.area_port_m_rad, arms.area_starboard_m_rad), "length", vessel.units),
        )  # fmt: skip
        for (at, _, _, anchor), cell in zip(_COLUMNS, cells, strict=True):
            drawn.append(svg.text(left + at, y, cell, SMALL, INK, text_anchor=anchor))
    y += 2.0
    notes = [("square", "where an arm is lost")]
    if any(math.isfinite(entry.stage.arms.loll_deg) for entry in curves):
        notes.append(("ring", "where she rests when upright is no rest"))
    for kind, text in notes:
        y += _ROW
        sign = (
            svg.rectangle(left + 3.8, y - 1.5, 1.4, 1.4, fill=PAPER, stroke=INK, stroke_width=THIN)
            if kind == "square"
            else svg.element(
                "circle", cx=left + 4.5, cy=y - 0.8, r=0.8, fill=PAPER, stroke=INK, stroke_width=THIN
            )
        )
        drawn += [sign, svg.text(left + 10.0, y, text, SMALL, SLATE)]
    drawn.append(svg.text(left, y + _ROW, "Area and greatest arm are those of the weaker side.", SMALL, SLATE,
                          font_style="italic"))  # fmt: skip
    return [svg.group(drawn, class_="ranges")]

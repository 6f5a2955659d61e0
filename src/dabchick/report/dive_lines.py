"""The figures of a way down and up as lines: which ones are plotted, through which points, with which bands."""

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from dabchick.model.vessel import Vessel
from dabchick.report import svg
from dabchick.report.builder_units import length_unit
from dabchick.report.chart import Point, Span, round_ends
from dabchick.report.palette import INK, MIST, POND
from dabchick.studies.lie import Lie
from dabchick.studies.result import Figure
from dabchick.studies.stability_result import Attitude, DiveEvent, LeastMoment, StabilityResult, Stage, Way

WAYS: Final[tuple[Way, Way]] = ("down", "up")
Leap = tuple[float, float, float]
"""Where on the way she leaves one rest for another, and the figure before and after."""
_HATCH: Final = 1.1


@dataclass(frozen=True)
class Line:
    """One figure over the way."""

    name: str
    colour: str
    rings: bool
    value: Callable[[Lie], Figure]
    scale: float
    """What the value is multiplied by for print."""
    same: float
    """Closer than this, in SI, up and down are alike."""
    at: Callable[[Attitude], float] | None = None
    """The same figure out of an attitude alone, in SI, where it can be had."""


@dataclass(frozen=True)
class Panel:
    """Two lines over one upright scale; `least` is the least reach of the scale, `share` its part of the height."""

    title: str
    unit: str
    lines: tuple[Line, ...]
    least: float
    zero: bool
    share: float


def panels_of(vessel: Vessel) -> tuple[Panel, ...]:
    """The panels of the diagram from above: draughts at both marks, trim and heel, GM and BG."""
    unit, size = length_unit(vessel.units)

    def draught(mark_m: float) -> Callable[[Attitude], float]:
        def height(attitude: Attitude) -> float:
            n = attitude.normal
            return (attitude.offset_m - n[0] * mark_m) / n[2] if abs(n[2]) > 1e-9 else math.nan

        return height

    per = 1.0 / size
    return (
        Panel(
            "Draught",
            unit,
            (
                Line("bow", INK, False, lambda lie: lie.draught_bow_m, per, 1e-4,
                      draught(vessel.mark_bow_m)),
                Line("stern", POND, True, lambda lie: lie.draught_stern_m, per, 1e-4,
                      draught(vessel.mark_stern_m)),
            ),
            0.004 * per,
            False,
            1.0,
        ),
        Panel(
            "Trim and heel",
            "deg, + bow up, + starboard down",
            (
                Line("trim", INK, False, lambda lie: lie.trim_deg, 1.0, 0.1,
                      lambda attitude: attitude.trim_deg),
                Line("heel", POND, True, lambda lie: lie.heel_deg, 1.0, 0.1,
                      lambda attitude: attitude.heel_deg),
            ),
            2.0,
            True,
            1.0,
        ),
        Panel(
            "GM across and BG",
            unit,
            (
                Line("GM", INK, False, lambda lie: lie.gm_transverse_m, per, 1e-4),
                Line("BG", POND, True, lambda lie: lie.bg_m, per, 1e-4),
            ),
            0.002 * per,
            True,
            1.15,
        ),
    )  # fmt: skip


def printed(line: Line, stage: Stage | LeastMoment) -> float:
    """The line's figure at a moment, in the unit it is plotted in."""
    return line.value(stage.lie).value * line.scale


def ends_of(panel: Panel, result: StabilityResult) -> tuple[float, float]:
    """Ends of the upright scale: all values, and bands as far as they leave the values readable."""
    values, reached = [], []
    for line in panel.lines:
        for way in WAYS:
            values += [value for _, value in points_of(line, result, way)[0]]
        for stage in result.down:
            figure = line.value(stage.lie)
            if math.isfinite(figure.value) and math.isfinite(figure.spread):
                reached += [
                    (figure.value - figure.spread) * line.scale, (figure.value + figure.spread) * line.scale
                ]  # fmt: skip
    if panel.lines[0].name == "GM":
        values.append(result.least.lie.gm_transverse_m.value * panel.lines[0].scale)
    low, high = round_ends(values, panel.least, zero=panel.zero)
    most = 0.6 * (high - low)
    reached = [min(max(value, low - most), high + most) for value in reached]
    if panel.lines[0].name != "GM":
        return round_ends([low, high, *reached], panel.least) if reached else (low, high)
    low, high = round_ends([*values, *reached], panel.least, zero=True)
    # Where nothing comes near it, the floor is the limit itself.
    return (low, high) if min([0.0, *values, *reached]) < 0.0 else (0.0, high)


def points_of(line: Line, result: StabilityResult, way: Way) -> tuple[list[Point], list[Leap]]:
    """The line along one way, with gaps where she goes over; and the leaps (place, from, to) there."""
    stages: list[Stage | LeastMoment] = [*(result.down if way == "down" else result.up)]
    least = result.least
    if least.way == way and all(abs(stage.progress - least.progress) > 1e-9 for stage in stages):
        stages.append(least)
        stages.sort(key=lambda stage: stage.progress if way == "down" else -stage.progress)
    left = [event for event in result.events if event.way == way]
    left.sort(key=lambda event: event.progress if way == "down" else -event.progress)
    points: list[Point] = []
    leaps = []
    for stage in stages:
        while left and points and _passed(left[0], stage, way):
            event = left.pop(0)
            leap = _leap_of(line, event)
            points += leap
            if len(leap) == 3 and all(math.isfinite(leap[at][1]) for at in (0, 2)):
                leaps.append((event.progress, leap[0][1], leap[2][1]))
        points.append((stage.progress, printed(line, stage)))
    return points, leaps


def _passed(event: DiveEvent, stage: Stage | LeastMoment, way: Way) -> bool:
    return event.progress < stage.progress if way == "down" else event.progress > stage.progress


def _leap_of(line: Line, event: DiveEvent) -> list[Point]:
    """What an event adds to a line: the ends on both sides of a leap, or a gap where they are not known."""
    at, gap = event.progress, (event.progress, math.nan)
    if event.before == event.after and event.kind not in ("under", "out"):
        return []
    if line.at is None:
        return [gap] if event.kind in ("jump", "fold") else []
    before, after = (line.at(attitude) * line.scale for attitude in (event.before, event.after))
    return [(at, before), gap, (at, after)]


def where_other(line: Line, points: Sequence[Point], down: Sequence[Point]) -> list[Point]:
    """The way up without the stretches that lie on the way down."""
    near = line.same * line.scale
    places = [at for at, _ in down]
    other = []
    for at, value in points:
        passed = [below for on, below in down if abs(on - at) < 1e-9]
        # A point that only the way up has is held against the straight line between its neighbours.
        passed = passed or [float(np.interp(at, places, [below for _, below in down]))]
        alike = any(
            abs(below - value) <= near or (math.isnan(below) and math.isnan(value)) for below in passed
        )
        other.append(not alike and math.isfinite(value))
    return [
        (at, value if any(other[max(0, index - 1) : index + 2]) else math.nan)
        for index, (at, value) in enumerate(points)
    ]


def goes_back(leap: Leap, other: Leap) -> bool:
    """One leap is the other taken back at the same fills."""
    return all(
        math.isclose(a, b, rel_tol=1e-3, abs_tol=1e-3)
        for a, b in zip(leap, (other[0], other[2], other[1]), strict=True)
    )


def band(line: Line, result: StabilityResult, x: Span, y: Span, *, hatched: bool) -> str:
    """One standard deviation on both sides: a light ground for the first line, upright hairs for the second."""
    rows = [(stage.progress, line.value(stage.lie)) for stage in result.down]
    leaps = [event.progress for event in result.events if event.way == "down" and event.before != event.after]
    drawn = []
    for (at, one), (on, two) in itertools.pairwise(rows):
        if not all(math.isfinite(v) for f in (one, two) for v in (f.value, f.spread)):
            continue
        if any(at <= leap <= on for leap in leaps):
            continue
        ends = [
            [y.within((figure.value + side * figure.spread) * line.scale) for figure in (one, two)]
            for side in (-1.0, 1.0)
        ]
        left, right = x.at(at), x.at(on)
        if hatched:
            first, last = math.ceil(left / _HATCH), math.ceil(right / _HATCH)
            for count in range(first, last):
                u = count * _HATCH
                t = (u - left) / (right - left)
                low, high = (pair[0] + t * (pair[1] - pair[0]) for pair in ends)
                drawn.append(f"M{svg.mm(u)} {svg.mm(low)}V{svg.mm(high)}")
        else:
            (l0, l1), (h0, h1) = ends
            drawn.append(
                f"M{svg.mm(left)} {svg.mm(l0)}L{svg.mm(right)} {svg.mm(l1)}V{svg.mm(h1)}L{svg.mm(left)} "
                f"{svg.mm(h0)}z"
            )
    style: dict[str, str | float] = (
        {"fill": "none", "stroke": POND, "stroke_width": 0.09, "stroke_opacity": "0.55"}
        if hatched
        else {"fill": MIST, "stroke": MIST, "stroke_width": 0.05}
    )
    return svg.element("path", class_=f"band {line.name}", d="".join(drawn), **style) if drawn else ""

"""What a trace's form itself tells: edges that cross, views that disagree, sections that do not fit."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice
from dabchick.model.keys import dotted
from dabchick.model.traced_hull import HullPlan, HullReading, pixel_size, section_lines
from dabchick.model.units import shown
from dabchick.physics.picture_scale import PictureFrame

Array = NDArray[np.float64]

LENGTH_TOLERANCE = 0.01
"""Side and top view of one hull agree within this share of the length: common practice, no source."""
NOTHING = 1e-5
"""A section of less than this share of the greatest height or breadth has no area between the ends."""
SECTION_TOLERANCE = 0.03
"""A traced section fits its outlines within this share of their size: common practice, no source."""


def form_mistakes(plan: HullPlan, reading: HullReading) -> list[Advice]:
    """Advice on a form that could be drawn; errors among it say that it cannot be trusted."""
    return [
        *_edges(plan, reading),
        *_middle_line(plan, reading),
        *_lengths(plan, reading),
        *_section_sizes(plan, reading),
    ]


def _place(frame: PictureFrame, x: float, across: float) -> str:
    pixel = frame.pixels(np.array([[[x, across]]]))[0, 0]
    return f"pixel ({pixel[0]:.0f}, {pixel[1]:.0f})"


def _edges(plan: HullPlan, reading: HullReading) -> Iterator[Advice]:
    grid = reading.grid
    gap = grid.upper[0] - grid.lower[0]
    wrong = np.flatnonzero(gap[1:-1] <= NOTHING * gap.max()) + 1
    if len(wrong):
        k = int(wrong[0])
        stern, keel = reading.side_zero[0]
        x, z = float(grid.x[0, k]), float(grid.lower[0, k])
        yield Advice(
            what=f'In "{plan.doc.views[plan.side].name}" the outline crosses itself: the lower edge lies over the '
            f"upper at {_place(reading.side_frame, x + stern, z + keel)}, {shown(x, 'length')} from the stern and "
            f"{shown(z, 'length')} over the keel.",
            todo="See that both edges run from stern to bow and meet only at the ends.",
            key=dotted(("view", plan.side, "curve", plan.lower, "points")),
        )
    if gap[0] < 0.0 or gap[-1] < 0.0:
        name = "stern" if gap[0] < 0.0 else "bow"
        yield Advice(
            what=f"At the {name} the lower edge ends above the upper one.",
            todo="Trace both to one point there.",
            key=dotted(("view", plan.side, "curve", plan.lower, "points")),
        )


def _middle_line(plan: HullPlan, reading: HullReading) -> Iterator[Advice]:
    half = reading.grid.half[0]
    wrong = np.flatnonzero(half[1:-1] <= NOTHING * half.max()) + 1
    if len(wrong) or half[0] < 0.0 or half[-1] < 0.0:
        k = int(wrong[0]) if len(wrong) else (0 if half[0] < 0.0 else len(half) - 1)
        stern, middle = reading.top_zero[0]
        x = float(reading.grid.x[0, k])
        spot = _place(reading.top_frame, x / float(reading.stretch[0]) + stern, middle)
        what = (
            "the half-breadth crosses the middle line"
            if len(plan.halves) == 1
            else "the two half-breadths cross each other"
        )
        yield Advice(
            what=f'In "{plan.doc.views[plan.top].name}" {what} at {spot}, {shown(x, "length")} from the stern.',
            todo="Trace one side of the hull, and set the level line on its middle line."
            if len(plan.halves) == 1
            else "Trace one to port and one to starboard.",
            key=dotted(("view", plan.top, "curve", plan.halves[0], "points")),
        )


def _lengths(plan: HullPlan, reading: HullReading) -> Iterator[Advice]:
    doc = plan.doc
    lengths = {plan.side: float(reading.side_length[0]), plan.top: float(reading.top_length[0])}
    scaled = [row for row in lengths if doc.views[row].scale is not None]
    if doc.length is not None:
        for row in scaled:
            if abs(lengths[row] / doc.length - 1.0) > LENGTH_TOLERANCE:
                yield Advice(
                    what=f'By the scale of "{doc.views[row].name}" the hull is {shown(lengths[row], "length")} long, '
                    f"but the trace says {shown(doc.length, 'length')}.",
                    todo="Correct the scale or the length, or take one of them out.",
                    key=dotted(("view", row, "scale")),
                    given=shown(lengths[row], "length"),
                    allowed=f"within {100.0 * LENGTH_TOLERANCE:g} % of {shown(doc.length, 'length')}",
                )
    elif len(scaled) == 2 and abs(lengths[plan.top] / lengths[plan.side] - 1.0) > LENGTH_TOLERANCE:
        yield Advice(
            what=f"Side and top view are of different length: {shown(lengths[plan.side], 'length')} from the side, "
            f"{shown(lengths[plan.top], 'length')} from above.",
            todo="Check both scales, and that both views are traced from end to end; or give the hull's length.",
            key=dotted(("view", plan.top, "scale")),
            given=shown(lengths[plan.top], "length"),
            allowed=f"within {100.0 * LENGTH_TOLERANCE:g} % of {shown(lengths[plan.side], 'length')}",
        )


def _section_sizes(plan: HullPlan, reading: HullReading) -> Iterator[Advice]:
    grid = reading.grid
    for place in plan.sections:
        view = plan.doc.views[place.view]
        lines = section_lines(plan.doc, place)[0]
        breadth, tall = float(lines[:, 0].max()), float(np.ptp(lines[:, 1]))
        x = place.share * float(grid.x[0, -1])
        half = float(np.interp(x, grid.x[0], grid.half[0]))
        height = float(np.interp(x, grid.x[0], grid.upper[0] - grid.lower[0]))
        room = 3.0 * pixel_size(reading.side_frame)
        key = dotted(("view", place.view, "curve", place.curve))
        for word, other, own, wanted in (
            ("wider", "half-breadth", breadth, half),
            ("taller", "height between the edges", tall, height),
        ):
            off = own - wanted
            if abs(off) <= SECTION_TOLERANCE * wanted + room:
                continue
            smaller = {"wider": "narrower", "taller": "lower"}[word]
            yield Advice(
                what=f'The section "{view.name}" is {word if off > 0.0 else smaller} than the outline there: '
                f"{shown(own, 'length')} against {shown(wanted, 'length')} ({other}), "
                f"{shown(x, 'length')} from the stern.",
                todo="Check its scale and its place; its shape alone is used, brought to the outline's size.",
                key=key,
                given=shown(own, "length"),
                allowed=f"within {100.0 * SECTION_TOLERANCE:g} % of {shown(wanted, 'length')}",
                severity="error" if off > 0.0 else "warning",
            )

"""From a planned trace to the hull's form: pixels in, heights and half-breadths out.

What is decided once, from the points as they stand, is a `HullPlan` (`traced_plan.py`); `read_hull` then turns pixels
into a form, as they stand or many times with the noise of tracing, so that both go the same way.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.trace import TracedCurve, TraceDoc, TracedView
from dabchick.model.traced_views import PLAIN, Mark, Reader, framed
from dabchick.physics.picture_scale import PictureFrame
from dabchick.physics.traced_form import (
    HEIGHTS,
    FormGrid,
    blended_shapes,
    cosine_shares,
    faired_lines,
    heights_over,
    section_shapes,
    superellipse_shapes,
    widest_heights,
)

Array = NDArray[np.float64]

CLOSING_PX = 4.0
"""Ends nearer than this, in pixels, are meant to meet: eight times the usual noise of a point."""
CLOSING = 0.003
"""The same as a share of the length."""


@dataclass(frozen=True)
class SectionPlace:
    """A traced section and where it stands."""

    view: int
    curve: int
    share: float
    """From the stern."""
    upturned: bool
    """The second axis of its frame points down."""
    starboard: bool
    """Its half lies on the negative side of the first axis."""
    closed: tuple[bool, bool]
    """Whether it begins and ends on the middle line."""


@dataclass(frozen=True, eq=False)
class HullPlan:
    """What was decided about a trace from its points as they stand."""

    doc: TraceDoc
    side: int
    top: int
    upper: int
    lower: int
    halves: tuple[int, ...]
    """One half-breadth, or that to port and that to starboard."""
    side_mirrored: bool
    top_mirrored: bool
    joined: tuple[bool, bool]
    """Whether upper and lower edge meet at the stern and at the bow."""
    closed: tuple[bool, bool]
    """Whether the half-breadth closes at the stern and at the bow."""
    shares: Array
    """(k,) stations as shares of the length from the stern."""
    sections: tuple[SectionPlace, ...] = ()

    def curve(self, view: int, number: int) -> TracedCurve:
        """A curve of the trace."""
        return self.doc.views[view].curves[number]


@dataclass(frozen=True, eq=False)
class HullReading:
    """d readings of a trace. Heights count from the keel, x from the stern."""

    grid: FormGrid
    side_length: Array
    """(d,) [m] by the side view's own scale, or pixels without one"""
    top_length: Array
    middle: Array | None
    """(d, k) the middle between the half-breadths to port and to starboard, without its straight part"""
    side_frame: PictureFrame
    side_zero: Array
    """(d, 2) stern and keel in the frame of the side view"""
    top_frame: PictureFrame
    top_zero: Array
    """(d, 2) stern and middle line in the frame of the top view"""
    stretch: Array
    """(d,) by which lengths of the top view are stretched to those of the side view"""
    upper_line: Array
    """(d, q, 2) faired, in the frame of the side view"""
    lower_line: Array
    half_lines: tuple[Array, ...]


def read_hull(plan: HullPlan, reader: Reader = PLAIN) -> HullReading:
    """The form as the reader reads it."""
    side_view = plan.doc.views[plan.side]
    side = framed(side_view, reader)
    side = side.mirrored() if plan.side_mirrored else side
    edges = [
        side.lengths(reader(plan.curve(plan.side, number).points)).copy()
        for number in (plan.upper, plan.lower)
    ]
    for end, joined in zip((0, -1), plan.joined, strict=True):
        if joined:
            edges[0][:, end] = edges[1][:, end] = 0.5 * (edges[0][:, end] + edges[1][:, end])
    side_length, edges, side = _to_length(plan.doc, edges, side)
    upper, lower = (
        faired_lines(points, plan.curve(plan.side, number).corners)
        for points, number in zip(edges, (plan.upper, plan.lower), strict=True)
    )
    stern = np.minimum(edges[0][:, 0, 0], edges[1][:, 0, 0])
    bow = np.maximum(edges[0][:, -1, 0], edges[1][:, -1, 0])
    length = bow - stern
    x = stern[:, None] + length[:, None] * plan.shares
    z_upper, z_lower = heights_over(upper, x), heights_over(lower, x)
    for station, joined in zip((0, -1), plan.joined, strict=True):
        if joined:
            z_upper[:, station] = z_lower[:, station] = edges[0][:, station, 1]
    keel = z_lower.min(axis=1)

    top, sides, middle_line = _top(plan, reader)
    top_length, sides, top = _to_length(plan.doc, sides, top)
    lines = tuple(
        faired_lines(points, plan.curve(plan.top, number).corners)
        for points, number in zip(sides, plan.halves, strict=True)
    )
    top_stern = np.min([points[:, 0, 0] for points in sides], axis=0)
    top_bow = np.max([points[:, -1, 0] for points in sides], axis=0)
    top_x = top_stern[:, None] + (top_bow - top_stern)[:, None] * plan.shares
    found = [heights_over(line, top_x) for line in lines]
    half = found[0] if len(found) == 1 else 0.5 * (found[0] - found[1])
    for station, closed in zip((0, -1), plan.closed, strict=True):
        if closed:
            half[:, station] = 0.0
    middle = None
    if len(found) == 2:
        centre = 0.5 * (found[0] + found[1])
        middle, middle_line = _unbent(centre, plan.shares)
    grid = FormGrid(
        x=x - stern[:, None],
        lower=z_lower - keel[:, None],
        upper=z_upper - keel[:, None],
        half=half,
        share=cosine_shares(HEIGHTS),
        shape=_shapes(plan, reader),
    )
    return HullReading(
        grid=grid,
        side_length=side_length,
        top_length=top_length,
        middle=middle,
        side_frame=side,
        side_zero=np.stack([stern, keel], axis=1),
        top_frame=top,
        top_zero=np.stack([top_stern, middle_line], axis=1),
        stretch=length / (top_bow - top_stern),
        upper_line=upper,
        lower_line=lower,
        half_lines=lines,
    )


def _to_length(
    doc: TraceDoc, edges: list[Array], frame: PictureFrame
) -> tuple[Array, list[Array], PictureFrame]:
    """Length by the view's own scale; curves and frame, scaled to the builder's length where there is one."""
    stern = np.min([points[:, 0, 0] for points in edges], axis=0)
    bow = np.max([points[:, -1, 0] for points in edges], axis=0)
    length = bow - stern
    if doc.length is None:
        return length, edges, frame
    factor = doc.length / length
    return length, [points * factor[:, None, None] for points in edges], frame.scaled(factor)


def _top(plan: HullPlan, reader: Reader) -> tuple[PictureFrame, list[Array], Array]:
    """Frame of the top view, its half-breadths from the middle line, and where that lies in the frame."""
    view = plan.doc.views[plan.top]
    top = framed(view, reader, top_ends(view))
    top = top.mirrored() if plan.top_mirrored else top
    sides = [top.lengths(reader(plan.curve(plan.top, number).points)).copy() for number in plan.halves]
    for end, closed in zip((0, -1), plan.closed, strict=True):
        if closed:
            meet = 0.0 if len(sides) == 1 else 0.5 * (sides[0][:, end, 1] + sides[1][:, end, 1])
            for points in sides:
                points[:, end, 1] = meet
    return top, sides, np.zeros(reader.count)


def top_ends(view: TracedView) -> Mark:
    """The ends of the half-breadth, which take the place of a middle line that was not marked."""
    if view.level is not None:
        return ()
    curve = next(c for c in view.curves if c.role == "half_breadth" and not c.body)
    return (curve.points[0], curve.points[-1])


def _unbent(centre: Array, shares: Array) -> tuple[Array, Array]:
    """Middle lines (d, k) without the straight line that fits each best, and that line's height amidships."""
    along = shares - 0.5
    base = np.stack([np.ones_like(along), along], axis=1)
    fit = centre @ np.linalg.pinv(base).T
    return centre - fit @ base.T, fit[:, 0]


def _shapes(plan: HullPlan, reader: Reader) -> Array:
    share, form = cosine_shares(HEIGHTS), plan.doc.section
    traced = [section_shapes(section_lines(plan.doc, place, reader), share) for place in plan.sections]
    places = np.array([place.share for place in plan.sections])
    if form.form == "blended" and traced:
        return blended_shapes(places, np.stack(traced, axis=1), plan.shares)
    widest = np.full((1, len(plan.shares)), 0.5)
    if traced:
        heights = np.stack([widest_heights(shape, share) for shape in traced], axis=1)
        widest = np.stack([np.interp(plan.shares, places, row) for row in heights])
    exponents = form.exponents if form.form == "superellipse" and form.exponents else ((0.0, 2.0),)
    exponent = np.interp(plan.shares, [row[0] for row in exponents], [row[1] for row in exponents])
    return superellipse_shapes(exponent, widest, share)


def section_lines(doc: TraceDoc, place: SectionPlace, reader: Reader = PLAIN) -> Array:
    """(d, q, 2) a faired half section: half-breadth and height above its keel."""
    view = doc.views[place.view]
    curve = view.curves[place.curve]
    points = section_points(view, curve, reader, place.upturned, place.starboard)
    for end, closed in zip((0, -1), place.closed, strict=True):
        if closed:
            points[:, end, 0] = 0.0
    return faired_lines(points, curve.corners)


def section_points(
    view: TracedView, curve: TracedCurve, reader: Reader, upturned: bool, starboard: bool
) -> Array:
    """(d, n, 2) half-breadths from the section's middle line and heights over its first point."""
    frame = framed(view, reader)
    frame = frame.mirrored() if upturned else frame
    points = frame.lengths(reader(curve.points)).copy()
    middle = points[:, 0, 0]
    if view.square is not None:
        middle = frame.lengths(reader((view.square.start, view.square.end)))[:, :, 0].mean(axis=1)
    points[:, :, 0] = (points[:, :, 0] - middle[:, None]) * (-1.0 if starboard else 1.0)
    points[:, :, 1] -= points[:, :1, 1]
    return points


def pixel_size(frame: PictureFrame) -> float:
    """Length of one pixel in the frame."""
    return float(np.sqrt(abs(np.linalg.det(frame.matrix[0]))))

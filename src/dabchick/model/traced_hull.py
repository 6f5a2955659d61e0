"""From a trace to the hull's form: which curve is which, how ends close, and the readings that give it its figures.

What is decided once, from the points as they stand, is a `HullPlan`; `read_hull` then turns pixels into a form, as
they stand or many times with the noise of tracing, so that both go the same way.
"""

import itertools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice
from dabchick.model.keys import dotted, path_of
from dabchick.model.trace import TracedCurve, TraceDoc, TracedView
from dabchick.model.trace_mistakes import ROLE_WORDS
from dabchick.model.traced_views import PLAIN, Mark, Reader, framed
from dabchick.model.units import shown
from dabchick.physics.picture_scale import PictureFrame
from dabchick.physics.traced_form import (
    HEIGHTS,
    STATIONS,
    FormGrid,
    blended_shapes,
    cosine_shares,
    faired_lines,
    heights_over,
    section_shapes,
    station_shares,
    superellipse_shapes,
    widest_heights,
)

Array = NDArray[np.float64]

CLOSING_PX = 4.0
"""Ends nearer than this, in pixels, are meant to meet: eight times the usual noise of a point."""
CLOSING = 0.003
"""The same as a share of the length."""
BACKWARD_PX = 4.0
"""A point may lie this far behind the one before it, as on an upright end."""


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


def plan_hull(doc: TraceDoc, faults: list[Advice]) -> tuple[HullPlan | None, list[Advice]]:
    """What can be decided, and advice on what keeps it from being drawn; None where it cannot.

    `faults` are the mistakes found so far: a curve or mark with an error of its own is not used.
    """
    wrong = {path_of(entry.key) for entry in faults if entry.severity == "error"}
    found: list[Advice] = []

    def usable(view: int, curve: int | None = None) -> bool:
        path: tuple[str | int, ...] = ("view", view)
        marks = {(*path, mark) for mark in ("scale", "level", "square")}
        if any(fault == path or fault[:3] in marks for fault in wrong):
            return False
        whole = (*path, "curve", curve)
        return curve is None or not any(fault[: len(whole)] == whole for fault in wrong)

    def of_hull(kind: str, role: str) -> list[tuple[int, int]]:
        return [
            (row, number)
            for row, view in enumerate(doc.views)
            for number, curve in enumerate(view.curves)
            if view.kind == kind and curve.role == role and not curve.body and usable(row, number)
        ]

    uppers, lowers = of_hull("side", "upper"), of_hull("side", "lower")
    halves = of_hull("top", "half_breadth")
    if not (uppers and lowers) or uppers[0][0] != lowers[0][0]:
        return None, found
    side, upper, lower = uppers[0][0], uppers[0][1], lowers[0][1]
    frame = framed(doc.views[side])
    curves = [doc.views[side].curves[number] for number in (upper, lower)]
    points = [frame.lengths(PLAIN(curve.points))[0] for curve in curves]
    mirrored = bool(_mean_height(points[0]) < _mean_height(points[1]))
    frame = frame.mirrored() if mirrored else frame
    points = [frame.lengths(PLAIN(curve.points))[0] for curve in curves]
    for number, curve, line in zip((upper, lower), curves, points, strict=True):
        found += _backward(doc, (side, number), curve, frame, line)
    if any(entry.severity == "error" for entry in found) or not halves:
        for row, number in halves:
            found += _top_backward(doc, row, number)
        return None, found
    size = pixel_size(frame)
    length = _span(points)
    closing = max(CLOSING_PX * size, CLOSING * length)
    joined = tuple(bool(np.linalg.norm(points[0][end] - points[1][end]) <= closing) for end in (0, -1))
    for end, name in ((0, "stern"), (-1, "bow")):
        apart = float(points[0][end, 0] - points[1][end, 0])
        if abs(apart) > max(closing, 0.01 * length):
            factor = doc.length / length if doc.length is not None else 1.0
            found.append(
                Advice(
                    what=f"At the {name} the upper and the lower edge end {shown(abs(apart) * factor, 'length')} "
                    f"apart along the hull, at pixels ({curves[0].points[end][0]:.0f}, "
                    f"{curves[0].points[end][1]:.0f}) and ({curves[1].points[end][0]:.0f}, "
                    f"{curves[1].points[end][1]:.0f}).",
                    todo=f"Trace both to the {name}'s outermost point.",
                    key=dotted(("view", side, "curve", lower, "points")),
                )
            )
    top = halves[0][0]
    numbers = [number for row, number in halves if row == top][:2]
    for number in numbers:
        found += _top_backward(doc, top, number)
    if any(entry.severity == "error" for entry in found):
        return None, found
    view = doc.views[top]
    top_frame = framed(view, PLAIN, top_ends(view))
    sides = [top_frame.lengths(PLAIN(view.curves[number].points))[0] for number in numbers]
    top_mirrored = False
    if len(sides) == 2:
        if _mean_height(sides[0]) < _mean_height(sides[1]):
            numbers, sides = numbers[::-1], sides[::-1]
    else:
        top_mirrored = bool(_mean_height(sides[0]) < 0.0)
    top_size = pixel_size(top_frame)
    top_closing = max(CLOSING_PX * top_size, CLOSING * _span(sides))
    if len(sides) == 2:
        ends = [abs(sides[0][end, 1] - sides[1][end, 1]) for end in (0, -1)]
    else:
        ends = [abs(sides[0][end, 1]) for end in (0, -1)]
    closed = (bool(ends[0] <= top_closing), bool(ends[1] <= top_closing))
    corners = [
        float((line[corner, 0] - min(p[0, 0] for p in group)) / _span(group))
        for owner, group, picked in (
            (side, points, (upper, lower)),
            (top, sides, tuple(numbers)),
        )
        for line, number in zip(group, picked, strict=True)
        for corner in doc.views[owner].curves[number].corners
    ]
    places, told = _sections(doc, usable, length if doc.length is None else doc.length)
    found += told
    shares = station_shares(
        STATIONS, [share for share in (*corners, *(place.share for place in places)) if 0.0 < share < 1.0]
    )
    plan = HullPlan(
        doc=doc,
        side=side,
        top=top,
        upper=upper,
        lower=lower,
        halves=tuple(numbers),
        side_mirrored=mirrored,
        top_mirrored=top_mirrored,
        joined=(joined[0], joined[1]),
        closed=closed,
        shares=shares,
        sections=tuple(places),
    )
    return plan, found


def _mean_height(points: Array) -> float:
    """Mean of the second coordinate along a curve (n, 2) by its run along the first."""
    run = float(points[-1, 0] - points[0, 0])
    return float(np.trapezoid(points[:, 1], points[:, 0]) / run) if run != 0.0 else float(points[:, 1].mean())


def _span(group: list[Array]) -> float:
    return float(max(p[-1, 0] for p in group) - min(p[0, 0] for p in group))


def _top_backward(doc: TraceDoc, row: int, number: int) -> list[Advice]:
    view = doc.views[row]
    frame = framed(view, PLAIN, top_ends(view))
    curve = view.curves[number]
    return _backward(doc, (row, number), curve, frame, frame.lengths(PLAIN(curve.points))[0])


def _backward(
    doc: TraceDoc, place: tuple[int, int], curve: TracedCurve, frame: PictureFrame, line: Array
) -> list[Advice]:
    """Advice on points that run from bow to stern."""
    view = doc.views[place[0]]
    word = ROLE_WORDS[curve.role]
    key = dotted(("view", place[0], "curve", place[1], "points"))
    steps = np.diff(line[:, 0])
    if line[-1, 0] <= line[0, 0]:
        return [
            Advice(
                what=f'The {word} in "{view.name}" runs from bow to stern, seen along the level line.',
                todo="Turn its points round, or set the level line from stern to bow.",
                key=key,
                given=f"from pixel ({curve.points[0][0]:.0f}, {curve.points[0][1]:.0f}) to "
                f"({curve.points[-1][0]:.0f}, {curve.points[-1][1]:.0f})",
            )
        ]
    back = np.flatnonzero(steps < -BACKWARD_PX * pixel_size(frame))
    told = []
    for k in back:
        along = float(line[k + 1, 0] - line[0, 0])
        in_mm = f", {shown(along, 'length')} from its first point" if view.scale is not None else ""
        told.append(
            Advice(
                what=f'The {word} in "{view.name}" runs backwards at pixel ({curve.points[k + 1][0]:.0f}, '
                f"{curve.points[k + 1][1]:.0f}){in_mm}: point {k + 2} lies behind point {k + 1}.",
                todo="Put the points into their order from stern to bow, or take the stray one out.",
                key=f"{key}[{k + 2}]",
            )
        )
    return told


def _sections(
    doc: TraceDoc, usable: Callable[..., bool], length: float
) -> tuple[list[SectionPlace], list[Advice]]:
    """The sections that can be used, in order from the stern, and advice on the others."""
    found: list[Advice] = []
    places: list[SectionPlace] = []
    stated: list[tuple[int, float]] = []
    for row, view in enumerate(doc.views):
        if view.kind != "section" or view.at is None or not usable(row):
            continue
        share = view.at / length if doc.measured_from == "stern" else 1.0 - view.at / length
        key = dotted(("view", row, "at"))
        if not 0.0 <= share <= 1.0:
            found.append(
                Advice(
                    what=f'The section "{view.name}" stands outside the hull.',
                    todo=f"Correct its place, counted from the {doc.measured_from}, or the scale.",
                    key=key,
                    given=shown(view.at, "length"),
                    allowed=f"0 to {shown(length, 'length')}",
                )
            )
            continue
        stated.append((row, view.at))
        for number, curve in enumerate(view.curves):
            if curve.role == "section" and not curve.body and usable(row, number):
                place, told = _section(doc, row, number, share)
                found += told
                places += [place] if place is not None else []
                break
    rising = len(stated) < 2 or stated[1][1] >= stated[0][1]
    for (_, before), (row, at) in itertools.pairwise(stated):
        if at == before or (at > before) != rising:
            found.append(
                Advice(
                    what=f'The section "{doc.views[row].name}" is out of order: it stands at '
                    f"{shown(at, 'length')}, after one at {shown(before, 'length')}.",
                    todo="Put the sections into their order along the hull, each at its own place.",
                    key=dotted(("view", row, "at")),
                    given=shown(at, "length"),
                )
            )
    if any("out of order" in entry.what for entry in found):
        places = []
    return sorted(places, key=lambda place: place.share), found


def _section(doc: TraceDoc, row: int, number: int, share: float) -> tuple[SectionPlace | None, list[Advice]]:
    view = doc.views[row]
    curve = view.curves[number]
    frame = framed(view)
    line = frame.lengths(PLAIN(curve.points))[0]
    upturned = bool(line[-1, 1] < line[0, 1])
    points = section_points(view, curve, PLAIN, upturned, False)[0]
    starboard = bool(points[:, 0].mean() < 0.0)
    points = section_points(view, curve, PLAIN, upturned, starboard)[0]
    size = pixel_size(frame)
    key = dotted(("view", row, "curve", number, "points"))
    back = np.flatnonzero(np.diff(points[:, 1]) < -BACKWARD_PX * size)
    if len(back):
        k = int(back[0])
        return None, [
            Advice(
                what=f'The section "{view.name}" runs backwards at pixel ({curve.points[k + 1][0]:.0f}, '
                f"{curve.points[k + 1][1]:.0f}), {shown(float(points[k + 1, 1]), 'length')} over its keel: point "
                f"{k + 2} lies below point {k + 1}.",
                todo="Put the points into their order from keel to top, or take the stray one out.",
                key=f"{key}[{k + 2}]",
            )
        ]
    closing = max(CLOSING_PX * size, 0.01 * float(np.abs(points[:, 0]).max()))
    closed = (bool(abs(points[0, 0]) <= closing), bool(abs(points[-1, 0]) <= closing))
    return SectionPlace(row, number, share, upturned, starboard, closed), []

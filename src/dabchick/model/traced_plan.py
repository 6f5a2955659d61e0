"""Which curve of a trace is which part of the hull and how her ends close, decided once from the points as they are."""

import itertools
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice
from dabchick.model.keys import dotted, path_of
from dabchick.model.trace import TracedCurve, TraceDoc
from dabchick.model.trace_mistakes import ROLE_WORDS
from dabchick.model.traced_hull import (
    CLOSING,
    CLOSING_PX,
    HullPlan,
    SectionPlace,
    pixel_size,
    section_points,
    top_ends,
)
from dabchick.model.traced_views import PLAIN, framed
from dabchick.model.units import shown
from dabchick.physics.picture_scale import PictureFrame
from dabchick.physics.traced_form import (
    STATIONS,
    station_shares,
)

Array = NDArray[np.float64]

BACKWARD_PX = 4.0
"""A point may lie this far behind the one before it, as on an upright end."""


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

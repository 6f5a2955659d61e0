"""The separate bodies of a trace: sail, casing, fins and planes as closed meshes beside the hull."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice
from dabchick.model.keys import dotted, path_of
from dabchick.model.trace import TracedBodyKind, TracedBodyTable, TracedCurve
from dabchick.model.traced_hull import CLOSING_PX, HullPlan, HullReading, pixel_size
from dabchick.model.traced_views import Mark, Reader
from dabchick.model.units import shown
from dabchick.physics.picture_scale import PictureFrame
from dabchick.physics.traced_body import (
    GAP,
    Mesh,
    Upright,
    hull_half_breadth,
    mesh_area,
    mesh_volume,
    mirrored_mesh,
    plate_mesh,
    spans_over,
    upright_mesh,
)
from dabchick.physics.traced_form import FormGrid, cosine_shares, faired_lines, heights_over

Array = NDArray[np.float64]

STATIONS = 33
PLAN_EXPONENTS = {"sail": 2.0, "fin": 2.0, "casing": 6.0}
"""Superellipse in which a body of stated breadth is drawn from above: pointed oval, or nearly a box."""
_ORDER = {"casing": 0, "sail": 1, "fin": 2, "plane": 3}


@dataclass(frozen=True, eq=False)
class TracedBody:
    """One separate body, closed, in the hull's frame: x from its stern, y to port, z from its keel."""

    name: str
    kind: TracedBodyKind
    meshes: tuple[Mesh, ...]
    """One, or for planes port and starboard."""
    volume_m3: float
    area_m2: float
    volume_spread: float
    """One standard deviation as a share of the volume, from the noise of tracing."""
    area_spread: float
    assumptions: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class _Outline:
    """A body over stations, in d readings."""

    x: Array
    """(d, k) from the hull's stern"""
    low: Array
    high: Array


def traced_bodies(
    plan: HullPlan, reading: HullReading, faults: list[Advice], noisy: tuple[HullReading, Reader] | None
) -> tuple[list[TracedBody], list[Advice]]:
    """The bodies that can be drawn, and advice on the others; `noisy` gives the readings for their spreads."""
    bodies: list[TracedBody] = []
    found: list[Advice] = []
    wrong = {path_of(entry.key)[:4] for entry in faults if entry.severity == "error"}
    uprights: list[Upright] = []
    # The lower ones first: a sail stands on a casing, and planes may stand out from a sail.
    for row, body in sorted(enumerate(plan.doc.bodies), key=lambda pair: (_ORDER[pair[1].kind], pair[0])):
        names = [
            ("view", view, "curve", number)
            for view, owner in enumerate(plan.doc.views)
            for number, curve in enumerate(owner.curves)
            if curve.body == body.name
        ]
        if any(path in wrong for path in names) or any(path[:2] == ("body", row) for path in wrong):
            continue
        key = dotted(("body", row))
        try:
            made = _made(plan, reading, body, noisy, uprights)
        except ValueError as reason:
            what, _, todo = str(reason).partition(". ")
            found.append(Advice(what=f"{what}.", todo=todo or "Check its points.", key=key))
            continue
        if made is None:
            found.append(
                Advice(
                    what=f'The {body.kind} "{body.name}" lies wholly inside the hull.',
                    todo="Check its place in both views.",
                    key=key,
                )
            )
        else:
            bodies.append(made)
    order = [body.name for body in plan.doc.bodies]
    return sorted(bodies, key=lambda made: order.index(made.name)), found


def _curves(plan: HullPlan, kind: str, body: str) -> dict[str, list[TracedCurve]]:
    """A body's curves by role, from the view that shows the hull's own edges. Raises ValueError otherwise."""
    own = plan.side if kind == "side" else plan.top
    found: dict[str, list[TracedCurve]] = {}
    for row, view in enumerate(plan.doc.views):
        for curve in view.curves:
            if curve.body == body and view.kind == kind:
                if row != own:
                    raise ValueError(
                        f'"{body}" has been traced in "{view.name}", which does not show the hull\'s edges, so its '
                        f'place is not known. Trace it in "{plan.doc.views[own].name}".'
                    )
                found.setdefault(curve.role, []).append(curve)
    return found


def _points(
    curve: TracedCurve, frame: PictureFrame, zero: Array, reader: Reader, pixels: Mark | None = None
) -> Array:
    return np.asarray(frame.lengths(reader(pixels or curve.points)) - zero[:, None])


def _all_round(curve: TracedCurve, frame: PictureFrame, zero: Array, reader: Reader) -> _Outline:
    """A closed outline over cosine-spaced stations from its least to its greatest x."""
    points = _points(curve, frame, zero, reader, curve.all_round)
    points[:, -1] = points[:, 0]
    lines = faired_lines(points, curve.corners)
    least, most = points[:, :, 0].min(axis=1), points[:, :, 0].max(axis=1)
    x = least[:, None] + (most - least)[:, None] * cosine_shares(STATIONS)
    # A hair inside the ends, so that an upright end counts with its whole height whichever way it rounds.
    hair = 1e-6 * (most - least)[:, None]
    inside = np.clip(x, x[:, :1] + hair, x[:, -1:] - hair)
    spans = [spans_over(line, row) for line, row in zip(lines, inside, strict=True)]
    return _Outline(x, np.array([low for low, _ in spans]), np.array([high for _, high in spans]))


def _side(plan: HullPlan, reading: HullReading, body: str, reader: Reader) -> _Outline:
    curves = _curves(plan, "side", body)
    frame, zero = reading.side_frame, reading.side_zero
    if "outline" in curves:
        return _all_round(curves["outline"][0], frame, zero, reader)
    ends, lines = [], []
    for role in ("lower", "upper"):
        points = _points(curves[role][0], frame, zero, reader)
        ends.append((points[:, 0, 0], points[:, -1, 0]))
        lines.append(faired_lines(points, curves[role][0].corners))
    first = np.minimum(ends[0][0], ends[1][0])
    last = np.maximum(ends[0][1], ends[1][1])
    if (last <= first).any():
        raise ValueError(f'The edges of "{body}" run from bow to stern. Turn their points round.')
    x = first[:, None] + (last - first)[:, None] * cosine_shares(STATIONS)
    low, high = (heights_over(line, x) for line in lines)
    return _Outline(x, np.minimum(low, high), high)


def _top(plan: HullPlan, reading: HullReading, body: str, reader: Reader) -> _Outline | None:
    """Half-breadths, `low` to `high`, from above; None where the body was not traced there."""
    curves = _curves(plan, "top", body)
    frame, zero = reading.top_frame, reading.top_zero
    if "outline" in curves:
        return _all_round(curves["outline"][0], frame, zero, reader)
    if "half_breadth" not in curves:
        return None
    sides, xs = [], []
    for curve in curves["half_breadth"][:2]:
        points = _points(curve, frame, zero, reader)
        if float(points[0, :, 1].mean()) < 0.0:
            points = points * np.array([1.0, -1.0])
        for end in (0, -1):
            if abs(float(points[0, end, 1])) <= CLOSING_PX * pixel_size(frame):
                points[:, end, 1] = 0.0
        if (points[:, -1, 0] <= points[:, 0, 0]).any():
            raise ValueError(f'The half-breadth of "{body}" runs from bow to stern. Turn its points round.')
        x = points[:, :1, 0] + (points[:, -1:, 0] - points[:, :1, 0]) * cosine_shares(STATIONS)
        half = np.maximum(heights_over(faired_lines(points, curve.corners), x), 0.0)
        for end in (0, -1):
            half[:, end] = points[:, end, 1]
        sides.append(half)
        xs.append(x)
    half = np.mean(sides, axis=0)
    return _Outline(np.mean(xs, axis=0), -half, half)


def _made(
    plan: HullPlan,
    reading: HullReading,
    body: TracedBodyTable,
    noisy: tuple[HullReading, Reader] | None,
    uprights: list[Upright],
) -> TracedBody | None:
    plain = Reader()
    draw = _planes if body.kind == "plane" else _upright
    made = draw(plan, reading, body, plain)
    meshes, said = made.meshes(reading.grid, uprights)
    if not meshes:
        return None
    volume_spread = area_spread = float("nan")
    if noisy is not None:
        volumes, areas = draw(plan, noisy[0], body, noisy[1]).sums()
        plain_volume, plain_area = (float(value[0]) for value in made.sums())
        volume_spread = float(np.sqrt(np.mean((volumes / plain_volume - 1.0) ** 2)))
        area_spread = float(np.sqrt(np.mean((areas / plain_area - 1.0) ** 2)))
    return TracedBody(
        name=body.name,
        kind=body.kind,
        meshes=meshes,
        volume_m3=sum(mesh_volume(mesh) for mesh in meshes),
        area_m2=sum(mesh_area(mesh) for mesh in meshes),
        volume_spread=volume_spread,
        area_spread=area_spread,
        assumptions=said,
    )


@dataclass(frozen=True, eq=False)
class _Upright:
    body: TracedBodyTable
    side: _Outline
    half: Array
    said: tuple[str, ...]

    def sums(self) -> tuple[Array, Array]:
        tall = self.side.high - self.side.low
        volume = np.trapezoid(2.0 * self.half * tall, self.side.x, axis=1)
        area = np.trapezoid(2.0 * tall + 4.0 * self.half, self.side.x, axis=1)
        return np.asarray(volume), np.asarray(area)

    def meshes(self, hull: FormGrid, uprights: list[Upright]) -> tuple[tuple[Mesh, ...], tuple[str, ...]]:
        x, low, high = self.side.x[0], self.side.low[0], self.side.high[0]
        keel, deck = (np.interp(x, hull.x[0], line[0]) for line in (hull.lower, hull.upper))
        beside = (x <= 0.0) | (x >= hull.x[0, -1])
        gap = GAP * float(hull.x[0, -1])
        if bool(((low < keel - gap) & (high > deck + gap) & ~beside)[1:-1].any()):
            raise ValueError(
                f'The {self.body.kind} "{self.body.name}" runs right through the hull. Trace what stands above it and '
                "what hangs below it as two bodies."
            )
        above = bool(np.mean(0.5 * (low + high) >= 0.5 * (keel + deck)) >= 0.5)
        mesh = upright_mesh(x, low, high, self.half[0], hull, above, uprights)
        uprights.append(Upright(x, low, high, self.half[0]))
        ends = f"{self.body.name}: where it meets the hull it ends {shown(gap, 'length')} short of it"
        return ((mesh,) if mesh is not None else ()), (*self.said, ends)


def _upright(plan: HullPlan, reading: HullReading, body: TracedBodyTable, reader: Reader) -> _Upright:
    side = _side(plan, reading, body.name, reader)
    top = _top(plan, reading, body.name, reader)
    said = [f"{body.name}: its sides stand upright and its edges are square"]
    share = cosine_shares(STATIONS)
    if top is None:
        breadth = body.breadth if body.breadth is not None else body.thickness
        power = PLAN_EXPONENTS[body.kind]
        oval = np.maximum(1.0 - np.abs(2.0 * share - 1.0) ** power, 0.0) ** (1.0 / power)
        half = np.broadcast_to(0.5 * float(breadth or 0.0) * oval, side.x.shape)
        said.append(
            f"{body.name}: from above a superellipse of exponent {power:g}, "
            f"{shown(float(breadth or 0.0), 'length')} broad"
        )
        return _Upright(body, side, np.asarray(half), tuple(said))
    own, other = (float(line.x[0, -1] - line.x[0, 0]) for line in (side, top))
    room = max(0.01 * float(reading.grid.x[0, -1]), 6.0 * pixel_size(reading.top_frame))
    if abs(own - other) > room:
        raise ValueError(
            f'The {body.kind} "{body.name}" is {shown(own, "length")} long from the side and {shown(other, "length")} '
            "from above. Trace it from end to end in both views."
        )
    return _Upright(body, side, np.maximum(0.5 * (top.high - top.low), 0.0), tuple(said))


@dataclass(frozen=True, eq=False)
class _Planes:
    body: TracedBodyTable
    top: _Outline
    height: Array

    def sums(self) -> tuple[Array, Array]:
        area = np.trapezoid(self.top.high - self.top.low, self.top.x, axis=1)
        return np.asarray(area * float(self.body.thickness or 0.0)), np.asarray(2.0 * area)

    def meshes(self, hull: FormGrid, uprights: list[Upright]) -> tuple[tuple[Mesh, ...], tuple[str, ...]]:
        x, inner, outer = self.top.x[0], self.top.low[0].copy(), self.top.high[0]
        middle, thick = float(self.height[0]), float(self.body.thickness or 0.0)
        gap = GAP * float(hull.x[0, -1])
        inner = np.maximum(
            inner, hull_half_breadth(hull, x, middle - 0.5 * thick, middle + 0.5 * thick) + gap
        )
        for other in uprights:
            low, high, half = (
                np.interp(x, other.x, line, np.nan, np.nan) for line in (other.lower, other.upper, other.half)
            )
            level = (middle + 0.5 * thick + gap > low) & (middle - 0.5 * thick - gap < high)
            inner = np.where(level, np.maximum(inner, half + gap), inner)
        free = np.flatnonzero(outer - inner > 0.1 * gap)
        if len(free) < 3:
            return (), ()
        first, last = free[0], free[-1]
        if not (outer - inner > 0.1 * gap)[first : last + 1].all():
            raise ValueError(
                f'The hull cuts the planes "{self.body.name}" in two. Trace each half as a body of its own.'
            )
        keep = slice(max(int(first) - int(first == 1), 0), int(last) + 1 + int(last == len(x) - 2))
        port = plate_mesh(x[keep], inner[keep], np.maximum(inner, outer)[keep], middle, thick)
        said = (
            f"{self.body.name}: level plates of even thickness, alike to port and starboard",
            f"{self.body.name}: where they meet the hull they end {shown(gap, 'length')} short of it",
        )
        return (port, mirrored_mesh(port)), said


def _planes(plan: HullPlan, reading: HullReading, body: TracedBodyTable, reader: Reader) -> _Planes:
    top = _top(plan, reading, body.name, reader)
    if top is None:
        raise ValueError(f'The planes "{body.name}" have no outline from above. Trace one in the top view.')
    if float(np.nanmean(top.high[0] + top.low[0])) < 0.0:
        top = _Outline(top.x, -top.high, -top.low)
    if body.height is not None:
        height = np.full(reader.count, body.height)
    else:
        side = _side(plan, reading, body.name, reader)
        height = np.nanmean(0.5 * (side.low + side.high), axis=1)
    return _Planes(body, top, height)

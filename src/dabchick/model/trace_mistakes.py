"""What must fit together in a trace, as far as it can be told without drawing the form; all at once."""

from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np

from dabchick.model.advice import Advice
from dabchick.model.keys import dotted
from dabchick.model.reading import given
from dabchick.model.trace import Pixel, Role, TracedCurve, TraceDoc, TracedView
from dabchick.model.traced_views import framed

ROLES: Final[dict[str, tuple[Role, ...]]] = {
    "side": ("upper", "lower", "outline"),
    "top": ("half_breadth", "outline"),
    "section": ("section",),
}
FEW_POINTS: Final = 8
"""A hull's edge through fewer points is mostly the spline's own idea."""
ROLE_WORDS: Final[dict[Role, str]] = {
    "upper": "upper edge",
    "lower": "lower edge",
    "half_breadth": "half-breadth",
    "section": "section",
    "outline": "outline",
}


def trace_mistakes(doc: TraceDoc, pictures: Mapping[str, tuple[int, int]] | None = None) -> list[Advice]:
    """Advice on everything that is missing or contradicts itself; `pictures` gives the size of each in pixels."""
    found = [*_names(doc), *_form(doc), *_hull(doc), *_bodies(doc)]
    for row, view in enumerate(doc.views):
        found += _view(doc, view, dotted(("view", row)), pictures)
        for number, curve in enumerate(view.curves):
            found += _curve(doc, view, curve, dotted(("view", row, "curve", number)), pictures)
    return found


def _names(doc: TraceDoc) -> Iterator[Advice]:
    for key, rows in (("view", doc.views), ("body", doc.bodies)):
        names = [row.name for row in rows]
        for row, name in enumerate(names):
            if name in names[:row]:
                yield Advice(
                    what=f'The name "{name}" is taken already by another {key}.',
                    todo="Give every one its own name.",
                    key=dotted((key, row, "name")),
                    given=given(name),
                )


def _form(doc: TraceDoc) -> Iterator[Advice]:
    shape = doc.section
    if shape.form == "superellipse" and not shape.exponents:
        yield Advice(
            what="A superellipse needs its exponents.",
            todo="Add exponents = [[0, 2], [0.5, 2.6], [1, 2]]: share of the length from the stern, exponent.",
            key="section.exponents",
        )
    if shape.form != "superellipse" and shape.exponents:
        yield Advice(
            what=f'Exponents go with a superellipse, but the form is "{shape.form}".',
            todo='Write form = "superellipse", or take the exponents out.',
            key="section.exponents",
        )
    if shape.form == "blended" and not any(view.kind == "section" for view in doc.views):
        yield Advice(
            what="Sections are to be blended, but none has been traced.",
            todo='Trace one or more sections, or write form = "ellipse".',
            key="section.form",
            given=given(shape.form),
        )


def _hull(doc: TraceDoc) -> Iterator[Advice]:
    for kind, roles in (("side", ("upper", "lower")), ("top", ("half_breadth",))):
        rows = [row for row, view in enumerate(doc.views) if view.kind == kind]
        owners = {
            role: [
                (row, number)
                for row in rows
                for number, curve in enumerate(doc.views[row].curves)
                if curve.role == role and not curve.body
            ]
            for role in roles
        }
        for role, places in owners.items():
            word = ROLE_WORDS[role]  # type: ignore[index]
            if not places:
                yield Advice(
                    what=f"The hull's {word} has not been traced, so the plan has no {kind} view of it."
                    if not rows or kind == "top"
                    else f"The hull's {word} has not been traced.",
                    todo=f"Trace it in a {kind} view, from stern to bow.",
                    key=dotted(("view", rows[0])) if rows else "view",
                )
            most = 2 if role == "half_breadth" else 1
            for row, number in places[most:]:
                yield Advice(
                    what=f"The hull's {word} has been traced more than {'twice' if most == 2 else 'once'}.",
                    todo="Keep the best of them."
                    if most == 1
                    else "Keep one, or one to port and one to starboard.",
                    key=dotted(("view", row, "curve", number)),
                )
        seen = {row for places in owners.values() for row, _ in places}
        if len(seen) > 1:
            yield Advice(
                what=f"The hull's edges have been traced in {len(seen)} {kind} views.",
                todo=f"Trace them in one {kind} view, so that they share one scale.",
                key=dotted(("view", max(seen))),
            )


def _bodies(doc: TraceDoc) -> Iterator[Advice]:
    for row, body in enumerate(doc.bodies):
        key = dotted(("body", row))
        curves = [
            (view.kind, curve.role) for view in doc.views for curve in view.curves if curve.body == body.name
        ]
        side = {role for kind, role in curves if kind == "side"}
        top = {role for kind, role in curves if kind == "top"}
        from_side = "outline" in side or {"upper", "lower"} <= side
        if body.kind == "plane":
            if "outline" not in top:
                yield Advice(
                    what=f'The planes "{body.name}" have no outline in a top view.',
                    todo="Trace one of them all round in the top view.",
                    key=key,
                )
            if body.thickness is None:
                yield Advice(
                    what=f'Nothing says how thick the planes "{body.name}" are.',
                    todo='Add thickness = "4 mm".',
                    key=f"{key}.thickness",
                )
            if body.height is None and not side:
                yield Advice(
                    what=f'Nothing says how high the planes "{body.name}" stand.',
                    todo='Add height = "40 mm", their middle over the keel, or trace them in the side view.',
                    key=f"{key}.height",
                )
            continue
        if not from_side:
            yield Advice(
                what=f'The {body.kind} "{body.name}" has neither an outline nor both edges in a side view.',
                todo="Trace it in the side view: all round, or its upper and its lower edge.",
                key=key,
            )
        if body.breadth is None and body.thickness is None and not top:
            yield Advice(
                what=f'Nothing says how broad the {body.kind} "{body.name}" is.',
                todo='Add breadth = "24 mm", or trace its half-breadth in the top view.',
                key=f"{key}.breadth",
            )
    for name, kind in {(curve.body, view.kind) for view in doc.views for curve in view.curves if curve.body}:
        if sum(view.kind == kind and any(c.body == name for c in view.curves) for view in doc.views) > 1:
            yield Advice(
                what=f'"{name}" has been traced in two {kind} views.',
                todo="Keep one of them, the one that shows the hull's edges too.",
                key="view",
            )


def _view(
    doc: TraceDoc, view: TracedView, key: str, pictures: Mapping[str, tuple[int, int]] | None
) -> Iterator[Advice]:
    if pictures is not None and view.picture and view.picture not in pictures:
        yield Advice(
            what=f"The picture {view.picture} is not there; the trace holds without it.",
            todo="Put it into the boat's folder to see the trace on it.",
            key=f"{key}.picture",
            given=given(view.picture),
            allowed=", ".join(sorted(pictures)),
            severity="warning",
        )
    if view.kind == "section" and view.at is None:
        yield Advice(
            what=f'Nothing says where along the hull the section "{view.name}" stands.',
            todo=f'Add at = "450 mm", measured from the hull\'s {doc.measured_from}.',
            key=f"{key}.at",
        )
    if view.kind != "section" and view.at is not None:
        yield Advice(
            what=f'"at" goes with a section, but "{view.name}" is a {view.kind} view.',
            todo="Take it out.",
            key=f"{key}.at",
        )
    if view.curves and view.scale is None and (doc.length is None or view.kind == "section"):
        yield Advice(
            what=f'The view "{view.name}" has no scale.'
            if view.scale_mark is None
            else f'The scale of the view "{view.name}" has no length.',
            todo="Mark two points whose true distance you know, as far apart as you can, and give that distance."
            if view.scale_mark is None
            else 'Give the true distance of its two points, such as length = "300 mm".',
            key=f"{key}.scale",
        )
    try:
        framed(view)
    except ValueError as reason:
        what, _, todo = str(reason).partition(". ")
        name = next((mark for mark in ("square", "scale", "level") if mark in what.lower()), "level")
        mark = getattr(view, name)
        yield Advice(
            what=f'In the view "{view.name}": {what[0].lower()}{what[1:]}.',
            todo=todo,
            key=f"{key}.{name}",
            given=f"pixels {_pixel(mark.start)} and {_pixel(mark.end)}" if mark is not None else "",
        )
    if view.level is not None and view.bow is not None and view.kind != "section":
        across = view.level.end[0] - view.level.start[0]
        if across != 0.0 and (across > 0.0) != (view.bow == "right"):
            yield Advice(
                what=f'In "{view.name}" the bow is said to be on the {view.bow}, but the level line runs '
                "the other way.",
                todo="Set its two points from stern to bow, or correct the side.",
                key=f"{key}.level",
                given=f"from {_pixel(view.level.start)} to {_pixel(view.level.end)}",
            )


def _curve(
    doc: TraceDoc,
    view: TracedView,
    curve: TracedCurve,
    key: str,
    pictures: Mapping[str, tuple[int, int]] | None,
) -> Iterator[Advice]:
    word = ROLE_WORDS[curve.role]
    if curve.role not in ROLES[view.kind]:
        yield Advice(
            what=f"A {view.kind} view shows no {word}.",
            todo="Choose another role, or move the curve to the right view.",
            key=f"{key}.role",
            given=given(curve.role),
            allowed=", ".join(f'"{role}"' for role in ROLES[view.kind]),
        )
    if curve.role == "outline" and not curve.body:
        yield Advice(
            what="An outline all round belongs to a separate body; the hull has edges.",
            todo="Trace the hull's upper and lower edge from stern to bow, or name the body.",
            key=f"{key}.role",
        )
    names = [body.name for body in doc.bodies]
    if curve.body and curve.body not in names:
        yield Advice(
            what=f'There is no [[body]] called "{curve.body}".',
            todo="Correct the name, or add that body with its kind.",
            key=f"{key}.body",
            given=given(curve.body),
            allowed=", ".join(f'"{name}"' for name in names) or "there are no bodies yet",
        )
    if curve.body and view.kind == "section":
        yield Advice(
            what="A section belongs to the hull, not to a separate body.",
            todo="Take `body` out.",
            key=f"{key}.body",
            given=given(curve.body),
        )
    yield from _points(view, curve, key, pictures)


def least_points(curve: TracedCurve) -> int:
    """How many points a curve needs: a straight edge of a separate body two, all others three."""
    return 2 if curve.body and curve.role != "outline" else 3


def _points(
    view: TracedView, curve: TracedCurve, key: str, pictures: Mapping[str, tuple[int, int]] | None
) -> Iterator[Advice]:
    word, count = ROLE_WORDS[curve.role], len(curve.points)
    least = least_points(curve)
    if count < least:
        yield Advice(
            what=f'The {word} in "{view.name}" has too few points.',
            todo="Set more along it, closer together where it bends.",
            key=f"{key}.points",
            given=f"{count}",
            allowed=f"{least} or more",
        )
    elif count < FEW_POINTS and not curve.body:
        yield Advice(
            what=f'The {word} in "{view.name}" has only {count} points; between them the curve is a guess, '
            "which the bands do not hold.",
            todo="Set 25 to 40, closer together where it bends.",
            key=f"{key}.points",
            severity="warning",
        )
    doubled = [number for number in range(1, count) if curve.points[number] == curve.points[number - 1]]
    for number in doubled:
        yield Advice(
            what=f"Two points in a row of the {word} lie at pixel {_pixel(curve.points[number])}.",
            todo="Take one of them out.",
            key=f"{key}.points[{number + 1}]",
        )
    for number, corner in enumerate(curve.corners):
        if not 0 <= corner < max(count, 1):
            yield Advice(
                what=f"There is no point {corner} to be a corner.",
                todo="Points are counted from 0.",
                key=f"{key}.corners[{number + 1}]",
                given=f"{corner}",
                allowed=f"0 to {count - 1}",
            )
    size = (pictures or {}).get(view.picture)
    if size is not None:
        off = [p for p in curve.points if not (0.0 <= p[0] <= size[0] and 0.0 <= p[1] <= size[1])]
        if off:
            yield Advice(
                what=f"{len(off)} points of the {word} lie beside the picture, the first at pixel {_pixel(off[0])}.",
                todo="See that the trace belongs to this picture.",
                key=f"{key}.points",
                allowed=f"0 to {size[0]} and 0 to {size[1]}",
                severity="warning",
            )
    crossing = None if doubled else _crossing(curve)
    if crossing is not None:
        first, second, place = crossing
        yield Advice(
            what=f'The {word} in "{view.name}" crosses itself at pixel {_pixel(place)}{_in_mm(view, place)}: '
            f"between points {first + 1} and {first + 2}, and again between {second + 1} and {second + 2}.",
            todo="Put the points into their order along the edge, or take the stray one out.",
            key=f"{key}.points[{second + 1}]",
        )


def _in_mm(view: TracedView, place: Pixel) -> str:
    """The place from the first point of the view's level line, along it and square to it."""
    if view.scale is None:
        return ""
    try:
        frame = framed(view)
    except ValueError:
        return ""  # told already, with the mark that is wrong
    along, across = frame.lengths(np.array([[place]]))[0, 0] * 1000.0
    return f" ({along:.1f} mm along the level line from its first point, {abs(across):.1f} mm off it)"


def _crossing(curve: TracedCurve) -> tuple[int, int, Pixel] | None:
    """The first two straight sides between points, not next to each other, that cross, and where."""
    whole = curve.all_round if curve.role == "outline" else curve.points
    points = np.array(whole, np.float64).reshape(-1, 2)
    start, step = points[:-1], np.diff(points, axis=0)
    count = len(step)
    if count < 3:
        return None
    one, two = np.triu_indices(count, 2)
    if curve.role == "outline":
        apart = ~((one == 0) & (two == count - 1))
        one, two = one[apart], two[apart]
    between = start[two] - start[one]
    turn = step[one, 0] * step[two, 1] - step[one, 1] * step[two, 0]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        s = (between[:, 0] * step[two, 1] - between[:, 1] * step[two, 0]) / turn
        t = (between[:, 0] * step[one, 1] - between[:, 1] * step[one, 0]) / turn
    hits = np.flatnonzero((turn != 0.0) & (s >= 0.0) & (s <= 1.0) & (t >= 0.0) & (t <= 1.0))
    if not len(hits):
        return None
    first = int(hits[0])
    place = start[one[first]] + s[first] * step[one[first]]
    return int(one[first]), int(two[first]), (float(place[0]), float(place[1]))


def _pixel(point: Pixel) -> str:
    return f"({point[0]:.0f}, {point[1]:.0f})"

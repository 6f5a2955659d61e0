"""Trace files: reading with every mistake told at once, and writing tidily."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from dabchick.model.advice import Advice, BoatError
from dabchick.model.reading import advice_of
from dabchick.model.trace import KEY_EXAMPLES, Pixel, TracedBodyTable, TracedCurve, TraceDoc, TracedView
from dabchick.storage.locate import key_lines, located
from dabchick.storage.toml_content import content_of
from dabchick.storage.toml_words import toml_value

MOST_BYTES: Final = 4_000_000
"""More than a hundred thousand points; no plan is traced so finely by hand."""
POINTS_IN_A_ROW: Final = 6


def read_trace(path: Path) -> TraceDoc:
    """The trace in a file. Raises BoatError with every mistake in a single value, each with file and line."""
    return read_trace_text(trace_text_of(path), path)


def trace_text_of(path: Path) -> str:
    """A trace file's text. Raises BoatError when it cannot be read."""
    where = str(path)
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BoatError(
                Advice(
                    what="The file is too large for a trace.",
                    todo="See that it is the trace file and not a picture.",
                    where=where,
                    given=f"{path.stat().st_size} bytes",
                    allowed=f"up to {MOST_BYTES} bytes",
                )
            )
        return path.read_bytes().decode("utf-8-sig")
    except OSError as fault:
        raise BoatError(
            Advice(
                what=f"{path.name} cannot be read: {fault.strerror}.",
                todo="See that it lies in the boat's folder and that you may read it.",
                where=where,
            )
        ) from fault
    except UnicodeDecodeError as fault:
        raise BoatError(
            Advice(what="The file is not UTF-8 text.", todo="Save it as UTF-8 in your editor.", where=where)
        ) from fault


def read_trace_text(text: str, path: Path | str) -> TraceDoc:
    """The trace that a text describes; BoatError as of `read_trace`."""
    content = content_of(text, path)
    return trace_of(content, str(path), text)


def trace_of(content: Mapping[str, Any], where: str = "", text: str = "") -> TraceDoc:
    """The trace in plain tables. Raises BoatError with every mistake, placed by line where the text is given."""
    try:
        return TraceDoc.model_validate(content)
    except ValidationError as fault:
        advice = advice_of(fault, content, TraceDoc, KEY_EXAMPLES)
        raise BoatError(*(located(advice, where, key_lines(text)) if text else advice)) from fault


def trace_text(doc: TraceDoc) -> str:
    """The whole file for a trace: marks on a line each, points six in a row, lengths in millimetres."""
    lines = ["dabchick_trace = 1"]
    if doc.length is not None:
        lines.append(f"length = {_length(doc.length)}")
    lines += [f"measured_from = {toml_value(doc.measured_from)}", f"noise = {_number(doc.noise)}"]
    if doc.note:
        lines.append(f"note = {toml_value(doc.note)}")
    lines += ["", "[section]", f"form = {toml_value(doc.section.form)}"]
    if doc.section.exponents:
        rows = ", ".join(_pair(row) for row in doc.section.exponents)
        lines.append(f"exponents = [{rows}]")
    for view in doc.views:
        lines += ["", *_view(view)]
    for body in doc.bodies:
        lines += ["", *_body(body)]
    return "\n".join(lines) + "\n"


def _view(view: TracedView) -> list[str]:
    lines = ["[[view]]", f"name = {toml_value(view.name)}", f"kind = {toml_value(view.kind)}"]
    if view.picture:
        lines.append(f"picture = {toml_value(view.picture)}")
    if view.at is not None:
        lines.append(f"at = {_length(view.at)}")
    for name, mark in (("scale", view.scale_mark), ("level", view.level), ("square", view.square)):
        if mark is not None:
            length = getattr(mark, "length", None)
            after = f", length = {_length(length)}" if length is not None else ""
            lines.append(f"{name} = {{ from = {_pair(mark.start)}, to = {_pair(mark.end)}{after} }}")
    if view.bow is not None:
        lines.append(f"bow = {toml_value(view.bow)}")
    for curve in view.curves:
        lines += ["", *_curve(curve)]
    return lines


def _curve(curve: TracedCurve) -> list[str]:
    lines = ["[[view.curve]]"]
    if curve.name:
        lines.append(f"name = {toml_value(curve.name)}")
    lines.append(f"role = {toml_value(curve.role)}")
    if curve.body:
        lines.append(f"body = {toml_value(curve.body)}")
    rows = [
        ", ".join(_pair(point) for point in curve.points[k : k + POINTS_IN_A_ROW])
        for k in range(0, len(curve.points), POINTS_IN_A_ROW)
    ]
    lines += ["points = [", *(f"    {row}," for row in rows), "]"] if rows else ["points = []"]
    if curve.corners:
        lines.append(f"corners = {toml_value(list(curve.corners))}")
    return lines


def _body(body: TracedBodyTable) -> list[str]:
    lines = ["[[body]]", f"name = {toml_value(body.name)}", f"kind = {toml_value(body.kind)}"]
    for key, value in (("breadth", body.breadth), ("thickness", body.thickness), ("height", body.height)):
        if value is not None:
            lines.append(f"{key} = {_length(value)}")
    if not body.part_of_hull:
        lines.append("part_of_hull = false")
    return lines


def _length(value_m: float) -> str:
    return f'"{value_m * 1000.0:.10g} mm"'


def _pair(pair: Pixel) -> str:
    return f"[{_number(pair[0])}, {_number(pair[1])}]"


def _number(value: float) -> str:
    """Pixels to a thousandth, and always as a number with a point."""
    return repr(round(float(value), 3))

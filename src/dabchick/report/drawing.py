"""The drawing of the trim sheet: side and top view, pieces dimensioned from the builder's own datum."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from dabchick.model.vessel import Vector, Vessel
from dabchick.report import svg
from dabchick.report.builder_units import figure, short_length
from dabchick.report.key import key_strip
from dabchick.report.labels import Label, label_row, labelled
from dabchick.report.marks import (
    HAIR,
    THIN,
    State,
    balloon,
    buoyancy_mark,
    foam_box,
    gravity_mark,
    lead_box,
    wave,
)
from dabchick.report.palette import CHESTNUT, INK, PAPER, POND, SLATE
from dabchick.report.rulers import along_ruler, height_ruler
from dabchick.report.silhouettes import extent
from dabchick.report.views import (
    Frame,
    Outline,
    fixed_ballast,
    hull_shape,
    outlines,
    parts_shapes,
    round_scale,
)
from dabchick.studies.trim_result import TrimResult

WIDTH_MM: Final = 186.0
"""Between the margins of an upright A4 page."""
HEIGHT_MM: Final = 116.0
"""Most height; a long thin boat takes less."""

_LEFT, _RIGHT = 11.5, 6.5
_CAPTION, _LABELS, _ELBOW, _GAP, _RULER, _KEY = 4.0, 6.6, 2.6, 2.0, 4.2, 19.0
_FIXED: Final = _CAPTION + 2 * _LABELS + 2 * _ELBOW + 5 * _GAP + _RULER + _KEY
_GRID: Final = 5e-5
"""Rounding of outlines as a share of the boat's length: 0.01 mm on a page."""
_STRAY: Final = 0.5
"""How far beyond the hull a part is given room, over her larger breadth or height."""
_LEAST_ROOM: Final = 20.0
_LETTER: Final = 1.0
"""Mean width [mm] of a letter of the names, 2.4 mm italic."""
_STATES: Final[tuple[State, State]] = ("surfaced", "dived")
LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def drawing_svg(
    vessel: Vessel, result: TrimResult, *, width_mm: float = WIDTH_MM, height_mm: float = HEIGHT_MM
) -> str:
    """A standalone SVG of hull, parts, lead, foam, CG and CB with dimensions, bow right.

    `width_mm` wide and about `height_mm` high at most. Lengths and heights are counted from the builder's
    zeros, in the builder's units. Raises ValueError where the hull has no size.
    """
    scene = _scene(vessel, width_mm, height_mm)
    body = [
        svg.rectangle(0, 0, width_mm, scene.height, class_="paper", fill=PAPER),
        _side_view(vessel, result, scene),
        _top_view(vessel, result, scene),
        key_strip(vessel, result, scene.side.scale, scene.height - _KEY + 1.0, width_mm, _KEY - 1.0),
    ]
    head = svg.element("title", svg.words(f"Trim drawing of {vessel.name}"))
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + svg.element(
        "svg",
        head + "".join(body),
        xmlns="http://www.w3.org/2000/svg",
        version="1.1",
        width=f"{svg.mm(width_mm)}mm",
        height=f"{svg.mm(scene.height)}mm",
        viewBox=f"0 0 {svg.mm(width_mm)} {svg.mm(scene.height)}",
        font_family=svg.FONT,
        style="background:#FFFFFF;color-scheme:light",
    )


def drawn_height(drawing: str) -> float:
    """Height on paper [mm] of a drawing made here."""
    found = re.search(r'height="([0-9.]+)mm"', drawing)
    if found is None:
        raise ValueError("This is not a drawing of the trim sheet: it states no height in mm.")
    return float(found[1])


@dataclass(frozen=True)
class _Scene:
    side: Frame
    top: Frame
    side_shapes: Sequence[Outline]
    top_shapes: Sequence[Outline]
    ruler_y: float
    upper_line_y: float
    low_x: float
    high_x: float
    width: float
    height: float


def _scene(vessel: Vessel, width_mm: float, height_mm: float) -> _Scene:
    """Scale and places of both views; the builder's zero is kept in sight where it is near the hull."""
    low, high = vessel.low_m, vessel.high_m
    reach = 0.25 * (high[0] - low[0])
    origin = min(max(vessel.datum.x_origin_m, low[0] - reach), high[0] + reach)
    room_x, room_y = width_mm - _LEFT - _RIGHT, height_mm - _FIXED
    if min(room_x, room_y) < _LEAST_ROOM:
        raise ValueError(
            f"The drawing needs at least {_LEFT + _RIGHT + _LEAST_ROOM:g} x {_FIXED + _LEAST_ROOM:g} mm, "
            f"not {width_mm:g} x {height_mm:g} mm."
        )
    shapes_side, shapes_top = (outlines(vessel, view, _GRID * (high[0] - low[0])) for view in ("side", "top"))
    stray = _STRAY * max(high[1] - low[1], high[2] - low[2])
    z_low, z_high = _reach(shapes_side, 1, low[2], high[2], stray)
    y_low, y_high = _reach(shapes_top, 1, low[1], high[1], stray)
    stern, bow = _reach(shapes_side, 0, low[0], high[0], stray)
    x_low, x_high = min(stern, origin), max(bow, origin)
    tall, broad = z_high - z_low, y_high - y_low
    needed = 1000.0 * max((x_high - x_low) / room_x, (tall + broad) / room_y)
    scale = round_scale(needed)
    k = scale.mm_per_m
    left = _LEFT + (room_x - (x_high - x_low) * k) / 2.0
    upper_line = _CAPTION + _LABELS + _ELBOW
    keel_y = upper_line + _GAP + tall * k
    side = Frame("side", scale, x_low, z_low, left, keel_y)
    ruler = keel_y + _GAP
    top_low = ruler + _RULER + _ELBOW + _LABELS + _GAP + broad * k
    top = Frame("top", scale, x_low, y_low, left, top_low)
    return _Scene(
        side,
        top,
        shapes_side,
        shapes_top,
        ruler,
        upper_line,
        x_low,
        x_high,
        width_mm,
        top_low + 2 * _GAP + _KEY,
    )


def _reach(
    shapes: Sequence[Outline], axis: int, low: float, high: float, stray: float
) -> tuple[float, float]:
    """Room for the hull and what stands out of her, such as a mast; strays far off get none."""
    ends = [extent(shape.loops) for shape in shapes if shape.loops]
    return (
        max(low - stray, min([low, *(end[axis] for end in ends)])),
        min(high + stray, max([high, *(end[axis + 2] for end in ends)])),
    )


def _side_view(vessel: Vessel, result: TrimResult, scene: _Scene) -> str:
    frame = scene.side
    surface = frame.y(vessel.waterline_m)
    inside = [
        wave(0.0, scene.width, surface),
        *hull_shape(vessel, frame, "room-side"),
        *parts_shapes(scene.side_shapes, result.moves, frame),
        _names(scene.side_shapes, result, frame),
        svg.line(
            frame.x(vessel.low_m[0]), surface, frame.x(vessel.high_m[0]), surface, POND, HAIR,
            stroke_dasharray="1.6 0.8",
        ),
        *_ballast(vessel, result, frame),
        *_arrows(result, frame),
        *_marks(result, frame),
    ]  # fmt: skip
    ends = (scene.low_x, scene.high_x)
    upper, lower = _upper_labels(vessel, result, frame), _piece_labels(vessel, result, frame, "lead")
    limits = (0.0, scene.width)
    bare = sum(len(labels) - len(labelled(labels, limits)) for labels in (upper, lower))
    words = f"from starboard, scale {frame.scale.words()}"
    if bare:
        words += f"; figures of {bare} more only in the list"
    caption = svg.text(0, 3.0, "SIDE", 2.7, SLATE, letter_spacing="0.12", font_weight="600") + svg.text(
        12.0, 3.0, words, 2.9, SLATE, font_style="italic"
    )
    return svg.group(
        [
            caption,
            height_ruler(vessel, frame, ends),
            *inside,
            label_row(upper, scene.upper_line_y, -_ELBOW, limits),
            label_row(lower, scene.ruler_y, _RULER + _ELBOW, limits),
            along_ruler(vessel, frame, ends, scene.ruler_y),
        ],
        class_="side-view",
    )


def _top_view(vessel: Vessel, result: TrimResult, scene: _Scene) -> str:
    frame = scene.top
    middle = frame.y(0.0)
    caption_y = frame.y(vessel.high_m[1]) + 1.2
    parts = [
        svg.text(0, caption_y, "TOP", 2.7, SLATE, letter_spacing="0.12", font_weight="600"),
        *hull_shape(vessel, frame, "room-top"),
        *parts_shapes(scene.top_shapes, result.moves, frame),
        svg.line(
            frame.x(scene.low_x) - 3.0, middle, frame.x(scene.high_x) + 3.0, middle, SLATE, HAIR,
            stroke_dasharray="3 0.7 0.5 0.7",
        ),
        *_ballast(vessel, result, frame),
        *_arrows(result, frame),
        *_marks(result, frame),
        svg.text(
            frame.x(scene.low_x) - 1.0, middle + 2.7, "stern", 2.7, INK, text_anchor="end",
            font_style="italic",
        ),
        svg.text(frame.x(scene.high_x) + 1.0, middle + 2.7, "bow", 2.7, INK, font_style="italic"),
        svg.text(0, caption_y + 3.2, "port is up", 2.7, SLATE, font_style="italic"),
    ]  # fmt: skip
    return svg.group(parts, class_="top-view")


def _ballast(vessel: Vessel, result: TrimResult, frame: Frame) -> list[str]:
    """Lead and foam, numbered as in the list; the lower or farther ones first."""
    depth = 1 if frame.view == "side" else 2
    drawn = []
    for item in fixed_ballast(vessel):
        room = item.envelope if item.envelope is not None else item.solid
        if room is None:
            continue
        low, high = room.bounds()
        centre = (float(low[0] + high[0]) / 2, float(low[1] + high[1]) / 2, float(low[2] + high[2]) / 2)
        size = (float(high[0] - low[0]), float(high[1] - low[1]), float(high[2] - low[2]))
        box = frame.box(centre, size)
        drawn.append(svg.group([lead_box(*box) if item.kind == "lead" else foam_box(*box)], class_="fixed"))
    for index in sorted(range(len(result.pieces)), key=lambda at: result.pieces[at].centre_m[depth]):
        piece = result.pieces[index]
        box = frame.box(piece.centre_m, piece.size_m)
        shape = lead_box(*box) if piece.material == "lead" else foam_box(*box)
        drawn.append(svg.group([shape], class_=f"piece {piece.material}", data_number=str(index + 1)))
    return drawn


def _arrows(result: TrimResult, frame: Frame) -> list[str]:
    """From where to where a part is moved, with its letter."""
    drawn = []
    for letter, move in zip(LETTERS, result.moves, strict=False):
        (x0, y0), (x1, y1) = frame.at(move.from_m), frame.at(move.to_m)
        far = math.hypot(x1 - x0, y1 - y0)
        shaft = svg.line(x0, y0, x1, y1, CHESTNUT, THIN * 1.3)
        if far > 1.2:
            ux, uy = (x1 - x0) / far, (y1 - y0) / far
            base = (x1 - 1.3 * ux, y1 - 1.3 * uy)
            tip = (
                f"M{svg.mm(x1)} {svg.mm(y1)}L{svg.mm(base[0] - 0.5 * uy)} {svg.mm(base[1] + 0.5 * ux)}"
                f"L{svg.mm(base[0] + 0.5 * uy)} {svg.mm(base[1] - 0.5 * ux)}z"
            )
            shaft += svg.element("path", d=tip, fill=CHESTNUT)
        tail = (x0 - 1.6 * (x1 - x0) / far, y0 - 1.6 * (y1 - y0) / far) if far > 0.0 else (x0, y0 - 1.6)
        drawn.append(svg.group([shaft, balloon(*tail, letter, "move", 0.62)], class_="move"))
    return drawn


def _marks(result: TrimResult, frame: Frame) -> list[str]:
    """CG and CB of both states where they truly are; they lie close, so the key shows them magnified too."""
    drawn = []
    for state, lie in zip(_STATES, result.after, strict=True):
        for point, mark in ((lie.cb_m, buoyancy_mark), (lie.cg_m, gravity_mark)):
            if all(map(math.isfinite, point)):
                x, y = frame.at(point)
                drawn.append(mark(x, y, 1.1, state))
    return drawn


def _names(shapes: Sequence[Outline], result: TrimResult, frame: Frame) -> str:
    """The names of cylinders and tanks, inside their outline where least is covered."""
    fills = result.after[1].fills
    taken = [frame.box(piece.centre_m, piece.size_m) for piece in result.pieces]
    taken += [_paper_box(shape, frame) for shape in shapes if shape.loops and shape.kind != "dry"]
    for centre in (centre for lie in result.after for centre in (lie.cg_m, lie.cb_m)):
        if all(map(math.isfinite, centre)):
            x, y = frame.at(centre)
            taken.append((x - 1.4, y - 1.4, 2.8, 2.8))
    words = []
    for shape in shapes:
        if shape.kind not in ("dry", "tank") or not shape.loops:
            continue
        x, y, width, height = own = _paper_box(shape, frame)
        wordings = [shape.name]
        if shape.kind == "tank" and shape.name in fills:
            share = f"{100 * fills[shape.name]:.0f}\u00a0%"
            wordings = [f"{shape.name}, dived {share} full", f"{shape.name} {share}", shape.name]
        name = next((text for text in wordings if len(text) * _LETTER <= width - 1.6), wordings[-1])
        letters = int((width - 1.6) / _LETTER)
        if letters < 3 or height < 3.2:
            continue
        name = svg.shortened(name, letters)
        broad = len(name) * _LETTER
        others = [box for box in taken if box != own]
        spots = [
            (x + 0.8 + across * (width - 1.6 - broad), y + 0.5 + down * (height - 3.4))
            for down in (0.0, 1.0, 0.5)
            for across in (0.0, 1.0, 0.5)
        ]
        left, upper = min(spots, key=lambda at: sum(_overlap((*at, broad, 2.6), box) for box in others))
        words.append(
            svg.text(
                left, upper + 2.1, name, 2.4, POND if shape.kind == "tank" else SLATE, font_style="italic",
                stroke=PAPER, stroke_width=0.5, stroke_linejoin="round", paint_order="stroke",
            )
        )  # fmt: skip
        taken.append((left, upper, broad, 2.6))
    return svg.group(words, class_="names")


Box = tuple[float, float, float, float]


def _paper_box(shape: Outline, frame: Frame) -> Box:
    u_low, v_low, u_high, v_high = extent(shape.loops)
    return frame.x(u_low), frame.y(v_high), frame.x(u_high) - frame.x(u_low), frame.y(v_low) - frame.y(v_high)


def _overlap(one: Box, other: Box) -> float:
    wide = min(one[0] + one[2], other[0] + other[2]) - max(one[0], other[0])
    high = min(one[1] + one[3], other[1] + other[3]) - max(one[1], other[1])
    return max(wide, 0.0) * max(high, 0.0)


def _upper_labels(vessel: Vessel, result: TrimResult, frame: Frame) -> list[Label]:
    """Foam, and the draughts to be seen at the marks."""
    labels = _piece_labels(vessel, result, frame, "foam")
    surfaced = result.after[0]
    for x_m, draught, wished in (
        (vessel.mark_bow_m, surfaced.draught_bow_m.value, result.wished_draught_bow_m),
        (vessel.mark_stern_m, surfaced.draught_stern_m.value, result.wished_draught_stern_m),
    ):
        shown, word = (draught, "draught") if math.isfinite(draught) else (wished, "wished")
        x, y = frame.x(x_m), frame.y(vessel.waterline_m)
        labels.append(Label(x, y, "mark", "", figure(shown, "length", vessel.units), word))
    return labels


def _piece_labels(vessel: Vessel, result: TrimResult, frame: Frame, material: str) -> list[Label]:
    labels = []
    for index, piece in enumerate(result.pieces):
        if piece.material != material:
            continue
        x, y = frame.at(piece.centre_m)
        along, _, up = vessel.datum.to_builder(_rounded(piece.centre_m))
        labels.append(
            Label(
                x,
                y,
                material,
                str(index + 1),
                short_length(along, vessel.units),
                short_length(up, vessel.units),
                piece.mass_kg if material == "lead" else piece.volume_m3,
            )
        )
    return labels


def _rounded(point: Vector) -> Vector:
    """Free of the last bits of binary arithmetic, so that 0.31199999 m reads 312."""
    return (round(point[0], 9), round(point[1], 9), round(point[2], 9))

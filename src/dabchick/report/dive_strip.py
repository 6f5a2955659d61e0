"""The dive strip: the boat at moments of the dive, from starboard and from astern, in her water as she lies."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Vessel
from dabchick.physics.shapes import mesh
from dabchick.physics.solid import Solid
from dabchick.report import svg
from dabchick.report.arm_family import chosen_stages
from dabchick.report.builder_units import number, with_unit
from dabchick.report.chart import SMALL, caption, key_words, text_width, whole
from dabchick.report.marks import HAIR, THIN, buoyancy_mark, gravity_mark, wave
from dabchick.report.palette import CHESTNUT, FEATHER, INK, PAPER, POND, SHALLOWS, SLATE
from dabchick.report.silhouettes import Loops, extent, silhouette
from dabchick.report.stability_words import short_fills
from dabchick.report.views import Scale, round_scale
from dabchick.studies.lie import Lie
from dabchick.studies.loading import highest_m
from dabchick.studies.stability_result import DiveEvent, LeastMoment, StabilityResult, Stage
from dabchick.studies.tank_water import tank_waters

Array = NDArray[np.float64]
WIDTH_MM: Final = 186.0
HEIGHT_MM: Final = 118.0
MOST_MOMENTS: Final = 8
_UNDER_SHARE: Final = 0.02
"""Of her length: how far under a boat is drawn that hangs or sinks."""
_TITLE, _AIR, _KEY = 4.5, 1.6, 5.0
_LINE: Final = 3.0
_ONE_LINE: Final = 70.0
"""A moment that wide has all its words in one line."""
_BETWEEN: Final = 3.0
_COLUMN_GAP: Final = 4.0
_MARK: Final = 0.8


@dataclass(frozen=True)
class _Seen:
    """One outline from starboard (x forward, z up) and from astern (starboard right, z up), the water at z = 0."""

    side: Loops
    end: Loops


@dataclass(frozen=True)
class _Moment:
    lie: Lie
    title: str
    least: bool
    hull: _Seen
    outside: tuple[_Seen, ...]
    tanks: tuple[_Seen, ...]
    water: tuple[_Seen, ...]
    cg: tuple[float, float, float]
    cb: tuple[float, float, float]


def dive_strip_svg(
    vessel: Vessel,
    result: StabilityResult,
    *,
    width_mm: float = WIDTH_MM,
    height_mm: float = HEIGHT_MM,
    columns: int = 2,
) -> str:
    """A standalone SVG of up to eight moments in their order, each side view turned to her true attitude.

    The bow is right, the end view is seen from astern with starboard right; all are drawn to one round scale. Wholly
    under she is drawn a little below the surface. Raises ValueError where there is no room for her.
    """
    entries = _entries(result)
    grid_m = 1e-4 * vessel.length_m
    moments = [_moment(vessel, stage, title, grid_m) for stage, title in entries]
    rows = -(-len(moments) // columns)
    cell_w = (width_mm - _COLUMN_GAP * (columns - 1)) / columns
    cell_h = (height_mm - _TITLE - _KEY) / rows
    words_h = _LINE * (1 if cell_w >= _ONE_LINE else 2) + 1.2
    scale, lines = _fit(moments, cell_w, cell_h - words_h - _AIR - 1.0)
    drawn = [
        caption(
            0.0,
            2.6,
            "Dive strip",
            f"from starboard, and from astern with starboard right; scale {scale.words()}",
        )
    ]
    for index, moment in enumerate(moments):
        left = (index % columns) * (cell_w + _COLUMN_GAP)
        top = _TITLE + (index // columns) * cell_h
        box = (left, top, cell_w, cell_h)
        drawn.append(_cell(vessel, moment, scale, lines, box, words_h, str(index)))
    drawn += _key(height_mm - _KEY + 1.6)
    return whole(width_mm, height_mm, f"Dive strip of {vessel.name}", drawn)


# -- which moments -----------------------------------------------------------------------------------------------


def _entries(result: StabilityResult) -> list[tuple[Stage | LeastMoment, str]]:
    """The way down at even steps, the least moment, and how she lies after each leap, in the order they are passed."""
    after = [stage for event in result.events if event.kind in ("jump", "fold")
             if (stage := _first_after(result, event)) is not None][:3]  # fmt: skip
    entries: list[Stage | LeastMoment] = [result.least]
    for stage in after:
        if not any(_same(stage, entry) for entry in entries):
            entries.append(stage)
    even = chosen_stages(result, MOST_MOMENTS - len(entries) + (result.least.way == "down"))
    for stage in even:
        near = [entry for entry in entries if entry.way == "down" and _near(stage, entry)]
        ends = stage in (result.down[0], result.down[-1])
        if (not near or ends) and not any(_same(stage, entry) for entry in entries):
            entries.append(stage)
    kept: list[Stage | LeastMoment] = [result.least, *after, result.down[0], result.down[-1]]
    while len(entries) > MOST_MOMENTS:
        spare = [entry for entry in entries if not any(_same(entry, other) for other in kept)]
        entries.remove(min(spare, key=lambda entry: _apart(entry, entries)))
    entries.sort(
        key=lambda entry: (entry.way == "up", entry.progress if entry.way == "down" else -entry.progress)
    )
    return [(entry, "least stable" if entry is result.least else "") for entry in entries]


def _first_after(result: StabilityResult, event: DiveEvent) -> Stage | None:
    stages = result.down if event.way == "down" else result.up
    return next(
        (
            stage
            for stage in stages
            if (stage.progress > event.progress if event.way == "down" else stage.progress < event.progress)
        ),
        None,
    )


def _same(one: Stage | LeastMoment, other: Stage | LeastMoment) -> bool:
    return one.way == other.way and abs(one.progress - other.progress) < 1e-9


def _apart(one: Stage | LeastMoment, others: Sequence[Stage | LeastMoment]) -> float:
    """How far the nearest other moment of the same way is."""
    return min(
        (abs(one.progress - other.progress) for other in others if other is not one and other.way == one.way),
        default=1.0,
    )


def _near(one: Stage | LeastMoment, other: Stage | LeastMoment) -> bool:
    return abs(one.progress - other.progress) < 0.06


def _moment(vessel: Vessel, stage: Stage | LeastMoment, title: str, grid_m: float) -> _Moment:
    lie = stage.lie
    up = np.array(lie.normal)
    offset = lie.offset_m
    if not math.isfinite(offset):
        offset = highest_m(vessel, up) + _UNDER_SHARE * vessel.length_m
    turn = _turn(up)
    shift = np.array([0.0, 0.0, -offset])

    def seen(solid: Solid) -> _Seen:
        placed = solid.moved(shift, turn)
        # Astern, looking forward, starboard is right: y counts to port.
        end = tuple(loop * np.array([-1.0, 1.0]) for loop in silhouette(placed, "end", grid_m, 64))
        return _Seen(silhouette(placed, "side", grid_m, 64), end)

    def point(at: tuple[float, float, float]) -> tuple[float, float, float]:
        x, y, z = turn @ np.array(at) + shift
        return float(x), float(y), float(z)

    waters = [mesh(water.vertices, water.faces) for water in tank_waters(vessel, lie) if len(water.faces)]
    return _Moment(
        lie=lie,
        title=title + (" ↑" if stage.way == "up" else " ↓") if title else ("↑" if stage.way == "up" else "↓"),
        least=bool(title),
        hull=seen(vessel.hull),
        outside=tuple(
            seen(item.solid) for item in vessel.items if item.kind == "solid" and item.solid is not None
        ),
        tanks=tuple(seen(tank.solid) for tank in vessel.tanks),
        water=tuple(seen(solid) for solid in waters),
        cg=point(lie.cg_m),
        cb=point(lie.cb_m),
    )


def _turn(up: Array) -> Array:
    """From the house frame to a world with z up, the bow along x; standing on end, x is the way her keel looks."""
    ahead = np.array([1.0, 0.0, 0.0]) - up[0] * up
    if np.linalg.norm(ahead) < 1e-9:
        ahead = np.array([0.0, 0.0, -math.copysign(1.0, up[0])])
    ahead = ahead / np.linalg.norm(ahead)
    return np.vstack([ahead, np.cross(up, ahead), up])


# -- drawing -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Lines:
    """Reach of all moments together [m]: the same place for the water in every cell."""

    side_low: float
    side_high: float
    end_low: float
    end_high: float
    low: float
    high: float


def _fit(moments: Sequence[_Moment], width: float, height: float) -> tuple[Scale, _Lines]:
    sides = [
        extent(shape.side) for moment in moments for shape in (moment.hull, *moment.outside) if shape.side
    ]
    ends = [extent(shape.end) for moment in moments for shape in (moment.hull, *moment.outside) if shape.end]
    lines = _Lines(
        min(box[0] for box in sides), max(box[2] for box in sides), min(box[0] for box in ends),
        max(box[2] for box in ends), min(box[1] for box in sides), max(0.0, *(box[3] for box in sides)),
    )  # fmt: skip
    room = width - _BETWEEN - 2.0
    if room < 20.0 or height < 6.0:
        raise ValueError(f"A moment of the dive strip needs more room than {width:g} x {height:g} mm.")
    wide = lines.side_high - lines.side_low + lines.end_high - lines.end_low
    return round_scale(1000.0 * max(wide / room, (lines.high - lines.low) / height)), lines


def _cell(
    vessel: Vessel,
    moment: _Moment,
    scale: Scale,
    lines: _Lines,
    box: tuple[float, float, float, float],
    words_h: float,
    key: str,
) -> str:
    """One moment in its box (left, upper, width, height) on paper [mm], its words above her."""
    left, top, width, height = box
    k = scale.mm_per_m
    room = height - words_h - _AIR
    used = (lines.high - lines.low) * k
    surface = top + words_h + 0.5 * (room - used) + lines.high * k
    foot = top + height - _AIR
    wide_side, wide_end = ((high - low) * k for low, high in
                           ((lines.side_low, lines.side_high), (lines.end_low, lines.end_high)))  # fmt: skip
    spare = (width - wide_side - wide_end - _BETWEEN) / 2.0
    x_side = left + spare - lines.side_low * k
    x_end = left + width - spare - lines.end_high * k
    drawn = [svg.rectangle(left, surface, width, foot - surface, fill=SHALLOWS)]
    for view, origin in (("side", x_side), ("end", x_end)):
        at = np.array([origin, surface])

        def path(shape: _Seen, view: str = view, at: Array = at) -> str:
            loops = shape.side if view == "side" else shape.end
            return svg.loops_path([at + loop * np.array([k, -k]) for loop in loops])

        drawn += [_shape(path(shape), PAPER, SLATE, HAIR, fill_opacity="0.5") for shape in moment.outside]
        hull = path(moment.hull)
        # The outer line is what stands out of a stroke of double width under the filled form.
        drawn.append(_shape(hull, INK, INK, THIN * 2.8))
        drawn.append(svg.element("path", class_="hull", d=hull, fill=PAPER))
        inside = f"hull-{key}-{view}"
        drawn.append(svg.element("clipPath", svg.element("path", d=hull), id=inside))
        drawn.append(
            svg.rectangle(left, surface, width, foot - surface, fill=SHALLOWS, fill_opacity="0.55",
                          clip_path=f"url(#{inside})")
        )  # fmt: skip
        drawn += [_shape(path(shape), PAPER, POND, HAIR) for shape in moment.tanks]
        drawn += [_shape(path(shape), POND, POND, HAIR, "tank-water") for shape in moment.water]
        # CB's ring is the wider one, so that it is seen where both lie together.
        for point, mark, radius in (
            (moment.cb, buoyancy_mark, 1.4 * _MARK),
            (moment.cg, gravity_mark, _MARK),
        ):
            if all(map(math.isfinite, point)):
                u = point[0] if view == "side" else -point[1]
                drawn.append(mark(origin + u * k, surface - point[2] * k, radius, "surfaced"))
    drawn.append(wave(left, left + width, surface))
    drawn += _words(vessel, moment, left, top, width)
    return svg.group(
        drawn, class_="moment", data_normal=" ".join(f"{value:.6f}" for value in moment.lie.normal)
    )


def _shape(path: str, fill: str, stroke: str, width: float, name: str = "", **style: str) -> str:
    more = style | ({"class_": name} if name else {})
    return svg.element(
        "path", d=path, fill=fill, stroke=stroke, stroke_width=width, stroke_linejoin="round", **more
    )


def _words(vessel: Vessel, moment: _Moment, left: float, top: float, width: float) -> list[str]:
    lie = moment.lie
    head = f"{moment.title} {short_fills(lie.fills)}"
    hold = f"GM {with_unit(lie.gm_transverse_m.value, 'length', vessel.units)}"
    heel, trim = (number(value, 1, plus=True) for value in (lie.heel_deg.value, lie.trim_deg.value))
    state = {"floats": "", "hangs": "wholly under, ", "sinks": "sinks, "}[lie.condition]
    if not lie.stable:
        state = "unstable, " + state
    colour = CHESTNUT if not lie.stable or lie.condition == "sinks" else INK
    second = f"{state}heel {heel}°, trim {trim}°"
    at = (
        (left, top + 2 * _LINE)
        if width < _ONE_LINE
        else (left + text_width(head, SMALL + 0.2) + 5.0, top + _LINE)
    )
    return [
        svg.line(left, top + 0.2, left + width, top + 0.2, FEATHER, HAIR),
        svg.text(left, top + _LINE, head, SMALL + 0.2, INK, font_weight="600"),
        svg.text(left + width, top + _LINE, hold, SMALL, INK, text_anchor="end"),
        svg.text(*at, second, SMALL, colour if state else SLATE),
    ]


def _key(y: float) -> list[str]:
    entries = (
        (wave(0.0, 6.0, 0.0), "water"),
        (svg.rectangle(1.0, -1.2, 4.0, 2.4, fill=PAPER, stroke=POND, stroke_width=HAIR), "tank"),
        (svg.rectangle(1.0, -1.2, 4.0, 2.4, fill=POND), "water in a tank"),
        (gravity_mark(3.0, 0.0, _MARK, "surfaced"), "CG with the tank water"),
        (buoyancy_mark(3.0, 0.0, 1.4 * _MARK, "surfaced"), "CB"),
    )
    drawn = []
    u = 0.0
    for sign, words in entries:
        drawn += [
            svg.group([sign], transform=f"translate({svg.mm(u)} {svg.mm(y)})"),
            key_words(u + 7.0, y, words),
        ]
        u += 11.0 + text_width(words, SMALL)
    drawn.append(key_words(u, y, "↓ going down, ↑ coming up"))
    return [svg.group(drawn, class_="key")]

"""The hull and what is in her, to a round scale, from starboard and from above; the bow is always right."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Item, Vector, Vessel
from dabchick.physics.solid import Solid
from dabchick.report import svg
from dabchick.report.marks import FIRM, HAIR, THIN
from dabchick.report.palette import CHESTNUT, FEATHER, INK, MIST, PAPER, POND, SHALLOWS, SLATE
from dabchick.report.silhouettes import Loops, View, extent, silhouette
from dabchick.studies.trim_result import Move

_STEPS: Final = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0, 6.5, 7.0, 7.5, 8.0, 9.0)
_PAPER_GRID_MM: Final = 0.01


@dataclass(frozen=True)
class Scale:
    """How large the boat is drawn: `boat : paper`, such as 5 for 1:5 and 0.5 for 2:1."""

    ratio: float

    @property
    def mm_per_m(self) -> float:
        return 1000.0 / self.ratio

    def words(self) -> str:
        if self.ratio >= 1.0:
            return f"1 : {svg.mm(self.ratio)}"
        return f"{svg.mm(1.0 / self.ratio)} : 1"


def round_scale(needed: float) -> Scale:
    """The largest round scale at which one boat-mm takes at most 1/needed mm of paper."""
    if not (math.isfinite(needed) and needed > 0.0):
        raise ValueError(f"A scale needs a size above 0, not {needed}.")
    if needed < 1.0:
        return Scale(1.0 / max(step for step in _decades(1.0 / needed) if step <= (1.0 + 1e-12) / needed))
    return Scale(min(step for step in _decades(needed) if step >= needed * (1.0 - 1e-12)))


def _decades(size: float) -> list[float]:
    """Round numbers about `size`."""
    power = math.floor(math.log10(size))
    return [step * 10.0 ** (power + tens) for tens in (-1, 0, 1) for step in _STEPS]


@dataclass(frozen=True)
class Frame:
    """Where a view stands on paper: the point (u0, v0) of the boat [m] lies at (x0, y0) [mm], v upwards."""

    view: View
    scale: Scale
    u0: float
    v0: float
    x0: float
    y0: float

    def x(self, u: float) -> float:
        return self.x0 + (u - self.u0) * self.scale.mm_per_m

    def y(self, v: float) -> float:
        return self.y0 - (v - self.v0) * self.scale.mm_per_m

    def at(self, point: Vector) -> tuple[float, float]:
        """A point of the house frame on paper [mm]."""
        return self.x(point[0]), self.y(point[2] if self.view == "side" else point[1])

    def box(self, centre: Vector, size: Vector) -> tuple[float, float, float, float]:
        """x, y, width, height on paper [mm] of a box along the house axes."""
        x, y = self.at(centre)
        width = size[0] * self.scale.mm_per_m
        height = (size[2] if self.view == "side" else size[1]) * self.scale.mm_per_m
        return x - width / 2.0, y - height / 2.0, width, height

    def loops(self, loops: Loops, shift: Vector = (0.0, 0.0, 0.0)) -> list[NDArray[np.float64]]:
        """An outline in metres, moved by `shift`, on paper [mm]."""
        across = shift[2] if self.view == "side" else shift[1]
        k = self.scale.mm_per_m
        origin = np.array([self.x0 + (shift[0] - self.u0) * k, self.y0 - (across - self.v0) * k])
        return [origin + loop * np.array([k, -k]) for loop in loops]


def outline_grid(scale: Scale) -> float:
    """Rounding of outlines [m], 0.01 mm on paper."""
    return _PAPER_GRID_MM / scale.mm_per_m


def hull_shape(vessel: Vessel, frame: Frame, key: str) -> list[str]:
    """The hull: outer form, thickness of the skin, and the water that stands in her up to the waterline.

    The outer line is a stroke of double width under the filled shape, so that what is left of it runs round
    the whole outline and nowhere inside.
    """
    grid = outline_grid(frame.scale)
    outer = svg.loops_path(frame.loops(silhouette(vessel.hull, frame.view, grid)))
    skinned = vessel.hull_inside is not vessel.hull
    room = svg.loops_path(frame.loops(silhouette(vessel.hull_inside, frame.view, grid))) if skinned else outer
    parts = [
        svg.element("path", d=outer, fill=INK, stroke=INK, stroke_width=2 * FIRM, stroke_linejoin="round"),
        svg.element("path", class_="hull", d=outer, fill=FEATHER if skinned else PAPER),
    ]
    if skinned:
        parts.append(svg.element("path", d=room, fill=PAPER))
    if frame.view == "side":
        parts.append(svg.element("clipPath", svg.element("path", d=room), id=key))
        surface = frame.y(vessel.waterline_m)
        low = frame.y(vessel.low_m[2])
        if low > surface:
            left, right = frame.x(vessel.low_m[0]), frame.x(vessel.high_m[0])
            parts.append(
                svg.rectangle(
                    left, surface, right - left, low - surface, fill=SHALLOWS, clip_path=f"url(#{key})"
                )
            )
    return parts


@dataclass(frozen=True)
class Outline:
    """One part's outline, ready to be drawn."""

    name: str
    kind: str
    loops: Loops
    area_m2: float
    centre_m: Vector


def outlines(vessel: Vessel, view: View, grid_m: float) -> list[Outline]:
    """Outlines of parts and tanks, the large ones first so that the small ones stay in sight."""
    shapes = [
        _outline(item.name, item.kind, _room(item), item.centre_m, view, grid_m)
        for item in vessel.items
        if item.kind not in ("skin", "lead", "foam")
    ]
    shapes += [_outline(tank.name, "tank", tank.solid, tank.centre_m, view, grid_m) for tank in vessel.tanks]
    return sorted(shapes, key=lambda shape: -shape.area_m2)


def fixed_ballast(vessel: Vessel) -> list[Item]:
    """Lead and foam that the builder put in; what a trim put in is drawn as the trim's pieces."""
    return [
        item
        for item in vessel.items
        if item.kind in ("lead", "foam") and not item.from_trim and _room(item) is not None
    ]


def _room(item: Item) -> Solid | None:
    return item.envelope if item.envelope is not None else item.solid


def _outline(name: str, kind: str, solid: Solid | None, centre: Vector, view: View, grid_m: float) -> Outline:
    loops = silhouette(solid, view, grid_m, segments=64) if solid is not None else ()
    if not loops:
        return Outline(name, kind, (), 0.0, centre)
    u_low, v_low, u_high, v_high = extent(loops)
    return Outline(name, kind, loops, (u_high - u_low) * (v_high - v_low), centre)


def parts_shapes(shapes: Sequence[Outline], moves: Sequence[Move], frame: Frame) -> list[str]:
    """Light outlines of parts; tanks with water; a part that moves is dashed where it was."""
    drawn = []
    moved = {move.part: move for move in moves}
    for shape in shapes:
        move = moved.get(shape.name)
        if move is None:
            drawn.append(_part(shape, frame))
            continue
        shift = (
            move.to_m[0] - move.from_m[0],
            move.to_m[1] - move.from_m[1],
            move.to_m[2] - move.from_m[2],
        )
        path = svg.loops_path(frame.loops(shape.loops))
        drawn.append(
            svg.element(
                "path", d=path, fill="none", stroke=CHESTNUT, stroke_width=THIN, stroke_dasharray="0.9 0.7"
            )
        )
        drawn.append(_part(shape, frame, shift))
    return drawn


def _part(shape: Outline, frame: Frame, shift: Vector = (0.0, 0.0, 0.0)) -> str:
    if not shape.loops:
        x, y = frame.at(shape.centre_m)
        return svg.element("circle", cx=x, cy=y, r=0.3, fill=SLATE)
    fill, stroke, width = {
        "dry": (MIST, SLATE, THIN),
        "tank": (SHALLOWS, POND, THIN),
    }.get(shape.kind, (PAPER, SLATE, HAIR))
    return svg.element(
        "path",
        class_=shape.kind,
        d=svg.loops_path(frame.loops(shape.loops, shift)),
        fill=fill,
        stroke=stroke,
        stroke_width=width,
        stroke_linejoin="round",
    )

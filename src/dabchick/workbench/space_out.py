"""The free room for the pages: figures in the builder's words, surfaces for the picture, places ready to be written."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from dabchick.model.units import written
from dabchick.model.vessel import Vector, Vessel
from dabchick.report.builder_units import short_with_unit
from dabchick.report.space_words import place_row, station_ends, summary
from dabchick.studies.space import FoundPlace, SpaceMap, SpaceResult, Station
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.live import Mesh
from dabchick.workbench.shapes.space import Curve, FoundOut, SpaceOut, StationOut
from dabchick.workbench.shapes.tank import Line
from dabchick.workbench.words import amount

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

SPOT_M = 0.025
"""About how long the spots of a rail are that is taken over: short enough to shift lead by, long enough to fix."""


def space_out(vessel: Vessel, revision: int, found: SpaceMap) -> SpaceOut:
    """The whole answer."""
    result, units = found.result, vessel.units
    inch = units == "inch"
    return SpaceOut(
        revision=revision,
        sentence=summary(vessel, result),
        lines=_lines(vessel, result),
        cell=short_with_unit(result.cell_m[0], "length", units),
        clearance=short_with_unit(result.clearance_m, "length", units),
        stations=[_station(vessel, station) for station in result.stations],
        curve=Curve(
            x_m=[section.x_m for section in result.sections],
            free_below_m2=[section.free_below_m2 for section in result.sections],
            free_above_m2=[section.free_above_m2 for section in result.sections],
            floods_below_m2=[section.floods_below_m2 for section in result.sections],
            floods_above_m2=[section.floods_above_m2 for section in result.sections],
        ),
        area_unit="in²" if inch else "cm²",
        area_unit_m2=0.0254**2 if inch else 1e-4,
        places=[_found(vessel, place) for place in result.places],
        rails=[_found(vessel, place) for place in result.rails],
        below=_mesh(found.below),
        above=_mesh(found.above),
        shown_cell=short_with_unit(found.shown_cell_m[0], "length", units),
        assumptions=list(result.assumptions),
        warnings=[AdviceOut.of(entry) for entry in result.warnings],
        method=result.method,
        validity=result.validity,
        sources=list(result.sources),
    )


def place_table(vessel: Vessel, place: FoundPlace) -> dict[str, Any]:
    """The [[place]] that takes a found place over: a block as a box, a rail as spots side by side."""
    low, high = np.array(place.low_m), np.array(place.high_m)
    table: dict[str, Any] = {"name": place.name, "for": place.holds}
    if place.kind == "block":
        return table | {"low": _point(vessel, place.low_m), "high": _point(vessel, place.high_m)}
    length = float(high[0] - low[0])
    count = max(1, round(length / SPOT_M))
    # A spot a hair shorter than its share, so that as many fit between the written ends as were meant.
    spot = np.floor(length / count * 1e5) / 1e5
    middle = 0.5 * (low + high)
    start, end = middle.copy(), middle.copy()
    start[0], end[0] = low[0] + 0.5 * length / count, high[0] - 0.5 * length / count
    size = (spot, float(high[1] - low[1]), float(high[2] - low[2]))
    return table | {
        "rail": {"from": _point(vessel, _vector(start)), "to": _point(vessel, _vector(end))},
        "size": [written(edge, "length", vessel.units) for edge in size],
    }


def _vector(values: Array) -> Vector:
    x, y, z = (float(value) for value in values)
    return (x, y, z)


def _point(vessel: Vessel, point: Vector) -> list[str]:
    return [written(value, "length", vessel.units) for value in vessel.datum.to_builder(point)]


def _lines(vessel: Vessel, result: SpaceResult) -> list[Line]:
    units = vessel.units
    volumes = (
        ("Free below the waterline", result.free_below_m3, "works in both states"),
        ("Free above the waterline", result.free_above_m3, "foam there works when she dives"),
        ("In cells that something cuts", result.cut_below_m3 + result.cut_above_m3, "so much more at most"),
        ("Floods below the waterline", result.floods_below_m3, ""),
        ("Floods above the waterline", result.floods_above_m3, ""),
    )
    lines = [
        Line(label=label, figure=amount(value, "volume", units), note=note) for label, value, note in volumes
    ]
    return lines + [
        Line(label=f"Round {part.name}", figure=amount(part.clearance_m, "length", units), note="it moves")
        for part in result.moving
    ]


def _station(vessel: Vessel, station: Station) -> StationOut:
    units = vessel.units
    return StationOut(
        ends=station_ends(vessel, station),
        free_below=amount(station.free_below_m3, "volume", units),
        free_above=amount(station.free_above_m3, "volume", units),
        floods_below=amount(station.floods_below_m3, "volume", units),
        floods_above=amount(station.floods_above_m3, "volume", units),
    )


def _found(vessel: Vessel, place: FoundPlace) -> FoundOut:
    words = place_row(vessel, place)
    return FoundOut(
        kind=place.kind,
        name=place.name,
        holds=words.holds,
        ends=words.ends,
        side=words.side,
        height=words.height,
        size=words.size,
        volume=amount(place.volume_m3, "volume", vessel.units),
        reach=place.reach,
        reach_words=words.reach,
        low_m=place.low_m,
        high_m=place.high_m,
        row=place_table(vessel, place),
    )


def _mesh(surface: tuple[Array, Indices]) -> Mesh:
    vertices, triangles = surface
    return Mesh(
        positions=[round(entry, 5) for entry in vertices.ravel().tolist()],
        indices=triangles.ravel().tolist(),
    )

"""`trace`: what hull a traced plan makes, and how well the tracing knows it.

The trace is read once as it stands, which gives the form and its meshes, and many times more with normal noise on
every point and mark (seeded, so that the same trace gives the same bands). A spread is the root mean square of the
figure's change over those readings.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice
from dabchick.model.drawn_trace import DrawnTrace, drawn_trace
from dabchick.model.trace import TracedBodyKind, TraceDoc
from dabchick.model.traced_hull import HullReading
from dabchick.model.traced_views import Reader
from dabchick.physics.traced_body import mesh_area, mesh_centre, mesh_volume
from dabchick.physics.traced_form import form_figures, form_stations
from dabchick.studies.result import Figure, StudyResult

Array = NDArray[np.float64]

READINGS = 200
"""Noisy readings: a spread from 200 of them is itself known to 5 %, 1 / sqrt(2 n)."""
SEED = 58
UNKNOWN = Figure(math.nan, math.nan)


@dataclass(frozen=True, eq=False)
class TracedMesh:
    """A closed outward mesh; x from the hull's stern, y to port, z from its keel."""

    vertices_m: Array
    """(n, 3)"""
    faces: NDArray[np.int64]
    """(m, 3)"""


@dataclass(frozen=True)
class TracedStation:
    """One station of the table: half-breadths over heights."""

    x_m: float
    """From the stern."""
    heights_m: tuple[float, ...]
    """Over the keel."""
    half_breadths_m: tuple[float, ...]


@dataclass(frozen=True)
class BodyFigures:
    """One separate body; planes count both."""

    name: str
    kind: TracedBodyKind
    volume_m3: Figure
    area_m2: Figure
    meshes: tuple[TracedMesh, ...] = field(repr=False)


@dataclass(frozen=True, eq=False)
class FairedEdge:
    """A faired edge of the hull as it lies on its picture."""

    view: str
    name: str
    role: str
    pixels: Array
    """(k, 2)"""


@dataclass(frozen=True, kw_only=True)
class TraceResult(StudyResult):
    """The hull of a traced plan. Figures are NaN where it could not be drawn; see `faults`."""

    volume_m3: Figure
    """Of the closed outer form, without the separate bodies."""
    area_m2: Figure
    """Of its whole surface, wetted when dived."""
    lcb_m: Figure
    """Centre of the form's volume from the stern."""
    length_m: Figure
    beam_m: Figure
    height_m: Figure
    top_length_m: Figure
    """Length by the top view's own scale; NaN where it has none."""
    length_difference_m: Figure
    """Top view's length less that of the side view, each by its own scale; NaN where one has none."""
    asymmetry_m: Figure
    """Greatest distance of the middle between port and starboard from a straight line; NaN with one side traced."""
    readings: int
    """Noisy readings behind the spreads; 0 where they were not asked for."""
    noise_px: float
    stations: tuple[TracedStation, ...] = field(repr=False)
    bodies: tuple[BodyFigures, ...]
    hull: TracedMesh | None = field(repr=False)
    edges: tuple[FairedEdge, ...] = field(repr=False)

    @property
    def faults(self) -> tuple[Advice, ...]:
        """What has to be put right before the trace can be a boat's hull."""
        return tuple(entry for entry in self.warnings if entry.severity == "error")

    def without_meshes(self) -> "TraceResult":
        """The same without meshes and drawn edges, which are long."""
        return replace(
            self, hull=None, edges=(), bodies=tuple(replace(body, meshes=()) for body in self.bodies)
        )


def run(
    doc: TraceDoc,
    pictures: Mapping[str, tuple[int, int]] | None = None,
    *,
    name: str = "",
    bands: bool = True,
    readings: int = READINGS,
    seed: int = SEED,
    axial: int = 240,
    around: int = 96,
) -> TraceResult:
    """The traced hull in figures, stations and meshes; what is missing or wrong stands in `warnings`.

    pictures: width and height in pixels of each picture at hand, to tell of points beside it; None asks nothing.
    `bands=False` leaves the spreads NaN and costs a fraction; axial, around: rings of the hull's mesh and corners
    on each.
    """
    noisy = Reader(readings, doc.noise, np.random.default_rng(seed)) if bands else None
    drawn = drawn_trace(doc, pictures, axial=axial, around=around, noisy=noisy)
    figures = _figures(drawn)
    return TraceResult(
        boat=name,
        method="station table from faired cubic splines, lofted; spreads from "
        f"{readings if bands else 0} readings with normal noise of {doc.noise:g} px on every point and mark (seeded)",
        sources=(
            "cubic splines over chord length: de Boor, A Practical Guide to Splines (1978), from memory",
            "divergence theorem",
        ),
        validity="The bands hold the noise of tracing alone: neither errors of the plan itself, nor the shape "
        "assumed for the sections, nor what lies between points that stand too far apart.",
        assumptions=(
            *drawn.assumptions,
            f"points and marks were set to {doc.noise:g} pixels, one standard deviation",
        ),
        warnings=drawn.advice,
        readings=readings if bands and drawn.noisy is not None else 0,
        noise_px=doc.noise,
        stations=_stations(drawn),
        bodies=tuple(
            BodyFigures(
                name=body.name,
                kind=body.kind,
                volume_m3=Figure(body.volume_m3, body.volume_m3 * body.volume_spread),
                area_m2=Figure(body.area_m2, body.area_m2 * body.area_spread),
                meshes=tuple(TracedMesh(*mesh) for mesh in body.meshes),
            )
            for body in drawn.bodies
        ),
        hull=TracedMesh(drawn.loft.vertices, drawn.loft.faces) if drawn.loft is not None else None,
        edges=_edges(drawn),
        **figures,
    )


_NAMES = (
    "volume_m3",
    "area_m2",
    "lcb_m",
    "length_m",
    "beam_m",
    "height_m",
    "top_length_m",
    "length_difference_m",
    "asymmetry_m",
)


def _figures(drawn: DrawnTrace) -> dict[str, Figure]:
    reading, loft, plan = drawn.reading, drawn.loft, drawn.plan
    if reading is None or loft is None or plan is None:
        return dict.fromkeys(_NAMES, UNKNOWN)
    mesh = (loft.vertices, loft.faces)
    low, high = loft.vertices.min(axis=0), loft.vertices.max(axis=0)
    both = all(plan.doc.views[row].scale is not None for row in (plan.side, plan.top))
    plain = _readings(reading, plan.doc.views[plan.top].scale is not None, both)
    values = {
        **{key: float(value[0]) for key, value in plain.items()},
        "volume_m3": mesh_volume(mesh),
        "area_m2": mesh_area(mesh),
        "lcb_m": float(mesh_centre(mesh)[0]),
        "length_m": float(high[0] - low[0]),
        "beam_m": float(high[1] - low[1]),
        "height_m": float(high[2] - low[2]),
    }
    spreads = dict.fromkeys(_NAMES, math.nan)
    if drawn.noisy is not None:
        noisy = _readings(drawn.noisy, plan.doc.views[plan.top].scale is not None, both)
        spreads = {key: float(np.sqrt(np.mean((noisy[key] - plain[key]) ** 2))) for key in _NAMES}
    return {key: Figure(values[key], spreads[key]) for key in _NAMES}


def _readings(reading: HullReading, top_scaled: bool, both_scaled: bool) -> dict[str, Array]:
    """Every figure (d,) of d readings, by sums over the stations."""
    form = form_figures(reading.grid)
    nothing = np.full(len(form.volume), math.nan)
    return {
        "volume_m3": form.volume,
        "area_m2": form.area,
        "lcb_m": form.centre,
        "length_m": form.length,
        "beam_m": form.beam,
        "height_m": form.height,
        "top_length_m": reading.top_length if top_scaled else nothing,
        "length_difference_m": reading.top_length - reading.side_length if both_scaled else nothing,
        "asymmetry_m": nothing if reading.middle is None else np.abs(reading.middle).max(axis=1),
    }


def _stations(drawn: DrawnTrace) -> tuple[TracedStation, ...]:
    if drawn.reading is None or drawn.loft is None:
        return ()
    return tuple(
        TracedStation(station.x, tuple(station.heights.tolist()), tuple(station.half_breadths.tolist()))
        for station in form_stations(drawn.reading.grid)
    )


def _edges(drawn: DrawnTrace) -> tuple[FairedEdge, ...]:
    reading, plan = drawn.reading, drawn.plan
    if reading is None or plan is None:
        return ()
    rows = [
        (plan.side, plan.upper, reading.side_frame, reading.upper_line),
        (plan.side, plan.lower, reading.side_frame, reading.lower_line),
        *(
            (plan.top, number, reading.top_frame, line)
            for number, line in zip(plan.halves, reading.half_lines, strict=True)
        ),
    ]
    return tuple(
        FairedEdge(
            view=plan.doc.views[view].name,
            name=plan.curve(view, number).name,
            role=plan.curve(view, number).role,
            pixels=frame.pixels(line)[0],
        )
        for view, number, frame, line in rows
    )

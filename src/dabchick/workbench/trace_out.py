"""What a trace amounts to, worked out in a process of its own and put into shapes for the page."""

import math
from collections.abc import Mapping
from typing import Any, Final

import numpy as np

from dabchick.model.units import Dimension, UnitSet
from dabchick.studies.result import Figure
from dabchick.studies.trace import TracedMesh, TraceResult
from dabchick.workbench.jobs import Tell
from dabchick.workbench.shapes.advice import AdviceOut
from dabchick.workbench.shapes.live import Mesh
from dabchick.workbench.shapes.tank import Line
from dabchick.workbench.shapes.trace import TracedShell, TraceFigures
from dabchick.workbench.words import measured

DRAWN_AXIAL: Final = 120
DRAWN_AROUND: Final = 48
"""Rings and corners of the mesh on the page; the boat's own hull is made finer."""
_FIGURES: Final[tuple[tuple[str, str, Dimension, str], ...]] = (
    ("length_m", "Length", "length", ""),
    ("beam_m", "Beam", "length", ""),
    ("height_m", "Height", "length", ""),
    ("volume_m3", "Volume of the form", "volume", "without bodies of their own"),
    ("area_m2", "Area of the form", "area", "wetted when dived"),
    ("lcb_m", "Centre of the volume", "length", "from the stern"),
    ("length_difference_m", "Top view longer by", "length", "than the side view, each by its own scale"),
    ("asymmetry_m", "Port and starboard apart by", "length", "at most, about a straight middle line"),
)


def trace_work(
    tell: Tell, tables: Mapping[str, Any], pictures: Mapping[str, tuple[int, int]], name: str
) -> TraceResult:
    """The study, in a process of its own."""
    from dabchick.storage.trace_file import trace_of
    from dabchick.studies import trace

    tell("Reading the trace many times over, each time a little off", 0.2)
    doc = trace_of(tables, name)
    return trace.run(doc, pictures, name=name, axial=DRAWN_AXIAL, around=DRAWN_AROUND)


def figures_of(base: str, result: TraceResult, units: UnitSet) -> TraceFigures:
    """The study's result for the page; what could not be found has no line."""
    lines: list[Line] = []
    for key, label, dimension, note in _FIGURES:
        figure: Figure = getattr(result, key)
        if math.isfinite(figure.value):
            lines.append(Line(label=label, figure=measured(figure, dimension, units), note=note))
    bodies: list[TracedShell] = []
    if result.hull is not None:
        bodies.append(TracedShell(name="hull", kind="hull", mesh=_mesh(result.hull)))
        for body in result.bodies:
            shells = [TracedShell(name=body.name, kind=body.kind, mesh=_mesh(mesh)) for mesh in body.meshes]
            bodies += shells
            volume = measured(body.volume_m3, "volume", units)
            lines.append(Line(label=f"Volume of the {body.name}", figure=volume, note=_both(len(shells))))
    return TraceFigures(
        base=base,
        closes=result.hull is not None and not result.faults,
        lines=lines,
        bodies=bodies,
        advice=[AdviceOut.of(entry) for entry in result.warnings],
        assumptions=list(result.assumptions),
        validity=result.validity,
    )


def _both(shells: int) -> str:
    return "both together" if shells > 1 else ""


def _mesh(mesh: TracedMesh) -> Mesh:
    positions: list[float] = np.round(mesh.vertices_m, 6).reshape(-1).tolist()
    indices: list[int] = mesh.faces.reshape(-1).tolist()
    return Mesh(positions=positions, indices=indices)

"""The hull of a trace file as a closed surface: the lofted form, and its separate bodies as shells of their own."""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

from dabchick.model.advice import Advice, BoatError
from dabchick.model.drawn_trace import DrawnTrace, drawn_trace
from dabchick.model.hull_surface import HullSurface
from dabchick.model.trace import TraceDoc
from dabchick.model.traced_bodies import TracedBody
from dabchick.model.units import shown
from dabchick.physics.loft import Loft
from dabchick.physics.surface import Array, Indices, faults
from dabchick.physics.traced_body import Mesh
from dabchick.storage.locate import key_lines, located
from dabchick.storage.mesh_size import length_advice
from dabchick.storage.trace_file import read_trace_text, trace_text_of


def read_traced(path: Path, skin_m: float | None = None) -> HullSurface:
    """The hull of a trace file as a closed outward mesh in metres: x forward, y to port, z up.

    skin_m: thickness of the skin; a body that it would fill is refused. Raises BoatError with every mistake.
    """
    text = trace_text_of(path)
    doc = read_trace_text(text, path)
    drawn = drawn_trace(doc)
    advice = list(drawn.advice)
    if drawn.loft is not None and drawn.sound:
        vertices, faces = _together(drawn.loft, _shells(doc, drawn))
        size = length_advice(float(np.ptp(vertices, axis=0).max()), "m", path.name, "")
        advice += [*([size] if size else []), *_thin(doc, skin_m), *_unsound(doc, drawn, vertices, faces)]
    if drawn.loft is None or any(entry.severity == "error" for entry in advice):
        raise BoatError(*placed(advice, text, path.name))
    apart = tuple(f"{body.name}: " for body in doc.bodies if not body.part_of_hull)
    said = [
        *(sentence for sentence in drawn.assumptions if not sentence.startswith(apart)),
        *(entry.what for entry in advice),
        *(
            f"{body.name} is not part of the hull: the boat file has it as a part"
            for body in doc.bodies
            if not body.part_of_hull
        ),
    ]
    return HullSurface(
        vertices=vertices,
        faces=faces,
        source=path.name,
        assumptions=tuple(f"{path.name}: {sentence.removesuffix('.')}" for sentence in said),
    )


def placed(advice: Iterable[Advice], text: str, file: str) -> tuple[Advice, ...]:
    """Advice with file and line in place of its key, which is one of the trace file and not of the boat file."""
    return tuple(replace(entry, key="") for entry in located(advice, file, key_lines(text)))


def _shells(doc: TraceDoc, drawn: DrawnTrace) -> list[TracedBody]:
    own = {body.name for body in doc.bodies if body.part_of_hull}
    return [body for body in drawn.bodies if body.name in own]


def _together(loft: Loft, bodies: list[TracedBody]) -> Mesh:
    vertices, faces = [loft.vertices], [loft.faces]
    count = len(loft.vertices)
    for body in bodies:
        for corners, triangles in body.meshes:
            vertices.append(corners)
            faces.append(triangles + count)
            count += len(corners)
    return np.concatenate(vertices), np.concatenate(faces)


def _thin(doc: TraceDoc, skin_m: float | None) -> list[Advice]:
    """Bodies of which two skins leave nothing hollow."""
    found = []
    for row, body in enumerate(doc.bodies):
        across = body.thickness if body.kind == "plane" else (body.breadth or body.thickness)
        if skin_m is None or across is None or not body.part_of_hull or across > 2.0 * skin_m:
            continue
        found.append(
            Advice(
                what=f'Two skins of {shown(skin_m, "length")} leave nothing hollow in "{body.name}", which is '
                f"{shown(across, 'length')} thick.",
                todo="Write part_of_hull = false here, and give it in the boat file as a [[part]] of its own, "
                'kind = "solid".',
                key=f"body[{row + 1}]",
                given=shown(across, "length"),
                allowed=f"more than {shown(2.0 * skin_m, 'length')}",
            )
        )
    return found


def _unsound(doc: TraceDoc, drawn: DrawnTrace, vertices: Array, faces: Indices) -> list[Advice]:
    """A form that is not closed or runs through itself, and bodies that run into each other and would count twice."""
    bodies = _shells(doc, drawn)
    report = faults(vertices, faces)
    if report.clean or drawn.loft is None:
        return []
    if not report.meeting_shells:
        places = [crossing.start for crossing in report.crossings]
        places += [edge.start for edge in (*report.crowded_edges, *report.turned_edges)]
        where = f", first {shown(places[0][0], 'length')} from the stern" if places else ""
        return [
            Advice(
                what=f"The form between the traced edges runs through itself{where}.",
                todo="Look at the edges there: set more points where they turn sharply, and mark corners.",
                key="view",
            )
        ]
    names = ["the hull", *(f'"{body.name}"' for body in bodies for _ in body.meshes)]
    sizes = [len(drawn.loft.faces), *(len(mesh[1]) for body in bodies for mesh in body.meshes)]
    first_face = np.cumsum([0, *sizes[:-1]])
    by_shell = {int(report.shell_of_face[face]): name for face, name in zip(first_face, names, strict=True)}
    pairs = {tuple(sorted((by_shell[a], by_shell[b]), key=names.index)) for a, b in report.meeting_shells}
    found = []
    for one, other in sorted(pairs):
        row = next(k for k, body in enumerate(doc.bodies) if f'"{body.name}"' in (one, other))
        found.append(
            Advice(
                what=f"{one[0].upper()}{one[1:]} and {other} run into each other, so that their room would count "
                "twice.",
                todo="Trace one to where the other begins.",
                key=f"body[{row + 1}]",
            )
        )
    return found

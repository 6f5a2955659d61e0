"""A look at a mesh or station table before it becomes a hull: sizes in each unit, faults, and a coarse mesh to draw."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.physics.surface import SurfaceReport, Vector, faults
from dabchick.storage.coarser import coarser
from dabchick.storage.mesh_advice import fault_advice
from dabchick.storage.mesh_file import RawMesh, read_triangles
from dabchick.storage.mesh_size import HULL_LENGTH_M, METRES, length_advice, unit_advice
from dabchick.storage.station_table import read_stations

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

MOST_DRAWN: Final = 30_000
"""Triangles of the mesh for drawing."""


@dataclass(frozen=True)
class UnitChoice:
    """How large the hull is when the file's numbers are read in this unit."""

    unit: str
    sides_m: Vector
    likely: bool
    """Its longest side is that of a model submarine."""


@dataclass(frozen=True, eq=False)
class FileLook:
    """What is in a file; lengths in metres, in the unit asked for or else the first likely one."""

    triangles: int
    bodies: int
    unit: str | None
    """The unit asked for, or the file's own; None where it is still to be chosen."""
    sides_m: Vector
    volume_m3: float
    """Without meaning while the mesh is open."""
    units: tuple[UnitChoice, ...]
    """Empty for a file that says its unit itself."""
    sound: bool
    solid_walled: bool
    advice: tuple[Advice, ...]
    places_m: tuple[Vector, ...]
    """Where the faults are."""
    vertices_m: Array
    faces: Indices
    """For drawing."""
    assumptions: tuple[str, ...]


def look_at(path: Path, unit: str | None, *, separate_shells: bool = False, part: bool = False) -> FileLook:
    """Read a file; without a unit it is left open which one it has. `part` allows the sizes of pieces.

    Raises BoatError when there is no hull in it to be looked at at all.
    """
    if path.suffix.lower() in (".csv", ".txt"):
        return _stations(path)
    if unit is not None and (wrong := unit_advice(unit, path.name, "unit")):
        raise BoatError(wrong)
    raw, own = _triangles(path, unit)
    return _mesh(raw, path.name, unit or own, separate_shells, part)


def _stations(path: Path) -> FileLook:
    surface = read_stations(path)
    low, high = surface.vertices.min(axis=0), surface.vertices.max(axis=0)
    report = faults(surface.vertices, surface.faces, seek_crossings=False)
    return FileLook(
        triangles=len(surface.faces),
        bodies=1,
        unit="m",
        sides_m=_vector(high - low),
        volume_m3=report.volume,
        units=(),
        sound=True,
        solid_walled=False,
        advice=(),
        places_m=(),
        vertices_m=surface.vertices,
        faces=surface.faces,
        assumptions=surface.assumptions,
    )


def _triangles(path: Path, unit: str | None) -> tuple[RawMesh, str | None]:
    """The triangles, and the unit that the file itself insists on."""
    if unit is not None or path.suffix.lower() != ".3mf":
        return read_triangles(path, unit or "mm"), None
    first: BoatError | None = None
    for own in METRES:
        try:
            return read_triangles(path, own), own
        except BoatError as wrong:
            first = first or wrong
            if not wrong.advice[0].given.startswith("unit ="):
                raise
    raise first or BoatError(Advice("The file has no unit.", "Export it again.", where=path.name))


def _mesh(raw: RawMesh, name: str, unit: str | None, separate_shells: bool, part: bool) -> FileLook:
    report = faults(raw.vertices, raw.faces)
    sides = np.subtract(report.high, report.low)
    finite = not report.not_finite and bool(np.isfinite(sides).all())
    choices = tuple(_choice(other, sides) for other in METRES) if finite else ()
    likely = next((choice.unit for choice in choices if choice.likely), "mm")
    read_in = unit or likely
    metres = METRES[read_in]
    wrong = list(fault_advice(report, name, read_in, separate_shells))
    size = (
        length_advice(float(sides.max()), unit, name, "unit", part) if unit is not None and finite else None
    )
    wrong += [size] if size else []
    drawn = coarser(raw.vertices * metres, raw.faces, MOST_DRAWN) if finite else _NOTHING
    return FileLook(
        triangles=len(raw.faces),
        bodies=len(report.bodies),
        unit=unit,
        sides_m=_vector(sides * metres) if finite else (0.0, 0.0, 0.0),
        volume_m3=report.volume * metres**3,
        units=choices,
        sound=not wrong,
        solid_walled=report.closed and report.all_wall,
        advice=tuple(wrong),
        places_m=tuple(_vector(np.multiply(place, metres)) for place in _places(report)),
        vertices_m=drawn[0],
        faces=drawn[1],
        assumptions=(),
    )


_NOTHING: Final = (np.zeros((0, 3)), np.zeros((0, 3), np.int64))


def _choice(unit: str, sides: Array) -> UnitChoice:
    low, high = HULL_LENGTH_M
    longest = float(sides.max()) * METRES[unit]
    return UnitChoice(unit, _vector(sides * METRES[unit]), low <= longest <= high)


def _places(report: SurfaceReport) -> list[Vector]:
    """A point for each fault, in the unit of the mesh."""
    return [
        *(loop.centre for loop in report.open_loops),
        *(edge.start for edge in (*report.crowded_edges, *report.turned_edges)),
        *(face.centre for face in (*report.degenerate_faces, *report.duplicate_faces)),
        *(pair.start for pair in report.crossings),
    ]


def _vector(values: Array) -> Vector:
    x, y, z = (float(value) for value in values)
    return (x, y, z)

"""Mending a mesh on request: a new file and a report of every change; the old file is only read.

What is mended, in this order: faces with endless corners, rims that nearly meet, doubled faces and faces
without area, shells that share edges, faces turned the wrong way, holes that are small or flat, bodies inside
out, bodies that overlap. What cannot be told from the mesh alone (is an inner shell a cavity or a part? how
did a large curved piece look?) is left to the builder: then nothing is written and the error says what stays
wrong.
"""

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.physics.surface import SurfaceReport, Vector, faults
from dabchick.storage import mending
from dabchick.storage.atomic import write_atomic
from dabchick.storage.mesh_advice import counted, fault_advice
from dabchick.storage.mesh_file import check_suffix, join_equal, read_triangles, triangles_in
from dabchick.storage.mesh_size import METRES
from dabchick.storage.mesh_write import check_new, mesh_bytes

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

NEARLY_MEET_MM: Final = 0.01
"""Corners on open rims nearer than this become one."""
LARGEST_CURVED_HOLE: Final = 0.03
"""Part of the mesh's diagonal up to which a hole that is not flat is filled; flat ones of any size are."""


@dataclass(frozen=True)
class FilledHole:
    """A hole that was closed, in millimetres from the file's own zero."""

    centre_mm: Vector
    round_mm: float
    width_mm: float
    flat: bool
    triangles: int


@dataclass(frozen=True)
class Measured:
    """A mesh in figures; volume and area of an open mesh are only a hint."""

    triangles: int
    shells: int
    open_edges: int
    volume_cm3: float
    area_cm2: float


@dataclass(frozen=True)
class RepairReport:
    """What was changed, in sentences and in figures."""

    source: str
    out: str
    unit: str
    changes: tuple[str, ...]
    holes: tuple[FilledHole, ...]
    before: Measured
    after: Measured


def repair_hull(boat_file: Path, out: Path) -> RepairReport:
    """Mend the mesh that a boat file names as its hull; of the file only `hull.mesh`, `unit` and
    `separate_shells` need to be readable.

    Raises BoatError when there is no such mesh, or it cannot be mended.
    """
    try:
        hull = tomllib.loads(boat_file.read_text(encoding="utf-8")).get("hull", {})
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as reason:
        raise BoatError(
            Advice(f"The boat file cannot be read: {reason}.", "Put that right first.", where=str(boat_file))
        ) from reason
    mesh, unit = (hull.get("mesh"), hull.get("unit")) if isinstance(hull, dict) else (None, None)
    if not isinstance(mesh, str) or not isinstance(unit, str):
        raise BoatError(
            Advice(
                what="The boat's hull is not a mesh with a unit, so there is nothing to mend.",
                todo='Give mesh = "hull.stl" and unit = "mm" under [hull]; a station table is put right in '
                "its file.",
                where=str(boat_file),
                key="hull.mesh",
            )
        )
    return repair(boat_file.parent / mesh, unit, out, separate_shells=hull.get("separate_shells") is True)


def repair(path: Path, unit: str, out: Path, *, separate_shells: bool = False) -> RepairReport:
    """Mend a mesh into a new file that passes every check of `read_mesh`, and say what was changed.

    `unit` as for `read_mesh`; the new file has the same unit. `out` must not exist yet; its name says its
    form (.stl is written binary). Raises BoatError, and writes nothing, when something stays wrong.
    """
    raw = read_triangles(path, unit)
    _check_out(path, out, unit)
    before = faults(raw.vertices, raw.faces, seek_crossings=False)
    bench = _Bench(raw.vertices, raw.faces, unit)
    bench.clean()
    bench.close()
    bench.unite()
    data = mesh_bytes(bench.vertices, bench.faces, out, "mended mesh")
    again = triangles_in(out, data, unit)
    report = faults(again.vertices, again.faces)
    wrong = fault_advice(report, path.name, unit, separate_shells)
    if wrong:
        left = tuple(
            Advice(
                what=f"The mesh could not be mended; nothing was written. What stays wrong: {entry.what}",
                todo="Mend this place in your drawing program." if "--repair" in entry.todo else entry.todo,
                where=entry.where,
                given=entry.given,
                allowed=entry.allowed,
            )
            for entry in (*wrong, *bench.left_open(path.name))
        )
        raise BoatError(*left)
    if not bench.changes:
        bench.changes.append("Nothing had to be mended; the new file holds the same surface.")
    old, new = _measured(before, unit), _measured(report, unit)
    bench.changes.append(
        f"Before: {_told(old)}. After: {_told(new)}."
        + ("" if before.closed else " The volume before is only a hint.")
    )
    write_atomic(out, data)
    return RepairReport(path.name, str(out), unit, tuple(bench.changes), tuple(bench.holes), old, new)


class _Bench:
    """The mesh under repair and the list of changes so far."""

    def __init__(self, vertices: Array, faces: Indices, unit: str) -> None:
        self.vertices = vertices
        self.faces = faces
        self.unit = unit
        self.to_mm = METRES[unit] * 1000.0
        self.changes: list[str] = []
        self.holes: list[FilledHole] = []
        self.open_holes: list[mending.Hole] = []

    def say(self, count: int, noun: str, sentence: str) -> None:
        if count:
            self.changes.append(sentence.format(counted(count, noun)))

    def clean(self) -> None:
        self.faces, endless = mending.without_endless(self.vertices, self.faces)
        self.say(endless, "triangle", "Took out {} with corners that are no numbers.")
        self._need_faces()
        self.faces, joined = mending.rims_joined(self.vertices, self.faces, NEARLY_MEET_MM / self.to_mm)
        self.say(
            joined, "corner", f"Joined {{}} on open edges with others less than {NEARLY_MEET_MM} mm away."
        )
        self._without_repeats()
        self.faces, flipped = mending.slivers_flipped(self.vertices, self.faces)
        self.say(flipped, "triangle", "Took out {} without area by splitting the neighbours.")
        self._without_repeats()
        self.vertices, self.faces, parted = mending.parted(self.vertices, self.faces)
        self.say(parted, "edge", "Parted surfaces along {} that had more than two faces.")
        self.faces, turned, _ = mending.turned_alike(self.faces)
        self.say(turned, "triangle", "Turned {} that disagreed with the neighbours about the outside.")

    def close(self) -> None:
        diagonal = float(np.linalg.norm(np.ptp(self.vertices[self.faces].reshape(-1, 3), axis=0)))
        self.faces, holes = mending.holes_filled(self.vertices, self.faces, LARGEST_CURVED_HOLE * diagonal)
        for hole in holes:
            if hole.triangles == 0:
                self.open_holes.append(hole)
                continue
            centre = hole.centre
            filled = FilledHole(
                (centre[0] * self.to_mm, centre[1] * self.to_mm, centre[2] * self.to_mm),
                hole.length * self.to_mm,
                hole.width * self.to_mm,
                hole.flat,
                hole.triangles,
            )
            self.holes.append(filled)
            self.changes.append(
                f"{'Capped a flat opening' if hole.flat else 'Filled a hole'} {filled.width_mm:.2f} mm wide, "
                f"{filled.round_mm:.2f} mm round, at "
                f"({', '.join(f'{value:.2f}' for value in filled.centre_mm)}) mm, "
                f"with {counted(hole.triangles, 'triangle')}."
            )
        report = faults(self.vertices, self.faces, seek_crossings=False)
        self.faces, turned = mending.turned_outward(self.faces, report)
        self.say(turned, "shell", "Turned {} inside out.")

    def unite(self) -> None:
        report = faults(self.vertices, self.faces)
        if report.closed:
            self.vertices, self.faces, united = mending.bodies_united(self.vertices, self.faces, report)
            self.say(united, "shell", "United {} that overlapped or touched into one surface.")
        # The file holds single precision: round now, so that what falls together is put right here and not
        # there.
        self.vertices, number = join_equal(self.vertices.astype(np.float32).astype(np.float64))
        self.faces = number[self.faces]
        self._without_repeats()
        self.faces, _ = mending.slivers_flipped(self.vertices, self.faces)
        self._without_repeats()

    def left_open(self, file: str) -> list[Advice]:
        return [
            Advice(
                what=f"a hole {hole.width * self.to_mm:.1f} mm wide is not flat, and too large to guess its "
                f"form.",
                todo="Close it in your drawing program.",
                where=f"{file} at ({', '.join(f'{value * self.to_mm:.2f}' for value in hole.centre)}) mm",
                given=f"{hole.edges} edges, {hole.length * self.to_mm:.1f} mm round",
            )
            for hole in self.open_holes
        ]

    def _without_repeats(self) -> None:
        self.faces, flat, doubled = mending.without_repeats(self.faces)
        self.say(flat, "triangle", "Took out {} with two corners in one place.")
        self.say(doubled, "triangle", "Took out {} that copied another.")
        self._need_faces()

    def _need_faces(self) -> None:
        if len(self.faces) == 0:
            raise BoatError(
                Advice("Nothing of the mesh is left when its faults are taken out.", "Export the hull again.")
            )


def _check_out(path: Path, out: Path, unit: str) -> None:
    check_suffix(out)
    if out.exists() and out.resolve() == path.resolve():
        raise BoatError(
            Advice(
                what="The mended mesh would overwrite the old one.",
                todo="Name a new file; the old one is kept as it is.",
                where=str(out),
            )
        )
    check_new(out, unit)


def _measured(report: SurfaceReport, unit: str) -> Measured:
    cm = METRES[unit] * 100.0
    return Measured(
        report.faces, len(report.shells), report.open_edges, report.volume * cm**3, report.area * cm**2
    )


def _told(mesh: Measured) -> str:
    return (
        f"{mesh.triangles} triangles in {mesh.shells} shell{'' if mesh.shells == 1 else 's'}, "
        f"{mesh.open_edges} open "
        f"edges, {mesh.volume_cm3:.2f} cm3, {mesh.area_cm2:.2f} cm2"
    )

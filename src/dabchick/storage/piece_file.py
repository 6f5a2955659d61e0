"""Print files read one by one: each with its unit, turned and shifted, sound or named with all that is wrong."""

import hashlib
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.vessel import Vector
from dabchick.physics.surface import faults
from dabchick.storage.mesh_advice import MEND, fault_advice
from dabchick.storage.mesh_file import read_triangles
from dabchick.storage.mesh_size import METRES, length_advice
from dabchick.storage.repair import RepairReport, repair

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

MOST_PIECES: Final = 60
MOST_TRIANGLES: Final = 3_000_000
"""Of all pieces together."""
_MEND_PIECE: Final = (
    "Mend it in your drawing program, or run the same command with `--repair`: it works on a mended copy and "
    "tells what it changed."
)


@dataclass(frozen=True)
class PieceFile:
    """One print file and how it is to be read."""

    path: Path
    unit: str = "mm"
    shift_m: Vector = (0.0, 0.0, 0.0)
    """Added after turning [m]."""
    turn_deg: Vector = (0.0, 0.0, 0.0)
    """About the file's x axis, then its y, then its z, right-handed."""
    name: str = ""
    """As the builder calls it; the file's own name when empty."""

    @property
    def called(self) -> str:
        return self.name or self.path.name


@dataclass(frozen=True, eq=False)
class ReadPiece:
    """A sound piece in metres, turned and shifted as asked."""

    file: PieceFile
    name: str
    vertices: Array
    faces: Indices
    volume_m3: float
    area_m2: float
    mended: bool = False

    @property
    def low(self) -> Array:
        low: Array = self.vertices.min(axis=0)
        return low

    @property
    def high(self) -> Array:
        high: Array = self.vertices.max(axis=0)
        return high

    def moved(self, by: Array) -> "ReadPiece":
        """The piece shifted by a vector [m]."""
        return replace(self, vertices=self.vertices + by)


def read_pieces(
    files: Sequence[PieceFile], *, mend: bool = False
) -> tuple[list[ReadPiece], tuple[RepairReport, ...]]:
    """All pieces, and a report for each that was mended, which happens only where `mend` says so.

    Raises one BoatError with all that is wrong in all files: none, too many, unreadable, open, inside out, with
    coordinates that are no numbers, of an unlikely size, or the same piece twice in one place.
    """
    if not files:
        raise BoatError(Advice("There are no pieces to join.", "Name at least one print file.", key="pieces"))
    if len(files) > MOST_PIECES:
        raise BoatError(
            Advice(
                what=f"These are {len(files)} pieces.",
                todo="Join them in groups first: what comes out is a mesh file like any other.",
                key="pieces",
                given=str(len(files)),
                allowed=f"up to {MOST_PIECES}",
            )
        )
    wrong: list[Advice] = [*_doubled(files)]
    pieces, reports = [], []
    names = _names(files)
    for file, name in zip(files, names, strict=True):
        try:
            piece, report = _read(file, name, mend)
        except BoatError as mistake:
            wrong += mistake.advice
            continue
        pieces.append(piece)
        if report is not None:
            reports.append(report)
    total = sum(len(piece.faces) for piece in pieces)
    if total > MOST_TRIANGLES:
        wrong.append(
            Advice(
                what=f"The pieces have {total} triangles together.",
                todo="Export them coarser; 50 000 triangles already hold a hull's volume to 0.1 %.",
                key="pieces",
                allowed=f"up to {MOST_TRIANGLES}",
            )
        )
    if wrong:
        raise BoatError(*wrong)
    return pieces, tuple(reports)


def rotation(turn_deg: Vector) -> Array:
    """Matrix (3, 3) that turns about x, then y, then z, right-handed; quarter turns are exact."""
    matrix = np.eye(3)
    for axis, angle in enumerate(turn_deg):
        quarters = angle / 90.0
        if quarters == round(quarters):
            c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarters) % 4]
        else:
            c, s = float(np.cos(np.radians(angle))), float(np.sin(np.radians(angle)))
        turn = np.eye(3)
        i, j = (axis + 1) % 3, (axis + 2) % 3
        turn[i, i], turn[i, j], turn[j, i], turn[j, j] = c, -s, s, c
        matrix = turn @ matrix
    return matrix


def _read(file: PieceFile, name: str, mend: bool) -> tuple[ReadPiece, RepairReport | None]:
    unlike = [value for value in (*file.shift_m, *file.turn_deg) if not np.isfinite(value)]
    if unlike:
        raise BoatError(
            Advice("A shift or turn is no number.", "Give three finite numbers.", where=name, key="shift")
        )
    raw = read_triangles(file.path, file.unit)
    vertices, faces = raw.vertices, raw.faces
    report = faults(vertices, faces)
    wrong = [_for_pieces(entry) for entry in fault_advice(report, name, file.unit, separate_shells=True)]
    mended: RepairReport | None = None
    if wrong and mend:
        with tempfile.TemporaryDirectory(prefix="dabchick-pieces-") as folder:
            out = Path(folder) / f"{file.path.stem}-mended.stl"
            mended = repair(file.path, file.unit, out, separate_shells=True)
            raw = read_triangles(out, file.unit)
        mended = replace(mended, source=name, out="")
        vertices, faces = raw.vertices, raw.faces
        report = faults(vertices, faces, seek_crossings=False)
        wrong = []
    if report.faces and not report.not_finite:
        longest = max(high - low for low, high in zip(report.low, report.high, strict=True))
        size = length_advice(longest, file.unit, name, "unit", part=True)
        wrong += [size] if size else []
    if wrong:
        raise BoatError(*wrong)
    metres = METRES[file.unit]
    placed = (vertices * metres) @ rotation(file.turn_deg).T + np.array(file.shift_m)
    return (
        ReadPiece(
            file,
            name,
            np.ascontiguousarray(placed),
            faces,
            report.volume * metres**3,
            report.area * metres**2,
            mended is not None,
        ),
        mended,
    )


def _for_pieces(entry: Advice) -> Advice:
    """The same advice for one who joins pieces."""
    if entry.todo == MEND:
        return replace(entry, todo=_MEND_PIECE)
    return entry


def _names(files: Sequence[PieceFile]) -> list[str]:
    """A name for each; where several have the same, its place in the list goes with it."""
    called = [file.called for file in files]
    return [
        name if called.count(name) == 1 else f"{name} (piece {number})"
        for number, name in enumerate(called, 1)
    ]


def _doubled(files: Sequence[PieceFile]) -> list[Advice]:
    """Advice for each file that was given before with the same content, shift and turn."""
    seen: dict[tuple[bytes, str, Vector, Vector], str] = {}
    found = []
    for file in files:
        if not file.path.is_file():
            continue
        digest = hashlib.sha256(file.path.read_bytes()).digest()
        key = (digest, file.unit, file.shift_m, file.turn_deg)
        if key in seen:
            found.append(
                Advice(
                    what=f"The same piece is here twice: {file.called} holds just what {seen[key]} holds.",
                    todo="Take one of them out, or shift one if the hull really has two of them.",
                    where=file.called,
                    key="pieces",
                )
            )
        seen.setdefault(key, file.called)
    return found

"""Print files joined to one hull mesh: placed, held against each other, united, and rounded as a file holds them.

Pieces meet where they touch, overlap, or lie no farther apart than the gap that the builder allows; what is loose is
named with the way to its nearest neighbour. Small gaps are closed by moving a piece, which the assumptions say.
The union itself is manifold3d's.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import manifold3d
import numpy as np
from numpy.typing import NDArray

from dabchick.model.advice import Advice, BoatError
from dabchick.model.pile import Joint, Piece, Pile
from dabchick.model.vessel import Vector
from dabchick.physics.closest import nearest, tree_over
from dabchick.physics.clusters import ClusterTree
from dabchick.physics.groups import groups
from dabchick.physics.surface import SurfaceReport, faults
from dabchick.storage import mending
from dabchick.storage.atomic import write_atomic
from dabchick.storage.mesh_advice import fault_advice
from dabchick.storage.mesh_file import join_equal
from dabchick.storage.mesh_size import length_advice, spoken_length
from dabchick.storage.mesh_write import mesh_bytes
from dabchick.storage.piece_file import PieceFile, ReadPiece, read_pieces
from dabchick.storage.repair import RepairReport
from dabchick.storage.stacked import stacked

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Told = Callable[[str, float], None]

USUAL_GAP_M: Final = 0.0001
"""Two printed faces lie on each other within a tenth of a millimetre: common practice, no source."""
MM: Final = 1000.0
NOTHING_SHARED: Final = 1e-6
"""Part of the smaller piece's volume below which a shared room is rounding."""
WHOLE: Final = 0.999
"""Part of a piece's volume from which it counts as lying wholly in another."""
PRESSES: Final = (0.0, 1e-7, 1e-6, 1e-5, 1e-4)
"""Depths, as parts of the pile's diagonal, to which pieces are pressed together until they hang together."""
SIMPLER: Final = (0.0, 1e-7, 1e-6, 1e-5)
"""Parts of the diagonal by which slivers of the union may be smoothed where pressing alone leaves no sound mesh."""
FAR: Final = 1.5
"""Distance from zero, as a part of the pile's diagonal, beyond which a file is written about the pile's middle."""
TRUE: Final = 1e-5
"""Part of the volume by which rounding and smoothing may change a union."""


@dataclass(frozen=True, eq=False)
class Joined:
    """The pile, and what was mended on the way."""

    pile: Pile
    repairs: tuple[RepairReport, ...]


def join(
    files: Sequence[PieceFile],
    *,
    mend: bool = False,
    stack: bool = False,
    gap_m: float = USUAL_GAP_M,
    judge_size: bool = True,
    tell: Told | None = None,
) -> Joined:
    """Join print files to one closed outward mesh.

    `stack` puts the pieces end to end along x in the order given; without it they lie as in their files, turned and
    shifted as each says. `gap_m` is the widest gap that is closed. `judge_size` warns of a length that no model has.
    Raises BoatError with all that is wrong with the files, or with the ways between pieces that do not meet.
    """
    if not (np.isfinite(gap_m) and gap_m >= 0.0):
        raise BoatError(
            Advice("The gap allowed is below zero.", "Give 0 mm or more.", key="gap", given=f"{gap_m} m")
        )
    say = tell or (lambda text, share: None)
    say("Reading the pieces", 0.05)
    pieces, repairs = read_pieces(files, mend=mend)
    assumptions = [f"{report.source} was mended: see its report" for report in repairs]
    advice: list[Advice] = []
    moved = np.zeros((len(pieces), 3))
    if stack and len(pieces) > 1:
        placed = stacked(pieces)
        pieces, moved = placed.pieces, placed.moved
        assumptions += placed.assumptions
        advice += placed.advice
    say("Looking where the pieces meet", 0.25)
    bodies = [_body(piece) for piece in pieces]
    meetings = _meetings(pieces, bodies, gap_m)
    loose = _loose(pieces, meetings)
    if loose:
        raise BoatError(*loose)
    advice += _overlaps(meetings, pieces)
    say("Uniting the pieces", 0.4)
    vertices, faces, pressed, more = _united(pieces, bodies, meetings, gap_m)
    contacts = _contacts(bodies, meetings, pressed)
    loose = _loose(pieces, [m for m, area in zip(meetings, contacts, strict=True) if area != 0.0])
    if loose:
        raise BoatError(*loose)
    assumptions += more
    moved = moved + pressed
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    if judge_size:
        size = length_advice(float((high - low).max()) * MM, "mm", "all pieces together", "unit")
        if size is not None:
            advice.append(_as_warning(size))
    pile = Pile(
        name=f"{len(pieces)} pieces" if len(pieces) > 1 else pieces[0].name,
        vertices_m=vertices,
        faces=faces,
        pieces=tuple(_piece(piece, moved[k], pressed[k]) for k, piece in enumerate(pieces)),
        joints=tuple(meeting.joint(pieces, area) for meeting, area in zip(meetings, contacts, strict=True)),
        assumptions=tuple(assumptions),
        advice=tuple(advice),
    )
    return Joined(pile, repairs)


@dataclass(frozen=True, eq=False)
class _Meeting:
    first: int
    second: int
    gap_m: float
    overlap_m3: float
    start: Array
    """On the first piece, or the low corner of what both share."""
    end: Array

    def joint(self, pieces: Sequence[ReadPiece], contact_m2: float) -> Joint:
        return Joint(
            pieces[self.first].name,
            pieces[self.second].name,
            self.gap_m,
            self.overlap_m3,
            contact_m2,
            _vector(0.5 * (self.start + self.end)),
        )


def _body(piece: ReadPiece) -> manifold3d.Manifold:
    body = manifold3d.Manifold(
        manifold3d.Mesh64(
            vert_properties=np.ascontiguousarray(piece.vertices),
            tri_verts=np.ascontiguousarray(piece.faces.astype(np.uint64)),
        )
    )
    if body.status() != manifold3d.Error.NoError:
        raise BoatError(
            Advice(
                what=f"This piece cannot be united with others: {body.status().name}.",
                todo="Look for places where its surface meets itself in a point, and export it again.",
                where=piece.name,
            )
        )
    return body


def _meetings(
    pieces: Sequence[ReadPiece], bodies: Sequence[manifold3d.Manifold], gap_m: float
) -> list[_Meeting]:
    """All pairs that touch, overlap or lie within the gap allowed."""
    found = []
    wrong = []
    trees: dict[int, ClusterTree] = {}
    for i, one in enumerate(pieces):
        for j in range(i + 1, len(pieces)):
            other = pieces[j]
            if _box_gap(one, other) > gap_m * (1.0 + 1e-9) + 1e-12:
                continue
            shared = bodies[i] ^ bodies[j]
            volume = float(shared.volume())
            smaller = min(one.volume_m3, other.volume_m3)
            if volume > NOTHING_SHARED * smaller:
                box = np.array(shared.bounding_box())
                found.append(_Meeting(i, j, 0.0, volume, box[:3], box[3:]))
                if volume >= WHOLE * max(one.volume_m3, other.volume_m3):
                    wrong.append(
                        Advice(
                            what=f"{other.name} fills the very room of {one.name}: the same piece twice.",
                            todo="Take one of them out, or shift it to where it belongs.",
                            where=_at(other.low, other.high),
                            key="pieces",
                        )
                    )
                continue
            tree = trees.setdefault(j, tree_over(other.vertices, other.faces))
            way = nearest(one.vertices, one.faces, tree, gap_m + 1e-9)
            if way is not None:
                found.append(_Meeting(i, j, way.distance, 0.0, np.array(way.first), np.array(way.second)))
    if wrong:
        raise BoatError(*wrong)
    return found


def _contacts(
    bodies: Sequence[manifold3d.Manifold], meetings: Sequence[_Meeting], moves: Array
) -> list[float]:
    """Surface [m2] on which each two pieces lie on each other: what the two together have more than their union.

    NaN for pieces that overlap; 0 for those that meet in a point or along an edge only.
    """
    areas = []
    for meeting in meetings:
        if meeting.overlap_m3 > 0.0:
            areas.append(float("nan"))
            continue
        one, other = (
            bodies[k].translate(tuple(moves[k])) if moves[k].any() else bodies[k]
            for k in (meeting.first, meeting.second)
        )
        area = 0.5 * (one.surface_area() + other.surface_area() - (one + other).surface_area())
        least = NOTHING_SHARED * min(one.surface_area(), other.surface_area())
        areas.append(area if area > least else 0.0)
    return areas


def _loose(pieces: Sequence[ReadPiece], meetings: Sequence[_Meeting]) -> list[Advice]:
    """Advice for each group of pieces that meets no other, but the largest one."""
    number, label = groups(
        np.array([meeting.first for meeting in meetings], np.int64),
        np.array([meeting.second for meeting in meetings], np.int64),
        len(pieces),
    )
    if number == 1:
        return []
    sizes = np.bincount(label, weights=[piece.volume_m3 for piece in pieces], minlength=number)
    found = []
    for group in range(number):
        if group == int(np.argmax(sizes)):
            continue
        mine = [int(k) for k in np.flatnonzero(label == group)]
        others = [int(k) for k in np.flatnonzero(label != group)]
        pairs = sorted((_box_gap(pieces[i], pieces[j]), int(i), int(j)) for i in mine for j in others)
        best = np.inf
        chosen = (mine[0], others[0], np.zeros(3), np.zeros(3))
        for apart, i, j in pairs:
            if apart >= best:
                break
            tree = tree_over(pieces[j].vertices, pieces[j].faces)
            way = nearest(pieces[i].vertices, pieces[i].faces, tree, best)
            if way is not None:
                best = way.distance
                chosen = (i, j, np.array(way.first), np.array(way.second))
        i, j, start, end = chosen
        how = (
            f"does not meet the others: {spoken_length(best)} lie between it and {pieces[j].name}"
            if best > 0.0
            else f"meets {pieces[j].name} in a point or along an edge only, which holds nothing together"
        )
        besides = f" (with {len(mine) - 1} more that hang on it)" if len(mine) > 1 else ""
        found.append(
            Advice(
                what=f"{pieces[i].name}{besides} {how}.",
                todo="Shift it there, stack the pieces end to end, or look whether one has another unit. A gap that "
                "glue will fill may be allowed.",
                where=f"from {_point(start)} to {_point(end)} mm",
                key="pieces",
                given=f"a gap of {best * MM:.4g} mm",
            )
        )
    return found


def _overlaps(meetings: Sequence[_Meeting], pieces: Sequence[ReadPiece]) -> list[Advice]:
    found = []
    for meeting in meetings:
        if meeting.overlap_m3 <= 0.0:
            continue
        one, other = pieces[meeting.first], pieces[meeting.second]
        smaller = one if one.volume_m3 < other.volume_m3 else other
        share = meeting.overlap_m3 / smaller.volume_m3
        inside = f" {smaller.name} lies wholly in it." if share >= WHOLE else ""
        found.append(
            Advice(
                what=f"{one.name} and {other.name} claim the same room: {meeting.overlap_m3 * 1e6:.4g} cm3, "
                f"{100.0 * share:.3g} % of the smaller one.{inside}",
                todo="It counts once here. Two real prints cannot share room: look whether one lies in the wrong "
                "place.",
                where=_at(meeting.start, meeting.end),
                key="pieces",
                severity="warning",
            )
        )
    return found


def _united(
    pieces: Sequence[ReadPiece],
    bodies: Sequence[manifold3d.Manifold],
    meetings: Sequence[_Meeting],
    gap_m: float,
) -> tuple[Array, Indices, Array, list[str]]:
    """The one mesh, rounded as a file holds it; by how much each piece was pressed (k, 3), and what to say of it."""
    low = np.min([piece.low for piece in pieces], axis=0)
    high = np.max([piece.high for piece in pieces], axis=0)
    size = float(np.linalg.norm(high - low))
    zero = _file_zero(low, high)
    alone = len(pieces) == 1
    report: SurfaceReport | None = None
    moves = np.zeros((len(pieces), 3))
    for smoothing, depth in ((smoothing, depth) for smoothing in SIMPLER for depth in PRESSES):
        if depth * size > max(gap_m, 1e-5):
            continue
        moves = _presses(pieces, meetings, depth * size)
        placed = [
            body.translate(tuple(move)) if move.any() else body
            for body, move in zip(bodies, moves, strict=True)
        ]
        whole = placed[0] if alone else manifold3d.Manifold.batch_boolean(placed, manifold3d.OpType.Add)
        vertices, faces = _rounded(whole.translate(tuple(-zero)), smoothing * size)
        report = faults(vertices, faces)
        volume = report.volume / MM**3
        if not report.clean or abs(volume - whole.volume()) > TRUE * whole.volume():
            continue
        if len(report.bodies) == 1 or alone:
            return (
                vertices / MM + zero,
                faces,
                moves,
                _said(pieces, moves, smoothing * size, len(report.bodies)),
            )
    if report is None or not report.faces:
        raise BoatError(Advice("Nothing is left of the pieces when they are united.", "Export them again."))
    left = fault_advice(report, "all pieces together", "mm") or (_APART,)
    raise BoatError(
        *(
            Advice(
                what=f"The pieces could not be united to one sound mesh. What stays wrong: {entry.what}",
                todo="Let them overlap by a tenth of a millimetre at this place in your drawing program.",
                where=entry.where,
                given=entry.given,
                allowed=entry.allowed,
            )
            for entry in left
        )
    )


_APART: Final = Advice(
    what="They meet along edges or in points only, so that they do not hang together.", todo="", where=""
)


def _file_zero(low: Array, high: Array) -> Array:
    """Where the zero of a file lies that holds what is between two corners [m]: the files' own, or its middle.

    Far from zero single precision is too coarse for walls; then whole millimetres are taken off.
    """
    if max(np.abs(low).max(), np.abs(high).max()) <= FAR * float(np.linalg.norm(high - low)):
        return np.zeros(3)
    middle: Array = np.round(0.5 * (low + high) * MM) / MM
    return middle


def _said(pieces: Sequence[ReadPiece], moves: Array, smoothing: float, bodies: int) -> list[str]:
    said = []
    for piece, move in zip(pieces, moves, strict=True):
        way = float(np.linalg.norm(move))
        if way > 1e-9:
            said.append(
                f"{piece.name} was moved by ({', '.join(f'{value * MM:+.4f}' for value in move)}) mm to close the "
                "gap at its joint"
            )
    if smoothing > 0.0:
        said.append(f"slivers along the joints were smoothed by up to {smoothing * MM:.4f} mm")
    if bodies > 1:
        said.append(f"the file is {bodies} separate bodies, all taken as hull")
    return said


def _presses(pieces: Sequence[ReadPiece], meetings: Sequence[_Meeting], depth: float) -> Array:
    """Moves (k, 3) [m] that close the gaps, piece by piece away from the first, each pressed in by `depth`."""
    moves = np.zeros((len(pieces), 3))
    if not any(meeting.gap_m > 0.0 for meeting in meetings) and depth == 0.0:
        return moves
    done = {0}
    while True:
        # The surest joint first: an overlap, then the smallest gap.
        ready = [m for m in meetings if (m.first in done) != (m.second in done)]
        if not ready:
            return moves
        joint = min(ready, key=lambda m: (m.gap_m, -m.overlap_m3))
        forth = joint.first in done
        here, there = (joint.first, joint.second) if forth else (joint.second, joint.first)
        moves[there] = moves[here]
        if joint.overlap_m3 == 0.0:
            way = joint.start - joint.end if forth else joint.end - joint.start
            moves[there] = moves[here] + way + depth * _towards(pieces[there], pieces[here], way)
        done.add(there)


def _towards(piece: ReadPiece, other: ReadPiece, way: Array) -> Array:
    """The direction in which a piece is pressed on another: across the gap, or across the face on which they meet."""
    size = float(np.linalg.norm(way))
    if size > 1e-9:
        across: Array = way / size
        return across
    shared = np.minimum(piece.high, other.high) - np.maximum(piece.low, other.low)
    axis = int(np.argmin(shared))
    direction = np.zeros(3)
    direction[axis] = np.sign((other.low + other.high - piece.low - piece.high)[axis]) or 1.0
    return direction


def _rounded(whole: manifold3d.Manifold, smoothing: float) -> tuple[Array, Indices]:
    """A union in millimetres and single precision, as an STL file will hold it; nothing without area is left."""
    shape = whole.simplify(smoothing) if smoothing > 0.0 else whole
    mesh = shape.to_mesh64()
    points = np.asarray(mesh.vert_properties, np.float64)[:, :3] * MM
    vertices, number = join_equal(points.astype(np.float32).astype(np.float64))
    faces = number[np.asarray(mesh.tri_verts, np.int64)]
    for _ in range(2):
        faces, _, _ = mending.without_repeats(faces)
        if len(faces) == 0:
            return vertices, faces
        faces, _ = mending.slivers_flipped(vertices, faces)
    used, again = np.unique(faces, return_inverse=True)
    return vertices[used], again.reshape(-1, 3).astype(np.int64)


def _piece(piece: ReadPiece, moved: Array, pressed: Array) -> Piece:
    return Piece(
        name=piece.name,
        unit=piece.file.unit,
        triangles=len(piece.faces),
        volume_m3=piece.volume_m3,
        area_m2=piece.area_m2,
        low_m=_vector(piece.low + pressed),
        high_m=_vector(piece.high + pressed),
        moved_m=_vector(moved),
        mended=piece.mended,
    )


def _box_gap(one: ReadPiece, other: ReadPiece) -> float:
    """Distance between the boxes of two pieces, 0 where they meet."""
    apart = np.maximum(np.maximum(one.low - other.high, other.low - one.high), 0.0)
    return float(np.linalg.norm(apart))


def _as_warning(entry: Advice) -> Advice:
    return Advice(
        entry.what, entry.todo, entry.where, entry.key, entry.given, entry.allowed, severity="warning"
    )


def _at(low: Array, high: Array) -> str:
    return f"between {_point(low)} and {_point(high)} mm"


def _point(place: Array) -> str:
    return f"({', '.join(f'{value * MM + 0.0:.2f}' for value in place)})"


def _vector(point: Array) -> Vector:
    x, y, z = (float(value) for value in point)
    return (x, y, z)


def write_joined(vertices_m: Array, faces: Indices, out: Path) -> None:
    """Write a joined mesh in millimetres into a new file; its name says its form.

    A mesh that lies far from zero is written about its middle, so that single precision does not coarsen its walls.
    """
    zero = _file_zero(vertices_m.min(axis=0), vertices_m.max(axis=0))
    write_atomic(out, mesh_bytes((vertices_m - zero) * MM, faces, out, "joined print files"))

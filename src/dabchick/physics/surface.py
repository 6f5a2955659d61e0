"""Soundness of a triangle mesh: is it one closed surface that faces outward, and if not, where is it wrong?

Volume and centre of a mesh mean something only when every edge has exactly one face on each side and all
faces agree on which side is outside; `faults` looks for everything that breaks this and says where.
"""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.crossing import NO_AREA, crossings
from dabchick.physics.groups import groups

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Vector = tuple[float, float, float]

THIN_WALL = 0.1
"""A wall has 2 V / A below this part of the smallest side of its box; full hulls lie above 0.2."""
MOST_PLACES = 20
"""Places kept for each kind of fault; the counts are always whole."""
TOLERANCE = 1e-6
"""Part of the mesh's diagonal below which faces count as apart: single-precision files round at 6e-8."""


@dataclass(frozen=True)
class OpenLoop:
    """A chain of edges with a face on one side only: the rim of a hole."""

    edges: int
    length: float
    centre: Vector
    low: Vector
    high: Vector
    flatness: float
    """Greatest distance of a corner from the plane that fits the rim best."""


@dataclass(frozen=True)
class EdgePlace:
    """An edge, by its ends."""

    start: Vector
    end: Vector
    faces: int


@dataclass(frozen=True)
class FacePlace:
    """A triangle, by its number (from 0) and its middle."""

    face: int
    centre: Vector


@dataclass(frozen=True)
class CrossingPlace:
    """Two triangles that meet where they should not, and the ends of the line along which they do."""

    first: int
    second: int
    start: Vector
    end: Vector
    kind: Literal["crosses", "touches"]


@dataclass(frozen=True)
class Shell:
    """One connected piece of surface."""

    faces: int
    volume: float
    """Signed: positive when it faces outward. Without meaning while the shell is open."""
    area: float
    low: Vector
    high: Vector
    closed: bool
    inside: tuple[int, ...]
    """Numbers of the shells round it."""
    inverted: bool
    """It faces inward where it should face outward: depth 0, 2, ... outward; 1, 3, ... inward."""


@dataclass(frozen=True, eq=False)
class SurfaceReport:
    """What `faults` found; lengths in the unit of the vertices, places limited to the first MOST_PLACES."""

    vertices: int
    faces: int
    volume: float
    area: float
    low: Vector
    high: Vector
    not_finite: int
    """Corners whose coordinates are no finite numbers; nothing else is looked for while there are any."""
    shells: tuple[Shell, ...]
    open_edges: int
    open_loops: tuple[OpenLoop, ...]
    crowded_edge_count: int
    """Edges with more than two faces."""
    crowded_edges: tuple[EdgePlace, ...]
    turned_edge_count: int
    """Edges whose two faces disagree on the outside."""
    turned_edges: tuple[EdgePlace, ...]
    degenerate_count: int
    """Triangles without area."""
    degenerate_faces: tuple[FacePlace, ...]
    duplicate_count: int
    """Triangles with the same three corners as an earlier one."""
    duplicate_faces: tuple[FacePlace, ...]
    pinch_count: int
    """Corners in which separate fans of faces meet; harmless for volume."""
    pinches: tuple[Vector, ...]
    crossing_count: int
    touching_count: int
    crossings: tuple[CrossingPlace, ...]
    crossings_sought: bool
    meeting_shells: tuple[tuple[int, int], ...]
    """Pairs of shells that cross or touch each other."""
    shell_of_face: Indices = field(repr=False)

    @property
    def closed(self) -> bool:
        """Every edge has exactly two faces that agree on the outside."""
        edges = self.open_edges or self.crowded_edge_count or self.turned_edge_count
        return self.faces > 0 and not self.not_finite and not edges

    @property
    def outward(self) -> bool:
        """Closed, and every shell faces the right way."""
        return self.closed and not any(shell.inverted for shell in self.shells)

    @property
    def clean(self) -> bool:
        """Closed, outward, and no face is without area, doubled, crossing or touching another."""
        return self.outward and not (
            self.degenerate_count or self.duplicate_count or self.crossing_count or self.touching_count
        )

    @property
    def bodies(self) -> tuple[int, ...]:
        """Numbers of the shells that should face outward; each other shell is a cavity in one of them."""
        return tuple(number for number, shell in enumerate(self.shells) if len(shell.inside) % 2 == 0)

    @property
    def walled(self) -> bool:
        """One body with cavities in it, all facing the right way: the mesh is the material."""
        return self.outward and len(self.bodies) == 1 and len(self.shells) > 1

    @property
    def sound(self) -> bool:
        """Clean, and one body, with or without cavities."""
        return self.clean and len(self.bodies) == 1

    @property
    def wall_thickness(self) -> float:
        """Mean thickness of the material if the mesh is a wall, 2 V / A; for a full body about its half-
        breadth.
        """
        return 2.0 * abs(self.volume) / self.area if self.area > 0.0 else 0.0

    @property
    def smallest_side(self) -> float:
        """Of the box round the mesh."""
        return min(high - low for low, high in zip(self.low, self.high, strict=True))

    @property
    def all_wall(self) -> bool:
        """The mesh is the material itself: it has an inner side, or is far thinner than it is small."""
        return self.walled or self.wall_thickness < THIN_WALL * self.smallest_side


def faults(vertices: Array, faces: Indices, seek_crossings: bool = True) -> SurfaceReport:
    """Everything that keeps a triangle mesh from being one closed outward surface, with coordinates.

    vertices (n, 3) in any length unit, faces (m, 3) corner numbers, counter-clockwise seen from outside.
    Corners at one place must be one vertex: what is not joined by number counts as open.
    `seek_crossings=False` leaves out the search for faces that run through or lie against each other, the
    dearest part. Raises ValueError for arrays of another shape or corner numbers without a vertex.
    """
    vertices = np.ascontiguousarray(vertices, dtype=np.float64)
    faces = np.ascontiguousarray(faces, dtype=np.int64)
    if vertices.ndim != 2 or vertices.shape[1:] != (3,) or faces.ndim != 2 or faces.shape[1:] != (3,):
        shapes = f"{vertices.shape} and {faces.shape}"
        raise ValueError(f"A mesh is vertices (n, 3) and faces (m, 3); these are {shapes}. Check the arrays.")
    if faces.size and (faces.min() < 0 or faces.max() >= len(vertices)):
        raise ValueError(
            f"Faces name vertices {faces.min()} to {faces.max()}, but there are only {len(vertices)}. "
            "Check that both arrays belong to one mesh."
        )
    used = np.zeros(len(vertices), np.bool_)
    used[faces.ravel()] = True
    not_finite = int((~np.isfinite(vertices[used]).all(axis=1)).sum())
    if not_finite or len(faces) == 0:
        return _nothing(len(vertices), len(faces), not_finite)
    corners = vertices[faces]
    low, high = corners.min(axis=(0, 1)), corners.max(axis=(0, 1))
    diagonal = float(np.linalg.norm(high - low))
    edges = edge_table(faces)
    label, shells = _shells(corners, faces, edges)
    degenerate, longest_middle = _without_area(corners, diagonal), corners.mean(axis=1)
    duplicate = _duplicates(faces)
    pinched = _pinches(faces, edges, len(vertices))
    found = crossings(vertices, faces, TOLERANCE * diagonal) if seek_crossings else None
    meeting: tuple[tuple[int, int], ...] = ()
    if found is not None and len(found.pairs):
        met = np.sort(label[found.pairs], axis=1)
        meeting = tuple((int(a), int(b)) for a, b in np.unique(met[met[:, 0] != met[:, 1]], axis=0))
    return SurfaceReport(
        vertices=int(used.sum()),
        faces=len(faces),
        volume=float(sum(shell.volume for shell in shells)),
        area=float(sum(shell.area for shell in shells)),
        low=_vector(low),
        high=_vector(high),
        not_finite=0,
        shells=shells,
        open_edges=int((edges.count == 1).sum()),
        open_loops=_open_loops(vertices, edges),
        crowded_edge_count=int((edges.count > 2).sum()),
        crowded_edges=_edge_places(vertices, edges, edges.count > 2),
        turned_edge_count=int(edges.turned.sum()),
        turned_edges=_edge_places(vertices, edges, edges.turned),
        degenerate_count=len(degenerate),
        degenerate_faces=_face_places(degenerate, longest_middle),
        duplicate_count=len(duplicate),
        duplicate_faces=_face_places(duplicate, longest_middle),
        pinch_count=len(pinched),
        pinches=tuple(_vector(vertices[number]) for number in pinched[:MOST_PLACES]),
        crossing_count=found.crossing if found else 0,
        touching_count=found.touching if found else 0,
        crossings=tuple(
            CrossingPlace(
                int(found.pairs[k, 0]),
                int(found.pairs[k, 1]),
                _vector(found.places[k, 0]),
                _vector(found.places[k, 1]),
                "crosses" if found.crosses[k] else "touches",
            )
            for k in np.argsort(~found.crosses, kind="stable")[:MOST_PLACES]
        )
        if found
        else (),
        crossings_sought=seek_crossings,
        meeting_shells=meeting,
        shell_of_face=label,
    )


@dataclass(frozen=True, eq=False)
class EdgeTable:
    """The edges of a mesh, each once, and the half-edges (face k, side s at 3 k + s) that run along them."""

    ends: Indices
    """(e, 2) vertices, lower number first."""
    count: Indices
    """(e,) faces on each edge."""
    turned: NDArray[np.bool_]
    """(e,) two faces that run along it the same way."""
    half_edges: Indices
    """(3 m,) half-edges sorted by edge."""
    start: Indices
    """(e + 1,) where each edge's half-edges begin in `half_edges`."""
    tail: Indices
    """(3 m,) vertex from which each half-edge runs."""
    head: Indices


def edge_table(faces: Indices) -> EdgeTable:
    """Edges of a mesh with the faces along each; sides that join a vertex to itself are left out."""
    tail = faces.ravel()
    head = np.roll(faces, -1, axis=1).ravel()
    lower, upper = np.minimum(tail, head), np.maximum(tail, head)
    real = np.flatnonzero(lower != upper)
    key = lower[real] * (int(faces.max()) + 1) + upper[real]
    order = np.argsort(key, kind="stable")
    key = key[order]
    half_edges = real[order]
    first = (
        np.flatnonzero(np.concatenate([[True], key[1:] != key[:-1]])) if len(key) else np.empty(0, np.int64)
    )
    start = np.append(first, len(key)).astype(np.int64)
    count = np.diff(start)
    with_flow = (tail[half_edges] == lower[half_edges]).astype(np.int64)
    flow = np.add.reduceat(with_flow, first) if len(first) else np.empty(0, np.int64)
    ends = np.stack([lower[half_edges[first]], upper[half_edges[first]]], axis=1)
    return EdgeTable(ends, count, (count == 2) & (flow != 1), half_edges, start, tail, head)


def signed_volume(corners: Array) -> float:
    """Volume inside a closed outward mesh, sum of a . (b x c) / 6 over corners (m, 3, 3); negative if
    inverted.
    """
    moved = corners - corners.reshape(-1, 3).mean(axis=0)
    return float(np.einsum("ij,ij->", moved[:, 0], np.cross(moved[:, 1], moved[:, 2]))) / 6.0


def winding_number(point: Array, corners: Array) -> float:
    """How often a closed mesh, corners (m, 3, 3), goes round a point: 1 inside, 0 outside, -1 inside when
    inverted.

    Sum of the solid angles of the faces over 4 pi (van Oosterom and Strackee, IEEE Trans. Biomed. Eng. 30
    (1983) 125-126, from memory); between those values for an open mesh or a point on the surface.
    """
    a, b, c = (corners - point).transpose(1, 0, 2)
    la, lb, lc = np.linalg.norm(a, axis=1), np.linalg.norm(b, axis=1), np.linalg.norm(c, axis=1)
    above = np.einsum("ij,ij->i", a, np.cross(b, c))
    below = (
        la * lb * lc
        + np.einsum("ij,ij->i", a, b) * lc
        + np.einsum("ij,ij->i", b, c) * la
        + np.einsum("ij,ij->i", c, a) * lb
    )
    return float(np.arctan2(above, below).sum() / (2.0 * np.pi))


def _nothing(vertices: int, faces: int, not_finite: int) -> SurfaceReport:
    zero = (0.0, 0.0, 0.0)
    nan = float("nan")
    return SurfaceReport(
        vertices=vertices,
        faces=faces,
        volume=nan if faces else 0.0,
        area=nan if faces else 0.0,
        low=zero,
        high=zero,
        not_finite=not_finite,
        shells=(),
        open_edges=0,
        open_loops=(),
        crowded_edge_count=0,
        crowded_edges=(),
        turned_edge_count=0,
        turned_edges=(),
        degenerate_count=0,
        degenerate_faces=(),
        duplicate_count=0,
        duplicate_faces=(),
        pinch_count=0,
        pinches=(),
        crossing_count=0,
        touching_count=0,
        crossings=(),
        crossings_sought=False,
        meeting_shells=(),
        shell_of_face=np.full(faces, -1, np.int64),
    )


def _pieces(faces: Indices, edges: EdgeTable) -> tuple[int, Indices]:
    """Number of the pieces of surface that hang together across edges, and the piece (m,) of each face."""
    joined = edges.half_edges // 3
    edge_of = np.repeat(np.arange(len(edges.count)), edges.count)
    same = np.flatnonzero(edge_of[1:] == edge_of[:-1])
    return groups(joined[same], joined[same + 1], len(faces))


def _shells(corners: Array, faces: Indices, edges: EdgeTable) -> tuple[Indices, tuple[Shell, ...]]:
    """Pieces of surface, the one with the largest box first."""
    number, label = _pieces(faces, edges)
    order = np.argsort(label, kind="stable")
    pieces = [corners[part] for part in np.split(order, np.cumsum(np.bincount(label, minlength=number))[:-1])]
    lows = np.array([piece.min(axis=(0, 1)) for piece in pieces])
    highs = np.array([piece.max(axis=(0, 1)) for piece in pieces])
    wrong = (edges.count != 2) | edges.turned
    broken = np.zeros(number, np.bool_)
    broken[label[edges.half_edges[edges.start[:-1][wrong]] // 3]] = True
    by_size = np.argsort(-np.linalg.norm(highs - lows, axis=1), kind="stable")
    rank = np.empty(number, np.int64)
    rank[by_size] = np.arange(number)
    shells = []
    for k in by_size:
        volume = signed_volume(pieces[k])
        sides = np.cross(pieces[k][:, 1] - pieces[k][:, 0], pieces[k][:, 2] - pieces[k][:, 0])
        around = [
            j
            for j in np.flatnonzero((lows <= lows[k]).all(axis=1) & (highs >= highs[k]).all(axis=1))
            if j != k and not broken[j] and abs(winding_number(pieces[k][0, 0], pieces[j])) > 0.5
        ]
        closed = not broken[k]
        shells.append(
            Shell(
                faces=len(pieces[k]),
                volume=volume,
                area=float(np.linalg.norm(sides, axis=1).sum()) / 2.0,
                low=_vector(lows[k]),
                high=_vector(highs[k]),
                closed=bool(closed),
                inside=tuple(sorted(int(rank[j]) for j in around)),
                inverted=bool(closed and (volume < 0.0) == (len(around) % 2 == 0)),
            )
        )
    return rank[label], tuple(shells)


def _open_loops(vertices: Array, edges: EdgeTable) -> tuple[OpenLoop, ...]:
    """Rims of holes, the longest first."""
    ends = edges.ends[edges.count == 1]
    if len(ends) == 0:
        return ()
    rim, local = np.unique(ends, return_inverse=True)
    local = local.reshape(-1, 2)
    number, label = groups(local[:, 0], local[:, 1], len(rim))
    lengths = np.linalg.norm(vertices[ends[:, 1]] - vertices[ends[:, 0]], axis=1)
    total = np.bincount(label[local[:, 0]], weights=lengths, minlength=number)
    loops = []
    for k in np.argsort(-total, kind="stable")[:MOST_PLACES]:
        points = vertices[rim[label == k]]
        centre = points.mean(axis=0)
        normal = np.linalg.svd(points - centre, full_matrices=True)[2][-1] if len(points) > 2 else np.zeros(3)
        loops.append(
            OpenLoop(
                edges=int((label[local[:, 0]] == k).sum()),
                length=float(total[k]),
                centre=_vector(centre),
                low=_vector(points.min(axis=0)),
                high=_vector(points.max(axis=0)),
                flatness=float(np.abs((points - centre) @ normal).max()),
            )
        )
    return tuple(loops)


def _without_area(corners: Array, diagonal: float) -> Indices:
    """Triangles whose height is below 1e-10 of the diagonal, far below what any file format resolves."""
    sides = corners - np.roll(corners, 1, axis=1)
    longest = np.sqrt((sides**2).sum(axis=2).max(axis=1))
    double_area = np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1)
    return np.flatnonzero(double_area <= NO_AREA * diagonal * longest)


def _duplicates(faces: Indices) -> Indices:
    ordered = np.sort(faces, axis=1)
    order = np.lexsort(ordered.T[::-1])
    same = (ordered[order][1:] == ordered[order][:-1]).all(axis=1)
    return np.sort(order[1:][same])


def _pinches(faces: Indices, edges: EdgeTable, vertices: int) -> Indices:
    """Vertices whose faces form more than one fan: corners joined across edges, counted per vertex."""
    pair = np.flatnonzero(edges.count == 2)
    one, other = edges.half_edges[edges.start[pair]], edges.half_edges[edges.start[pair] + 1]

    def corner(half_edge: Indices, vertex: Indices) -> Indices:
        at_tail = edges.tail[half_edge] == vertex
        side = half_edge % 3
        return half_edge - side + np.where(at_tail, side, (side + 1) % 3)

    ends = edges.ends[pair]
    first = np.concatenate([corner(one, ends[:, 0]), corner(one, ends[:, 1])])
    second = np.concatenate([corner(other, ends[:, 0]), corner(other, ends[:, 1])])
    number, label = groups(first, second, faces.size)
    vertex_of_fan = np.empty(number, np.int64)
    vertex_of_fan[label] = faces.ravel()
    on_rim = np.zeros(vertices, np.bool_)
    on_rim[edges.ends[edges.count != 2].ravel()] = True
    return np.flatnonzero((np.bincount(vertex_of_fan, minlength=vertices) > 1) & ~on_rim)


def _edge_places(vertices: Array, edges: EdgeTable, which: NDArray[np.bool_]) -> tuple[EdgePlace, ...]:
    return tuple(
        EdgePlace(
            _vector(vertices[edges.ends[k, 0]]), _vector(vertices[edges.ends[k, 1]]), int(edges.count[k])
        )
        for k in np.flatnonzero(which)[:MOST_PLACES]
    )


def _face_places(which: Indices, middles: Array) -> tuple[FacePlace, ...]:
    return tuple(FacePlace(int(k), _vector(middles[k])) for k in which[:MOST_PLACES])


def _vector(point: Array) -> Vector:
    return (float(point[0]), float(point[1]), float(point[2]))

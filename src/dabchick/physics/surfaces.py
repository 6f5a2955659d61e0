"""Closed surfaces that bound solids: triangle meshes, and bodies of revolution made of quadric pieces.

A surface has a weight (+1 encloses material, -1 a hole, any factor allowed) that multiplies all volumes, and
an area weight that multiplies its wetted area (0 for a face that no water meets, such as a skin's inside).
"""

from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from dabchick.physics.clusters import PAIRS, ClusterTree, cluster_tree

Array = NDArray[np.float64]
Faces = NDArray[np.int64]


class Bulk(NamedTuple):
    """Integrals over the volume that a surface encloses, weight not applied, about the frame's origin."""

    volume: float
    """[m3]"""
    moment: Array
    """(3,) int x dV [m4]"""
    second: Array
    """(3, 3) int x x^T dV [m5]"""
    area: float
    """[m2]"""
    area_moment: Array
    """(3,) int x dA [m3]"""

    def shifted(self, shift: Array) -> "Bulk":
        """The same body moved by `shift` (3,) [m]."""
        cross = np.outer(self.moment, shift)
        return Bulk(
            self.volume,
            self.moment + self.volume * shift,
            self.second + cross + cross.T + self.volume * np.outer(shift, shift),
            self.area,
            self.area_moment + self.area * shift,
        )


@dataclass(frozen=True, eq=False)
class MeshShape:
    """Triangles about the middle of their own box; shared by every copy that is only shifted or weighted."""

    vertices: Array
    """(n, 3) [m]"""
    faces: Faces
    """(m, 3) corners in turn, anticlockwise seen from outside."""

    def __getstate__(self) -> dict[str, object]:
        """What is worth keeping on disk: all but the corners, which are quick to look up again.

        Taken at one moment: another thread may be adding what it has just worked out.
        """
        state = self.__dict__.copy()
        state.pop("corners", None)
        return state

    @cached_property
    def corners(self) -> Array:
        """(m, 3, 3) [m]"""
        return np.asarray(self.vertices[self.faces], dtype=np.float64)

    @cached_property
    def tree(self) -> ClusterTree:
        return cluster_tree(self.vertices, self.faces)

    @cached_property
    def half_size(self) -> Array:
        """(3,) half the box round the vertices in use [m]."""
        return np.asarray(self.tree.boxes[0, 3:6])

    @cached_property
    def bulk(self) -> Bulk:
        """Exact for the mesh: signed tetrahedra from the middle to each triangle."""
        corners = self.corners
        six = np.einsum("mi,mi->m", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))
        total = corners[:, 0] + corners[:, 1] + corners[:, 2]
        second = np.empty((3, 3))
        for i, j in PAIRS:
            product = total[:, i] * total[:, j] + np.einsum("mk,mk->m", corners[:, :, i], corners[:, :, j])
            second[i, j] = second[j, i] = float(six @ product) / 120.0
        sums = self.tree.sums[0]
        return Bulk(float(six.sum()) / 6.0, six @ total / 24.0, second, float(sums[30]), sums[31:34].copy())


@dataclass(frozen=True, eq=False)
class MeshSurface:
    """A triangle mesh at a place."""

    shape: MeshShape
    shift: Array
    """(3,) where the middle of the shape stands [m]."""
    weight: float = 1.0
    area_weight: float = 1.0

    @property
    def vertices(self) -> Array:
        """(n, 3) [m]"""
        return self.shape.vertices + self.shift

    @property
    def faces(self) -> Faces:
        """(m, 3)"""
        return self.shape.faces

    def moved(self, translation: Array, rotation: Array | None) -> "MeshSurface":
        """x' = R x + t; a mirror (det R = -1) turns the faces round so that they still look outward."""
        if rotation is None:
            return replace(self, shift=self.shift + translation)
        faces = self.faces if np.linalg.det(rotation) > 0.0 else np.ascontiguousarray(self.faces[:, ::-1])
        turned = mesh_surface(self.shape.vertices @ rotation.T, faces, self.weight, self.area_weight)
        return replace(turned, shift=turned.shift + rotation @ self.shift + translation)

    def weighted(self, weight: float, area_weight: float) -> "MeshSurface":
        return replace(self, weight=weight, area_weight=area_weight)

    def bounds(self) -> tuple[Array, Array]:
        middle = self.shape.tree.boxes[0, 0:3] + self.shift
        return middle - self.shape.half_size, middle + self.shape.half_size

    def bulk(self) -> Bulk:
        return self.shape.bulk.shifted(self.shift)

    def mesh(self, segments: int) -> tuple[Array, Faces]:
        return self.vertices, self.faces


def mesh_surface(
    vertices: ArrayLike, faces: ArrayLike, weight: float = 1.0, area_weight: float = 1.0
) -> MeshSurface:
    """A surface of vertices (n, 3) [m] and faces (m, 3), soundness unchecked; ValueError if unusable."""
    points = np.array(vertices, dtype=np.float64)
    corners = np.array(faces, dtype=np.int64)
    if points.ndim != 2 or points.shape[1] != 3 or corners.ndim != 2 or corners.shape[1] != 3:
        raise ValueError(
            f"A mesh needs vertices (n, 3) and faces (m, 3); given {points.shape} and {corners.shape}."
        )
    if len(corners) == 0:
        raise ValueError("The mesh has no triangles. Give a closed surface.")
    if not np.isfinite(points).all():
        row = int(np.argmin(np.isfinite(points).all(axis=1)))
        raise ValueError(
            f"Vertex {row} of the mesh is not a finite number: {points[row]}. Correct or remove it."
        )
    if corners.min() < 0 or corners.max() >= len(points):
        raise ValueError(
            f"A face of the mesh names a vertex outside 0..{len(points) - 1}. Correct the faces."
        )
    used = points[corners.ravel()]
    middle = 0.5 * (used.min(axis=0) + used.max(axis=0))
    return MeshSurface(MeshShape(points - middle, corners), middle, weight, area_weight)


@dataclass(frozen=True, eq=False)
class RevolvedSurface:
    """A body of revolution about an axis, r^2 = q0 + q1 w + q2 w^2 on each piece w0 <= w <= w1.

    Pieces follow one another along the axis and meet at equal radius; discs close the two outermost ends.
    """

    point: Array
    """(3,) the place w = 0 on the axis [m]."""
    direction: Array
    """(3,) unit vector along the axis."""
    pieces: Array
    """(k, 5) w0, w1 [m], q0 [m2], q1 [m], q2 [-]."""
    weight: float = 1.0
    area_weight: float = 1.0
    _whole: Array | None = field(default=None, repr=False)

    def __post_init__(self) -> None:
        pieces = self.pieces
        if not (np.isfinite(pieces).all() and np.isfinite(self.point).all()):
            raise ValueError(
                "A round solid has a size or place that is not a finite number. Give all its sizes."
            )
        if np.any(pieces[:, 1] <= pieces[:, 0]):
            raise ValueError("A round solid has no length. Give a length above 0.")
        if self._whole is None:
            object.__setattr__(self, "_whole", np.array([_piece_whole(row) for row in pieces]))

    @property
    def whole(self) -> Array:
        """(k, 6) per piece: int dV, int w dV, int w^2 dV, int y^2 dV, lateral area, int w dA."""
        assert self._whole is not None
        return self._whole

    def moved(self, translation: Array, rotation: Array | None) -> "RevolvedSurface":
        """x' = R x + t."""
        if rotation is None:
            return replace(self, point=self.point + translation)
        direction = rotation @ self.direction
        return replace(
            self,
            point=rotation @ self.point + translation,
            direction=direction / np.linalg.norm(direction),
        )

    def weighted(self, weight: float, area_weight: float) -> "RevolvedSurface":
        return replace(self, weight=weight, area_weight=area_weight)

    def radius(self, piece: int, along: float) -> float:
        """Radius [m] of a piece at w [m]."""
        _, _, q0, q1, q2 = self.pieces[piece]
        return float(np.sqrt(max(0.0, q0 + along * (q1 + along * q2))))

    def bounds(self) -> tuple[Array, Array]:
        low = np.full(3, np.inf)
        high = np.full(3, -np.inf)
        for row in self.pieces:
            for axis in range(3):
                along = float(self.direction[axis])
                across = float(np.sqrt(max(0.0, 1.0 - along * along)))
                low[axis] = min(low[axis], -_support(row, -along, across))
                high[axis] = max(high[axis], _support(row, along, across))
        return low + self.point, high + self.point

    def bulk(self) -> Bulk:
        volume, along, along2, across2, area, area_along = self.whole.sum(axis=0)
        for piece, end in ((0, 0), (len(self.pieces) - 1, 1)):
            place = float(self.pieces[piece, end])
            disc = np.pi * self.radius(piece, place) ** 2
            area += disc
            area_along += disc * place
        axis = np.outer(self.direction, self.direction)
        second = along2 * axis + across2 * (np.eye(3) - axis)
        local = Bulk(float(volume), along * self.direction, second, float(area), area_along * self.direction)
        return local.shifted(self.point)

    def mesh(self, segments: int) -> tuple[Array, Faces]:
        """A closed inscribed mesh with `segments` sides round the axis."""
        rings: list[tuple[float, float]] = []
        for index, (w0, w1, _, _, q2) in enumerate(self.pieces):
            steps = 1 if q2 >= 0.0 else max(4, segments // 2)
            for step in range(0 if index == 0 else 1, steps + 1):
                # cosine spacing puts rings close together where the end of a spheroid closes
                share = 0.5 * (1.0 - np.cos(np.pi * step / steps)) if steps > 1 else float(step)
                place = float(w1) if step == steps else float(w0 + (w1 - w0) * share)
                rings.append((place, self.radius(index, place)))
        return _lathe(rings, self.point, self.direction, segments)


Surface = MeshSurface | RevolvedSurface


def _support(row: Array, along: float, across: float) -> float:
    """Largest w*along + r(w)*across over a piece."""
    w0, w1, q0, q1, q2 = (float(value) for value in row)
    candidates = [w0, w1]
    # stationary where along + across r' = 0, that is across^2 (q1 + 2 q2 w)^2 = 4 along^2 r^2
    a = 4.0 * q2 * (across * across * q2 - along * along)
    b = 4.0 * q1 * (across * across * q2 - along * along)
    c = across * across * q1 * q1 - 4.0 * along * along * q0
    if a != 0.0 and b * b - 4.0 * a * c >= 0.0:
        root = np.sqrt(b * b - 4.0 * a * c)
        candidates += [w for w in ((-b - root) / (2.0 * a), (-b + root) / (2.0 * a)) if w0 < w < w1]
    return max(w * along + across * np.sqrt(max(0.0, q0 + w * (q1 + w * q2))) for w in candidates)


_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)


def _piece_whole(row: Array) -> Array:
    """Integrals over a whole piece, see `RevolvedSurface.whole`."""
    w0, w1, q0, q1, q2 = row
    # the lateral area is nearly singular just past the ends of a slender spheroid and, for a flat one, at its
    # widest place: panels halve towards all three
    widest = -0.5 * q1 / q2 if q2 != 0.0 else w0
    stops = [w0, widest, w1] if w0 < widest < w1 else [w0, w1]
    share = np.concatenate([[0.0], 0.5 ** np.arange(40, 0, -1)])
    edges = np.array([w0])
    for low, high in pairwise(stops):
        edges = np.concatenate([edges, low + (high - low) * share[1:], high - (high - low) * share[-2::-1]])
    half = 0.5 * np.diff(edges)[:, None]
    w = edges[:-1, None] + half * (1.0 + _NODES)
    dw = half * _WEIGHTS
    r2 = q0 + w * (q1 + w * q2)
    slice_area = np.pi * r2 * dw
    lateral = 2.0 * np.pi * np.sqrt(np.maximum(0.0, r2 + (0.5 * q1 + q2 * w) ** 2)) * dw
    return np.array(
        [
            slice_area.sum(),
            (w * slice_area).sum(),
            (w * w * slice_area).sum(),
            (0.25 * r2 * slice_area).sum(),
            lateral.sum(),
            (w * lateral).sum(),
        ]
    )


def across_axis(direction: Array) -> tuple[Array, Array]:
    """Two unit vectors e, f square to a unit `direction`, with e x f = direction."""
    helper = np.zeros(3)
    helper[int(np.argmin(np.abs(direction)))] = 1.0
    first = np.cross(helper, direction)
    first /= np.linalg.norm(first)
    return first, np.cross(direction, first)


def _lathe(
    rings: list[tuple[float, float]], point: Array, direction: Array, segments: int
) -> tuple[Array, Faces]:
    """A closed mesh through rings (place along the axis, radius); a ring of radius 0 is one vertex."""
    first, second = across_axis(direction)
    angle = 2.0 * np.pi * np.arange(segments) / segments
    circle = np.cos(angle)[:, None] * first + np.sin(angle)[:, None] * second
    blocks: list[Array] = []
    faces: list[Faces] = []
    turn = np.arange(segments)
    ahead = (turn + 1) % segments
    count = 0
    largest = max(radius for _, radius in rings)
    previous: NDArray[np.int64] | None = None
    for index, (place, radius) in enumerate(rings):
        centre = point + place * direction
        last = index == len(rings) - 1
        if radius <= 1e-12 * largest:
            blocks.append(centre[None, :])
            current = np.full(segments, count)
            count += 1
        else:
            blocks.append(centre + radius * circle)
            current = count + turn
            count += segments
            if index == 0 or last:
                blocks.append(centre[None, :])
                hub = np.full(segments, count)
                rim = (current[ahead], current) if index == 0 else (current, current[ahead])
                faces.append(np.stack([hub, *rim], axis=1))
                count += 1
        if previous is not None:
            faces.append(np.stack([previous, previous[ahead], current[ahead]], axis=1))
            faces.append(np.stack([previous, current[ahead], current], axis=1))
        previous = current
    joined = np.concatenate(faces)
    flat = (joined[:, 0] == joined[:, 1]) | (joined[:, 1] == joined[:, 2]) | (joined[:, 2] == joined[:, 0])
    return np.concatenate(blocks), joined[~flat]

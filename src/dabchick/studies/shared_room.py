"""Two bodies in one place: the room they share, by exact boolean operations on their tessellations."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import manifold3d
import numpy as np
from numpy.typing import NDArray

from dabchick.model.vessel import Vector
from dabchick.physics.nearest import TriangleTree, triangle_tree
from dabchick.physics.solid import Solid

Array = NDArray[np.float64]

SEGMENTS = 240
"""Sides of the polygon that stands for a circle: it lies within 0.01 mm of a circle of 230 mm diameter."""

MOST_APART = 100_000
"""Faces of the largest body that is taken apart into its shells; a larger one counts as one shell."""

LEAST_VOLUME_M3 = 0.01e-6
"""Less shared room than this is contact, not a clash: 0.01 ml."""
LEAST_THICKNESS_M = 0.02e-3
"""Shared room of a smaller mean thickness is contact: curved faces that touch are polygons here."""


class UnusableMeshError(ValueError):
    """A body whose surface does not enclose a volume, so that nothing can be said about what it shares."""


@dataclass(frozen=True)
class Shared:
    """The room that two bodies share, or that one has outside the other."""

    volume_m3: float
    centre_m: Vector
    thickness_m: float
    """Mean thickness: twice the volume over the surface."""

    @property
    def counts(self) -> bool:
        """Whether this is more than contact."""
        return self.volume_m3 > LEAST_VOLUME_M3 and self.thickness_m > LEAST_THICKNESS_M


NOTHING = Shared(0.0, (float("nan"),) * 3, 0.0)


class Body:
    """A solid as a closed polyhedron: its material, holes taken out. Raises UnusableMeshError."""

    def __init__(self, solid: Solid) -> None:
        material: list[manifold3d.Manifold] = []
        holes: list[manifold3d.Manifold] = []
        for vertices, faces, weight in solid.meshes(SEGMENTS):
            (material if weight > 0 else holes).append(_manifold(vertices, faces))
        if not material:
            raise UnusableMeshError("It has holes but no material.")
        whole = (
            manifold3d.Manifold.batch_boolean(material, manifold3d.OpType.Add)
            if len(material) > 1
            else material[0]
        )
        if holes:
            whole = manifold3d.Manifold.batch_boolean([whole, *holes], manifold3d.OpType.Subtract)
        self._start(whole)

    def _start(self, whole: manifold3d.Manifold) -> None:
        self.whole = whole
        box = np.array(whole.bounding_box(), dtype=np.float64)
        self.low, self.high = box[:3], box[3:]

    @classmethod
    def union(cls, bodies: Sequence["Body"]) -> "Body":
        """Several bodies as one."""
        return cls.of(
            manifold3d.Manifold.batch_boolean([body.whole for body in bodies], manifold3d.OpType.Add)
        )

    @classmethod
    def of(cls, whole: manifold3d.Manifold) -> "Body":
        """What a boolean operation gave."""
        made = cls.__new__(cls)
        made._start(whole)
        return made

    def moved(self, shift: Array) -> "Body":
        return Body.of(self.whole.translate((float(shift[0]), float(shift[1]), float(shift[2]))))

    def may_meet(self, other: "Body") -> bool:
        """Whether the boxes round the two overlap."""
        return bool(np.all(self.low < other.high) and np.all(other.low < self.high))

    def shared_with(self, other: "Body") -> Shared:
        """The room that both take up."""
        return measured(self.whole ^ other.whole) if self.may_meet(other) else NOTHING

    def outside(self, other: "Body") -> Shared:
        """The room this body takes up outside the other."""
        return measured(self.whole - other.whole if self.may_meet(other) else self.whole)

    def holds(self, point: Vector) -> bool:
        """Whether a point lies inside, by the solid angle that the surface fills seen from there.

        Source: A. van Oosterom, J. Strackee, IEEE Trans. Biomed. Eng. 30 (1983) 125-126 (from memory).
        """
        mesh = self.whole.to_mesh64()
        corners = (np.array(mesh.vert_properties)[:, :3] - np.array(point))[
            np.array(mesh.tri_verts, dtype=np.int64)
        ]
        a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
        la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
        ab, bc, ca = (np.einsum("ij,ij->i", *pair) for pair in ((a, b), (b, c), (c, a)))
        triple = np.einsum("ij,ij->i", a, np.cross(b, c))
        halves = np.arctan2(triple, la * lb * lc + ab * lc + bc * la + ca * lb)
        return bool(halves.sum() > np.pi)

    @property
    def all(self) -> Shared:
        return measured(self.whole)

    @cached_property
    def tree(self) -> TriangleTree:
        """Its faces, sorted for questions of distance."""
        return triangle_tree(corners_of(self.whole))

    @cached_property
    def shell_points(self) -> tuple[Vector, ...]:
        """A corner of each of its shells."""
        shells = self.whole.decompose() if self.whole.num_tri() <= MOST_APART else [self.whole]
        points = [np.array(shell.to_mesh64().vert_properties[0, :3]) for shell in shells]
        return tuple((float(x), float(y), float(z)) for x, y, z in points)


def shared(first: Solid, second: Solid) -> Shared:
    """The room that two solids share; raises UnusableMeshError when one does not enclose a volume."""
    return Body(first).shared_with(Body(second))


def corners_of(whole: manifold3d.Manifold) -> Array:
    """Corners (m, 3, 3) [m] of the faces of a polyhedron."""
    mesh = whole.to_mesh64()
    points = np.array(mesh.vert_properties, dtype=np.float64)[:, :3]
    return np.asarray(points[np.array(mesh.tri_verts, dtype=np.int64)])


def _manifold(vertices: Array, faces: NDArray[np.int64]) -> manifold3d.Manifold:
    if not np.all(np.isfinite(vertices)):
        raise UnusableMeshError("A corner has no finite place.")
    whole = _closed(vertices, faces)
    if whole.status() != manifold3d.Error.NoError:
        # The same corner may be listed once for each face, as in meshes read from triangle lists.
        points, index = np.unique(vertices, axis=0, return_inverse=True)
        whole = _closed(points, index.reshape(-1)[faces])
    if whole.status() != manifold3d.Error.NoError or whole.is_empty():
        raise UnusableMeshError(f"Its surface is not closed ({whole.status().name}).")
    return whole


def _closed(vertices: Array, faces: NDArray[np.int64]) -> manifold3d.Manifold:
    mesh = manifold3d.Mesh64(
        vert_properties=np.ascontiguousarray(vertices, dtype=np.float64),
        tri_verts=np.ascontiguousarray(faces, dtype=np.uint64),
    )
    return manifold3d.Manifold(mesh)


def measured(whole: manifold3d.Manifold) -> Shared:
    """Volume, centre and mean thickness, by tetrahedra to a corner of the body: nothing large cancels."""
    if whole.is_empty():
        return NOTHING
    mesh = whole.to_mesh64()
    points = np.array(mesh.vert_properties, dtype=np.float64)[:, :3]
    origin = points[0].copy()
    corners = (points - origin)[np.array(mesh.tri_verts, dtype=np.int64)]
    area_vectors = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) / 2
    volumes = np.einsum("ij,ij->i", corners[:, 0], area_vectors) / 3
    volume = float(volumes.sum())
    area = float(np.linalg.norm(area_vectors, axis=1).sum())
    if volume <= 0.0 or area <= 0.0:
        return NOTHING
    centre = origin + np.einsum("i,ij->j", volumes, corners.sum(axis=1)) / (4 * volume)
    return Shared(volume, (float(centre[0]), float(centre[1]), float(centre[2])), 2 * volume / area)

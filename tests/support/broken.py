"""Meshes broken on purpose, and mesh files written from arrays without help from the product."""

import struct
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.support.forms import spheroid_mesh

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Mesh = tuple[Array, Indices]

CUBE_CORNERS = np.array([[x, y, z] for x in (0.0, 1.0) for y in (0.0, 1.0) for z in (0.0, 1.0)])
CUBE_FACES = np.array(
    [
        [0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
        [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3],
    ]
)  # fmt: skip


def box(low: tuple[float, float, float], size: tuple[float, float, float]) -> Mesh:
    """A closed box of 12 faces, outward."""
    return CUBE_CORNERS * np.array(size) + np.array(low), CUBE_FACES.copy()


def egg(length: float = 600.0, diameter: float = 100.0, n_axial: int = 24, n_around: int = 32) -> Mesh:
    """A spheroid like a small hull, 2 n_around (n_axial - 1) faces."""
    return spheroid_mesh(length, diameter, n_axial, n_around)


def together(*meshes: Mesh) -> Mesh:
    """Several meshes in one, their vertices apart."""
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in meshes)])
    return (
        np.concatenate([vertices for vertices, _ in meshes]),
        np.concatenate([faces + start for (_, faces), start in zip(meshes, starts, strict=False)]),
    )


def moved(mesh: Mesh, by: tuple[float, float, float]) -> Mesh:
    return mesh[0] + np.array(by), mesh[1]


def inside_out(mesh: Mesh) -> Mesh:
    return mesh[0], mesh[1][:, ::-1].copy()


def without(mesh: Mesh, *faces: int) -> Mesh:
    return mesh[0], np.delete(mesh[1], faces, axis=0)


def volume(mesh: Mesh) -> float:
    """Sum of the determinants of the faces' corners over 6, written out apart from the product's."""
    return float(sum(np.linalg.det(mesh[0][face]) for face in mesh[1])) / 6.0


def stl_bytes(mesh: Mesh) -> bytes:
    """A binary STL, packed number by number."""
    vertices, faces = mesh
    parts = [b"packed by hand".ljust(80), struct.pack("<I", len(faces))]
    parts += [struct.pack("<12fH", 0.0, 0.0, 0.0, *vertices[face].ravel(), 0) for face in faces]
    return b"".join(parts)


def text_stl(mesh: Mesh) -> str:
    lines = ["solid hull"]
    for face in mesh[1]:
        lines += ["facet normal 0 0 0", " outer loop"]
        lines += [f"  vertex {' '.join(repr(float(value)) for value in mesh[0][corner])}" for corner in face]
        lines += [" endloop", "endfacet"]
    return "\n".join([*lines, "endsolid hull", ""])


def obj_text(mesh: Mesh) -> str:
    lines = [f"v {' '.join(repr(float(value)) for value in vertex)}" for vertex in mesh[0]]
    return "\n".join([*lines, *(f"f {a + 1} {b + 1} {c + 1}" for a, b, c in mesh[1]), ""])


def ply_text(mesh: Mesh) -> str:
    head = ["ply", "format ascii 1.0", f"element vertex {len(mesh[0])}"]
    head += [f"property double {axis}" for axis in "xyz"]
    head += [f"element face {len(mesh[1])}", "property list uchar int vertex_indices", "end_header"]
    body = [" ".join(repr(float(value)) for value in vertex) for vertex in mesh[0]]
    return "\n".join([*head, *body, *(f"3 {a} {b} {c}" for a, b, c in mesh[1]), ""])


def write_stl(path: Path, mesh: Mesh) -> Path:
    path.write_bytes(stl_bytes(mesh))
    return path

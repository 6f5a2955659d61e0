"""The hull's surface as it was read: a closed triangle mesh, not yet put into the house frame."""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from dabchick.physics.groups import groups

Direction = Literal["+x", "-x", "+y", "-y", "+z", "-z"]


@dataclass(frozen=True, eq=False)
class HullSurface:
    """A closed outward mesh in metres; x forward, y to port, z up, not yet shifted to the house's zero."""

    vertices: NDArray[np.float64]
    """(n, 3) [m]"""
    faces: NDArray[np.int64]
    """(m, 3), counter-clockwise seen from outside"""
    source: str
    """The file it was read from."""
    solid_walled: bool = False
    """True where the mesh is the material itself, not the outer form of a skin."""
    assumptions: tuple[str, ...] = ()
    """What the reader had to decide about the file, in sentences; every result lists them."""


def turned(surface: HullSurface, bow: Direction, up: Direction) -> HullSurface:
    """The surface turned so that its `bow` direction is +x and its `up` direction +z; without rounding.

    Raises ValueError when both name the same axis.
    """
    forward, upward = _unit(bow), _unit(up)
    if forward @ upward != 0.0:
        raise ValueError(f"The bow ({bow}) and up ({up}) lie along the same axis.")
    rotation = np.array([forward, np.cross(upward, forward), upward])
    return replace(surface, vertices=np.ascontiguousarray(surface.vertices @ rotation.T))


def shells(surface: HullSurface) -> list[tuple[NDArray[np.float64], NDArray[np.int64], float]]:
    """The connected shells of a mesh, each as its own mesh with its signed volume [m3], largest first.

    A cavity is a shell of negative volume.
    """
    faces = surface.faces
    rows = np.concatenate([faces[:, 0], faces[:, 1]])
    columns = np.concatenate([faces[:, 1], faces[:, 2]])
    _, label = groups(rows, columns, len(surface.vertices))
    owner = label[faces[:, 0]]
    found = []
    for shell in np.unique(owner):
        mine = faces[owner == shell]
        used, renumbered = np.unique(mine, return_inverse=True)
        vertices = surface.vertices[used]
        corners = vertices[renumbered.reshape(-1, 3)]
        volume = np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0
        found.append((vertices, renumbered.reshape(-1, 3).astype(np.int64), float(volume)))
    return sorted(found, key=lambda entry: -abs(entry[2]))


def _unit(direction: Direction) -> NDArray[np.float64]:
    unit = np.zeros(3)
    unit["xyz".index(direction[1])] = 1.0 if direction[0] == "+" else -1.0
    return unit

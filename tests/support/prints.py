"""Print files of our own making: tubes, shells and boxes of known thickness, cut where a builder would part them."""

from pathlib import Path

import numpy as np
import trimesh

from tests.support.broken import Mesh, write_stl


def arrays(mesh: trimesh.Trimesh) -> Mesh:
    return np.array(mesh.vertices, np.float64), np.array(mesh.faces, np.int64)


def tube(start: float, end: float, *, inner: float = 47.0, outer: float = 50.0, sections: int = 64) -> Mesh:
    """A tube along x with open ends, its walls the material."""
    made = trimesh.creation.annulus(inner, outer, end - start, sections=sections)
    made.apply_transform(trimesh.transformations.rotation_matrix(0.5 * np.pi, [0.0, 1.0, 0.0]))
    made.apply_translation([0.5 * (start + end), 0.0, 0.0])
    return arrays(made)


def tube_volume(length: float, *, inner: float = 47.0, outer: float = 50.0, sections: int = 64) -> float:
    """Closed form: the difference of two regular polygons, n / 2 r^2 sin(2 pi / n) each, times the length."""
    return float(0.5 * sections * np.sin(2.0 * np.pi / sections) * (outer**2 - inner**2) * length)


def hollow_ball(inner: float, outer: float, subdivisions: int = 4) -> Mesh:
    """A ball with a ball-shaped room in its middle, the inner shell facing inward."""
    inside = trimesh.creation.icosphere(subdivisions=subdivisions, radius=inner)
    inside.invert()
    whole = trimesh.creation.icosphere(subdivisions=subdivisions, radius=outer)
    return arrays(trimesh.util.concatenate([whole, inside]))


def tube_files(folder: Path) -> list[Path]:
    """A tube 300 mm long in two pieces that meet at x = 180 mm, as they lie."""
    return [
        write_stl(folder / "aft.stl", tube(0.0, 180.0)),
        write_stl(folder / "bow.stl", tube(180.0, 300.0)),
    ]

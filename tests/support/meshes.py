"""Closed meshes that are hard to cut, all of our own making and repeatable."""

import numpy as np
import trimesh
from numpy.typing import NDArray

from dabchick.physics import shapes

Array = NDArray[np.float64]
Faces = NDArray[np.int64]
Mesh = tuple[Array, Faces]


def _arrays(mesh: trimesh.Trimesh) -> Mesh:
    return np.array(mesh.vertices, dtype=np.float64), np.array(mesh.faces, dtype=np.int64)


def ball(level: int = 2) -> Mesh:
    return _arrays(trimesh.creation.icosphere(subdivisions=level))


def torus() -> Mesh:
    return _arrays(trimesh.creation.torus(1.0, 0.3, major_sections=30, minor_sections=14))


def star() -> Mesh:
    """Spikes at random lengths: star-shaped, far from convex."""
    vertices, faces = ball(3)
    return vertices * (0.4 + 0.9 * np.random.default_rng(3).random(len(vertices)))[:, None], faces


def two_shells_and_a_hole() -> Mesh:
    """A ball with a ball-shaped hole in it, and a second ball apart from it."""
    vertices, faces = ball(1)
    count = len(vertices)
    return (
        np.vstack([vertices, 0.6 * vertices + [0.1, 0.0, 0.05], 0.4 * vertices + [2.0, 0.3, -0.5]]),
        np.vstack([faces, faces[:, ::-1] + count, faces + 2 * count]),
    )


def needles() -> Mesh:
    """A box whose faces are split into triangles a thousand times longer than wide."""
    mesh = trimesh.creation.box((2.0, 1.0, 0.5))
    vertices, faces = _arrays(mesh)
    rng = np.random.default_rng(5)
    for _ in range(60):
        chosen = int(rng.integers(len(faces)))
        a, b, c = faces[chosen]
        # a point close to one side, on the face: one needle and two fair triangles
        share = np.array([0.5 - 0.0005, 0.5 - 0.0005, 0.001])
        vertices = np.vstack([vertices, share @ vertices[[a, b, c]]])
        new = len(vertices) - 1
        faces = np.vstack([np.delete(faces, chosen, axis=0), [[a, b, new], [b, c, new], [c, a, new]]])
    return vertices, faces


def comb() -> Mesh:
    """A comb with deep slots: planes cut it into many separate pieces."""
    outline = [(0.0, 0.0), (6.5, 0.0), (6.5, 1.0), (6.0, 1.0)]
    for tooth in range(5, -1, -1):
        outline += [(tooth + 0.9, 0.2), (tooth + 0.5, 0.2), (tooth + 0.4, 1.0), (tooth + 0.0, 1.0)]
    return shapes.extruded(outline, 0.7).surfaces[0].mesh(0)


UGLY = {
    "ball": ball,
    "torus": torus,
    "star": star,
    "shells": two_shells_and_a_hole,
    "needles": needles,
    "comb": comb,
}


def random_planes(vertices: Array, count: int, seed: int) -> list[tuple[Array, float]]:
    """Planes at random attitudes, all of them through the box round the mesh."""
    rng = np.random.default_rng(seed)
    planes = []
    for _ in range(count):
        normal = rng.normal(size=3)
        normal /= np.linalg.norm(normal)
        heights = vertices @ normal
        planes.append((normal, float(rng.uniform(heights.min(), heights.max()))))
    return planes


def clipped(
    vertices: Array, faces: Faces, normal: Array, offset: float
) -> tuple[list[tuple[Array, Array, Array]], list[tuple[Array, Array]]]:
    """The triangles of the part below n.x = offset, and the sides of the cap that closes it, face by face.

    Written as plainly as can be, to check quicker code against; a vertex on the plane counts as above it.
    """
    triangles: list[tuple[Array, Array, Array]] = []
    sides: list[tuple[Array, Array]] = []
    for face in faces:
        corners = vertices[face]
        heights = corners @ normal - offset
        heights[np.abs(heights) < 1e-15 * (np.abs(vertices).max() + abs(offset))] = 0.0
        polygon: list[Array] = []
        leaving = entering = None
        for k in range(3):
            ahead = (k + 1) % 3
            if heights[k] < 0.0:
                polygon.append(corners[k])
            if (heights[k] < 0.0) != (heights[ahead] < 0.0):
                low, high = (k, ahead) if heights[k] < 0.0 else (ahead, k)
                share = heights[low] / (heights[low] - heights[high])
                point = corners[low] + share * (corners[high] - corners[low])
                polygon.append(point)
                if low == k:
                    leaving = point
                else:
                    entering = point
        triangles += [(polygon[0], polygon[k], polygon[k + 1]) for k in range(1, len(polygon) - 1)]
        if leaving is not None and entering is not None:
            # the lower part's skin runs along the plane from leaving to entering; the cap runs the other way
            sides.append((entering, leaving))
    return triangles, sides

"""One cut with all its quantities against a bare pass over the vertices and against other libraries."""

import importlib.util
import subprocess
import sys
from collections.abc import Callable, Iterator

import manifold3d
import numpy as np
import trimesh
from numpy.typing import NDArray

from benchmarks.table import Row, best_time, side_by_side
from dabchick.physics.cut import Forest, cut_many, forest
from dabchick.physics.liquid import level
from dabchick.physics.solid import Solid
from dabchick.physics.surfaces import mesh_surface

Array = NDArray[np.float64]
Faces = NDArray[np.int64]

PLANES = 200
UP = np.array([0.0, 0.0, 1.0])


def ellipsoid(level_of_detail: int) -> tuple[Array, Faces]:
    """A hull-like ellipsoid; level 5 has 20 480 triangles, level 7 has 327 680."""
    ball = trimesh.creation.icosphere(subdivisions=level_of_detail)
    return np.ascontiguousarray(ball.vertices * [0.5, 0.05, 0.06]), np.array(ball.faces, dtype=np.int64)


def lofted_hull(stations: int, around: int) -> tuple[Array, Faces]:
    """A long hull of near-square cells, such as a loft through stations gives; 2 x stations x around triangles."""
    share = np.linspace(0.0, 1.0, stations)
    radius = 0.05 * np.sqrt(np.maximum(1e-4, 1.0 - (2.0 * share - 1.0) ** 4))
    angle = 2.0 * np.pi * np.arange(around) / around
    x = np.repeat(share, around)
    y, z = np.outer(radius, np.cos(angle)).ravel(), 1.1 * np.outer(radius, np.sin(angle)).ravel()
    vertices = np.vstack([np.stack([x, y, z], axis=1), [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0]]])
    here = np.arange(stations - 1)[:, None] * around + np.arange(around)
    ahead = np.arange(stations - 1)[:, None] * around + (np.arange(around) + 1) % around
    a, b, c, d = (grid.ravel() for grid in (here, ahead, ahead + around, here + around))
    first, last = np.arange(around), (stations - 1) * around + np.arange(around)
    tail, nose = np.full(around, len(vertices) - 2), np.full(around, len(vertices) - 1)
    faces = [(a, b, c), (a, c, d), (tail, np.roll(first, -1), first), (nose, last, np.roll(last, -1))]
    joined = np.concatenate([np.stack(face, axis=1) for face in faces])
    corners = vertices[joined]
    inward = np.einsum("mi,mi->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) < 0.0
    return vertices, np.ascontiguousarray(joined[:, ::-1] if inward else joined)


def attitudes() -> Array:
    normals = np.random.default_rng(0).normal(size=(PLANES, 3))
    return np.asarray(normals / np.linalg.norm(normals, axis=1)[:, None])


def offsets(vertices: Array, normals: Array) -> Array:
    """One plane for each normal, through the middle nine tenths of the body."""
    heights = [vertices @ normal for normal in normals]
    low, high = np.array([(along.min(), along.max()) for along in heights]).T
    share = np.random.default_rng(1).uniform(0.05, 0.95, len(normals))
    return np.asarray(low + share * (high - low))


def tree_of(vertices: Array, faces: Faces) -> Forest:
    return forest([Solid((mesh_surface(vertices, faces),))])[0]


def _against_bare(name: str, mesh: tuple[Array, Faces], normals: Array) -> Iterator[Row]:
    vertices, faces = mesh
    tree = tree_of(vertices, faces)
    levels = offsets(vertices, normals)
    direction = np.array([0.1, 0.2, 0.97])
    each = bare = float("inf")
    for _ in range(30):
        each = min(each, best_time(lambda: cut_many(tree, normals, levels), 1) / len(normals))
        # in a row, so that the bare pass has its vertices in the cache
        bare = min(bare, best_time(lambda: vertices @ direction, 10))
    yield Row(f"{name}, {len(faces)} triangles: one bare V @ n", f"{1e6 * bare:8.1f} us")
    yield Row(f"{name}: one full cut, mean of {len(normals)}", f"{1e6 * each:8.1f} us")
    yield Row(f"{name}: full cut / bare pass", f"{each / bare:8.2f}", "at most 1", each <= bare)
    slow = max(
        best_time(lambda i=i: cut_many(tree, normals[i : i + 1], levels[i : i + 1]), 10)  # type: ignore[misc]
        for i in range(0, len(normals), 10)
    )
    yield Row(f"{name}: slowest single cut / bare pass", f"{slow / bare:8.2f}")


def full_cut() -> Iterator[Row]:
    """One full cut (18 quantities) against one bare pass over the vertices"""
    yield from _against_bare("ellipsoid, any attitude", ellipsoid(7), attitudes())
    yield from _against_bare("ellipsoid, upright", ellipsoid(7), np.tile(UP, (PLANES, 1)))
    yield from _against_bare("lofted hull, upright", lofted_hull(820, 200), np.tile(UP, (PLANES, 1)))
    yield from _against_bare("lofted hull, any attitude", lofted_hull(820, 200), attitudes())


def other_libraries() -> Iterator[Row]:
    """The same cut by other libraries, volume only"""
    vertices, faces = ellipsoid(7)
    tree = tree_of(vertices, faces)
    normal, offset = np.array([[0.0, 0.28, 0.96]]), np.array([0.01])
    works: list[tuple[str, Callable[[], object]]] = []
    if importlib.util.find_spec("shapely") is None:
        yield Row("trimesh slice_plane(cap=True).volume", "not run: trimesh caps with shapely, not installed")
    else:
        mesh = trimesh.Trimesh(vertices, faces, process=False)
        works.append(
            (
                "trimesh slice_plane(cap=True).volume",
                lambda: mesh.slice_plane(normal[0] * offset[0], -normal[0], cap=True).volume,
            )
        )
    body = manifold3d.Manifold(manifold3d.Mesh64(vertices, faces.astype(np.uint64)))
    works.append(
        ("manifold3d trim_by_plane.volume", lambda: body.trim_by_plane(-normal[0], -offset[0]).volume())
    )
    for name, work in works:
        theirs = best_time(work, 3)
        ours = best_time(lambda: cut_many(tree, normal, offset), 100)
        wanted = 300.0 if "trimesh" in name else None
        yield Row(
            f"{name} / one full cut",
            f"{theirs / ours:8.0f}  ({1e3 * theirs:.0f} ms)",
            "at least 300" if wanted else "",
            theirs / ours >= wanted if wanted else None,
        )


def growth() -> Iterator[Row]:
    """Cost from 20 thousand to 328 thousand triangles, 16 times as many"""
    cases = {
        "ellipsoid, any attitude": (ellipsoid(5), ellipsoid(7), attitudes()),
        "lofted hull, upright": (lofted_hull(205, 50), lofted_hull(820, 200), np.tile(UP, (PLANES, 1))),
    }
    for name, (small, large, normals) in cases.items():
        works: list[Callable[[], object]] = []
        for vertices, faces in (small, large):
            tree, levels = tree_of(vertices, faces), offsets(vertices, normals)
            works.append(lambda tree=tree, levels=levels, up=normals: cut_many(tree, up, levels))  # type: ignore[misc]
        less, more = side_by_side(works, 30)
        yield Row(f"{name}: cost grows", f"{more / less:8.2f} times", "less than 6", more / less < 6.0)


def around_the_cut() -> Iterator[Row]:
    """What goes with a cut: laying out, levels, first call of a fresh process"""
    vertices, faces = ellipsoid(7)
    yield Row("laying out 327680 triangles", f"{best_time(lambda: tree_of(vertices, faces), 2):8.2f} s")
    tree = tree_of(vertices, faces)
    volume = float(cut_many(tree, [UP], [0.02])[0, 0])
    yield Row("level from volume", f"{1e6 * best_time(lambda: level(tree, UP, volume), 30):8.1f} us")
    script = (
        "import time; import numba; start = time.perf_counter()\n"
        "from dabchick.physics import cut, liquid, shapes\n"
        "tree, _ = cut.forest([shapes.box(1, 1, 1)])\n"
        "cut.cut(tree, (0, 0, 1), 0.1); liquid.level(tree, (0, 0, 1), 0.1)\n"
        "print(time.perf_counter() - start)"
    )
    command = [sys.executable, "-c", script]
    runs = [subprocess.run(command, capture_output=True, text=True, check=True).stdout for _ in range(4)]
    least = min(float(run) for run in runs)
    yield Row("first cut and level of a fresh process, kernels on disk", f"{least:8.2f} s")


BENCHES = [full_cut, other_libraries, growth, around_the_cut]

"""Cuts of ugly meshes against other libraries and against brute force written apart from ours."""

import manifold3d
import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from dabchick.physics import shapes
from dabchick.physics.cut import as_cut, cut, cut_many, forest
from dabchick.physics.solid import Solid
from dabchick.physics.surfaces import mesh_surface
from tests.support.meshes import UGLY, clipped, random_planes

Array = NDArray[np.float64]
Faces = NDArray[np.int64]

TOLERANCE = 1e-10


def solid_of(vertices: Array, faces: Faces) -> Solid:
    return Solid((mesh_surface(vertices, faces),))


def awkward_planes(vertices: Array, faces: Faces) -> list[tuple[Array, float]]:
    """Planes through a vertex, along an edge, along a whole face, and square to an axis through a vertex."""
    rng = np.random.default_rng(11)
    planes = []
    for face in faces[rng.choice(len(faces), 6, replace=False)]:
        a, b, c = vertices[face]
        free = rng.normal(size=3)
        along_edge = np.cross(b - a, free)
        for normal in (free, along_edge, np.cross(b - a, c - a)):
            length = np.linalg.norm(normal)
            if length > 1e-9:
                unit = normal / length
                planes.append((unit, float(unit @ a)))
        axis = np.eye(3)[int(rng.integers(3))]
        planes.append((axis, float(axis @ a)))
    return planes


@pytest.mark.parametrize("name", UGLY)
def test_volume_and_centre_against_manifold(name: str) -> None:
    vertices, faces = UGLY[name]()
    body = manifold3d.Manifold(manifold3d.Mesh64(vertices, faces.astype(np.uint64)))
    assert body.status() == manifold3d.Error.NoError
    tree, _ = forest([solid_of(vertices, faces)])
    size = body.volume()
    for normal, offset in random_planes(vertices, 25, 1):
        ours = cut(tree, normal, offset)
        part = body.trim_by_plane(-normal, -offset)
        assert_allclose(ours.volume, part.volume(), rtol=TOLERANCE, atol=1e-13 * size)
        if ours.volume > 1e-6 * size:
            mesh = part.to_mesh64()
            other = trimesh.Trimesh(mesh.vert_properties[:, :3], mesh.tri_verts, process=False)
            assert_allclose(ours.moment, other.volume * other.center_mass, rtol=TOLERANCE, atol=1e-12 * size)


@pytest.mark.parametrize("name", UGLY)
def test_volume_and_centre_against_trimesh(name: str) -> None:
    pytest.importorskip("shapely", reason="trimesh caps its slices with shapely")
    if name not in ("ball", "needles"):
        pytest.importorskip("rtree", reason="trimesh sorts the loops of a cap with rtree")
    vertices, faces = UGLY[name]()
    mesh = trimesh.Trimesh(vertices, faces, process=False)
    tree, _ = forest([solid_of(vertices, faces)])
    for normal, offset in random_planes(vertices, 12, 2):
        part = mesh.slice_plane(normal * offset, -normal, cap=True)
        ours = cut(tree, normal, offset)
        # relative to the whole: trimesh joins points of its slice that are nearer than 1e-8
        assert_allclose(ours.volume, part.volume, atol=TOLERANCE * mesh.volume)
        reach = float(np.abs(vertices).max())
        assert_allclose(ours.moment, part.volume * part.center_mass, atol=TOLERANCE * reach * mesh.volume)


def brute_cut(vertices: Array, faces: Faces, normal: Array, offset: float) -> Array:
    """The same 18 numbers in plain steps: clip every triangle, close the part below with a cap from a point.

    Volume and moments come from tetrahedra between the origin and each triangle of the closed lower part,
    waterplane numbers from the fan of the cap: no field, no tree, no sums.
    """
    out = np.zeros(18)
    triangles, sides = clipped(vertices, faces, normal, offset)
    base = normal * offset
    for a, b, c in triangles:
        area = 0.5 * float(np.linalg.norm(np.cross(b - a, c - a)))
        out[14] += area
        out[15:18] += area * (a + b + c) / 3.0
    for a, b in sides:
        area = 0.5 * float(normal @ np.cross(a - base, b - base))
        out[4] += area
        out[5:8] += area * (base + a + b) / 3.0
        middles = [(base + a) / 2.0, (a + b) / 2.0, (b + base) / 2.0]
        second = np.sum([np.outer(m, m) for m in middles], axis=0) * area / 3.0
        out[8:14] += second[[0, 1, 2, 0, 0, 1], [0, 1, 2, 1, 2, 2]]
    for a, b, c in [*triangles, *((base, a, b) for a, b in sides)]:
        volume = float(np.dot(a, np.cross(b, c))) / 6.0
        out[0] += volume
        out[1:4] += volume * (a + b + c) / 4.0
    return out


@pytest.mark.parametrize("name", UGLY)
def test_all_numbers_against_brute_force(name: str) -> None:
    vertices, faces = UGLY[name]()
    tree, _ = forest([solid_of(vertices, faces)])
    scale = np.abs(cut_many(tree, [[0.0, 0.0, 1.0]], [100.0])[0])
    size = np.abs(vertices).max()
    areas = np.full(18, scale[14] * max(1.0, size) ** 2)
    for normal, offset in [*random_planes(vertices, 4, 3), *awkward_planes(vertices, faces)[:12]]:
        ours = cut_many(tree, [normal], [offset])[0]
        assert_allclose(
            ours, brute_cut(vertices, faces, normal, offset), rtol=1e-11, atol=1e-13 * areas.max()
        )


@pytest.mark.parametrize("name", UGLY)
def test_planes_through_vertices_edges_and_faces_against_manifold(name: str) -> None:
    vertices, faces = UGLY[name]()
    body = manifold3d.Manifold(manifold3d.Mesh64(vertices, faces.astype(np.uint64)))
    tree, _ = forest([solid_of(vertices, faces)])
    for normal, offset in awkward_planes(vertices, faces):
        part = body.trim_by_plane(-normal, -offset)
        assert_allclose(
            cut(tree, normal, offset).volume, part.volume(), rtol=TOLERANCE, atol=1e-13 * body.volume()
        )


@pytest.mark.parametrize("name", UGLY)
def test_the_waterplane_area_is_the_slope_of_the_volume(name: str) -> None:
    """dV/dd = area, by a central difference at planes where no vertex is near."""
    vertices, faces = UGLY[name]()
    tree, _ = forest([solid_of(vertices, faces)])
    for normal, offset in random_planes(vertices, 20, 4):
        gap = np.abs(vertices @ normal - offset).min()
        step = min(0.5 * gap, 1e-4)
        if step < 1e-6:
            continue
        above, below, here = cut_many(tree, [normal] * 3, [offset + step, offset - step, offset])[:, [0, 4]]
        assert_allclose((above[0] - below[0]) / (2.0 * step), here[1], rtol=1e-4, atol=1e-6)


def test_far_from_the_origin_nothing_is_lost() -> None:
    vertices, faces = UGLY["star"]()
    shift = np.array([1000.0, -500.0, 200.0])
    trees = [forest([solid_of(vertices + move, faces)])[0] for move in (np.zeros(3), shift)]
    normal = np.array([0.36, 0.48, 0.8])
    near = cut(trees[0], normal, 0.1)
    far = cut(trees[1], normal, 0.1 + float(normal @ shift))
    assert_allclose(far.volume, near.volume, rtol=1e-11)
    assert_allclose(far.waterplane_area, near.waterplane_area, rtol=1e-11)
    assert_allclose(far.moment - shift * far.volume, near.moment, atol=1e-9)


ROUND = {
    "cylinder": shapes.cylinder(1.0, 0.4),
    "cone": shapes.cone(1.0, 0.5),
    "frustum": shapes.cone(1.0, 0.5, 0.2),
    "sphere": shapes.sphere(0.8),
    "spheroid": shapes.spheroid(1.2, 0.4),
    "disc": shapes.spheroid(0.2, 1.0),
    "capsule": shapes.capsule(1.0, 0.3),
    "tube": shapes.tube(1.0, 0.4, 0.3),
}


@pytest.mark.parametrize("name", ROUND)
def test_refined_meshes_of_round_solids_converge_to_the_exact_cut(name: str) -> None:
    """The error of an inscribed mesh falls with the square of its edge; extrapolation leaves far less."""
    solid = ROUND[name].moved((0.3, -0.2, 0.1), np.linalg.qr(np.random.default_rng(2).normal(size=(3, 3)))[0])
    planes = random_planes(np.array(solid.bounds()), 12, 7)
    normals, offsets = np.array([p[0] for p in planes]), np.array([p[1] for p in planes])
    exact = cut_many(forest([solid])[0], normals, offsets)
    found = []
    for sides in (160, 320):
        surfaces = tuple(
            mesh_surface(vertices, faces, weight) for vertices, faces, weight in solid.meshes(sides)
        )
        found.append(cut_many(forest([Solid(surfaces)])[0], normals, offsets))
    coarse, fine = (np.abs(rows - exact).max(axis=0) for rows in found)
    assert (fine <= 0.3 * coarse + 1e-12).all()
    extrapolated = (4.0 * found[1] - found[0]) / 3.0
    assert_allclose(extrapolated[:, :4], exact[:, :4], atol=2e-7)


@pytest.mark.parametrize("name", ROUND)
def test_round_solids_against_numerical_slices(name: str) -> None:
    """Volume, moments, waterplane and wetted area by a plain fine sum over thin slices, no shared code."""
    solid = ROUND[name]
    normal, offset = np.array([0.48, 0.6, 0.64]), 0.07
    across = np.hypot(normal[1], normal[2])
    e = np.array([0.0, normal[1], normal[2]]) / across
    volume, moment, plane, wetted = 0.0, np.zeros(3), 0.0, 0.0
    for surface in solid.surfaces:
        for w0, w1, q0, q1, q2 in surface.pieces:
            count = 400_000
            # midpoints in an angle: slices grow thin where the ends close
            theta = np.pi * (np.arange(count) + 0.5) / count
            w = 0.5 * (w0 + w1) - 0.5 * (w1 - w0) * np.cos(theta)
            dw = 0.5 * (w1 - w0) * np.sin(theta) * np.pi / count
            r = np.sqrt(np.maximum(0.0, q0 + q1 * w + q2 * w * w))
            c = (offset - normal[0] * w) / across
            angle = np.pi - np.arccos(np.clip(c / np.maximum(r, 1e-300), -1.0, 1.0))
            h = np.sqrt(np.maximum(0.0, r * r - c * c))
            area = r * r * (angle - np.sin(angle) * np.cos(angle))
            volume += surface.weight * float(np.sum(area * dw))
            moment[0] += surface.weight * float(np.sum(w * area * dw))
            moment += surface.weight * e * float(np.sum(-2.0 / 3.0 * h**3 * dw))
            plane += surface.weight * float(np.sum(2.0 * h * dw)) / across
            wetted += float(np.sum(2.0 * angle * np.sqrt(r * r + (0.5 * q1 + q2 * w) ** 2) * dw))
        for piece, end in ((surface.pieces[0], 0), (surface.pieces[-1], 1)):
            w = piece[end]
            r = np.sqrt(max(0.0, piece[2] + piece[3] * w + piece[4] * w * w))
            if r > 0.0:
                c = np.clip((offset - normal[0] * w) / across / r, -1.0, 1.0)
                angle = np.pi - np.arccos(c)
                wetted += r * r * (angle - np.sin(angle) * np.cos(angle))
    ours = cut(forest([solid])[0], normal, offset)
    assert_allclose(ours.volume, volume, rtol=1e-8)
    assert_allclose(ours.moment, moment, atol=1e-9)
    assert_allclose(ours.waterplane_area, plane, rtol=2e-7)
    assert_allclose(ours.wetted_area, wetted, rtol=1e-7)


def test_names_of_the_eighteen_numbers() -> None:
    named = as_cut(np.arange(18.0))
    assert (named.volume, named.waterplane_area, named.wetted_area) == (0.0, 4.0, 14.0)
    assert named.waterplane_second.tolist() == [[8.0, 11.0, 12.0], [11.0, 9.0, 13.0], [12.0, 13.0, 10.0]]

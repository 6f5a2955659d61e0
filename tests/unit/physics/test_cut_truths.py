"""Truths that hold for the cut of any closed surface, tried on many by hypothesis."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from dabchick.physics import shapes
from dabchick.physics.clusters import cluster_tree
from dabchick.physics.cut import CUT_SIZE, cut, cut_many, forest
from dabchick.physics.cut_revolved import _G, _K, _X
from dabchick.physics.solid import Solid
from dabchick.physics.surfaces import mesh_surface
from tests.support.meshes import UGLY, clipped

Array = NDArray[np.float64]

size = st.floats(0.05, 3.0)
sharp = st.floats(-1.0, 1.0)


def _ugly(name: str) -> Solid:
    return Solid((mesh_surface(*UGLY[name]()),))


makers: list[st.SearchStrategy[Solid]] = [
    st.builds(shapes.box, size, size, size),
    st.builds(shapes.cylinder, size, size),
    st.builds(shapes.spheroid, size, size),
    st.builds(shapes.cone, size, size, size),
    st.builds(shapes.cone, size, size),
    st.builds(lambda straight, diameter: shapes.capsule(straight + diameter, diameter), size, size),
    st.builds(lambda length, inner, wall: shapes.tube(length, inner + wall, inner), size, size, size),
    st.builds(_ugly, st.sampled_from(sorted(UGLY))),
]


@st.composite
def rotations(draw: st.DrawFn) -> Array:
    """Any attitude, those along the axes and those a hair off them included."""
    quaternion = np.array(
        [draw(st.one_of(sharp, st.sampled_from([0.0, 1.0, 1e-9, 1e-16]))) for _ in range(4)]
    )
    length = float(np.linalg.norm(quaternion))
    if length < 1e-3:
        return np.eye(3)
    w, x, y, z = quaternion / length
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
            [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
            [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
        ]
    )


@st.composite
def cases(draw: st.DrawFn) -> tuple[Solid, Array, float]:
    """A solid at an attitude, and a plane somewhere through it or just past it."""
    solid = draw(st.one_of(makers)).moved([draw(sharp) for _ in range(3)], draw(rotations()))
    normal = draw(rotations())[2]
    low, high = solid.bounds()
    reach = 0.5 * float(np.linalg.norm(high - low))
    offset = float(normal @ (0.5 * (low + high))) + reach * draw(st.floats(-1.05, 1.05))
    return solid, normal / np.linalg.norm(normal), offset


def scales(solid: Solid) -> Array:
    """What each of the eighteen numbers may reach, to judge rounding by."""
    low, high = solid.bounds()
    reach = float(np.linalg.norm(np.maximum(np.abs(low), np.abs(high))))
    area = sum(surface.bulk().area for surface in solid.surfaces)
    volume = area * reach
    powers = [volume, *[volume * reach] * 3, area, *[area * reach] * 3, *[area * reach**2] * 6]
    return np.array([*powers, area, *[area * reach] * 3])


@settings(max_examples=200, deadline=None)
@given(cases())
def test_above_and_below_make_the_whole(case: tuple[Solid, Array, float]) -> None:
    solid, normal, offset = case
    tree, _ = forest([solid])
    below, above = cut_many(tree, [normal, -normal], [offset, -offset])
    total = cut_many(tree, [[0.0, 0.0, 1.0]], [1e3])[0]
    limit = 1e-13 * scales(solid)
    volumes = [0, 1, 2, 3, 14, 15, 16, 17]
    assert (np.abs(below + above - total)[volumes] <= limit[volumes]).all()
    assert_allclose(total[0], solid.volume, rtol=1e-12)


@settings(max_examples=200, deadline=None)
@given(cases(), rotations(), st.tuples(sharp, sharp, sharp))
def test_turning_and_moving_changes_nothing(
    case: tuple[Solid, Array, float], rotation: Array, shift: tuple[float, float, float]
) -> None:
    solid, normal, offset = case
    move = np.array(shift)
    other = rotation @ normal
    other /= np.linalg.norm(other)
    there = cut(forest([solid.moved(move, rotation)])[0], other, offset + float(other @ move))
    here = cut(forest([solid])[0], normal, offset)
    # a plane along a face can be tipped to its other side by rounding: allow for what a hair's shift changes
    nearby = cut_many(forest([solid])[0], [normal] * 2, [offset - 1e-9, offset + 1e-9])
    limit = 1e-12 * scales(solid) + 4.0 * np.abs(nearby[1] - nearby[0])
    limit[1:4] += 8.0 * limit[0]
    assert abs(there.volume - here.volume) <= limit[0]
    assert abs(there.waterplane_area - here.waterplane_area) <= limit[4] + 1e-12
    assert abs(there.wetted_area - here.wetted_area) <= limit[14]
    expected = rotation @ here.moment + here.volume * move
    assert (np.abs(there.moment - expected) <= limit[1:4].max() + 8.0 * limit[0]).all()


@settings(max_examples=100, deadline=None)
@given(cases())
def test_a_mirror_changes_nothing(case: tuple[Solid, Array, float]) -> None:
    solid, normal, offset = case
    flip = np.diag([1.0, -1.0, 1.0])
    here = cut_many(forest([solid])[0], [normal], [offset])[0]
    there = cut_many(forest([solid.moved((0, 0, 0), flip)])[0], [flip @ normal], [offset])[0]
    signs = np.array([1, 1, -1, 1, 1, 1, -1, 1, 1, 1, 1, -1, 1, -1, 1, 1, -1, 1])
    assert (np.abs(there - signs * here) <= 1e-12 * scales(solid)).all()


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(sorted(UGLY)), rotations(), st.floats(-1.0, 1.0))
def test_pressure_over_the_wetted_skin_is_the_weight_displaced(
    name: str, rotation: Array, share: float
) -> None:
    """Each submerged face is pressed by the head of water on it; force and moment are those of the volume.

    The pressure is summed face by face over a mesh clipped by plain code that shares nothing with ours.
    """
    vertices, faces = UGLY[name]()
    normal = rotation[2] / np.linalg.norm(rotation[2])
    heights = vertices @ normal
    offset = 0.5 * (heights.max() + heights.min()) + 0.5 * share * (heights.max() - heights.min())
    force, moment = np.zeros(3), np.zeros(3)
    for a, b, c in clipped(vertices, faces, normal, offset)[0]:
        inward = -0.5 * np.cross(b - a, c - a)
        # head is linear over a face: three midside points are exact for head times arm
        for point in ((a + b) / 2.0, (b + c) / 2.0, (c + a) / 2.0):
            push = inward / 3.0 * (offset - normal @ point)
            force += push
            moment += np.cross(point, push)
    part = cut(forest([Solid((mesh_surface(vertices, faces),))])[0], normal, offset)
    reach = float(np.abs(vertices).max()) ** 4
    assert_allclose(force, part.volume * normal, atol=1e-12 * reach)
    assert_allclose(moment, np.cross(part.moment, normal), atol=1e-12 * reach)


@settings(max_examples=100, deadline=None)
@given(cases(), st.lists(st.floats(-0.6, 0.6), min_size=2, max_size=12))
def test_volume_and_wetted_area_never_fall_as_the_plane_rises(
    case: tuple[Solid, Array, float], steps: list[float]
) -> None:
    solid, normal, offset = case
    offsets = offset + np.sort(steps)
    rows = cut_many(forest([solid])[0], np.tile(normal, (len(offsets), 1)), offsets)
    limit = scales(solid)
    assert (np.diff(rows[:, 0]) >= -1e-14 * limit[0]).all()
    assert (np.diff(rows[:, 14]) >= -1e-14 * limit[14]).all()
    assert (rows[:, 4] >= -1e-14 * limit[4]).all()


@pytest.mark.parametrize("name", sorted(UGLY))
def test_area_vectors_of_a_closed_surface_sum_to_zero(name: str) -> None:
    vertices, faces = UGLY[name]()
    tree = cluster_tree(vertices, faces)
    area = tree.sums[0, 30]
    assert_allclose(tree.sums[0, 0:3], np.zeros(3), atol=1e-14 * area)
    # int x_i N_j dA = V delta_ij
    moment = tree.sums[0, 3:12].reshape(3, 3)
    assert_allclose(moment, np.eye(3) * moment[0, 0], atol=1e-13 * area)


@pytest.mark.parametrize("leaf_size", [1, 2, 3, 7, 20, 48, 64])
def test_the_size_of_the_clusters_changes_nothing(leaf_size: int) -> None:
    vertices, faces = UGLY["star"]()
    solid = Solid((mesh_surface(vertices, faces),))
    normals = np.random.default_rng(1).normal(size=(40, 3))
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    offsets = np.random.default_rng(2).uniform(-1.0, 1.0, 40)
    expected = cut_many(forest([solid])[0], normals, offsets)
    shape = solid.surfaces[0].shape  # type: ignore[union-attr]
    other = Solid((mesh_surface(vertices, faces),))
    other.surfaces[0].shape.__dict__["tree"] = cluster_tree(shape.vertices, faces, leaf_size)  # type: ignore[union-attr]
    found = cut_many(forest([other])[0], normals, offsets)
    assert_allclose(found, expected, atol=1e-13 * np.abs(expected).max())


def test_triangles_that_share_no_vertices_make_smaller_clusters() -> None:
    vertices, faces = UGLY["torus"]()
    loose = vertices[faces].reshape(-1, 3)
    soup = Solid((mesh_surface(loose, np.arange(len(loose)).reshape(-1, 3)),))
    whole = Solid((mesh_surface(vertices, faces),))
    normal, offset = np.array([0.6, 0.0, 0.8]), 0.1
    rows = [cut_many(forest([solid])[0], [normal], [offset])[0] for solid in (soup, whole)]
    assert_allclose(rows[0], rows[1], rtol=1e-12, atol=1e-14)


@pytest.mark.parametrize("leaf_size", [1, 5, 40])
def test_every_triangle_stands_in_one_leaf_inside_its_boxes(leaf_size: int) -> None:
    vertices, faces = UGLY["torus"]()
    tree = cluster_tree(vertices, faces, leaf_size)
    leaves = tree.links[tree.links[:, 2] > tree.links[:, 1]]
    assert leaves[0, 1] == 0
    assert leaves[-1, 2] == len(faces)
    assert (leaves[1:, 1] == leaves[:-1, 2]).all()

    def vertices_of(leaf: Array) -> Array:
        """(n, 3)"""
        start, stop = int(leaf[3]), int(leaf[4])
        return tree.points[3 * start : 3 * stop].reshape(3, -1).T

    found = []
    for node, link in enumerate(tree.links):
        assert node < link[0] <= len(tree.links)
        for leaf in tree.links[node : link[0]]:
            away = np.abs(vertices_of(leaf) - tree.boxes[node, :3])
            assert (away <= tree.boxes[node, 3:] + 1e-15).all()
        for three in tree.packed[link[1] : link[2]].astype(int):
            found.append(vertices_of(link)[[three >> shift & 63 for shift in (0, 6, 12)]])
    key: Callable[[Array], tuple[float, ...]] = lambda corners: tuple(np.sort(corners, axis=0).ravel())  # noqa: E731
    assert sorted(map(key, found)) == sorted(map(key, vertices[faces]))


def test_solids_side_by_side_add_up() -> None:
    solids = [
        _ugly("torus"),
        shapes.capsule(1.0, 0.3),
        shapes.box(1, 1, 1),
        _ugly("comb"),
        shapes.cone(1.0, 0.4),
    ]
    tree, starts = forest(solids)
    normal, offset = np.array([0.6, 0.0, 0.8]), 0.1
    parts = sum(
        cut_many(tree, [normal], [offset], int(starts[i]), int(starts[i + 1]))[0] for i in range(len(solids))
    )
    alone = sum(cut_many(forest([solid])[0], [normal], [offset])[0] for solid in solids)
    together = cut_many(tree, [normal], [offset])[0]
    assert_allclose(parts, together, rtol=1e-14, atol=1e-15)
    assert_allclose(alone, together, rtol=1e-14, atol=1e-15)
    assert together.shape == (CUT_SIZE,)


def test_gauss_and_kronrod_rules_are_exact_for_polynomials() -> None:
    """Degrees 31 and 19, the property that defines them; the constants are QUADPACK's, from memory."""
    for weights, degree in ((_K, 31), (_G, 19)):
        for power in range(0, degree + 1, 2):
            total = 2.0 * float(weights[:10] @ _X[:10] ** power) + float(weights[10] * _X[10] ** power)
            assert_allclose(total, 2.0 / (power + 1), rtol=1e-14)
    nodes, gauss = np.polynomial.legendre.leggauss(10)
    assert_allclose(_X[1:10:2], np.sort(nodes)[:4:-1], rtol=1e-14)
    assert_allclose(_G[1:10:2], gauss[:5], rtol=1e-13)

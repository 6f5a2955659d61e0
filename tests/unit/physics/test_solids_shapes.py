"""Volumes, centres, inertias and boxes of the simple solids against textbook closed forms."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from dabchick.physics import shapes
from dabchick.physics.solid import Solid, together
from dabchick.physics.surfaces import RevolvedSurface, mesh_surface
from tests.support.meshes import UGLY

PI = np.pi


def test_box() -> None:
    solid = shapes.box(3.0, 2.0, 1.0)
    assert_allclose(solid.volume, 6.0, rtol=1e-15)
    assert_allclose(solid.centre, np.zeros(3), atol=1e-15)
    assert_allclose(solid.inertia(), np.diag([5.0, 10.0, 13.0]) * 6.0 / 12.0, rtol=1e-14, atol=1e-14)
    low, high = solid.bounds()
    assert_allclose((low, high), ([-1.5, -1.0, -0.5], [1.5, 1.0, 0.5]), rtol=1e-15)
    assert_allclose(solid.area, 22.0, rtol=1e-15)


def test_cylinder_and_tube() -> None:
    length, outer, inner = 2.0, 0.6, 0.5
    solid = shapes.cylinder(length, outer)
    volume = PI * 0.09 * length
    assert_allclose(solid.volume, volume, rtol=1e-14)
    across = volume * (3 * 0.09 + length**2) / 12.0
    assert_allclose(solid.inertia(), np.diag([volume * 0.045, across, across]), rtol=1e-14, atol=1e-15)
    tube = shapes.tube(length, outer, inner)
    assert_allclose(tube.volume, PI / 4.0 * (outer**2 - inner**2) * length, rtol=1e-14)
    along = PI / 32.0 * (outer**4 - inner**4) * length
    assert_allclose(tube.inertia()[0, 0], along, rtol=1e-13)


def test_sphere_spheroid_capsule_cone() -> None:
    ball = shapes.sphere(0.8)
    assert_allclose(ball.volume, 4.0 / 3.0 * PI * 0.064, rtol=1e-14)
    assert_allclose(ball.inertia(), np.eye(3) * 0.4 * ball.volume * 0.16, rtol=1e-13, atol=1e-16)
    egg = shapes.spheroid(2.0, 0.6)
    assert_allclose(egg.volume, 4.0 / 3.0 * PI * 0.09, rtol=1e-14)
    assert_allclose(np.diag(egg.inertia()), egg.volume / 5.0 * np.array([0.18, 1.09, 1.09]), rtol=1e-13)
    pill = shapes.capsule(2.0, 0.6)
    assert_allclose(pill.volume, PI * 0.09 * 1.4 + 4.0 / 3.0 * PI * 0.027, rtol=1e-14)
    assert_allclose(shapes.capsule(0.8, 0.8).volume, ball.volume, rtol=1e-14)
    tip = shapes.cone(1.2, 1.0)
    assert_allclose(tip.volume, PI * 0.25 * 1.2 / 3.0, rtol=1e-14)
    assert_allclose(tip.centre, [-0.6 + 0.3, 0.0, 0.0], atol=1e-15)
    across = tip.volume * (3.0 / 20.0 * 0.25 + 3.0 / 80.0 * 1.44)
    assert_allclose(np.diag(tip.inertia()), [0.3 * tip.volume * 0.25, across, across], rtol=1e-13)


def test_prism_and_extruded_with_a_notch() -> None:
    notched = [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (1.0, 1.0), (0.0, 2.0)]
    area = 4.0 - 1.0
    column = shapes.extruded(notched, 0.5)
    assert_allclose(column.volume, area * 0.5, rtol=1e-14)
    # the square's centre less that of the triangle cut out: centroid of the notch at y = 5/3
    assert_allclose(column.centre, [1.0, (4.0 * 1.0 - 1.0 * 5.0 / 3.0) / 3.0, 0.25], rtol=1e-14)
    beam = shapes.prism(notched, 3.0)
    assert_allclose(beam.volume, area * 3.0, rtol=1e-14)
    assert_allclose(beam.centre, [0.0, 1.0, (4.0 - 5.0 / 3.0) / 3.0], atol=1e-14)
    turned = shapes.prism(notched[::-1], 3.0)
    assert_allclose(turned.volume, beam.volume, rtol=1e-14)
    closed = shapes.prism([*notched, notched[0]], 3.0)
    assert_allclose(closed.volume, beam.volume, rtol=1e-14)


def test_outline_with_points_in_line_is_taken() -> None:
    outline = [(0, 0), (1, 0), (2, 0), (2, 1), (2, 2), (1, 2), (0, 2), (0, 1)]
    assert_allclose(shapes.extruded(outline, 1.0).volume, 4.0, rtol=1e-14)


@pytest.mark.parametrize("name", UGLY)
def test_a_mesh_and_its_mirror_are_taken(name: str) -> None:
    vertices, faces = UGLY[name]()
    solid = shapes.mesh(vertices, faces)
    mirrored = solid.moved((0.0, 0.0, 0.0), np.diag([1.0, -1.0, 1.0]))
    assert mirrored.volume == pytest.approx(solid.volume, rel=1e-13)
    assert_allclose(mirrored.centre, solid.centre * [1.0, -1.0, 1.0], atol=1e-13)
    with pytest.raises(ValueError, match="looks inward"):
        shapes.mesh(vertices, faces[:, ::-1])
    with pytest.raises(ValueError, match="not a closed surface"):
        shapes.mesh(vertices, faces[1:])


def test_moved_turns_centre_and_inertia() -> None:
    rotation = np.linalg.qr(np.random.default_rng(4).normal(size=(3, 3)))[0]
    for solid in (shapes.cone(1.0, 0.5, 0.1), shapes.box(1.0, 2.0, 3.0), shapes.mesh(*UGLY["comb"]())):
        moved = solid.moved((5.0, -3.0, 1.0), rotation)
        assert_allclose(moved.volume, solid.volume, rtol=1e-13)
        assert_allclose(moved.centre, rotation @ solid.centre + [5.0, -3.0, 1.0], rtol=1e-12)
        assert_allclose(moved.inertia(), rotation @ solid.inertia() @ rotation.T, atol=1e-11)


def test_a_shifted_copy_shares_its_tree() -> None:
    solid = shapes.mesh(*UGLY["star"]())
    moved = solid.moved((1.0, 0.0, 0.0)).weighted(-1.0)
    assert moved.surfaces[0].shape is solid.surfaces[0].shape  # type: ignore[union-attr]


def test_sum_and_difference() -> None:
    block, hole = shapes.box(2.0, 2.0, 2.0), shapes.sphere(1.0).moved((0.2, 0.0, 0.0))
    hollow = block - hole
    assert_allclose(hollow.volume, 8.0 - hole.volume, rtol=1e-14)
    assert_allclose(hollow.centre, [-0.2 * hole.volume / hollow.volume, 0.0, 0.0], atol=1e-15)
    assert_allclose(hollow.area, block.area + hole.area, rtol=1e-13)
    expected = block.inertia() - hole.inertia()
    arm = np.array([0.2, 0.0, 0.0])
    shift = hole.volume * (arm @ arm * np.eye(3) - np.outer(arm, arm))
    centre = hollow.centre
    back = hollow.volume * (centre @ centre * np.eye(3) - np.outer(centre, centre))
    assert_allclose(hollow.inertia(), expected - shift - back, atol=1e-14)
    assert_allclose((block + hole).volume, together([block, hole]).volume, rtol=1e-15)
    assert_allclose(block.weighted(0.5).volume, 4.0, rtol=1e-15)


@pytest.mark.parametrize(
    "solid",
    [shapes.cylinder(1.0, 0.4), shapes.cone(1.0, 0.5), shapes.spheroid(0.3, 1.0), shapes.capsule(1.0, 0.3)],
)
def test_bounds_of_round_solids_hold_their_meshes_closely(solid: Solid) -> None:
    rotation = np.linalg.qr(np.random.default_rng(8).normal(size=(3, 3)))[0]
    moved = solid.moved((0.1, 0.2, 0.3), rotation)
    vertices = moved.meshes(720)[0][0]
    low, high = moved.bounds()
    assert (vertices.min(axis=0) >= low - 1e-12).all()
    assert (vertices.max(axis=0) <= high + 1e-12).all()
    assert_allclose(vertices.min(axis=0), low, atol=5e-4)
    assert_allclose(vertices.max(axis=0), high, atol=5e-4)


@pytest.mark.parametrize("segments", [3, 8, 97])
def test_meshes_of_round_solids_are_closed_and_outward(segments: int) -> None:
    for solid in (shapes.capsule(1, 0.3), shapes.cone(1, 0.5), shapes.cone(1, 0.2, 0.5), shapes.sphere(1.0)):
        vertices, faces, weight = solid.meshes(segments)[0]
        assert weight == 1.0
        inscribed = shapes.mesh(vertices, faces)
        assert 0.0 < inscribed.volume < solid.volume


@pytest.mark.parametrize(
    ("make", "advice"),
    [
        (lambda: shapes.box(1.0, 0.0, 1.0), "width 0.0"),
        (lambda: shapes.box(float("nan"), 1.0, 1.0), "length nan"),
        (lambda: shapes.cylinder(1.0, -2.0), "diameter -2.0"),
        (lambda: shapes.sphere(float("inf")), "diameter inf"),
        (lambda: shapes.capsule(0.1, 0.2), "at least its diameter"),
        (lambda: shapes.tube(1.0, 0.1, 0.2), "Swap or correct"),
        (lambda: shapes.cone(1.0, 0.5, -0.1), "top diameter"),
        (lambda: shapes.prism([(0, 0), (1, 0)], 1.0), "at least 3 points"),
        (lambda: shapes.prism([(0, 0), (1, 0), (2, 0)], 1.0), "no area"),
        (lambda: shapes.extruded([(0, 0), (2, 2), (2, 0), (0, 1)], 1.0), "crosses itself"),
        (lambda: shapes.mesh([[0, 0, np.nan]] * 3, [[0, 1, 2]]), "Vertex 0"),
        (lambda: shapes.mesh(np.eye(3), [[0, 1, 3]]), "outside 0..2"),
        (lambda: shapes.mesh(np.eye(3), np.zeros((0, 3))), "no triangles"),
        (lambda: shapes.mesh(np.eye(2), [[0, 1, 1]]), "vertices"),
        (lambda: shapes.box(1, 1, 1).moved((0, np.nan, 0)), "three finite numbers"),
        (lambda: shapes.box(1, 1, 1).moved((0, 0, 0), 2.0 * np.eye(3)), "R R"),
        (lambda: shapes.box(1, 1, 1).weighted(float("nan")), "finite number"),
        (lambda: (shapes.box(1, 1, 1) - shapes.box(1, 1, 1)).centre, "no centre"),
        (lambda: RevolvedSurface(np.zeros(3), np.eye(3)[0], np.array([[1.0, 1.0, 1.0, 0, 0]])), "no length"),
        (lambda: mesh_surface([[0, 0, np.inf]] * 3, [[0, 1, 2]]), "not a finite number"),
    ],
)
def test_mistakes_get_advice(make: object, advice: str) -> None:
    assert callable(make)
    with pytest.raises(ValueError, match=advice):
        make()

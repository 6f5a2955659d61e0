"""Skins: exact where geometry is, close where it is curved, solid where the body is thin."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from dabchick.physics import shapes
from dabchick.physics.cut import cut, forest
from dabchick.physics.ray import free_lengths
from dabchick.physics.skin import offset_inward, skin
from tests.support.meshes import Mesh, ball, torus

T = 0.01


def box_mesh(length: float, width: float, height: float) -> Mesh:
    return shapes.box(length, width, height).surfaces[0].mesh(0)


def test_box_is_exact_inside_and_outside() -> None:
    mesh = box_mesh(1.0, 0.5, 0.2)
    assert_allclose(skin(*mesh, T).volume, 0.1 - 0.98 * 0.48 * 0.18, rtol=1e-12)
    assert_allclose(skin(*mesh, T, outside=True).volume, 1.02 * 0.52 * 0.22 - 0.1, rtol=1e-12)
    assert_allclose(np.abs(offset_inward(*mesh, T)), np.tile([0.49, 0.24, 0.09], (8, 1)), rtol=1e-13)


def test_only_the_outermost_face_is_wetted() -> None:
    mesh = box_mesh(1.0, 0.5, 0.2)
    tree, _ = forest([skin(*mesh, T), skin(*mesh, T, outside=True)])
    assert_allclose(cut(tree, (0, 0, 1), 1.0, 0, 2).wetted_area, 2 * (0.5 + 0.2 + 0.1), rtol=1e-13)
    outer = 2 * (1.02 * 0.52 + 1.02 * 0.22 + 0.52 * 0.22)
    assert_allclose(cut(tree, (0, 0, 1), 1.0, 2, 4).wetted_area, outer, rtol=1e-12)


def test_l_beam_with_a_hollow_edge_is_exact() -> None:
    outline = [(0.0, 0.0), (1.0, 0.0), (1.0, 0.4), (0.4, 0.4), (0.4, 1.0), (0.0, 1.0)]
    mesh = shapes.prism(outline, 2.0).surfaces[0].mesh(0)
    area, inner = 0.64, 0.98 * 0.38 + 0.38 * 0.6
    assert_allclose(skin(*mesh, T).volume, area * 2.0 - inner * 1.98, rtol=1e-12)


def test_sphere_and_torus_come_close() -> None:
    """Closed forms of the smooth bodies, scaled to the volume and area that the inscribed mesh has."""
    vertices, faces = ball(4)
    whole = shapes.mesh(vertices, faces).volume
    assert_allclose(skin(vertices, faces, T).volume, whole * (1.0 - 0.99**3), rtol=2e-3)
    vertices, faces = torus()
    solid = shapes.mesh(vertices, faces)
    assert_allclose(skin(vertices, faces, 0.02).volume, solid.area * 0.02 * (1.0 - 0.02 / 0.6), rtol=0.02)


def test_thin_limit_is_area_times_thickness() -> None:
    vertices, faces = torus()
    assert_allclose(skin(vertices, faces, 1e-6).volume, shapes.mesh(vertices, faces).area * 1e-6, rtol=1e-5)


@pytest.mark.parametrize("thickness", [0.015, 0.0199])
def test_a_plate_thinner_than_two_walls_is_solid(thickness: float) -> None:
    mesh = box_mesh(1.0, 0.5, thickness)
    assert_allclose(skin(*mesh, T).volume, 0.5 * thickness, rtol=1e-12)


def test_a_lens_is_solid_throughout() -> None:
    vertices, faces = ball(4)
    flat = vertices * [1.0, 1.0, 0.008]
    assert_allclose(skin(flat, faces, T).volume, shapes.mesh(flat, faces).volume, rtol=2e-3)


def test_a_sharp_fin_is_exact_until_it_is_solid() -> None:
    half_chord, half_thickness, span = 0.3, 0.02, 0.2
    outline = [(-half_chord, 0.0), (0.0, -half_thickness), (half_chord, 0.0), (0.0, half_thickness)]
    mesh = shapes.prism(outline, span).surfaces[0].mesh(0)
    # the inner rhombus is the outer one scaled by the height left over its sides
    height = half_chord * half_thickness / np.hypot(half_chord, half_thickness)
    area = 2.0 * half_chord * half_thickness
    left = (height - T) / height
    assert_allclose(skin(*mesh, T).volume, area * (span - left**2 * (span - 2 * T)), rtol=1e-12)
    assert_allclose(skin(*mesh, 2.5 * T).volume, area * span, rtol=1e-12)


def test_the_skin_never_holds_more_than_the_body() -> None:
    rng = np.random.default_rng(6)
    vertices, faces = ball(3)
    bumpy = vertices * (1.0 + 0.15 * rng.random(len(vertices)))[:, None] * [1.0, 0.2, 0.1]
    body = shapes.mesh(bumpy, faces).volume
    volumes = [skin(bumpy, faces, t).volume for t in (0.001, 0.004, 0.02, 0.1, 0.5)]
    assert (np.diff(volumes) > -0.03 * body).all()
    # where the middle is a rough surface its folds are worth a few hundredths
    assert max(volumes) <= body * 1.03
    assert_allclose(volumes[-2:], body, rtol=0.03)


def test_faces_that_share_no_vertices_stay_together() -> None:
    vertices, faces = box_mesh(1.0, 0.5, 0.2)
    loose = vertices[faces].reshape(-1, 3)
    volume = skin(loose, np.arange(len(loose)).reshape(-1, 3), T).volume
    assert_allclose(volume, 0.1 - 0.98 * 0.48 * 0.18, rtol=1e-12)


def test_triangles_without_area_break_nothing() -> None:
    vertices, faces = box_mesh(1.0, 0.5, 0.2)
    # a needle of no area along one edge, with a vertex of its own that only it touches
    a, b, _ = faces[0]
    middle = len(vertices)
    more = np.vstack([vertices, 0.5 * (vertices[a] + vertices[b])])
    extra = np.vstack([faces, [[a, b, middle], [b, a, middle], [a, a, b]]])
    moved = offset_inward(more, extra, T)
    assert np.isfinite(moved).all()
    assert_allclose(moved[:-1], offset_inward(vertices, faces, T), rtol=1e-12)
    assert_allclose(moved[-1], 0.5 * (moved[a] + moved[b]), atol=1e-12)
    assert_allclose(skin(more, extra, T).volume, 0.1 - 0.98 * 0.48 * 0.18, rtol=1e-12)


def test_nothing_moves_for_no_thickness() -> None:
    vertices, faces = ball(1)
    assert_allclose(offset_inward(vertices, faces, 0.0), vertices, rtol=1e-15)


def test_rays_inside_a_ball_run_to_the_other_side() -> None:
    vertices, faces = ball(4)
    tree = shapes.mesh(vertices, faces).surfaces[0].shape.tree  # type: ignore[union-attr]
    starts = vertices[::40]
    rays = -starts
    most = np.full(len(starts), 10.0)
    fields = (tree.points, tree.packed, tree.boxes, tree.links)
    lengths = free_lengths(*fields, starts, rays, most, 1.0)
    assert_allclose(lengths, 2.0, atol=5e-3)
    assert_allclose(free_lengths(*fields, starts, -rays, most, 1.0), 10.0)
    short = np.full(len(starts), 0.5)
    assert_allclose(free_lengths(*fields, starts, rays, short, 1.0), 0.5)


@pytest.mark.parametrize("thickness", [0.0, -0.1, float("nan"), float("inf")])
def test_bad_thickness_gets_advice(thickness: float) -> None:
    with pytest.raises(ValueError, match="thickness"):
        skin(*ball(1), thickness)

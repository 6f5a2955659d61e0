"""Outlines against closed forms, and against asking every projected triangle whether it covers a point."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.physics import shapes
from dabchick.physics.solid import Solid
from dabchick.report.silhouettes import covered, extent, silhouette
from tests.support.sample_results import lofted_hull, sail

GRID = 1e-6


def covered_by_a_triangle(solid: Solid, points: np.ndarray, axes: tuple[int, int]) -> np.ndarray:
    """Independent route: a point is covered where it lies in at least one projected triangle."""
    inside = np.zeros(len(points), dtype=bool)
    for vertices, faces, _ in solid.meshes(segments=96):
        for a, b, c in vertices[:, axes][faces]:
            sides = [
                (q[0] - p[0]) * (points[:, 1] - p[1]) - (q[1] - p[1]) * (points[:, 0] - p[0])
                for p, q in ((a, b), (b, c), (c, a))
            ]
            low, high = np.minimum.reduce(sides), np.maximum.reduce(sides)
            inside |= (low > 0.0) | (high < 0.0)
    return inside


def area(loops) -> float:
    """Shoelace formula."""
    return sum(
        0.5 * float(np.sum(loop[:, 0] * np.roll(loop[:, 1], -1) - np.roll(loop[:, 0], -1) * loop[:, 1]))
        for loop in loops
    )


def test_a_box_is_its_rectangle_with_four_corners():
    body = shapes.box(0.3, 0.2, 0.1).moved((0.5, 0.05, 0.07))
    side, top = silhouette(body, "side", GRID), silhouette(body, "top", GRID)
    assert [len(loop) for loop in side] == [4]
    assert extent(side) == pytest.approx((0.35, 0.02, 0.65, 0.12), abs=1e-12)
    assert extent(top) == pytest.approx((0.35, -0.05, 0.65, 0.15), abs=1e-12)
    assert area(side) == pytest.approx(0.3 * 0.1, rel=1e-12)
    assert area(top) == pytest.approx(0.3 * 0.2, rel=1e-12)


def test_a_sphere_is_a_circle_within_the_error_of_its_facets():
    loops = silhouette(shapes.sphere(0.2), "side", GRID, segments=96)
    distance = np.hypot(*np.concatenate(loops).T)
    assert distance.max() <= 0.1 + 2 * GRID
    # a regular polygon of 96 sides lies within 1 - cos(pi/96) of its circle
    assert distance.min() >= 0.1 * np.cos(np.pi / 96) - 2 * GRID


@pytest.mark.parametrize(("view", "axes"), [("side", (0, 2)), ("top", (0, 1))])
def test_a_hull_with_a_sail_covers_what_its_triangles_cover(view, axes):
    vertices, faces = lofted_hull(0.84, 0.105, 0.112, stations=31, around=24)
    hull = shapes.mesh(vertices, faces) + sail(0.49, 0.17, 0.1, 0.067, 0.03)
    points = np.random.default_rng(20260301).uniform([-0.02, -0.07], [0.86, 0.19], size=(6000, 2))
    expected = covered_by_a_triangle(hull, points, axes)
    assert 0.2 < expected.mean() < 0.8
    np.testing.assert_array_equal(covered(silhouette(hull, view, GRID), points), expected)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_bodies_at_any_attitude_and_lying_in_each_other(seed):
    random = np.random.default_rng(seed)
    body = None
    for _ in range(3):
        rotation = np.linalg.qr(random.normal(size=(3, 3)))[0]
        rotation *= np.sign(np.linalg.det(rotation))
        part = shapes.box(*random.uniform(0.02, 0.2, 3)).moved(random.uniform(-0.1, 0.1, 3), rotation)
        body = part if body is None else body + part
    points = random.uniform(-0.25, 0.25, size=(400, 2))
    found = covered(silhouette(body, "side", GRID), points)
    expected = covered_by_a_triangle(body, points, (0, 2))
    assert np.count_nonzero(found != expected) <= 1  # a point may lie within the grid of an edge


def test_a_hole_that_one_can_look_through_stays_open():
    # a ring about the y axis, as triangles of a torus
    turns = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
    small = np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False)
    u, v = np.meshgrid(turns, small, indexing="ij")
    radius = 0.1 + 0.02 * np.cos(v)
    vertices = np.stack([radius * np.cos(u), 0.02 * np.sin(v), radius * np.sin(u)], axis=-1).reshape(-1, 3)
    index = np.arange(48 * 16).reshape(48, 16)
    next_turn, next_small = np.roll(index, -1, axis=0), np.roll(index, -1, axis=1)
    both = np.roll(next_turn, -1, axis=1)
    faces = np.concatenate(
        [
            np.stack([index, next_turn, both], axis=-1).reshape(-1, 3),
            np.stack([index, both, next_small], axis=-1).reshape(-1, 3),
        ]
    )
    corners = vertices[faces]
    if np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) < 0.0:
        faces = faces[:, ::-1]
    loops = silhouette(shapes.mesh(vertices, faces), "side", GRID)
    points = np.array([[0.0, 0.0], [0.07, 0.0], [0.1, 0.0], [0.0, -0.11], [0.13, 0.0]])
    np.testing.assert_array_equal(covered(loops, points), [False, False, True, True, False])


def test_the_bore_of_a_tube_is_not_drawn():
    assert extent(silhouette(shapes.tube(0.4, 0.09, 0.08), "side", GRID)) == pytest.approx(
        (-0.2, -0.045, 0.2, 0.045), abs=2e-6
    )
    assert len(silhouette(shapes.tube(0.4, 0.09, 0.08), "side", GRID)) == 1


def test_a_hole_alone_is_nothing_to_draw():
    hole = shapes.box(0.1, 0.1, 0.1).weighted(-1.0)
    assert silhouette(hole, "side", GRID) == ()
    body = shapes.box(0.2, 0.2, 0.2)
    assert extent(silhouette(body + hole.moved((1.0, 0.0, 0.0)), "side", GRID)) == pytest.approx(
        (-0.1, -0.1, 0.1, 0.1)
    )


def test_a_surface_turned_inside_out_has_the_same_silhouette():
    vertices, faces = lofted_hull(0.5, 0.1, 0.1, stations=15, around=16)

    class Inverted:
        def meshes(self, segments):
            return [(vertices, faces[:, ::-1], 1.0)]

    usual = silhouette(shapes.mesh(vertices, faces), "side", GRID)
    points = np.random.default_rng(5).uniform([0.0, 0.0], [0.5, 0.1], size=(500, 2))
    np.testing.assert_array_equal(
        covered(silhouette(Inverted(), "side", GRID), points), covered(usual, points)
    )


def test_a_grid_of_nothing_is_refused_with_a_reason():
    with pytest.raises(ValueError, match="above 0"):
        silhouette(shapes.box(1.0, 1.0, 1.0), "side", 0.0)

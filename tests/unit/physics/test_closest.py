"""The shortest way between meshes against distances worked by hand, and corner by corner."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.physics.closest import closest_on_triangle, nearest, tree_over
from dabchick.physics.distance import distance_to_triangles
from tests.support.broken import Mesh, box, egg, moved


def way(one: Mesh, other: Mesh, most: float = np.inf):
    return nearest(*one, tree_over(*other), most)


def test_faces_corners_and_edges_that_face_each_other() -> None:
    here = box((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))
    beside = way(here, box((3.0, 0.2, 0.2), (1.0, 0.5, 0.5)))
    assert beside.distance == pytest.approx(2.0)
    corner = way(here, box((2.0, 3.0, 4.0), (1.0, 1.0, 1.0)))
    assert corner.distance == pytest.approx(np.sqrt(1.0 + 4.0 + 9.0))  # (1,1,1) to (2,3,4)
    assert corner.first == pytest.approx((1.0, 1.0, 1.0))
    assert corner.second == pytest.approx((2.0, 3.0, 4.0))
    # A roof ridge along x over a ridge along y, 0.5 apart: only the edges are near.
    along = (np.array([[-1.0, 0, 0], [1, 0, 0], [-1, 1, -1], [1, 1, -1], [-1, -1, -1], [1, -1, -1]]), np.array(
        [[0, 1, 3], [0, 3, 2], [0, 5, 1], [0, 4, 5], [2, 3, 5], [2, 5, 4], [0, 2, 4], [1, 5, 3]]
    ))  # fmt: skip
    turned = along[0][:, [1, 0, 2]] * [1.0, 1.0, -1.0] + [0.0, 0.0, 0.5]
    ridge = way(along, (turned, along[1]))
    assert ridge.distance == pytest.approx(0.5)
    assert ridge.first == pytest.approx((0.0, 0.0, 0.0))


def test_touching_meshes_lie_no_way_apart_and_far_ones_are_not_looked_for() -> None:
    here = box((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))
    assert way(here, box((1.0, 0.3, 0.3), (1.0, 0.2, 0.2))).distance == 0.0
    assert way(here, box((1.5, 0.0, 0.0), (1.0, 1.0, 1.0)), 0.4) is None


def test_curved_meshes_give_the_gap_by_which_they_were_moved() -> None:
    # Blunt ends of two spheroids, each with a corner of the mesh at its tip.
    hull = egg(600.0, 100.0)
    tip = float(hull[0][:, 0].max() - hull[0][:, 0].min())
    assert way(hull, moved(hull, (tip + 7.0, 0.0, 0.0))).distance == pytest.approx(7.0)


number = st.floats(-5.0, 5.0, allow_nan=False).map(lambda value: round(value, 3))
point = st.tuples(number, number, number)


@settings(max_examples=400, deadline=None)
@given(point, point, point, point)
def test_no_point_of_a_triangle_is_nearer(a, b, c, p) -> None:
    corners = np.array([a, b, c])
    out = np.empty(3)
    square = closest_on_triangle(corners[0], corners[1], corners[2], np.array(p), out)
    assert square == pytest.approx(((out - p) ** 2).sum(), abs=1e-9)

    # An independent route: the best of the plane's foot, where it falls inside, and of each side cut to its ends; and
    # no point of a fine net over the triangle is nearer.
    assert np.sqrt(square) == pytest.approx(
        distance_to_triangles(corners[None], np.array(p)), rel=1e-6, abs=1e-5
    )
    net = np.array([(i, j, 12 - i - j) for i in range(13) for j in range(13 - i)]) / 12.0
    assert square <= ((net @ corners - p) ** 2).sum(axis=1).min() + 1e-9

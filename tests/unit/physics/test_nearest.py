"""The least distance between two surfaces: closed forms, edges and refusals."""

import numpy as np
import pytest

from dabchick.physics import shapes
from dabchick.physics.nearest import first_meeting, nearest, triangle_tree
from dabchick.physics.solid import Solid
from dabchick.physics.triangle_gap import triangles_apart

SIDES = 120
ABOUT_X = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])


def corners(solid: Solid, sides: int = SIDES) -> np.ndarray:
    return np.concatenate([vertices[faces] for vertices, faces, _ in solid.meshes(sides)])


def gap(first: Solid, second: Solid) -> float:
    found = nearest(triangle_tree(corners(first)), triangle_tree(corners(second)))
    assert found is not None
    # The points are what the distance lies between.
    assert np.linalg.norm(found.first - found.second) == pytest.approx(found.distance_m, abs=1e-15)
    return found.distance_m


def about_z(angle: float) -> np.ndarray:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


@pytest.mark.parametrize("apart", [1e-9, 1e-6, 0.0123, 0.7])
def test_parallel_boxes_are_as_far_apart_as_they_stand(apart: float) -> None:
    # Closed form: two cubes of 100 mm, face to face, shifted along the face.
    other = shapes.box(0.1, 0.1, 0.1).moved((0.1 + apart, 0.03, -0.02))
    assert gap(shapes.box(0.1, 0.1, 0.1), other) == pytest.approx(apart, rel=1e-9, abs=1e-15)


@pytest.mark.parametrize("angle", [0.1, 0.5, np.pi / 4, 1.2])
def test_a_turned_box_comes_near_with_its_edge(angle: float) -> None:
    # Closed form: a square of half side h turned by a reaches h (cos a + sin a).
    half, away = 0.05, 0.2
    turned = shapes.box(0.1, 0.1, 0.1).moved((0.0, 0.0, 0.0), about_z(angle)).moved((away, 0.0, 0.0))
    wanted = away - half - half * (np.cos(angle) + np.sin(angle))
    assert gap(shapes.box(0.1, 0.1, 0.1), turned) == pytest.approx(wanted, abs=1e-12)


def test_corner_to_corner_and_edge_to_edge() -> None:
    # Closed forms: corners of two cubes (3, 4, 12) mm apart are 13 mm apart; crossed edges 5 mm by (3, 4).
    cube = shapes.box(0.1, 0.1, 0.1)
    assert gap(cube, cube.moved((0.103, 0.104, 0.112))) == pytest.approx(0.013, abs=1e-12)
    assert gap(cube, cube.moved((0.103, 0.104, 0.02))) == pytest.approx(0.005, abs=1e-12)


@pytest.mark.parametrize("off", [(0.0, 0.0, 0.0), (0.02, 0.0, 0.0), (0.01, -0.02, 0.015)])
def test_sphere_in_a_sphere(off: tuple[float, float, float]) -> None:
    # Closed form: R - r - |off|. Both are polyhedra inside the true spheres, short by R (1 - cos(pi/120)) in each
    # of the two directions on a ring and along it.
    outer, inner = 0.1, 0.04
    wanted = outer - inner - float(np.linalg.norm(off))
    short = 2.0 * (outer + inner) * (1.0 - np.cos(np.pi / SIDES))
    found = gap(shapes.sphere(2 * inner).moved(off), shapes.sphere(2 * outer))
    assert abs(found - wanted) <= short


def test_sphere_in_a_box() -> None:
    # Closed form: half the box less the radius less how far off the middle; a corner of the polyhedron lies on the
    # sphere's pole along x, so this one is exact.
    ball = shapes.sphere(0.06).moved((0.015, 0.0, 0.0))
    assert gap(ball, shapes.box(0.1, 0.2, 0.2)) == pytest.approx(0.05 - 0.03 - 0.015, abs=1e-12)


def test_cylinders_on_one_axis() -> None:
    # Closed form: R - r. Corner stands before corner, and the outer flat is nearest at its middle: R cos(pi/120).
    outer, inner = 0.045, 0.04
    found = gap(shapes.cylinder(0.2, 2 * inner), shapes.cylinder(0.3, 2 * outer))
    assert found == pytest.approx(outer * np.cos(np.pi / SIDES) - inner * np.cos(np.pi / SIDES), abs=1e-12)
    assert found == pytest.approx(outer - inner, abs=2e-5)


def test_crossed_cylinders() -> None:
    # Closed form: axes square to each other and d apart leave d - r1 - r2; the corners at the top lie on the circle.
    second = shapes.cylinder(0.4, 0.03).moved((0.0, 0.0, 0.0), about_z(np.pi / 2)).moved((0.0, 0.0, 0.08))
    assert gap(shapes.cylinder(0.4, 0.05), second) == pytest.approx(0.08 - 0.025 - 0.015, abs=2e-5)


def test_surfaces_that_cross_are_no_distance_apart() -> None:
    box = shapes.box(0.1, 0.1, 0.1)
    assert gap(box, box.moved((0.05, 0.03, 0.02), about_z(0.3))) == 0.0
    # A needle through the middle of a face, no corner of which is inside.
    assert gap(shapes.box(0.5, 0.001, 0.001), box) == 0.0


def test_a_body_within_another_is_as_far_as_their_faces() -> None:
    assert gap(shapes.box(0.02, 0.02, 0.02), shapes.box(0.1, 0.2, 0.3)) == pytest.approx(0.04, abs=1e-12)


def test_triangles_without_area_count_as_edges_and_points() -> None:
    # Closed form: a point 30 mm over the inside of a triangle; an edge 40 mm beside it.
    face = np.array([[0.0, 0.0, 0.0], [0.1, 0.0, 0.0], [0.0, 0.1, 0.0]])
    spot = np.tile([0.02, 0.02, 0.03], (3, 1))
    assert np.sqrt(triangles_apart(spot, face)[0]) == pytest.approx(0.03, abs=1e-15)
    edge = np.array([[-0.04, -1.0, 0.0], [-0.04, 1.0, 0.0], [-0.04, 0.0, 0.0]])
    assert np.sqrt(triangles_apart(edge, face)[0]) == pytest.approx(0.04, abs=1e-15)


def test_most_cuts_the_search_off() -> None:
    first, second = (triangle_tree(corners(shapes.box(0.1, 0.1, 0.1).moved((x, 0, 0)))) for x in (0.0, 0.15))
    assert nearest(first, second, most=0.0499999) is None
    assert nearest(first, second, most=0.0) is None
    found = nearest(first, second, most=0.0500001)
    assert found is not None
    assert found.distance_m == pytest.approx(0.05, abs=1e-12)


def test_a_drawn_box_passes_a_post() -> None:
    # Closed form: a cube of 20 mm goes along x beside a post of 10 mm at y = 40 mm: 40 - 10 - 5 = 25 mm, while it is
    # beside it, that is from 0.115 to 0.145 of the 1 m. Before and after the way it is far off.
    box, post = triangle_tree(corners(shapes.box(0.02, 0.02, 0.02))), shapes.box(0.01, 0.01, 0.5)
    way = np.array([1.0, 0.0, 0.0])
    found = nearest(box, triangle_tree(corners(post.moved((0.13, 0.04, 0.0)))), sweep=way)
    assert found is not None
    assert found.distance_m == pytest.approx(0.025, abs=1e-12)
    assert 0.115 - 1e-9 <= found.share <= 0.145 + 1e-9
    assert np.linalg.norm(found.first - found.second) == pytest.approx(found.distance_m, abs=1e-12)


def test_a_drawn_box_swallows_what_lies_in_its_way() -> None:
    # No face of the cube's way ever meets the small one's between start and end but those that go over it.
    box, crumb = shapes.box(0.1, 0.1, 0.1), shapes.box(0.001, 0.001, 0.001).moved((0.4, 0.01, 0.02))
    found = nearest(
        triangle_tree(corners(box)), triangle_tree(corners(crumb)), sweep=np.array([1.0, 0.0, 0.0])
    )
    assert found is not None
    assert found.distance_m == 0.0


@pytest.mark.parametrize("gap_m", [1e-6, 0.004])
def test_first_meeting_is_where_the_gap_is_first_too_small(gap_m: float) -> None:
    # Closed form: a cube of 20 mm from x = -0.5 along x comes within g of a wall at x = 0.1 after 0.59 - g.
    box = triangle_tree(corners(shapes.box(0.02, 0.02, 0.02)))
    wall = triangle_tree(corners(shapes.box(0.01, 0.2, 0.2).moved((0.105, 0.0, 0.0))))
    way = {"shift": np.array([-0.5, 0.0, 0.0]), "sweep": np.array([1.0, 0.0, 0.0])}
    found = first_meeting(box, wall, gap_m=gap_m, tolerance_m=1e-8, **way)
    assert found is not None
    assert found.share == pytest.approx(0.59 - gap_m, abs=2e-8)
    short = first_meeting(box, wall, shift=way["shift"], sweep=np.array([0.5, 0.0, 0.0]), gap_m=gap_m)
    assert short is None


def test_what_is_no_surface_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one"):
        triangle_tree(np.empty((0, 3, 3)))
    with pytest.raises(ValueError, match="not a finite number"):
        triangle_tree(np.full((1, 3, 3), np.nan))
    tree = triangle_tree(corners(shapes.box(1.0, 1.0, 1.0)))
    with pytest.raises(ValueError, match="above 0"):
        first_meeting(tree, tree, shift=np.zeros(3), sweep=np.ones(3), gap_m=0.0)

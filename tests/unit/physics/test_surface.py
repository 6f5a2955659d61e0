"""Soundness of a mesh: closed forms for what is whole, meshes broken on purpose for what is not."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.physics.crossing import crossings
from dabchick.physics.surface import faults, signed_volume, winding_number
from tests.support.broken import box, egg, inside_out, moved, together, without
from tests.support.forms import series58_mesh, suboff_mesh, wigley_mesh


def test_box_is_sound_with_its_volume_and_area() -> None:
    report = faults(*box((1.0, 2.0, 3.0), (2.0, 3.0, 4.0)))
    assert report.sound
    assert report.volume == pytest.approx(24.0, rel=1e-13)  # closed form
    assert report.area == pytest.approx(52.0, rel=1e-13)  # closed form
    assert (report.low, report.high) == ((1.0, 2.0, 3.0), (3.0, 5.0, 7.0))
    assert not report.walled


@pytest.mark.parametrize(
    "mesh",
    [
        egg(),
        suboff_mesh(1.0, 120, 64),
        series58_mesh(1.0, 0.14, 120, 64),
        wigley_mesh(1.0, 0.1, 0.0625, 60, 30),
    ],
    ids=["spheroid", "suboff", "series 58", "wigley"],
)
def test_published_forms_are_sound(mesh: tuple[np.ndarray, np.ndarray]) -> None:
    assert faults(*mesh).sound


def test_missing_face_leaves_a_rim_of_three_edges_with_its_length() -> None:
    report = faults(*without(box((0.0, 0.0, 0.0), (3.0, 4.0, 5.0)), 0))
    assert not report.closed
    assert report.open_edges == 3
    (loop,) = report.open_loops
    # The face x = 0, corners (0,0,0), (0,0,5), (0,4,5): sides 5, 4 and the diagonal of 4 by 5.
    assert loop.length == pytest.approx(5.0 + 4.0 + np.hypot(4.0, 5.0), rel=1e-13)
    assert (loop.low, loop.high) == ((0.0, 0.0, 0.0), (0.0, 4.0, 5.0))
    assert loop.flatness == pytest.approx(0.0, abs=1e-13)


def test_two_holes_are_two_rims() -> None:
    mesh = egg()
    tips = np.argsort(mesh[0][mesh[1]].mean(axis=1)[:, 0])
    report = faults(*without(mesh, int(tips[100]), int(tips[-100])))
    assert len(report.open_loops) == 2
    assert report.open_edges == 6


def test_one_face_turned_shows_its_three_edges() -> None:
    vertices, faces = box((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))
    faces[4] = faces[4, ::-1]
    report = faults(vertices, faces)
    assert report.turned_edge_count == 3
    assert not report.closed


def test_inside_out_is_named_and_its_volume_negative() -> None:
    report = faults(*inside_out(egg()))
    assert report.closed
    assert not report.outward
    assert report.volume < 0.0
    assert report.shells[0].inverted


def test_cavity_that_faces_inward_is_a_wall() -> None:
    report = faults(*together(box((0, 0, 0), (4, 4, 4)), inside_out(box((1, 1, 1), (2, 2, 2)))))
    assert report.walled
    assert report.sound
    assert report.volume == pytest.approx(64.0 - 8.0)
    assert report.shells[1].inside == (0,)
    # Closed form: 2 V / A = 2 x 56 / (96 + 24).
    assert report.wall_thickness == pytest.approx(112.0 / 120.0)


def test_inner_shell_that_faces_outward_is_wrong() -> None:
    report = faults(*together(box((0, 0, 0), (4, 4, 4)), box((1, 1, 1), (2, 2, 2))))
    assert [shell.inverted for shell in report.shells] == [False, True]
    assert not report.outward


def test_body_in_a_cavity_faces_outward_and_counts_as_a_second_body() -> None:
    outer, hollow, core = (
        box((0, 0, 0), (9, 9, 9)),
        inside_out(box((1, 1, 1), (7, 7, 7))),
        box((3, 3, 3), (2, 2, 2)),
    )
    report = faults(*together(outer, hollow, core))
    assert report.outward
    assert report.bodies == (0, 2)
    assert not report.sound


def test_separate_bodies_are_clean_but_not_sound() -> None:
    report = faults(*together(egg(), moved(box((0, 0, 0), (20, 5, 30)), (300, 0, 80))))
    assert report.clean
    assert len(report.bodies) == 2
    assert not report.sound


def test_overlapping_boxes_cross_where_they_do() -> None:
    report = faults(*together(box((0, 0, 0), (2, 2, 2)), box((1, 1, 1), (2, 2, 2))))
    assert report.crossing_count > 0
    assert report.meeting_shells == ((0, 1),)
    # The faces of two such boxes meet on the hexagon of edges where one coordinate is 1 and another 2.
    for place in report.crossings:
        for point in (place.start, place.end):
            assert 1.0 in point
            assert 2.0 in point


def test_boxes_flush_against_each_other_touch_and_do_not_cross() -> None:
    report = faults(*together(box((0, 0, 0), (2, 2, 2)), box((2, 0.3, 0.4), (2, 1, 1))))
    assert report.crossing_count == 0
    assert report.touching_count > 0
    assert all(place.start[0] == pytest.approx(2.0) for place in report.crossings)


def test_boxes_a_hair_apart_do_not_touch() -> None:
    report = faults(*together(box((0, 0, 0), (2, 2, 2)), box((2.001, 0.3, 0.4), (2, 1, 1))))
    assert report.clean


def test_shared_edge_has_four_faces() -> None:
    vertices, faces = together(box((0, 0, 0), (1, 1, 1)), box((1, 1, 0), (1, 1, 1)))
    unique, number = np.unique(vertices, axis=0, return_inverse=True)
    report = faults(unique, number.reshape(-1)[faces])
    assert report.crowded_edge_count == 1
    assert report.crowded_edges[0].faces == 4
    assert {report.crowded_edges[0].start, report.crowded_edges[0].end} == {(1.0, 1.0, 0.0), (1.0, 1.0, 1.0)}


def test_shared_corner_is_a_pinch_and_harmless() -> None:
    vertices, faces = together(box((0, 0, 0), (1, 1, 1)), box((1, 1, 1), (1, 1, 1)))
    unique, number = np.unique(vertices, axis=0, return_inverse=True)
    report = faults(unique, number.reshape(-1)[faces])
    assert report.pinches == ((1.0, 1.0, 1.0),)
    assert report.closed


def test_degenerate_and_doubled_faces_are_named() -> None:
    vertices, faces = box((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))
    middle = len(vertices)
    vertices = np.concatenate([vertices, [[0.5, 0.0, 0.0]]])
    needle = [[0, middle, 4]]  # three corners on one line
    report = faults(vertices, np.concatenate([faces, faces[:1], needle]))
    assert report.duplicate_count == 1
    assert report.duplicate_faces[0].face == 12
    assert report.degenerate_count == 1
    assert report.degenerate_faces[0].face == 13


def test_needles_of_a_fine_seam_are_no_fault() -> None:
    # A cylinder of 1000 strips, 600 long and 0.3 wide each.
    angle = 2.0 * np.pi * np.arange(1000) / 1000
    ring = np.stack([np.zeros(1000), 50.0 * np.sin(angle), -50.0 * np.cos(angle)], axis=1)
    vertices = np.concatenate(
        [ring, ring + np.array([600.0, 0.0, 0.0]), [[0.0, 0.0, 0.0], [600.0, 0.0, 0.0]]]
    )
    here, there = np.arange(1000), np.arange(1000, 2000)
    near, far = np.roll(here, -1), np.roll(there, -1)
    faces = np.concatenate(
        [
            np.stack([here, near, far], 1),
            np.stack([here, far, there], 1),
            np.stack([near, here, np.full(1000, 2000)], 1),
            np.stack([there, far, np.full(1000, 2001)], 1),
        ]
    )
    assert faults(vertices, faces).sound


def test_fold_flat_on_its_neighbour_is_found() -> None:
    # Two faces on one edge with normals opposite and on the same side of it: a fold without thickness.
    vertices = np.array([[0, 0, 0], [1, 0, 0], [0.4, 1, 0], [0.6, 0.8, 0]], dtype=float)
    found = crossings(vertices, np.array([[0, 1, 2], [1, 0, 3]]), 1e-6)
    assert (found.crossing, found.touching) == (0, 1)


def test_endless_corner_is_counted_and_nothing_else_sought() -> None:
    vertices, faces = box((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))
    vertices[3, 1] = np.nan
    vertices[5, 0] = np.inf
    report = faults(vertices, faces)
    assert report.not_finite == 2
    assert not report.closed
    assert not report.sound


def test_empty_mesh_is_not_sound() -> None:
    report = faults(np.empty((0, 3)), np.empty((0, 3), np.int64))
    assert not report.closed
    assert not report.sound


@pytest.mark.parametrize(
    ("vertices", "faces", "words"),
    [
        (np.zeros((3, 2)), np.array([[0, 1, 2]]), "Check the arrays"),
        (np.zeros((3, 3)), np.array([[0, 1, 3]]), "only 3"),
        (np.zeros((3, 3)), np.array([[0, 1, -1]]), "only 3"),
    ],
)
def test_arrays_that_are_no_mesh_are_refused_with_advice(
    vertices: np.ndarray, faces: np.ndarray, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        faults(vertices, faces)


def test_one_sided_strip_is_never_called_closed() -> None:
    # A strip of 7 quads with half a twist: every edge between quads agrees but one.
    angle = 2.0 * np.pi * np.arange(7) / 7
    across = np.stack(
        [np.cos(angle) * np.cos(angle / 2), np.sin(angle) * np.cos(angle / 2), np.sin(angle / 2)], 1
    )
    circle = 3.0 * np.stack([np.cos(angle), np.sin(angle), np.zeros(7)], 1)
    vertices = np.concatenate([circle - across, circle + across])
    faces = []
    for k in range(6):
        faces += [[k, k + 1, k + 8], [k, k + 8, k + 7]]
    faces += [[6, 7, 0], [6, 0, 13]]
    report = faults(vertices, np.array(faces))
    assert not report.closed
    assert report.turned_edge_count >= 1


def test_winding_number_inside_outside_and_inverted() -> None:
    vertices, faces = box((0, 0, 0), (1, 1, 1))
    inside, outside = np.array([0.3, 0.4, 0.5]), np.array([1.3, 0.4, 0.5])
    assert winding_number(inside, vertices[faces]) == pytest.approx(1.0)
    assert winding_number(outside, vertices[faces]) == pytest.approx(0.0, abs=1e-12)
    assert winding_number(inside, vertices[faces[:, ::-1]]) == pytest.approx(-1.0)


def _segment_hits(corners: np.ndarray, start: np.ndarray, end: np.ndarray) -> bool:
    """Whether a segment passes through a triangle, by three determinants (Cramer's rule)."""
    a, b, c = corners
    matrix = np.stack([b - a, c - a, start - end], axis=1)
    if abs(np.linalg.det(matrix)) < 1e-12:
        return False
    u, v, t = np.linalg.solve(matrix, start - a)
    return bool(u > 1e-6 and v > 1e-6 and u + v < 1.0 - 1e-6 and 1e-6 < t < 1.0 - 1e-6)


def test_pairs_found_are_those_of_a_brute_force_search() -> None:
    # Random triangles have no coplanar pairs: two cross when an edge of one passes through the other.
    random = np.random.default_rng(5)
    corners = random.random((150, 1, 3)) + 0.35 * random.random((150, 3, 3))
    vertices, faces = corners.reshape(-1, 3), np.arange(450).reshape(-1, 3)
    found = crossings(vertices, faces, 1e-9, most=20000)
    brute = {
        (i, j)
        for i in range(150)
        for j in range(i + 1, 150)
        if any(
            _segment_hits(corners[p], corners[q][k], corners[q][(k + 1) % 3])
            for p, q in ((i, j), (j, i))
            for k in range(3)
        )
    }
    assert len(brute) > 40
    assert {tuple(sorted(pair)) for pair in found.pairs.tolist()} == brute
    assert found.crossing == len(brute)


@settings(max_examples=30, deadline=None)
@given(
    turn=st.tuples(*[st.floats(-3.0, 3.0)] * 3),
    shift=st.tuples(*[st.floats(-500.0, 500.0)] * 3),
    scale=st.floats(0.001, 1000.0),
)
def test_turning_moving_and_scaling_change_no_verdict(
    turn: tuple[float, float, float], shift: tuple[float, float, float], scale: float
) -> None:
    x, y, z = turn
    rotation = (
        np.array([[1, 0, 0], [0, np.cos(x), -np.sin(x)], [0, np.sin(x), np.cos(x)]])
        @ np.array([[np.cos(y), 0, np.sin(y)], [0, 1, 0], [-np.sin(y), 0, np.cos(y)]])
        @ np.array([[np.cos(z), -np.sin(z), 0], [np.sin(z), np.cos(z), 0], [0, 0, 1]])
    )
    whole = egg(n_axial=8, n_around=12)
    crossed = together(whole, moved(box((0, 0, 0), (60, 20, 60)), (250, -10, 20)))
    for mesh in (whole, crossed):
        before = faults(*mesh)
        after = faults((mesh[0] @ rotation.T + np.array(shift)) * scale, mesh[1])
        assert (after.sound, after.crossing_count > 0) == (before.sound, before.crossing_count > 0)
        assert after.volume == pytest.approx(before.volume * scale**3, rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(missing=st.integers(0, 359), turned=st.integers(0, 359))
def test_any_one_missing_or_turned_face_is_noticed(missing: int, turned: int) -> None:
    mesh = egg(n_axial=16, n_around=12)
    assert len(mesh[1]) == 360
    assert faults(*without(mesh, missing)).open_edges == 3
    faces = mesh[1].copy()
    faces[turned] = faces[turned, ::-1]
    assert faults(mesh[0], faces).turned_edge_count == 3


def test_signed_volume_is_that_of_the_determinants_far_from_the_origin() -> None:
    vertices, faces = egg(n_axial=8, n_around=12)
    near = float(np.linalg.det(vertices[faces]).sum()) / 6.0
    assert signed_volume((vertices + 1e5)[faces]) == pytest.approx(near, rel=1e-9)

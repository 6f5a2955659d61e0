"""Cells: what a mesh fills and touches, and the largest empty box, against closed forms and brute force."""

from itertools import product

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from dabchick.physics.distance import distance_to_triangles
from dabchick.physics.free_space import Cells, cells_over, largest_box, touch, winding
from dabchick.physics.inside import turns_at
from tests.support.angle import turns_round


def grid(shape: tuple[int, int, int], size: float = 0.01) -> Cells:
    return Cells((0.0, 0.0, 0.0), (size, size, size), (0, 0, 0), shape)


def box_mesh(low: tuple[float, ...], high: tuple[float, ...]) -> tuple[np.ndarray, np.ndarray]:
    mesh = trimesh.creation.box(bounds=[low, high])
    return np.array(mesh.vertices, dtype=np.float64), np.array(mesh.faces, dtype=np.int64)


def ball(seed: int, subdivisions: int = 2) -> tuple[np.ndarray, np.ndarray]:
    """A lumpy ball round the middle of a 20-cell grid, without any symmetry."""
    rng = np.random.default_rng(seed)
    mesh = trimesh.creation.icosphere(subdivisions=subdivisions, radius=0.07)
    lumps = 1.0 + 0.25 * rng.uniform(-1.0, 1.0, len(mesh.vertices))
    return mesh.vertices * lumps[:, None] + [0.1, 0.1, 0.1], np.array(mesh.faces, dtype=np.int64)


def test_a_box_along_the_cells_fills_them_exactly() -> None:
    # Closed form: 3 x 4 x 5 cells.
    cells = grid((10, 10, 10))
    filled = winding(*box_mesh((0.02, 0.03, 0.01), (0.05, 0.07, 0.06)), cells)
    wanted = np.zeros((10, 10, 10), dtype=int)
    wanted[2:5, 3:7, 1:6] = 1
    np.testing.assert_array_equal(filled, wanted)


def test_columns_through_edges_and_corners_count_each_face_once() -> None:
    # The sides, with their edges, corners and diagonals, pass through the middles of cells. Moved by the same
    # infinitesimal step, each column is inside or out: a box as wide as 4 columns are apart holds 4 of them.
    cells = grid((10, 10, 10))
    filled = winding(*box_mesh((0.025, 0.025, 0.02), (0.065, 0.065, 0.06)), cells)
    assert set(np.unique(filled)) == {0, 1}
    assert filled.sum() == 4 * 4 * 4


def test_a_mesh_turned_inside_out_winds_the_other_way() -> None:
    vertices, faces = box_mesh((0.02, 0.02, 0.02), (0.08, 0.08, 0.08))
    np.testing.assert_array_equal(
        winding(vertices, faces[:, ::-1], grid((10, 10, 10))), -winding(vertices, faces, grid((10, 10, 10)))
    )


@pytest.mark.parametrize("seed", range(4))
def test_winding_is_that_by_solid_angles(seed: int) -> None:
    # Independent route: the sum of the solid angles of all faces.
    vertices, faces = ball(seed)
    cells = grid((20, 20, 20))
    filled = winding(vertices, faces, cells)
    rng = np.random.default_rng(seed)
    picks = rng.integers(0, 20, size=(300, 3))
    points = np.stack([cells.centres(axis)[picks[:, axis]] for axis in range(3)], axis=1)
    np.testing.assert_allclose(filled[tuple(picks.T)], turns_round(vertices, faces, points), atol=1e-9)


def test_filled_volume_comes_to_the_mesh_volume_as_cells_shrink() -> None:
    # Independent route: trimesh's volume by signed tetrahedra.
    vertices, faces = ball(7)
    volume = trimesh.Trimesh(vertices, faces).volume
    for count, bound in ((20, 3e-2), (40, 1e-2), (80, 4e-3)):
        cells = grid((count, count, count), 0.2 / count)
        assert winding(vertices, faces, cells).sum() * cells.volume_m3 == pytest.approx(volume, rel=bound)


def clipped_by_box(triangle: np.ndarray, low: np.ndarray, high: np.ndarray) -> bool:
    """Whether any of a triangle is left when cut by the six sides of a box, one after another."""
    polygon = list(triangle)
    for axis, (bound, sign) in product(range(3), ((low, 1.0), (high, -1.0))):
        kept = []
        for here, ahead in zip(polygon, polygon[1:] + polygon[:1], strict=True):
            inside, beyond = sign * (here[axis] - bound[axis]), sign * (ahead[axis] - bound[axis])
            if inside >= 0.0:
                kept.append(here)
            if inside * beyond < 0.0:
                kept.append(here + (ahead - here) * inside / (inside - beyond))
        polygon = kept
        if not polygon:
            return False
    return True


@pytest.mark.parametrize("clearance", [0.0, 0.004])
def test_touched_cells_are_those_that_clipping_leaves(clearance: float) -> None:
    # Independent route: each triangle cut by the six sides of each cell grown by the clearance.
    rng = np.random.default_rng(3)
    cells = grid((6, 6, 6))
    for _ in range(40):
        triangle = rng.uniform(-0.01, 0.07, (3, 3))
        out = np.zeros(cells.shape, dtype=bool)
        touch(triangle, np.array([[0, 1, 2]]), cells, clearance, out)
        wanted = np.zeros(cells.shape, dtype=bool)
        for index in product(range(6), repeat=3):
            low = np.array(index) * 0.01
            wanted[index] = clipped_by_box(triangle, low - clearance, low + 0.01 + clearance)
        np.testing.assert_array_equal(out, wanted)


def test_a_face_in_the_side_of_a_cell_does_not_touch_it() -> None:
    cells = grid((10, 10, 10))
    out = np.zeros(cells.shape, dtype=bool)
    touch(*box_mesh((0.02, 0.03, 0.01), (0.05, 0.07, 0.06)), cells, 0.0, out)
    assert not out.any()


def test_clearance_reaches_as_far_as_asked() -> None:
    # Closed form: an upright wall at x = 0.05 keeps cells whose near side is less than 0.025 away.
    cells = grid((10, 3, 3))
    wall = np.array([[0.05, -1.0, -1.0], [0.05, 2.0, -1.0], [0.05, 0.0, 3.0]])
    out = np.zeros(cells.shape, dtype=bool)
    touch(wall, np.array([[0, 1, 2]]), cells, 0.025, out)
    np.testing.assert_array_equal(np.flatnonzero(out[:, 1, 1]), [2, 3, 4, 5, 6, 7])


def test_a_mirrored_mesh_gives_mirrored_cells() -> None:
    vertices, faces = ball(11)
    vertices = vertices - [0.0, 0.085, 0.0]
    cells = cells_over(np.array([0.0, -0.1, 0.0]), np.array([0.2, 0.1, 0.2]), np.full(3, 0.01), 0.05)
    over, turned = vertices * [1.0, -1.0, 1.0], faces[:, ::-1]
    here, there = (np.zeros(cells.shape, dtype=bool) for _ in range(2))
    touch(vertices, faces, cells, 0.003, here)
    touch(over, turned, cells, 0.003, there)
    np.testing.assert_array_equal(there, here[:, ::-1])
    free, free_over = winding(vertices, faces, cells) * ~here, winding(over, turned, cells) * ~there
    np.testing.assert_array_equal(free_over, free[:, ::-1])


def test_the_grid_has_sides_at_the_level_and_the_middle_and_keeps_to_its_number() -> None:
    cells = cells_over(
        np.array([0.0, -0.05, 0.0]), np.array([1.0, 0.06, 0.2]), np.full(3, 0.007), 0.0333, most=5_000
    )
    assert cells.count <= 5_000
    assert cells.side(1, cells.shape[1] // 2) == 0.0
    levels = [cells.side(2, index) for index in range(cells.shape[2] + 1)]
    assert min(abs(level - 0.0333) for level in levels) < 1e-15
    for axis, (low, high) in enumerate(((0.0, 1.0), (-0.06, 0.06), (0.0, 0.2))):
        assert cells.side(axis, 0) <= low + 1e-9
        assert cells.side(axis, cells.shape[axis]) >= high - 1e-9


@pytest.mark.parametrize(
    ("high", "level"), [((1.0, 0.1, np.nan), 0.0), ((1.0, 0.1, 0.0), 0.0), ((1.0, 0.1, 0.1), np.inf)]
)
def test_a_grid_without_extent_is_refused(high: tuple[float, ...], level: float) -> None:
    with pytest.raises(ValueError, match="A grid needs a box with extent"):
        cells_over(np.array([0.0, -0.1, 0.0]), np.array(high), np.full(3, 0.01), level)


def test_a_window_is_the_same_cells() -> None:
    cells = grid((20, 20, 20))
    vertices, faces = ball(2)
    window, where = cells.window(vertices.min(axis=0), vertices.max(axis=0))
    whole = winding(vertices, faces, cells)
    np.testing.assert_array_equal(winding(vertices, faces, window), whole[where])
    whole[where] = 0
    assert not whole.any()


def greatest_by_trial(free: np.ndarray, least: np.ndarray, mirrored: bool) -> int:
    """Volume in cells of the largest free box, by trying every one."""
    greatest = 0
    nx, ny, nz = free.shape
    for i0, j0, k0 in product(range(nx), range(ny), range(nz)):
        for i1, j1, k1 in product(range(i0 + 1, nx + 1), range(j0 + 1, ny + 1), range(k0 + 1, nz + 1)):
            edges = np.array([i1 - i0, (j1 - j0) * (2 if mirrored and j0 == 0 else 1), k1 - k0])
            volume = (i1 - i0) * (j1 - j0) * (k1 - k0)
            if volume > greatest and np.all(edges >= least) and free[i0:i1, j0:j1, k0:k1].all():
                greatest = volume
    return greatest


@settings(max_examples=60, deadline=None)
@given(
    st.integers(0, 2**32 - 1),
    st.floats(0.3, 0.95),
    st.tuples(st.integers(1, 3), st.integers(1, 3), st.integers(1, 3)),
    st.booleans(),
)
def test_the_largest_box_is_the_largest_of_all(
    seed: int, share: float, least: tuple[int, int, int], mirrored: bool
) -> None:
    free = np.random.default_rng(seed).random((5, 4, 5)) < share
    wanted = greatest_by_trial(free, np.array(least), mirrored)
    found = largest_box(free, np.ones(3), np.array(least, dtype=np.float64), mirrored)
    if wanted == 0:
        assert found is None
        return
    assert found is not None
    (i0, j0, k0), (i1, j1, k1) = found
    assert free[i0:i1, j0:j1, k0:k1].all()
    assert (i1 - i0) * (j1 - j0) * (k1 - k0) == wanted
    edges = (i1 - i0, (j1 - j0) * (2 if mirrored and j0 == 0 else 1), k1 - k0)
    assert all(edge >= short for edge, short in zip(edges, least, strict=True))


@pytest.mark.parametrize("seed", range(3))
def test_distance_to_triangles_is_that_of_trimesh(seed: int) -> None:
    rng = np.random.default_rng(seed)
    corners = rng.normal(size=(50, 3, 3))
    for point in rng.normal(size=(40, 3)) * 2.0:
        closest = trimesh.triangles.closest_point(corners, np.tile(point, (50, 1)))
        wanted = np.linalg.norm(closest - point, axis=1).min()
        assert distance_to_triangles(corners, point) == pytest.approx(wanted, rel=1e-9, abs=1e-12)


def test_distance_to_a_triangle_without_area_is_to_its_edges() -> None:
    # Closed form: the point stands 3 beside a line from 0 to 2.
    line = np.array([[[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [2.0, 0.0, 0.0]]])
    assert distance_to_triangles(line, np.array([0.5, 3.0, 0.0])) == pytest.approx(3.0)
    assert distance_to_triangles(line, np.array([5.0, 4.0, 0.0])) == pytest.approx(5.0)


def test_distance_to_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="no triangles"):
        distance_to_triangles(np.zeros((0, 3, 3)), np.zeros(3))


@pytest.mark.parametrize("seed", range(3))
def test_turns_at_points_are_those_by_solid_angles(seed: int) -> None:
    vertices, faces = ball(seed, 3)
    # A second ball turned inside out lies across the first, so that -1, 0 and 1 all occur.
    other, _ = ball(seed + 50, 3)
    both = np.vstack([vertices, other + np.array([0.06, 0.02, -0.03])])
    joined = np.vstack([faces, faces[:, ::-1] + len(vertices)])
    points = np.random.default_rng(seed).uniform(0.0, 0.25, (400, 3))
    turns = turns_at(both, joined, points)
    assert set(np.unique(turns)) == {-1, 0, 1}
    np.testing.assert_allclose(turns, turns_round(both, joined, points), atol=1e-9)


def test_turns_at_points_over_edges_and_corners() -> None:
    # Points straight above and below corners, edges and diagonals of a box, and just inside its faces.
    vertices, faces = box_mesh((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))
    within = [[0.5, 0.5, 0.5], [0.5, 0.5, 1e-9], [0.5, 0.5, 1.0 - 1e-9]]
    below = [[0.0, 0.0, -1.0], [1.0, 0.0, -1.0], [0.5, 0.0, -1.0], [0.5, 0.5, -1.0]]
    beside = [[0.5, 0.5, 2.0], [-1.0, 0.5, 0.5]]
    points = np.array([*within, *below, *beside])
    np.testing.assert_array_equal(turns_at(vertices, faces, points), [1, 1, 1, 0, 0, 0, 0, 0, 0])

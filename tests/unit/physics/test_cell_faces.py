"""Cells to look at: the surface round them encloses just their volume, and larger cells keep to the middle plane."""

import numpy as np
import pytest

from dabchick.physics.cell_faces import beside, coarser_cells, outside_faces
from dabchick.physics.free_space import Cells, cells_over


def cells() -> Cells:
    return cells_over(
        np.array([0.0, -0.1, 0.0]), np.array([1.0, 0.1, 0.1]), np.array([0.05, 0.02, 0.02]), 0.05
    )


def enclosed(surface: tuple[np.ndarray, np.ndarray]) -> float:
    """Divergence theorem [m3]; negative for a surface that is turned inside out."""
    corners = surface[0][surface[1]]
    return float(np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))) / 6.0


@pytest.mark.parametrize("share", [0.02, 0.5, 0.98, 1.0])
def test_surface_encloses_the_cells(share: float) -> None:
    grid = cells()
    flags = np.random.default_rng(5).random(grid.shape) <= share
    assert enclosed(outside_faces(flags, grid)) == pytest.approx(flags.sum() * grid.volume_m3, rel=1e-12)


def test_rows_are_joined() -> None:
    grid = cells()
    flags = np.zeros(grid.shape, dtype=bool)
    flags[2:9, 3, 1] = True
    vertices, triangles = outside_faces(flags, grid)
    # A bar has six sides of two triangles, however many cells it is long.
    assert len(triangles) == 12
    low = [grid.side(0, 2), grid.side(1, 3), grid.side(2, 1)]
    high = [grid.side(0, 9), grid.side(1, 4), grid.side(2, 2)]
    assert vertices.min(axis=0) == pytest.approx(low, abs=1e-15)
    assert vertices.max(axis=0) == pytest.approx(high, abs=1e-15)


def test_no_cells_make_no_surface() -> None:
    grid = cells()
    vertices, triangles = outside_faces(np.zeros(grid.shape, dtype=bool), grid)
    assert (len(vertices), len(triangles)) == (0, 0)


def test_larger_cells_hold_what_is_mostly_free_and_straddle_neither_middle_nor_level() -> None:
    grid = cells()
    level = -grid.first[2]
    flags = np.zeros(grid.shape, dtype=bool)
    flags[:, grid.shape[1] // 2 :, level:] = True
    larger, coarse = coarser_cells(flags, grid, (2, 3, 2))
    assert coarse.size_m == pytest.approx((0.1, 0.06, 0.04))
    # Sides of both grids lie at y = 0 and at the level, so no large cell is free below or to starboard.
    assert larger.any()
    assert not larger[:, : -coarse.first[1]].any()
    assert not larger[:, :, : -coarse.first[2]].any()


def test_a_bar_has_neighbours_at_its_sides_and_ends_but_not_at_its_edges() -> None:
    flags = np.zeros((9, 7, 7), dtype=bool)
    flags[3:6, 3, 3] = True
    # Four along each of three cells, and one at each end; a bar at the grid's own side has fewer.
    assert beside(flags).sum() == 4 * 3 + 2
    assert not (beside(flags) & flags).any()
    assert beside(np.roll(flags, -3, axis=1)).sum() == 3 * 3 + 2

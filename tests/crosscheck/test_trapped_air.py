"""Trapped air against an independent flood fill of cells, on bodies made of random cubes.

The fill is plain numpy and a queue (`tests/support/air_spaces.py`): it knows nothing of columns, join trees or faces.
"""

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dabchick.physics.columns import columns, walls
from dabchick.physics.opening_mouth import mouth
from dabchick.physics.trapped_air import trapped
from tests.support.air_spaces import cells_with_air, mesh_of_cells

SIZE = 0.01
SHAPE = (5, 4, 5)
CORNER = np.array([0.03, -0.02, 0.01])


@st.composite
def bodies(draw: st.DrawFn) -> tuple[np.ndarray, list[tuple[tuple[int, int, int], int, int]]]:
    """A connected set of cells, and holes in the middle of some of its outer sides."""
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    wanted = random.random(SHAPE) < draw(st.sampled_from((0.55, 0.7, 0.9)))
    start = tuple(int(random.integers(0, n)) for n in SHAPE)
    wanted[start] = True
    cells = np.zeros(SHAPE, dtype=bool)
    waiting = [start]
    while waiting:
        place = waiting.pop()
        if cells[place]:
            continue
        cells[place] = True
        for axis in range(3):
            for step in (-1, 1):
                beside = list(place)
                beside[axis] += step
                if 0 <= beside[axis] < SHAPE[axis] and wanted[tuple(beside)]:
                    waiting.append(tuple(beside))
    padded = np.pad(cells, 1)
    sides = [
        (tuple(int(entry) for entry in cell - 1), axis, way)
        for axis in range(3)
        for way in (-1, 1)
        for cell in np.argwhere(padded & ~np.roll(padded, -way, axis=axis))
    ]
    count = draw(st.integers(0, 4))
    return cells, [sides[int(random.integers(0, len(sides)))] for _ in range(count)]


@settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))
@given(body=bodies(), axis=st.integers(0, 2), way=st.sampled_from((-1, 1)))
def test_the_same_air_as_a_flood_fill_of_cells(
    body: tuple[np.ndarray, list[tuple[tuple[int, int, int], int, int]]], axis: int, way: int
) -> None:
    cells, holes = body
    vertices, faces = mesh_of_cells(cells, SIZE, CORNER)
    round_it = walls([(vertices, faces)], [])
    # four lines to a cell each way, so that no pocket is too slight to be told from the steps of the lines
    space = columns(round_it, SIZE / 4)
    mouths = []
    for cell, hole_axis, hole_way in holes:
        place = CORNER + SIZE * (np.array(cell) + 0.5)
        place[hole_axis] += 0.5 * SIZE * hole_way
        found = mouth(round_it, space, place, 0.0)
        assert found is not None
        mouths.append(found)
    up = np.zeros(3)
    up[axis] = way
    air = trapped(round_it, space, mouths, up)
    expected = cells_with_air(cells, holes, axis, way)
    assert abs(air.volume_m3 - expected.sum() * (SIZE / 2) ** 3) < 1e-12

"""A mesh parted by a line of the side view: closed forms, steps, ends, and lines that are none."""

import numpy as np
import pytest

from dabchick.physics import shapes
from dabchick.physics.halves import halves, height_at


def mesh_of_box() -> tuple[np.ndarray, np.ndarray]:
    """1000 x 200 x 100 mm, from x = 0 and z = 0."""
    ((vertices, faces, _),) = shapes.box(1.0, 0.2, 0.1).moved((0.5, 0.0, 0.05)).meshes()
    return vertices, faces


def test_stepped_line_through_a_box() -> None:
    found = halves(*mesh_of_box(), np.array([[0.0, 0.02], [0.4, 0.02], [0.4, 0.06], [1.0, 0.06]]))
    # Two boxes above it: 400 x 200 x 80 mm and 600 x 200 x 40 mm.
    aft, fore = 0.4 * 0.2 * 0.08, 0.6 * 0.2 * 0.04
    assert found.above.volume == pytest.approx(aft + fore, rel=1e-12)
    assert found.below.volume == pytest.approx(1.0 * 0.2 * 0.1 - aft - fore, rel=1e-12)
    moment = [0.2 * aft + 0.7 * fore, 0.0, 0.06 * aft + 0.08 * fore]
    assert found.above.moment == pytest.approx(moment, rel=1e-12, abs=1e-15)
    # Under the step at 60 mm the box reaches down 60 mm, over the one at 20 mm up 80 mm.
    assert (found.lowest, found.highest) == pytest.approx((-0.06, 0.08), abs=1e-15)


def test_sloping_line_through_a_box() -> None:
    # From z = 0 at the stern to 100 mm at the bow: half of it, a wedge with its centre at a third of both.
    found = halves(*mesh_of_box(), np.array([[0.0, 0.0], [1.0, 0.1]]))
    assert found.above.volume == pytest.approx(0.01, rel=1e-12)
    assert found.above.moment / found.above.volume == pytest.approx([1 / 3, 0.0, 0.2 / 3], abs=1e-12)
    assert found.below.moment / found.below.volume == pytest.approx([2 / 3, 0.0, 0.1 / 3], abs=1e-12)


def test_line_that_ends_short_leaves_the_ends_below() -> None:
    found = halves(*mesh_of_box(), np.array([[0.3, 0.05], [0.6, 0.05]]))
    assert found.above.volume == pytest.approx(0.3 * 0.2 * 0.05, rel=1e-12)
    assert found.below.volume == pytest.approx(0.02 - 0.3 * 0.2 * 0.05, rel=1e-12)
    assert found.above.moment[0] / found.above.volume == pytest.approx(0.45, abs=1e-12)


def test_line_beside_the_body() -> None:
    found = halves(*mesh_of_box(), np.array([[2.0, 0.05], [3.0, 0.05]]))
    assert found.above.volume == 0.0
    assert found.below.volume == pytest.approx(0.02, rel=1e-12)
    assert np.isnan(found.lowest)
    assert np.isnan(found.highest)


def test_cap_of_a_sphere() -> None:
    # Closed form: pi h^2 (3 R - h) / 3, its centre at 3 (2 R - h)^2 / (4 (3 R - h)).
    radius, height = 0.05, 0.03
    cap = np.pi * height**2 * (3 * radius - height) / 3
    ((vertices, faces, _),) = shapes.sphere(2 * radius).meshes(400)
    found = halves(vertices, faces, np.array([[-1.0, radius - height], [1.0, radius - height]]))
    # Inscribed with 400 sides: 8e-5 of the volume is missing, 2/3 (pi / 400)^2 round and as much along.
    assert found.above.volume == pytest.approx(cap, rel=2e-4)
    middle = 3 * (2 * radius - height) ** 2 / (4 * (3 * radius - height))
    assert found.above.moment[2] / found.above.volume == pytest.approx(middle, rel=1e-4)


@pytest.mark.parametrize(
    "line",
    [
        [[0.0, 0.05]],
        [[0.0, 0.05], [0.0, 0.06]],
        [[0.0, 0.05], [1.0, 0.05], [0.5, 0.05]],
        [[0.0, np.nan], [1.0, 0.05]],
        [[0.0, 0.05, 0.0], [1.0, 0.05, 0.0]],
    ],
)
def test_line_that_is_none(line: list[list[float]]) -> None:
    with pytest.raises(ValueError, match="line"):
        halves(*mesh_of_box(), np.array(line))


def test_height_of_the_line() -> None:
    line = np.array([[0.1, 0.02], [0.4, 0.02], [0.4, 0.06], [0.8, 0.10], [0.8, 0.01]])
    heights = height_at(line, np.array([0.1, 0.3, 0.4, 0.6, 0.8, 0.05, 0.9]))
    assert heights == pytest.approx([0.02, 0.02, 0.06, 0.08, 0.10, np.nan, np.nan], nan_ok=True)

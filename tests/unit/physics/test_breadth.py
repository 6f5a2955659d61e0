"""Walls beside a point: a round tube and a box, by their closed forms."""

import numpy as np
import pytest

from dabchick.physics import shapes
from dabchick.physics.breadth import walls_beside


def test_walls_of_a_cylinder() -> None:
    ((vertices, faces, _),) = shapes.cylinder(0.4, 0.1).meshes(720)
    x, z = np.array([-0.3, -0.1, 0.0, 0.15]), np.array([-0.06, -0.03, 0.0, 0.04])
    starboard, port = walls_beside(vertices, faces, x, z, 0.01)
    # y = sqrt(R^2 - z^2); 720 sides lie within R (1 - cos(pi / 720)) = 0.5 micrometres of it.
    half = np.sqrt(np.maximum(0.05**2 - z**2, 0.0))
    assert port[1:, 1:] == pytest.approx(np.broadcast_to(half[1:], (3, 3)), abs=2e-6)
    assert starboard[1:, 1:] == pytest.approx(np.broadcast_to(-half[1:], (3, 3)), abs=2e-6)
    assert np.all(np.isinf(port[0]))
    assert np.all(np.isinf(starboard[:, 0]))


def test_extremes_from_far_aside() -> None:
    ((vertices, faces, _),) = shapes.box(0.2, 0.06, 0.04).moved((0.0, 0.05, 0.0)).meshes()
    at = (np.array([0.0]), np.array([0.0]))
    assert walls_beside(vertices, faces, *at, -np.inf)[1][0, 0] == pytest.approx(0.02)
    assert walls_beside(vertices, faces, *at, np.inf)[0][0, 0] == pytest.approx(0.08)

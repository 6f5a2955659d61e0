"""The straight round room inside a surface: closed forms of cylinder, cone, spheroid and box."""

import numpy as np
import pytest

from dabchick.physics import shapes
from dabchick.physics.solid import Solid
from dabchick.physics.straight_room import distances_along, free_stretches

SIDES = 240
ROUND = 1.0 - np.cos(np.pi / SIDES)
"""How far a polygon's sides lie inside its circle, by the radius."""


def corners(solid: Solid, sides: int = SIDES) -> np.ndarray:
    return np.concatenate([vertices[faces] for vertices, faces, _ in solid.meshes(sides)])


@pytest.mark.parametrize("radius", [0.01, 0.03, 0.06, 0.09])
def test_longest_in_a_spheroid(radius: float) -> None:
    # Closed form: x = +-a sqrt(1 - (r/b)^2), a = 0.5, b = 0.1. The polyhedron is the spheroid b (1 - ROUND) at worst.
    ((low, high),) = free_stretches(corners(shapes.spheroid(1.0, 0.2)), 0.0, radius)
    most = 0.5 * np.sqrt(1.0 - (radius / 0.1) ** 2)
    # along the axis it has 120 rings, so that it is flat between them by another ROUND of it
    least = 0.5 * (1.0 - 4.0 * ROUND) * np.sqrt(1.0 - (radius / (0.1 * (1.0 - 4.0 * ROUND))) ** 2)
    assert least <= high <= most
    assert low == pytest.approx(-high, abs=1e-12)


@pytest.mark.parametrize("height", [0.0, 0.012])
def test_longest_in_a_cone(height: float) -> None:
    # Closed form: the cone is R (1/2 - x) wide, R = 0.1; a cylinder of r at a height h needs r + h of it.
    ((low, high),) = free_stretches(corners(shapes.cone(1.0, 0.2)), height, 0.05)
    assert low == pytest.approx(-0.5, abs=1e-12)
    wanted = 0.5 - (0.05 + height) / 0.1
    assert wanted - 10 * 0.1 * ROUND <= high <= wanted + 1e-12


def test_a_box_is_its_length_until_the_radius_meets_a_wall() -> None:
    # Closed form: a box of 1 m by 200 x 300 mm, axis 20 mm up: side walls at 100 mm, the roof at 130 mm.
    box = corners(shapes.box(1.0, 0.2, 0.3))
    np.testing.assert_allclose(free_stretches(box, 0.02, 0.0999), [[-0.5, 0.5]], atol=1e-12)
    assert len(free_stretches(box, 0.02, 0.1001)) == 0


def test_a_fin_parts_the_room() -> None:
    # Closed form: a plate of 10 mm hangs 60 mm from the roof at x = 0.2: under it pass radii below 90 mm.
    box = corners(shapes.box(1.0, 0.3, 0.3))
    fin = corners(shapes.box(0.01, 0.3, 0.06).moved((0.2, 0.0, 0.12)))
    both = np.concatenate([box, fin])
    np.testing.assert_allclose(free_stretches(both, 0.0, 0.0899), [[-0.5, 0.5]], atol=1e-12)
    np.testing.assert_allclose(free_stretches(both, 0.0, 0.0901), [[-0.5, 0.195], [0.205, 0.5]], atol=1e-12)


def test_the_peak_of_a_cone_within_a_triangle() -> None:
    # Closed form: a sloping plane x = 2 z met by a cylinder of radius r about the axis: x from -2 r to 2 r. The
    # triangle is large, so only the plane's own steepest line says so.
    big = np.array([[[-20.0, -10.0, -10.0], [-20.0, 10.0, -10.0], [40.0, 0.0, 20.0]]])
    end = np.array([[[50.0, -10.0, -10.0], [50.0, 10.0, -10.0], [50.0, 0.0, 20.0]]])
    ((low, high),) = free_stretches(np.concatenate([big, end]), 0.0, 0.25)
    assert low == pytest.approx(0.5, abs=1e-12)
    assert high == 50.0


def test_distances_are_those_of_the_section() -> None:
    # Closed form: a square tube is half its width away; the spheroid b sqrt(1 - (x/a)^2) but for its flats.
    places = np.array([-0.4, 0.0, 0.3])
    np.testing.assert_allclose(
        distances_along(corners(shapes.box(1.0, 0.2, 0.3)), 0.02, places), 0.1, atol=1e-12
    )
    found = distances_along(corners(shapes.spheroid(1.0, 0.2)), 0.0, places)
    np.testing.assert_allclose(found, 0.1 * np.sqrt(1.0 - (places / 0.5) ** 2), rtol=4 * ROUND)
    assert np.isinf(distances_along(corners(shapes.box(1.0, 0.2, 0.3)), 0.0, np.array([0.6])))


def test_a_radius_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        free_stretches(corners(shapes.box(1.0, 1.0, 1.0)), 0.0, 0.0)

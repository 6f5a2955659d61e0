"""The thickness of walls against closed forms, at edges, and in meshes that are hard to read."""

import numpy as np
import pytest

from dabchick.physics.thickness import OPPOSITE, Thickness, thickness
from tests.support.broken import Mesh, box, inside_out, together
from tests.support.prints import hollow_ball, tube

# A regular polygon of n sides lies within 1 - cos(pi / n) of its circle; at 64 sides that is 0.12 %.


def on_walls(read: Thickness) -> np.ndarray:
    return read.readings[read.walls]


def test_a_spherical_shell_is_everywhere_as_thick_as_its_radii_differ() -> None:
    read = thickness(*hollow_ball(0.047, 0.050))
    # 5120 facets to a ball stand for it within about 0.1 %, and all lie opposite one another.
    assert read.walls.all()
    np.testing.assert_allclose(read.readings, 0.003, rtol=0.01)
    np.testing.assert_allclose(read.of_face, 0.003, rtol=0.01)


def test_a_tube_is_as_thick_as_its_radii_differ_and_its_rims_take_over_its_walls() -> None:
    vertices, faces = tube(0.0, 300.0)
    read = thickness(vertices / 1000.0, faces)
    wall = 0.003 * np.cos(np.pi / 64)  # between the flats of two polygons
    np.testing.assert_allclose(on_walls(read), wall, rtol=0.01)
    rim = np.isclose(read.points[:, 0], 0.0) | np.isclose(read.points[:, 0], 0.3)
    # A ray from the rim runs along the wall to the other rim: the reading must not be that.
    assert np.median(read.rays[rim]) == pytest.approx(0.3)
    assert not read.walls[rim].any()
    np.testing.assert_allclose(read.readings[rim], wall, rtol=0.01)


def test_every_point_of_surface_is_counted_once() -> None:
    vertices, faces = tube(0.0, 300.0)
    read = thickness(vertices, faces)
    corners = vertices[faces]
    sides = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    assert read.areas.sum() == pytest.approx(0.5 * np.linalg.norm(sides, axis=1).sum(), rel=1e-12)


def wedge(angle_deg: float) -> Mesh:
    """A prism along z whose faces meet along x = y = 0 at an angle; 1 long, its end 1 away."""
    half = np.tan(np.radians(0.5 * angle_deg))
    outline = np.array([[0.0, 0.0], [1.0, -half], [1.0, half]])
    vertices = np.vstack([np.column_stack([outline, np.full(3, z)]) for z in (0.0, 5.0)])
    faces = [[0, 2, 1], [3, 4, 5], [0, 1, 4], [0, 4, 3], [1, 2, 5], [1, 5, 4], [2, 0, 3], [2, 3, 5]]
    return vertices, np.array(faces)


@pytest.mark.parametrize(("angle", "is_wall"), [(10.0, True), (30.0, True), (40.0, False), (90.0, False)])
def test_wedges_up_to_35_degrees_are_walls(angle: float, is_wall: bool) -> None:
    # By hand: ray d tan a, ball 2 d tan(a / 2), so their ratio is 1 - tan(a / 2)^2.
    assert (1.0 - np.tan(np.radians(0.5 * angle)) ** 2 >= OPPOSITE) == is_wall
    read = thickness(*wedge(angle))
    flank = (
        (np.abs(read.points[:, 1]) > 1e-9)
        & (read.points[:, 0] < 0.5)
        & (np.abs(read.points[:, 2] - 2.5) < 1.5)
    )
    assert read.walls[flank].all() == is_wall
    if is_wall:
        along = np.hypot(read.points[flank, 0], read.points[flank, 1])
        expected = 2.0 * along * np.tan(np.radians(0.5 * angle))
        np.testing.assert_allclose(read.readings[flank], expected, rtol=1e-6)


def test_a_thin_place_in_a_large_triangle_does_not_hide() -> None:
    # A slab whose upper side is one tilted plane: 2 thick at one end, 1 at the other.
    vertices, faces = box((0.0, 0.0, 0.0), (100.0, 40.0, 2.0))
    vertices[(vertices[:, 0] > 50.0) & (vertices[:, 2] > 1.0), 2] = 1.0
    read = thickness(vertices, faces)
    assert on_walls(read).min() == pytest.approx(1.0, rel=0.06)
    assert on_walls(read).max() == pytest.approx(2.0, rel=0.06)
    top = np.flatnonzero((vertices[faces][:, :, 2] > 0.5).all(axis=1))
    assert len(top) == 2
    assert read.of_face[top].max() < 1.7  # both large triangles reach to where it is thin


def test_few_samples_leave_no_triangle_without_a_reading() -> None:
    vertices, faces = hollow_ball(0.047, 0.050, subdivisions=3)
    read = thickness(vertices, faces, most_samples=200)
    assert len(read.points) <= 200
    np.testing.assert_allclose(read.of_face, 0.003, rtol=0.03)


def test_two_bodies_are_each_read_by_themselves() -> None:
    vertices, faces = together(
        box((0.0, 0.0, 0.0), (60.0, 60.0, 2.0)), box((0.0, 0.0, 10.0), (60.0, 60.0, 5.0))
    )
    read = thickness(vertices, faces)
    upper = read.points[:, 2] > 5.0
    # In the middle of each plate; a plate's own thickness, not the way to the other.
    middle = (np.abs(read.points[:, :2] - 30.0) < 20.0).all(axis=1)
    np.testing.assert_allclose(read.readings[middle & upper], 5.0, rtol=1e-9)
    np.testing.assert_allclose(read.readings[middle & ~upper], 2.0, rtol=1e-9)


def test_a_mesh_inside_out_has_no_thickness() -> None:
    assert np.isnan(thickness(*inside_out(box((0.0, 0.0, 0.0), (1.0, 1.0, 1.0)))).readings).all()


def test_what_cannot_be_measured_is_refused() -> None:
    vertices, faces = box((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))
    with pytest.raises(ValueError, match="no triangles"):
        thickness(vertices, faces[:0])
    vertices[3, 1] = np.nan
    with pytest.raises(ValueError, match="no numbers"):
        thickness(vertices, faces)

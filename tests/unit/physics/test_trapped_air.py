"""Trapped air where its volume can be written down: every expected value is a closed form, worked in the test."""

import math

import numpy as np
import pytest

from dabchick.physics import shapes
from dabchick.physics.equilibrium import up_vector
from dabchick.physics.opening_mouth import mouth, nearest
from dabchick.physics.solid import Solid
from dabchick.physics.squeezed_air import squeezed, squeezed_share
from dabchick.physics.trapped_air import trapped
from tests.support.air_spaces import Space

LENGTH, WIDTH, HEIGHT = 0.2, 0.1, 0.1
BOX = shapes.box(LENGTH, WIDTH, HEIGHT)
LEVEL = up_vector(0.0, 0.0)
UPRIGHT = np.array([[0.0, 0.0, -1.0], [0.0, 1.0, 0.0], [1.0, 0.0, 0.0]])
P0, RHO, G = 101325.0, 1000.0, 9.80665


def test_a_hole_in_the_top_lets_all_out() -> None:
    assert Space(BOX).air(LEVEL, ((0.03, 0.01, 0.05), 0.0)).volume_m3 == 0.0


@pytest.mark.parametrize("height", [-0.049, -0.02, 0.0, 0.031])
def test_a_hole_in_the_side_keeps_all_above_it(height: float) -> None:
    air = Space(BOX).air(LEVEL, ((0.0, 0.05, height), 0.0))
    assert air.volume_m3 == pytest.approx(LENGTH * WIDTH * (0.05 - height), rel=1e-12)
    assert air.centre_m == pytest.approx([0.0, 0.0, 0.5 * (0.05 + height)], abs=1e-12)
    assert [pocket.level for pocket in air.pockets] == pytest.approx([height], abs=1e-12)


def test_a_wide_hole_lets_air_out_down_to_its_upper_edge() -> None:
    air = Space(BOX).air(LEVEL, ((0.0, 0.05, 0.02), 0.004))
    assert air.volume_m3 == pytest.approx(LENGTH * WIDTH * (0.05 - 0.024), rel=1e-9)


@pytest.mark.parametrize("trim", [-5.0, -10.0, -20.0, -26.0])
def test_a_tilted_box_with_a_hole_in_its_upper_edge_keeps_a_wedge(trim: float) -> None:
    """Bow down by t with the hole in the lid at the bow: a wedge of length L and depth L tan t, while that is < H."""
    air = Space(BOX).air(up_vector(0.0, trim), ((0.1, 0.0, 0.05), 0.0))
    deep = LENGTH * math.tan(math.radians(-trim))
    assert deep < HEIGHT
    assert air.volume_m3 == pytest.approx(0.5 * LENGTH * deep * WIDTH, rel=1e-9)
    # the middle of a triangle lies a third of its sides from the right angle, here at the stern under the lid
    assert air.centre_m == pytest.approx([-0.1 + LENGTH / 3.0, 0.0, 0.05 - deep / 3.0], abs=1e-9)


def test_a_box_heeled_on_its_side_and_upside_down() -> None:
    hole = ((0.0, 0.0, 0.05), 0.0)
    space = Space(BOX)
    assert space.air(up_vector(180.0, 0.0), hole).volume_m3 == pytest.approx(
        LENGTH * WIDTH * HEIGHT, rel=1e-9
    )
    # on her side the hole stands at half height; columns lie level here, so half a spacing of 1 mm may be missing
    assert space.air(up_vector(90.0, 0.0), hole).volume_m3 == pytest.approx(
        LENGTH * 0.5 * WIDTH * HEIGHT, rel=0.011
    )


@pytest.mark.parametrize("heel", [0.0, 10.0, 25.0, 40.0])
def test_an_inverted_cup_at_an_angle(heel: float) -> None:
    """A cup of radius r and height h, its whole foot open: pi r^2 (h - r tan t) while the water misses the lid."""
    radius, height = 0.03, 0.08
    cup = shapes.cylinder(height, 2.0 * radius).moved((0.0, 0.0, 0.0), UPRIGHT)
    air = Space(cup, spacing=5e-4).air(up_vector(heel, 0.0), ((0.0, 0.0, -0.5 * height), radius))
    expected = math.pi * radius**2 * (height - radius * math.tan(math.radians(heel)))
    # 192 sides enclose 0.02 % less than the circle; the rim's height is that of a polygon's corner or side
    assert air.volume_m3 == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("heel", [0.0, 90.0, 180.0])
@pytest.mark.parametrize("polar", [10.0, 40.0, 80.0])
def test_a_sphere_with_a_hole_keeps_a_cap(polar: float, heel: float) -> None:
    """Cap of height c = R - n . p over the hole p: pi c^2 (3 R - c) / 3."""
    radius = 0.05
    hole = radius * np.array([math.sin(math.radians(polar)), 0.0, math.cos(math.radians(polar))])
    up = up_vector(heel, 0.0)
    air = Space(shapes.sphere(2.0 * radius), spacing=7e-4).air(up, (tuple(hole), 0.0))
    cap = radius - float(up @ hole)
    # 192 sides: volume and place of the hole within a few thousandths; a flat cap feels the hole's place most
    assert air.volume_m3 == pytest.approx(math.pi * cap**2 * (3.0 * radius - cap) / 3.0, rel=0.02)


def test_a_sphere_with_a_wide_hole_keeps_the_cap_over_its_rim() -> None:
    """A hole whose rim is r from its middle p: the rim's top has the polar angle t - 2 asin(r / 2R)."""
    radius, polar, wide = 0.05, math.radians(50.0), 0.012
    hole = (radius * math.sin(polar), 0.0, radius * math.cos(polar))
    rim = polar - 2.0 * math.asin(wide / (2.0 * radius))
    cap = radius * (1.0 - math.cos(rim))
    air = Space(shapes.sphere(2.0 * radius), spacing=7e-4).air(LEVEL, (hole, wide))
    assert air.volume_m3 == pytest.approx(math.pi * cap**2 * (3.0 * radius - cap) / 3.0, rel=0.01)


@pytest.mark.parametrize("thick", [4e-3, 3e-4])
def test_two_chambers_and_the_sill_between_them(thick: float) -> None:
    """A plate from the lid down to z = -0.01 parts the box; the vent is in the after lid, the fore part keeps its air.

    The thin plate stands between two lines of columns, where no column meets it.
    """
    plate = shapes.box(thick, WIDTH, 0.06).moved((0.0, 0.0, 0.02))
    air = Space(BOX, (plate,), spacing=1e-3).air(LEVEL, ((-0.05, 0.0, 0.05), 0.0))
    expected = (0.5 * LENGTH - 0.5 * thick) * WIDTH * 0.06
    assert len(air.pockets) == 1
    assert air.pockets[0].level == pytest.approx(-0.01, abs=1e-9)
    assert air.pockets[0].by_passage
    # the plate's face stands anywhere within one spacing of a column's edge
    assert air.volume_m3 == pytest.approx(expected, abs=0.5e-3 * WIDTH * 0.06 + 1e-12)


def test_columns_converge_on_what_they_measure() -> None:
    plate = shapes.box(4.1e-3, WIDTH, 0.06).moved((0.0123, 0.0, 0.02))
    expected = (0.1 - 0.0123 - 0.00205) * WIDTH * 0.06
    for spacing in (4e-3, 2e-3, 1e-3, 5e-4):
        air = Space(BOX, (plate,), spacing=spacing).air(LEVEL, ((-0.05, 0.0, 0.05), 0.0))
        assert abs(air.volume_m3 - expected) <= 0.51 * spacing * WIDTH * 0.06


def test_a_thing_in_the_air_takes_its_room() -> None:
    ball = shapes.sphere(0.02).moved((0.04, 0.0, 0.03))
    air = Space(BOX, (ball,)).air(LEVEL, ((0.0, 0.05, 0.0), 0.0))
    expected = LENGTH * WIDTH * 0.05 - math.pi / 6.0 * 0.02**3
    assert air.volume_m3 == pytest.approx(expected, rel=1e-4)
    assert air.pockets[0].exact


def test_no_opening_keeps_everything() -> None:
    air = Space(BOX).air(up_vector(3.0, 20.0))
    assert air.volume_m3 == pytest.approx(LENGTH * WIDTH * HEIGHT, rel=1e-9)
    assert air.pockets[0].mouth == -1
    assert air.pockets[0].level == -np.inf


def test_only_air_under_the_water_outside_counts() -> None:
    """Hole at z = -0.02, water outside at z = 0.01: of the air above the hole only 3 cm displace anything."""
    air = Space(BOX).air(LEVEL, ((0.0, 0.05, -0.02), 0.0), outside=0.01)
    assert air.volume_m3 == pytest.approx(LENGTH * WIDTH * 0.03, rel=1e-9)
    assert Space(BOX).air(LEVEL, ((0.0, 0.05, -0.02), 0.0), outside=-0.03).volume_m3 == 0.0


@pytest.mark.parametrize(("depth", "share"), [(0.0, 1.0), (1.0, 0.9117565), (10.0, 0.5081711)])
def test_boyle_at_a_depth(depth: float, share: float) -> None:
    """p0 / (p0 + rho g d): 101325 / (101325 + 9806.65 d), worked by hand."""
    assert squeezed_share(depth, RHO) == pytest.approx(share, abs=1e-6)


@pytest.mark.parametrize("depth", [1.0, 10.0])
def test_air_in_a_straight_cup_is_squeezed_to_the_root_of_a_quadratic(depth: float) -> None:
    """a (p0 + rho g (d + a)) = h p0 for the height a of air under a lid at depth d, in a straight cup of height h."""
    space = Space(BOX)
    air = space.air(LEVEL, ((0.0, 0.0, -0.05), 0.0))
    volume, centre, level = squeezed(space.columns, air.pockets[0], LEVEL, 0.05 + depth, RHO)
    pressure = P0 + RHO * G * depth
    left = (-pressure + math.sqrt(pressure**2 + 4.0 * RHO * G * HEIGHT * P0)) / (2.0 * RHO * G)
    assert volume == pytest.approx(LENGTH * WIDTH * left, rel=1e-9)
    assert level == pytest.approx(0.05 - left, abs=1e-9)
    assert centre == pytest.approx([0.0, 0.0, 0.05 - 0.5 * left], abs=1e-9)


def test_nearest_point_of_a_box() -> None:
    ((vertices, faces, _),) = BOX.meshes()
    foot = nearest(vertices, faces, np.array([0.13, 0.02, 0.09]))
    # beyond the edge between lid and bow: 3 cm ahead and 4 cm up
    assert foot.point_m == pytest.approx([0.1, 0.02, 0.05])
    assert foot.distance_m == pytest.approx(0.05)


def test_an_opening_where_nothing_is_free_is_none() -> None:
    block = shapes.box(0.1, WIDTH, HEIGHT).moved((0.05, 0.0, 0.0))
    space = Space(BOX, (block,))
    assert mouth(space.walls, space.columns, np.array([0.08, 0.0, 0.05]), 0.0) is None


def test_an_up_that_is_no_direction_is_refused() -> None:
    space = Space(BOX)
    with pytest.raises(ValueError, match="unit vector"):
        trapped(space.walls, space.columns, [], np.array([0.0, 0.0, 2.0]))
    with pytest.raises(ValueError, match="spacing"):
        Space(BOX, spacing=0.0)
    with pytest.raises(ValueError, match="depth"):
        squeezed_share(-1.0, RHO)


def test_a_pipe_that_stands_on_end_is_open() -> None:
    """Its wall is given as outside less inside; the room in it is joined to the rest at both ends."""
    tube: Solid = shapes.tube(0.06, 0.02, 0.016).moved((0.0, 0.0, 0.0), UPRIGHT)
    air = Space(BOX, (tube,)).air(LEVEL, ((0.05, 0.0, 0.05), 0.0))
    assert air.volume_m3 == pytest.approx(0.0, abs=1e-12)

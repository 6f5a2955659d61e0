"""The longest and the widest cylinder: closed forms in a box, a cylinder, a spheroid and a cone."""

import math

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Vessel
from dabchick.physics import shapes
from dabchick.physics.solid import Solid
from dabchick.studies import fit_cylinder
from tests.support.fitting_boats import box_hull, hatched_box, item, skinned, vessel

SIDES = 120
ROUND = 1.0 - math.cos(math.pi / SIDES)
"""How far a polygon's sides lie inside its circle, by the radius."""


def hull(solid: Solid) -> Vessel:
    vertices, faces, _ = solid.meshes(SIDES)[0]
    low = vertices.min(axis=0)
    return vessel(shapes.mesh(vertices - [low[0], 0.0, low[2]], faces))


@pytest.mark.parametrize("clearance", [0.0, 0.004])
def test_longest_in_a_cylinder(clearance: float) -> None:
    # Closed form: the hull's own length less a clearance at each end, wherever it passes.
    result = fit_cylinder.run(hull(shapes.cylinder(0.8, 0.1)), diameter_m=0.06, clearance_m=clearance)
    assert result.length_m == pytest.approx(0.8 - 2 * clearance, abs=1e-9)
    assert result.centre_m[0] == pytest.approx(0.4, abs=1e-9)


@pytest.mark.parametrize("clearance", [0.0, 0.004])
def test_widest_in_a_cylinder(clearance: float) -> None:
    # Closed form: the hull's own diameter less twice the clearance, on its axis.
    result = fit_cylinder.run(hull(shapes.cylinder(0.8, 0.1)), length_m=0.5, clearance_m=clearance)
    inscribed = 0.1 * (1.0 - ROUND) - 2 * clearance
    assert result.diameter_m == pytest.approx(inscribed, abs=2 * fit_cylinder.FINE_M)
    assert result.centre_m[2] == pytest.approx(0.05, abs=2 * fit_cylinder.FINE_M)


@pytest.mark.parametrize("diameter", [0.04, 0.08, 0.11])
def test_longest_in_a_spheroid(diameter: float) -> None:
    # Closed form: L sqrt(1 - (d / D)^2), L = 0.9, D = 0.12; the polyhedron holds one 2 ROUND smaller.
    result = fit_cylinder.run(hull(shapes.spheroid(0.9, 0.12)), diameter_m=diameter, clearance_m=0.0)
    least, most = (
        0.9 * (1.0 - short) * math.sqrt(1.0 - (diameter / (0.12 * (1.0 - short))) ** 2)
        for short in (2.1 * ROUND, 0.0)
    )
    assert least <= result.length_m <= most
    assert result.centre_m[2] == pytest.approx(0.06, abs=5e-4)


@pytest.mark.parametrize("length", [0.3, 0.6])
def test_widest_in_a_spheroid(length: float) -> None:
    # Closed form: D sqrt(1 - (l / L)^2).
    result = fit_cylinder.run(hull(shapes.spheroid(0.9, 0.12)), length_m=length, clearance_m=0.0)
    assert result.diameter_m == pytest.approx(0.12 * math.sqrt(1 - (length / 0.9) ** 2), rel=6 * ROUND)


def test_in_a_cone() -> None:
    # Closed form: a cone of 0.8 m by 0.12 m is 0.12 (1 - x / 0.8) wide at x from its base.
    cone = hull(shapes.cone(0.8, 0.12))
    longest = fit_cylinder.run(cone, diameter_m=0.06, clearance_m=0.0)
    assert longest.length_m == pytest.approx(0.4, abs=0.8 * 2 * ROUND + 1e-3 * fit_cylinder.FINE_M + 2e-4)
    assert longest.aft_m[0] == pytest.approx(0.0, abs=1e-9)
    widest = fit_cylinder.run(cone, length_m=0.4, clearance_m=0.0)
    assert widest.diameter_m == pytest.approx(0.06, abs=0.12 * ROUND + 2 * fit_cylinder.FINE_M)


def test_of_equally_good_heights_the_middle_one() -> None:
    # A box 120 wide and 150 high takes 60 mm at its whole length anywhere from 30 to 120 mm up: the middle is 75.
    result = fit_cylinder.run(vessel(box_hull()), diameter_m=0.06, clearance_m=0.0)
    assert result.length_m == pytest.approx(1.0, abs=1e-9)
    assert result.centre_m[2] == pytest.approx(0.075, abs=0.002)


def test_the_skin_is_taken_off() -> None:
    # A skin of 3 mm leaves 994 mm, and 114 mm of width.
    inner, skin = skinned(box_hull(), 0.003)
    boat = vessel(box_hull(), [skin], inside=inner)
    assert fit_cylinder.run(boat, diameter_m=0.06, clearance_m=0.001).length_m == pytest.approx(
        0.992, abs=1e-9
    )
    assert fit_cylinder.run(boat, length_m=0.5, clearance_m=0.001).diameter_m == pytest.approx(
        0.112, abs=1e-6
    )


def test_in_a_hull_of_one_shell_the_room_is_between_its_walls() -> None:
    # Walls of 3 mm: 994 mm long and 114 mm wide, though nothing says which face of the shell is the inner one.
    solid = hatched_box()
    boat = vessel(solid, [item("skin", "skin", solid)], inside=solid)
    assert fit_cylinder.run(boat, diameter_m=0.06, clearance_m=0.0).length_m == pytest.approx(0.994, abs=1e-9)
    widest = fit_cylinder.run(boat, length_m=0.5, clearance_m=0.0)
    assert widest.diameter_m == pytest.approx(0.114, abs=2e-6)


def test_past_the_parts_but_not_dry_ones() -> None:
    # A frame fills the section from x = 600 to 610 mm: 600 mm are left aft of it. The dry tube does not count.
    frame = item("frame", "solid", shapes.box(0.01, 0.12, 0.15).moved((0.605, 0.0, 0.075)))
    tube = item("tube", "dry", shapes.box(0.3, 0.08, 0.08).moved((0.3, 0.0, 0.06)))
    boat = vessel(box_hull(), [frame, tube])
    assert fit_cylinder.run(boat, diameter_m=0.06, clearance_m=0.0).length_m == pytest.approx(1.0, abs=1e-9)
    result = fit_cylinder.run(boat, diameter_m=0.06, clearance_m=0.0, past=True)
    assert result.length_m == pytest.approx(0.6, abs=1e-9)
    assert result.past == ("frame",)


def test_room_within_a_part_is_no_room() -> None:
    # A sealed block is larger than the cylinder asked for: inside it nothing bars the way, yet it is taken.
    block = item("block", "solid", shapes.box(0.7, 0.12, 0.15).moved((0.65, 0.0, 0.075)))
    result = fit_cylinder.run(vessel(box_hull(), [block]), diameter_m=0.03, clearance_m=0.0, past=True)
    assert result.length_m == pytest.approx(0.3, abs=1e-9)


def test_room_along_it_is_that_of_the_walls() -> None:
    # Closed form: the spheroid's radius at each station less the cylinder's.
    result = fit_cylinder.run(hull(shapes.spheroid(0.9, 0.12)), diameter_m=0.08, clearance_m=0.0)
    x = np.array(result.station_x_m)
    up = abs(result.centre_m[2] - 0.06)
    wanted = 0.06 * np.sqrt(1 - ((x - 0.45) / 0.45) ** 2) - 0.04
    np.testing.assert_allclose(result.beside_m, wanted, atol=6 * ROUND * 0.06 + up)
    assert min(result.beside_m) >= -1e-9


def test_a_tilted_hull_takes_a_tilted_cylinder() -> None:
    # A round tube whose fore end is up by 4 deg: along its own axis it is 0.8 m, level much less.
    angle = math.radians(4.0)
    turn = np.array(
        [[math.cos(angle), 0, -math.sin(angle)], [0, 1, 0], [math.sin(angle), 0, math.cos(angle)]]
    )
    boat = hull(shapes.cylinder(0.8, 0.1).moved((0, 0, 0), turn).moved((0.4, 0.0, 0.1)))
    level = fit_cylinder.run(boat, diameter_m=0.07, clearance_m=0.0)
    tilted = fit_cylinder.run(boat, diameter_m=0.07, clearance_m=0.0, tilt=True)
    assert level.tilt_deg == 0.0
    assert tilted.length_m > level.length_m + 0.1
    assert tilted.length_m <= 0.8 + 1e-9
    # Its wall touches the tube's at neither end: it lies within the tube, whose walls leave 15 mm to each side.
    assert abs(tilted.tilt_deg - 4.0) <= math.degrees(2 * 0.015 / tilted.length_m)
    assert math.dist(tilted.aft_m, tilted.fore_m) == pytest.approx(tilted.length_m, abs=1e-9)


def test_what_cannot_be_is_explained() -> None:
    boat = vessel(box_hull())
    with pytest.raises(BoatError, match="No cylinder of this diameter"):
        fit_cylinder.run(boat, diameter_m=0.2)
    with pytest.raises(BoatError, match="No cylinder of this length"):
        fit_cylinder.run(boat, length_m=1.2)
    with pytest.raises(BoatError, match="Either the diameter or the length"):
        fit_cylinder.run(boat)
    with pytest.raises(BoatError, match="Give a length above 0"):
        fit_cylinder.run(boat, diameter_m=-0.1)

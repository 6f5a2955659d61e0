"""Rest, stable or not; awash, mast-only, sinking and hanging boats."""

import math

import numpy as np
import pytest

from dabchick.physics import shapes
from dabchick.physics.balance import balance
from dabchick.physics.equilibrium import all_equilibria, find, sinks, up_vector
from dabchick.physics.righting import arm_curve, arm_curves

RHO = 1000.0


def test_all_rests_of_a_plank_are_found_and_told_apart() -> None:
    """A long plank of half the water's weight, homogeneous: flat stable on two faces, unstable on edge and end.

    By symmetry there are 2 minima (either broad face up), 2 saddles (either narrow side up) and 2 maxima (either
    end up); 2 - 2 + 2 = 2 as Morse's theorem asks. Expected numbers from symmetry, no computation.
    """
    plank = balance([shapes.box(1.0, 0.2, 0.05)], RHO * 0.01 * 0.5, [0.0, 0.0, 0.0], RHO)
    every = all_equilibria(plank)
    assert every.complete
    assert sorted(entry.falling_ways for entry in every.found) == [0, 0, 1, 1, 2, 2]
    flat = [entry for entry in every.found if entry.stable]
    assert {round(abs(entry.heel_deg)) for entry in flat} == {0, 180}


def test_mast_holds_a_boat_with_a_little_lift_at_the_surface() -> None:
    """Closed form: 4 g of lift hold 4 cm3 of a mast of 1 cm2 out of the water: 40 mm."""
    hull = shapes.box(0.8, 0.1, 0.1).moved([0.0, 0.0, 0.05])
    mast = shapes.box(0.01, 0.01, 0.2).moved([0.0, 0.0, 0.2])
    total = 0.008 + 0.2 * 1e-4
    rest = find(balance([hull, mast], RHO * total - 0.004, [0.0, 0.0, 0.03], RHO))
    assert rest.stable
    assert 0.3 - rest.offset_m == pytest.approx(0.040, abs=1e-9)
    assert rest.force_residual < 1e-12


def test_round_log_is_neutral_and_says_so() -> None:
    """A homogeneous round log floats at any angle of roll (GM = R - KG = 0): neutral, not stable."""
    log = balance([shapes.cylinder(1.0, 0.2)], 0.3 * RHO * math.pi * 0.01, [0.0, 0.0, 0.0], RHO)
    rest = find(log)
    assert rest.neutral
    assert not rest.stable
    assert not all_equilibria(log, starts=40).complete


def test_sinker_is_named_and_its_hanging_attitude_found() -> None:
    """Hanging, G comes under B: with G 10 mm aft and 20 mm under B she hangs bow up by atan(10/20)."""
    heavy = balance([shapes.box(1.0, 0.1, 0.1)], 11.0, [-0.010, 0.0, -0.020], RHO)
    assert sinks(heavy)
    with pytest.raises(ValueError, match="sinks"):
        find(heavy)
    rest = find(heavy, hanging=True)
    assert rest.trim_deg == pytest.approx(math.degrees(math.atan2(10.0, 20.0)), abs=1e-9)
    assert rest.heel_deg == pytest.approx(0.0, abs=1e-9)
    assert rest.gm_transverse_m == pytest.approx(math.hypot(0.010, 0.020))


def test_turned_over_boat_finds_its_way_back_or_stays_where_it_is_stable() -> None:
    """A weighted box let go keel up by a hair comes back upright: no other stable rest exists for so low a weight."""
    box = balance([shapes.box(1.0, 0.2, 0.2)], 20.0, [0.0, 0.0, -0.08], RHO)
    rest = find(box, up_vector(179.0, 0.5))
    assert abs(rest.heel_deg) < 1e-6
    assert rest.stable


def test_arm_is_the_slope_of_energy_and_gm_its_slope_upright() -> None:
    """At a small heel GZ = GM sin(heel); over the full circle the arm adds up to nothing (energy comes back)."""
    box = balance([shapes.box(1.0, 0.2, 0.15).moved([0.0, 0.0, 0.075])], 12.0, [0.0, 0.0, 0.06], RHO)
    gm = find(box).gm_transverse_m
    curve = arm_curve(box, [0.01])
    assert curve.arms_m[0] == pytest.approx(gm * math.sin(math.radians(0.01)), rel=1e-5)
    round_trip = arm_curve(box, np.arange(-180.0, 180.0, 1.0))
    assert abs(float(np.sum(round_trip.arms_m))) < 1e-6
    assert round_trip.settled


def test_curves_on_many_cores_equal_one_by_one() -> None:
    boxes = [
        balance([shapes.box(1.0, 0.2, 0.15)], mass, [0.02, 0.0, -0.02], RHO) for mass in (8.0, 12.0, 20.0)
    ]
    heels = np.arange(0.0, 91.0, 10.0)
    for box, curve in zip(boxes, arm_curves(boxes, heels), strict=True):
        np.testing.assert_array_equal(curve.arms_m, arm_curve(box, heels).arms_m)


def test_start_that_is_no_direction_is_refused() -> None:
    box = balance([shapes.box(1.0, 0.2, 0.15)], 8.0, [0.0, 0.0, 0.0], RHO)
    with pytest.raises(ValueError, match="finite vector"):
        find(box, np.zeros(3))


@pytest.mark.parametrize("below_m", [0.0, 1e-10, 1e-9, 1e-8, 1e-6])
def test_round_boat_with_everything_almost_on_her_axis_still_comes_to_rest(below_m: float) -> None:
    """G a hair under the axis of a trimmed round float: she rolls until G is lowest, heel 0 (closed form).

    Right on the axis any heel will do. Energy's valley is then a circle at her trim, a nanometre deep.
    """
    generator = np.random.default_rng(7)
    float_body = shapes.cylinder(0.4, 0.09)
    boat = balance([float_body], 708.0 * float_body.volume, [0.05, 0.0, -below_m], RHO)
    for _ in range(15):
        rest = find(boat, generator.normal(size=3))
        assert rest.moment_residual < 1e-8
        if below_m > 0.0:
            assert abs(rest.heel_deg) < 1e-2

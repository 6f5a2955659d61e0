"""`tank`: against a boat cut at two waterlines by hand, and against the boat's own two equilibria."""

import math
from dataclasses import replace

import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.physics import shapes
from dabchick.studies import tank
from tests.support.vessels import RHO, item, small_vessel


def test_closed_form_of_boxes() -> None:
    """By hand: a sealed box 40 mm high cut at 30 mm leaves 1/4 above; tank = that - lift / rho, and so its centre.

    Box 0.4 x 0.1 x 0.04 m at x 0.5: 400 ml above, centred at x 0.5. Foam block 0.1 x 0.05 x 0.01 m above at
    x 0.8: 50 ml. Lift 10 g. V_above 450 ml; T = 450 - 10/0.9982 ml.
    """
    body = item("body", "dry", 1.0, (0.5, 0.0, 0.02), shapes.box(0.4, 0.1, 0.04))
    foam = item("foam", "solid", 0.002, (0.8, 0.0, 0.05), shapes.box(0.1, 0.05, 0.01))
    vessel = small_vessel(items=(body, foam), waterline_m=0.03)
    result = tank.run(vessel, lift_kg=0.010, bore_m=0.05)
    needed = 450e-6 - 0.010 / RHO
    whole = 1600e-6 + 50e-6
    centre_of_all = (1600e-6 * 0.5 + 50e-6 * 0.8) / whole
    x = (400e-6 * 0.5 + 50e-6 * 0.8 - 0.010 / RHO * centre_of_all) / needed
    assert result.volume_m3.value == pytest.approx(needed, rel=1e-12)
    assert result.centre_m[0] == pytest.approx(x, rel=1e-12)
    assert result.length_m == pytest.approx(needed / (math.pi * 0.025**2), rel=1e-12)


def test_present_tank_answers_are_inverse_of_the_needed_one() -> None:
    """A tank of just the needed volume gives the waterline and the lift back."""
    vessel = small_vessel()
    needed = tank.run(vessel)
    present = vessel.tanks[0]
    fitting = replace(vessel, tanks=(replace(present, capacity_m3=needed.volume_m3.value),))
    result = tank.run(fitting)
    assert result.present_waterline_m == pytest.approx(vessel.waterline_m, abs=1e-6)
    assert result.present_lift_kg == pytest.approx(vessel.wishes.lift_dived_kg, abs=1e-9)


def test_split_tanks_keep_sum_and_moment() -> None:
    """By hand: T1 + T2 = T and T1 x1 + T2 x2 = T x."""
    vessel = small_vessel()
    stern_heavy = replace(
        vessel,
        items=(
            *vessel.items,
            item("stern casing", "solid", 0.02, (0.05, 0.0, 0.13), shapes.box(0.06, 0.06, 0.06)),
        ),
    )
    result = tank.run(stern_heavy)
    assert result.split is not None
    split = result.split
    assert split.fore_m3 + split.aft_m3 == pytest.approx(result.volume_m3.value, rel=1e-12)
    moment = split.fore_m3 * split.fore_x_m + split.aft_m3 * split.aft_x_m
    assert moment == pytest.approx(result.volume_m3.value * result.centre_m[0], rel=1e-12)
    assert any("cannot stand" in entry.what for entry in result.warnings)


def test_spread_is_that_of_the_volumes_above() -> None:
    """By hand: only the share of each doubtful volume that stands above the waterline counts."""
    body = item("body", "dry", 1.0, (0.5, 0.0, 0.02), shapes.box(0.4, 0.1, 0.04), volume_spread=8e-6)
    result = tank.run(small_vessel(items=(body,), waterline_m=0.03))
    assert result.volume_m3.spread == pytest.approx(2e-6, rel=1e-9)


@pytest.mark.parametrize(
    ("bore", "waterline", "words"), [(0.0, 0.09, "bore"), (None, 0.5, "Nothing of the boat")]
)
def test_bad_wishes_are_refused(bore: float | None, waterline: float, words: str) -> None:
    with pytest.raises(BoatError, match=words):
        tank.run(small_vessel(waterline_m=waterline), bore_m=bore)


def test_missing_tank_is_advised() -> None:
    result = tank.run(small_vessel(tanks=()))
    assert np.isnan(result.length_m)
    assert any("no tank yet" in entry.what for entry in result.warnings)

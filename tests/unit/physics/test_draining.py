"""Water that runs in and out of boxes in a boat that stands still, against closed forms and Boyle's law."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from dabchick.physics.balance import ATMOSPHERE_PA, GRAVITY_M_S2
from dabchick.physics.draining import levels_m
from dabchick.physics.orifice import AIR_KG_M3
from tests.support.basins import OUTSIDE, UP, basins, holes, moments

G = GRAVITY_M_S2
VENT = (0.5, 1e-2, 0, OUTSIDE)
"""A roof that is open: its pull is under a thousandth of a millimetre of water."""


def test_model_tank_through_a_6_mm_hole() -> None:
    """hyd.torricelli.model, computed: 100 mm square, 150 mm to zero, 6 mm hole, Cd 0.61: 101.41 s.

    At the level h it has taken 101.41 s (1 - sqrt(h / 150 mm)). The floor hole counts as 1 mm high, so levels are
    compared above a centimetre and against a head from its middle, 0.5 mm over the floor.
    """
    tank = basins([(0.1, 0.1, 0.5, 0.0)])
    out = holes([(0.0, math.pi * 0.003**2, 0, OUTSIDE), VENT], 0.61)
    found = moments(tank, out, [0.0015], lambda time: -1.0, lambda now: now.water_m3[0] < 1e-4)
    whole = 101.41 * math.sqrt((0.15 - 5e-4) / 0.15)
    for now in found:
        head = now.water_m3[0] / 0.01 - 5e-4
        wanted = whole * (1.0 - math.sqrt(head / (0.15 - 5e-4)))
        assert now.time_s == pytest.approx(wanted, rel=1e-3, abs=2e-3)
    lost = [now.water_m3[0] + now.left_m3 - 0.0015 for now in found]
    assert max(map(abs, lost)) < 1e-17


def test_communicating_vessels() -> None:
    """Closed form: the head falls as sqrt(h) = sqrt(h0) - Cd a sqrt(2 g) (1/A1 + 1/A2) t / 2."""
    pair = basins([(0.1, 0.1, 0.5, 0.0), (0.3, 0.1, 0.5, 0.0)])
    through = holes([(0.02, 50e-6, 0, 1), VENT, (0.5, 1e-2, 1, OUTSIDE)], 0.6)
    found = moments(pair, through, [0.003, 0.0015], lambda time: -1.0, lambda now: now.time_s > 60.0)
    start, rate = 0.3 - 0.05, 0.6 * 50e-6 * math.sqrt(2.0 * G) * (100.0 + 100.0 / 3.0)
    for now in found:
        high, low = levels_m(pair, UP, now.water_m3)
        wanted = max(math.sqrt(start) - 0.5 * rate * now.time_s, 0.0) ** 2
        assert high - low == pytest.approx(wanted, abs=1.5e-4)
        assert abs(float(np.sum(now.water_m3)) - 0.0045) < 1e-17
    assert levels_m(pair, UP, found[-1].water_m3) == pytest.approx([0.1125, 0.1125], abs=1e-4)


def test_filling_behind_a_level_that_rises_evenly() -> None:
    """Closed form of dh/dt = u - k sqrt(h), h = 0 at first: t = -(2/k) (sqrt(h) + u/k ln(1 - k sqrt(h) / u)).

    The lag tends to (u / k)^2, here 16.5 mm.
    """
    tank = basins([(0.2, 0.1, 0.6, 0.0)])
    into = holes([(0.0, 100e-6, 0, OUTSIDE), (0.6, 1e-2, 0, OUTSIDE)], 0.62)
    u, k = 1.76e-3, 0.62 * 100e-6 * math.sqrt(2.0 * G) / 0.02
    found = moments(tank, into, [0.0008], lambda time: 0.04 + u * time, lambda now: now.time_s > 90.0)
    assert (u / k) ** 2 == pytest.approx(0.0164, abs=2e-4)
    for now in found[1:]:
        lag = 0.04 + u * now.time_s - now.water_m3[0] / 0.02

        def left(root: float, time: float = now.time_s) -> float:
            return -(2.0 / k) * (root + u / k * math.log(1.0 - k * root / u)) - time

        root = brentq(left, 0.0, u / k * (1.0 - 1e-15))
        assert lag == pytest.approx(root**2, abs=1.5e-4)
    assert lag == pytest.approx((u / k) ** 2, rel=0.02)


@pytest.mark.parametrize("ratio", [1.0 / 30.0, 0.1])
def test_a_narrow_vent_takes_its_share_of_the_head(ratio: float) -> None:
    """hyd.vent.ratio, computed: of the head, the vent takes 1 / (1 + (rw/ra) (Av/Af)^2) while the space floods.

    Equal volumes of water in and of air out, each by the orifice formula; 6 cm of air, which hardly spring.
    """
    tank = basins([(0.2, 0.2, 0.36, 0.0)])
    into = holes([(0.0, 100e-6, 0, OUTSIDE), (0.36, ratio * 100e-6, 0, OUTSIDE)], 0.6)
    found = moments(
        tank, into, [0.012], lambda time: 0.35, lambda now: now.time_s > 5.0, density=998.2, longest=0.5
    )
    wanted = 1.0 / (1.0 + 998.2 / AIR_KG_M3 * ratio**2)
    now = found[-1]
    head = 998.2 * G * (0.35 - now.water_m3[0] / 0.04)
    assert now.gauge_pa[0] / head == pytest.approx(wanted, rel=1e-2)


def test_a_bottle_held_mouth_down_shuts_its_air_in() -> None:
    """Boyle: (p0 + rho g (d - L)) (H - L) = p0 H with the surface d = 5 m over the mouth; L from the quadratic."""
    bottle = basins([(0.1, 0.1, 0.4, 0.0)])
    mouth = holes([(0.0, 500e-6, 0, OUTSIDE)], 0.6)
    found = moments(bottle, mouth, [0.0], lambda time: 5.0, lambda now: now.time_s > 60.0)
    head = ATMOSPHERE_PA / (1000.0 * G)
    b, c = head + 5.0 + 0.4, 5.0 * 0.4
    level = 0.5 * (b - math.sqrt(b * b - 4.0 * c))
    assert found[-1].water_m3[0] / 0.01 == pytest.approx(level, rel=1e-4)
    assert found[-1].air_pa_m3[0] == pytest.approx(ATMOSPHERE_PA * 0.004, rel=1e-9)


def test_a_full_bottle_with_its_mouth_in_the_water_holds_its_water_up() -> None:
    """No air can get in, so the atmosphere carries the column: it stays full, its air under suction."""
    bottle = basins([(0.1, 0.1, 0.3, 0.0)])
    mouth = holes([(0.0, 300e-6, 0, OUTSIDE)], 0.6)
    found = moments(bottle, mouth, [0.003], lambda time: 0.05, lambda now: now.time_s > 30.0)
    assert found[-1].water_m3[0] == pytest.approx(0.003, rel=1e-5)
    assert found[-1].gauge_pa[0] == pytest.approx(-1000.0 * G * 0.25, rel=1e-4)


def test_water_below_the_lowest_hole_stays() -> None:
    """A hole in the wall, its lower edge 46 mm up (radius 4 mm at 50 mm): so much water is left in the end."""
    tank = basins([(0.1, 0.1, 0.5, 0.0)])
    out = holes([(0.05, math.pi * 0.004**2, 0, OUTSIDE), VENT], 0.6, normal=(0.0, 1.0, 0.0))
    found = moments(tank, out, [0.002], lambda time: -1.0, lambda now: now.time_s > 5000.0, most=6000)
    left = found[-1].water_m3[0] / 0.01
    assert 0.046 <= left < 0.0464

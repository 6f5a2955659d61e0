"""Flow through a round hole against closed forms, an independent quadrature, and published or computed cases."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from dabchick.physics.balance import ATMOSPHERE_PA, GRAVITY_M_S2
from dabchick.physics.orifice import AIR_KG_M3, air_to_water_speed, speed, through

G = GRAVITY_M_S2
AREA, HALF = 1e-4, math.sqrt(1e-4 / math.pi)


def test_submerged_is_torricelli_on_the_difference_of_levels_both_ways() -> None:
    """Closed form: Q = Cd A sqrt(2 g dh), whatever the depth."""
    wanted = 0.6 * AREA * math.sqrt(2.0 * G * 0.03)
    assert through(0.13, 0.10, AREA, HALF, cd=0.6) == pytest.approx((wanted, 0.0), rel=1e-6)
    assert through(0.10, 0.13, AREA, HALF, cd=0.6) == pytest.approx((-wanted, 0.0), rel=1e-6)


def test_free_jet_of_a_standing_round_hole() -> None:
    """Closed form by series: the mean root of the head over a disc of radius r is sqrt(h) (1 - r^2 / (32 h^2) - ...).

    Integral of sqrt(1 + (r/h) s) over a disc, second and fourth moments 1/4 and 1/8: terms -1/32 and -5/1024.
    """
    head = 0.02
    ratio = HALF / head
    series = 1.0 - ratio**2 / 32.0 - 5.0 / 1024.0 * ratio**4
    wanted = 0.62 * AREA * math.sqrt(2.0 * G * head) * series
    assert through(head, -1.0, AREA, HALF, cd=0.62)[0] == pytest.approx(wanted, rel=1e-5)


@pytest.mark.parametrize(
    ("level", "close"), [(-0.9, 1e-2), (-0.3, 5e-4), (0.0, 5e-4), (0.4, 5e-4), (0.99, 5e-4)]
)
def test_weir_start_against_quadrature(level: float, close: float) -> None:
    """The level stands in the hole and the other side is air: an independent adaptive quadrature of sqrt(2 g depth).

    The lowest is half a millimetre deep, where the smoothing of a fifth of a pascal begins to tell.
    """
    top = level * HALF

    def strip(z: float) -> float:
        return 2.0 * math.sqrt(HALF**2 - z**2) * math.sqrt(2.0 * G * (top - z))

    wanted = 0.6 * quad(strip, -HALF, top, epsabs=0.0, epsrel=1e-10, limit=200)[0]
    water, air = through(top, -1.0, AREA, HALF, cd=0.6)
    assert water == pytest.approx(wanted, rel=close)
    assert air == pytest.approx(0.0, abs=1e-12)


def test_air_goes_in_over_water_going_out() -> None:
    """A closed bottle: where water pressure less suction is below the air's, air enters, elsewhere water leaves.

    Independent quadrature of both parts of the hole.
    """
    suction = -1000.0 * G * 0.3 * HALF
    neutral = 0.5 * HALF + suction / (1000.0 * G)

    def water(z: float) -> float:
        over = suction + 1000.0 * G * max(0.5 * HALF - z, 0.0)
        return 2.0 * math.sqrt(HALF**2 - z**2) * math.sqrt(2.0 * max(over, 0.0) / 1000.0)

    def air(z: float) -> float:
        over = suction + 1000.0 * G * max(0.5 * HALF - z, 0.0)
        return 2.0 * math.sqrt(HALF**2 - z**2) * math.sqrt(2.0 * max(-over, 0.0) / AIR_KG_M3)

    out, into = through(0.5 * HALF, -1.0, AREA, HALF, gauge_a_pa=suction, cd=0.6)
    assert out == pytest.approx(0.6 * quad(water, -HALF, neutral, limit=200)[0], rel=1e-3)
    wanted = sum(quad(air, *ends, limit=200)[0] for ends in ((neutral, 0.5 * HALF), (0.5 * HALF, HALF)))
    assert into == pytest.approx(-0.6 * wanted, rel=1e-3)


def test_air_against_water() -> None:
    """hyd.vent.ratio 28.79, gas.vent.speed.0p2m 57.03 m/s, computed for densities of 998.2 and 1.2041."""
    assert air_to_water_speed(998.2, 1.2041) == pytest.approx(28.79, rel=1e-3)
    assert speed(998.2 * G * 0.2, 1.2041, 0.2) == pytest.approx(57.03, rel=1e-3)


def test_pressure_alone_drives_air() -> None:
    """Closed form: Cd A sqrt(2 p / rho), counted at one atmosphere."""
    wanted = 0.6 * AREA * math.sqrt(2.0 * 50.0 / AIR_KG_M3) * (ATMOSPHERE_PA + 50.0) / ATMOSPHERE_PA
    assert through(-1.0, -1.0, AREA, HALF, gauge_a_pa=50.0, cd=0.6) == pytest.approx((0.0, wanted), rel=1e-5)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="area"):
        through(0.1, 0.0, 0.0, HALF)
    with pytest.raises(ValueError, match="finite"):
        through(np.nan, 0.0, AREA, HALF)

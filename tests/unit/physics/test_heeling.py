"""Rest, swing and the greatest moment borne, against closed forms and a search that knows nothing of arms."""

import math

import numpy as np
import pytest
import shapely
import shapely.affinity
from scipy.optimize import brentq, minimize

from dabchick.physics import shapes
from dabchick.physics.heeling import (
    PORT,
    STARBOARD,
    RightingCurve,
    most_borne,
    rest_under,
    righting_curve,
    swing_under,
)
from tests.reference.values import read
from tests.support.rest import boat

BEAM, DEPTH, LONG = 0.2, 0.15, 1.2


def hanging(g_below_b_m: float) -> RightingCurve:
    """A box wholly under, held against its lift."""
    held = boat([shapes.box(0.5, 0.1, 0.1)], 4.0, (0.0, 0.0, -g_below_b_m))
    return righting_curve(held, 0.0, 0.0, hanging=True)


def box(kg_m: float = 0.03, mass_kg: float = 18.0, aside_m: float = 0.0) -> RightingCurve:
    """Half immersed: BM = B^2 / (12 T) and KB = T / 2, T = 75 mm; her middle is the origin."""
    afloat = boat([shapes.box(LONG, BEAM, DEPTH)], mass_kg, (0.0, aside_m, kg_m - 0.5 * DEPTH))
    return righting_curve(afloat, 0.0, 0.0, hanging=False)


@pytest.mark.parametrize("way", [STARBOARD, PORT])
def test_hanging_by_the_pendulum(way: int) -> None:
    """Closed form: M g BG sin(phi) = Q; the most is M g BG, at a right angle."""
    curve = hanging(0.008)
    assert rest_under(curve, lambda heel: way * 0.003) == pytest.approx(
        way * math.degrees(math.asin(3.0 / 8.0)), abs=1e-8
    )
    most = most_borne(curve, lambda heel: way * 0.003, way)
    assert most.factor == pytest.approx(8.0 / 3.0, rel=1e-10)
    assert most.heel_deg == pytest.approx(way * 90.0, abs=1e-2)
    assert math.isnan(rest_under(curve, lambda heel: way * 0.00801))
    assert math.isnan(curve.lost_deg(way))


def test_published_roll_by_torque() -> None:
    """Published: the sources' zG, weight and torque give the roll of 5.3 degrees, to port for a negative torque."""
    row = read("roll_by_torque")["vehicle"]
    curve = hanging(row["g_below_b_m"])
    found = rest_under(curve, lambda heel: -row["torque_n_m"] / row["weight_n"])
    assert found == pytest.approx(row["roll_deg"], abs=0.05)


def test_round_log_by_gm() -> None:
    """Closed form: a round log's arm is GM sin(phi), GM being how far G lies under its axis."""
    afloat = boat([shapes.cylinder(1.0, 0.1)], 4.5, (0.0, 0.0, -0.012))
    curve = righting_curve(afloat, 0.0, 0.0, hanging=False)
    assert rest_under(curve, lambda heel: 0.007) == pytest.approx(
        math.degrees(math.asin(7.0 / 12.0)), abs=1e-7
    )
    assert most_borne(curve, lambda heel: 0.001, STARBOARD).factor == pytest.approx(12.0, rel=1e-8)


def test_box_by_the_wall_sided_formula() -> None:
    """Closed form: sin(phi) (GM + BM tan(phi)^2 / 2) = lever, up to the deck edge (36.9 degrees)."""
    draught = 0.075
    metacentric = BEAM**2 / (12.0 * draught)
    gm = 0.5 * draught + metacentric - 0.03

    def arm(angle: float) -> float:
        return math.sin(angle) * (gm + 0.5 * metacentric * math.tan(angle) ** 2)

    lever = 0.02
    expected = math.degrees(brentq(lambda angle: arm(angle) - lever, 0.0, 0.6))
    assert expected < 36.0
    assert rest_under(box(), lambda heel: lever) == pytest.approx(expected, abs=1e-7)


@pytest.mark.parametrize("share", [0.2, 0.5, 0.7])
def test_swing_by_equal_areas(share: float) -> None:
    """Closed form: BG (1 - cos(phi)) = lever x phi, from rest upright; 0.7246 of BG lays her over."""
    curve = hanging(0.008)
    lever = share * 0.008
    expected = brentq(lambda angle: (1.0 - math.cos(angle)) - share * angle, 0.05, 2.3311)
    assert swing_under(curve, lambda heel: lever, 0.0) == pytest.approx(math.degrees(expected), abs=1e-4)
    assert swing_under(curve, lambda heel: -lever, 0.0) == pytest.approx(-math.degrees(expected), abs=1e-4)


def test_a_swing_that_goes_over() -> None:
    """Closed form: she goes over when BG (1 - cos) never catches lever x phi before arm = lever again.

    The two meet and touch where sin(phi) = lever and 1 - cos(phi) = lever x phi: lever/BG = 0.724611, at 133.6 degrees.
    """
    touch = brentq(lambda angle: 1.0 - math.cos(angle) - angle * math.sin(angle), 1.6, 3.0)
    least = math.sin(touch)
    curve = hanging(0.008)
    assert swing_under(curve, lambda heel: 0.998 * least * 0.008, 0.0) < math.degrees(touch)
    assert math.isnan(swing_under(curve, lambda heel: 1.002 * least * 0.008, 0.0))


def test_a_gust_from_a_steady_heel() -> None:
    """Closed form: from phi0 = asin(l0/BG), BG (cos(phi0) - cos(phi)) = l1 (phi - phi0)."""
    curve = hanging(0.008)
    start = math.asin(0.25)
    expected = brentq(
        lambda angle: math.cos(start) - math.cos(angle) - 0.5 * (angle - start), start + 0.2, 1.9
    )
    from_deg = rest_under(curve, lambda heel: 0.002)
    assert swing_under(curve, lambda heel: 0.004, from_deg) == pytest.approx(math.degrees(expected), abs=1e-4)


def test_a_weight_moved_across_a_hanging_boat_never_lays_her_over() -> None:
    """Closed form: tan(phi) = m y / (M BG), and at no multiple does phi pass a right angle."""
    curve = hanging(0.008)

    def lever(heel: float) -> float:
        return 0.004 * math.cos(math.radians(heel))

    assert rest_under(curve, lever) == pytest.approx(math.degrees(math.atan(0.5)), abs=1e-8)
    assert most_borne(curve, lever, STARBOARD).factor == math.inf


def energy(pose: np.ndarray, kg_m: float, aside_m: float, moment: float) -> float:
    """Of a box 1 m long, per unit of gravity, less moment x heel: polygons only, no arms and no stiffness."""
    heel, sunk = pose
    # seen from astern, port to the left: a heel to starboard turns her clockwise
    outline = shapely.box(-0.5 * BEAM, -0.5 * DEPTH, 0.5 * BEAM, 0.5 * DEPTH)
    turned = shapely.affinity.rotate(outline, -heel, origin=(0.0, 0.0), use_radians=True)
    placed = shapely.affinity.translate(turned, 0.0, sunk)
    wet = placed.intersection(shapely.box(-1.0, -2.0, 1.0, 0.0))
    mass = 18.0 / LONG
    cos, sin = math.cos(heel), math.sin(heel)
    right, up = -aside_m, kg_m - 0.5 * DEPTH
    height = up * cos - right * sin + sunk
    return mass * height - 1000.0 * wet.area * wet.centroid.y - moment * heel


@pytest.mark.parametrize("moment", [0.15, -0.15, 0.45])
@pytest.mark.parametrize("aside", [0.0, 0.004])
def test_against_a_search_for_least_energy(moment: float, aside: float) -> None:
    """Independent route: scipy's simplex goes down energy less moment x angle of a polygon in still water."""
    found = minimize(
        energy, np.array([0.0, 0.0]), args=(0.03, aside, moment), method="Nelder-Mead",
        options={"xatol": 1e-10, "fatol": 1e-15, "maxiter": 4000},
    )  # fmt: skip
    listing = box(aside_m=aside)
    rest = float(np.interp(0.0, listing.arms_m[80:101], listing.heels_deg[80:101]))
    curve = righting_curve(listing.balance, rest, 0.0, hanging=False)
    lever = moment / (18.0 / LONG)
    assert rest_under(curve, lambda heel: lever) == pytest.approx(math.degrees(found.x[0]), abs=2e-5)


def test_the_greatest_is_the_top_of_the_curve_and_the_arm_is_lost_where_it_is_zero() -> None:
    curve = box()
    most = most_borne(curve, lambda heel: 1.0, STARBOARD)
    # a fine scan of the same boat: the top of the curve to the second order of a tenth of a degree
    fine = np.arange(30.0, 90.0, 0.1)
    arms = np.array([curve.arm_m(float(heel)) for heel in fine])
    assert most.factor == pytest.approx(float(arms.max()), rel=1e-5)
    assert most.factor >= float(arms.max())
    assert abs(most.heel_deg - fine[int(arms.argmax())]) < 0.1
    top_heavy = box(kg_m=0.1)
    lost = top_heavy.lost_deg(STARBOARD)
    assert top_heavy.arm_m(lost) == pytest.approx(0.0, abs=1e-10)
    assert top_heavy.arm_m(lost - 1.0) > 0.0 > top_heavy.arm_m(lost + 1.0)

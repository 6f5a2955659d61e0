"""A boat held at a depth with air that breathes: closed forms, finite differences, and a balance worked out apart."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from dabchick.physics import shapes
from dabchick.physics.balance import ATMOSPHERE_PA, GRAVITY_M_S2, Balance, TankWater
from dabchick.physics.equilibrium import find, up_vector
from dabchick.physics.hung import followed, hang, hang_into, rests
from tests.support.rest import UP, boat

RHO = 1000.0
HEAD = ATMOSPHERE_PA / (RHO * GRAVITY_M_S2)
HULL = (0.8, 0.12, 0.12)
"""Length, width, height of a box; the point it is held by is its middle, the origin."""
VOLUME = HULL[0] * HULL[1] * HULL[2]


def box_boat(room: tuple[float, float, float], at: tuple[float, float, float], free_m3: float, mass: float = 11.3,
             centre: tuple[float, float, float] = (0.0, 0.0, -0.02)) -> Balance:  # fmt: skip
    """A box with a box tank, length, width and height, open at the bottom, in it."""
    return boat(
        [shapes.box(*HULL)], mass, centre, RHO, [TankWater(shapes.box(*room).moved(at), 0.0, free_m3)]
    )


def level_air(free_m3: float, area: float, roof: float, depth: float) -> float:
    """Closed form: air under a level roof at z = `roof`, the surface at z = `depth`, by Boyle's law.

    Its lower face lies V / A under the roof: (H + depth - roof + V / A) V = H V0, a quadratic.
    """
    b = HEAD + depth - roof
    return 0.5 * area * (-b + math.sqrt(b * b + 4.0 * HEAD * free_m3 / area))


@pytest.mark.parametrize("depth", [0.2, 1.0, 7.0, 40.0])
def test_lift_and_its_loss_of_a_level_box_tank(depth: float) -> None:
    """Closed form: dL/dz = -rho^2 g V0 p0 / (p0 + rho g z)^2, z the depth of the air's lower face, and
    dz / dD = 1 / (1 + |dV/dz| / A) since that face rises in the tank as she goes down."""
    area, free = 0.1 * 0.08, 0.0002
    held = box_boat((0.1, 0.08, 0.05), (0.0, 0.0, 0.03), free)
    found = hang(held, np.zeros(3), depth, UP)
    air = level_air(free, area, 0.055, depth)
    water = 0.1 * 0.08 * 0.05 - air
    assert found.lift_kg == pytest.approx(RHO * (VOLUME - water) - 11.3, abs=1e-10)
    z = depth - 0.055 + air / area
    pressure = ATMOSPHERE_PA + RHO * GRAVITY_M_S2 * z
    slope = RHO**2 * GRAVITY_M_S2 * free * ATMOSPHERE_PA / pressure**2
    assert found.loss_kg_m == pytest.approx(slope / (1.0 + slope / RHO / area), rel=1e-9)


def test_the_loss_is_the_lifts_own_slope_with_her_attitude_following() -> None:
    """Expected: central differences of the lift of rests found anew; the tank stands far forward and to one side, so
    that she turns as the air shrinks."""
    held = box_boat((0.12, 0.05, 0.06), (0.25, 0.02, 0.02), 0.00025, centre=(0.004, 0.001, -0.02))
    step = 1e-3
    found = hang(held, np.zeros(3), 2.0, UP)
    above, below = (hang(held, np.zeros(3), 2.0 + way * step, found.normal).lift_kg for way in (-1.0, 1.0))
    assert abs(found.trim_deg) > 3.0
    assert found.loss_kg_m == pytest.approx((above - below) / (2.0 * step), rel=1e-6)
    # held still instead, less is lost: following only ever adds
    assert found.loss_kg_m > RHO * found.rooms[0].softness_m2


def test_a_lift_of_its_own_that_changes_with_depth_is_counted() -> None:
    """Expected: the same as a real lift that falls by 20 g per metre at a place forward, by central differences."""
    place, rate, at = np.array([0.2, 0.0, 0.03]), -0.02, 1.5

    def lightened(depth: float) -> Balance:
        held = box_boat((0.12, 0.05, 0.06), (0.1, 0.0, 0.02), 0.00025)
        lift = 0.05 + rate * (depth - at)
        return held._replace(mass=held.mass - lift, moment=held.moment - lift * place)

    found = hang(lightened(at), np.zeros(3), at, UP)
    above, below = (
        hang(lightened(at + way * 1e-3), np.zeros(3), at + way * 1e-3, found.normal) for way in (-1, 1)
    )
    loss = followed(lightened(at), np.zeros(3), at, found.normal, rate, rate * place)
    assert loss == pytest.approx((above.lift_kg - below.lift_kg) / 2e-3, rel=1e-6)


def test_with_the_air_held_she_hangs_as_without_breathing() -> None:
    """The other way round: the attitude that the balance with held air finds, in which the air has that volume."""
    held = box_boat((0.2, 0.06, 0.05), (0.1, 0.01, 0.03), 0.0003)
    point = held.buoyant_centre
    found = hang(held, point, 1.0, UP)
    other = find(held, found.normal, hanging=True, depth_m=float(found.normal @ point) + 1.0)
    assert other.normal == pytest.approx(found.normal, abs=1e-8)


def turned_tank(
    room: tuple[float, float], at: tuple[float, float], trim: float, level: float
) -> tuple[float, float]:
    """Area of a rectangle's part over a level, and its first moment of height: points cut and summed by hand.

    Written apart from the project: clipping by Sutherland and Hodgman, area and centroid by the shoelace formula.
    """
    corners = [
        (sx * room[0] / 2 + at[0], sz * room[1] / 2 + at[1])
        for sx, sz in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    turned = [
        (x * math.cos(trim) - z * math.sin(trim), x * math.sin(trim) + z * math.cos(trim)) for x, z in corners
    ]
    kept = []
    for (x0, h0), (x1, h1) in zip(turned, turned[1:] + turned[:1], strict=True):
        if h0 >= level:
            kept.append((x0, h0))
        if (h0 >= level) != (h1 >= level):
            share = (level - h0) / (h1 - h0)
            kept.append((x0 + share * (x1 - x0), level))
    area = moment = 0.0
    for (x0, h0), (x1, h1) in zip(kept, kept[1:] + kept[:1], strict=True):
        cross = x0 * h1 - x1 * h0
        area += 0.5 * cross
        moment += cross * (h0 + h1) / 6.0
    return area, moment


def energy(trim: float, room: tuple[float, float, float], at: tuple[float, float], free: float, mass: float,
           centre: tuple[float, float], depth: float) -> float:  # fmt: skip
    """Energy over g of the box boat held by her middle: weights, and the air as springs and floats.

    The whole tank counts as water with the air taken out of it again; all heights over the middle of the box.
    """
    width = room[1]

    def excess(level: float) -> float:
        area, _ = turned_tank((room[0], room[2]), at, trim, level)
        return (HEAD + depth - level) * area * width - HEAD * free

    reach = math.hypot(room[0], room[2])
    middle = at[0] * math.sin(trim) + at[1] * math.cos(trim)
    level = float(brentq(excess, middle - reach, middle + reach, xtol=1e-15, rtol=1e-15))
    area, moment = turned_tank((room[0], room[2]), at, trim, level)
    volume = area * width
    weight = mass * (centre[0] * math.sin(trim) + centre[1] * math.cos(trim))
    water = RHO * room[0] * room[1] * room[2] * middle - RHO * moment * width
    air = RHO * (HEAD * volume - HEAD * free * math.log(volume)) + RHO * depth * volume
    return weight + water + air


def test_trim_against_an_energy_worked_out_apart() -> None:
    """Independent route: the least of an energy written here, by golden section; the weight lies off the middle."""
    room, at, free, mass, centre, depth = (0.2, 0.06, 0.05), (0.12, 0.03), 0.0003, 11.3, (0.006, -0.02), 1.7
    held = box_boat(room, (at[0], 0.0, at[1]), free, mass, (centre[0], 0.0, centre[1]))
    found = hang(held, np.zeros(3), depth, UP)
    best = minimize_scalar(
        lambda trim: energy(trim, room, at, free, mass, centre, depth), bounds=(-0.6, 0.9), method="bounded",
        options={"xatol": 1e-12},
    )  # fmt: skip
    assert abs(found.trim_deg) > 2.0
    assert found.trim_deg == pytest.approx(math.degrees(best.x), abs=2e-5)
    # its bend there is the stiffness in pitch, and so GM along, with the bubble let move and breathe
    low, at_rest, high = (
        energy(math.radians(found.trim_deg) + way, room, at, free, mass, centre, depth)
        for way in (-2e-3, 0.0, 2e-3)
    )
    assert found.stiffness_kg_m[0, 0] == pytest.approx((low - 2.0 * at_rest + high) / 4e-6, rel=1e-4)


def valleys(centre: tuple[float, float], depth: float) -> list[float]:
    """Trims at which the energy written here has a valley, scanned by hand every tenth of a degree."""
    trims = np.radians(np.arange(-60.0, 60.05, 0.1))
    heights = np.array([energy(trim, FLAT, FLAT_AT, FLAT_AIR, 11.3, centre, depth) for trim in trims])
    return list(np.degrees(trims[1:-1][(heights[1:-1] < heights[:-2]) & (heights[1:-1] < heights[2:])]))


FLAT, FLAT_AT, FLAT_AIR = (0.6, 0.08, 0.02), (0.0, 0.03), 0.0002
"""A long flat tank under the deck, a third of it air."""


def flat_boat(centre: tuple[float, float]) -> Balance:
    return box_boat(FLAT, (FLAT_AT[0], 0.0, FLAT_AT[1]), FLAT_AIR, 11.3, (centre[0], 0.0, centre[1]))


@pytest.mark.parametrize(
    ("centre", "depth", "count"),
    [((0.001, -0.012), 0.8, 2), ((0.002, -0.02), 2.0, 2), ((0.002, -0.02), 3.0, 1)],
)
def test_the_ways_to_hang_with_a_bubble_in_a_long_flat_tank(
    centre: tuple[float, float], depth: float, count: int
) -> None:
    """A hand scan of the energy over trim. With the weight 2 mm forward the bubble, which shrinks, holds her bow up at
    2 m and can no longer at 3 m."""
    expected = valleys(centre, depth)
    found = rests(flat_boat(centre), np.zeros(3), depth)
    assert len(expected) == count
    assert [rest.trim_deg for rest in found] == pytest.approx(expected, abs=0.06)
    # the bubble has run to whichever end is up
    for rest in found:
        assert -float(rest.rooms[0].water_moment_m4[0]) * rest.trim_deg > 0.0


def test_a_start_on_the_ridge_goes_down_with_the_bow_up() -> None:
    held = box_boat((0.6, 0.08, 0.02), (0.0, 0.0, 0.03), 0.0002, centre=(0.0, 0.0, -0.004))
    assert hang(held, np.zeros(3), 0.8, UP).trim_deg > 5.0


def test_more_air_than_the_room_takes_runs_out_below() -> None:
    held = box_boat((0.1, 0.08, 0.05), (0.0, 0.0, 0.03), 0.002)
    found = hang(held, np.zeros(3), 1.0, UP)
    assert found.rooms[0].water_m3 == 0.0
    assert found.loss_kg_m == 0.0
    assert found.lift_kg == pytest.approx(RHO * VOLUME - 11.3, rel=1e-12)


@pytest.mark.parametrize(("start", "depth"), [((0.0, 0.0, 0.0), 1.0), ((0.0, 0.0, 1.0), math.nan)])
def test_a_start_or_depth_that_is_none_is_refused(start: tuple[float, float, float], depth: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        hang(box_boat((0.1, 0.08, 0.05), (0.0, 0.0, 0.03), 0.0002), np.zeros(3), depth, np.array(start))


def test_trim_held_leaves_the_trim_alone() -> None:
    held = box_boat((0.1, 0.08, 0.05), (0.1, 0.0, 0.03), 0.0002)
    normal = up_vector(20.0, 9.0)
    hang_into(held, normal, np.zeros(3), 1.0, True)
    assert math.degrees(math.asin(normal[0])) == pytest.approx(9.0, abs=1e-9)
    assert normal[1] == pytest.approx(0.0, abs=1e-8)

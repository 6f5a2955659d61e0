"""Truths about every equilibrium of any boat: it balances, and it is the minimum it says it is."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from dabchick.physics import shapes
from dabchick.physics.balance import Balance, TankWater, evaluate
from dabchick.physics.cut import CUT_SIZE, cut
from dabchick.physics.equilibrium import Equilibrium, all_equilibria, find, sinks, up_vector
from dabchick.physics.liquid import level
from dabchick.physics.righting import arm_curve
from dabchick.physics.solid import Solid
from tests.support.random_boats import RandomBoat, boats, numbers, shares, steady, vectors
from tests.support.rest import level_offset

Array = NDArray[np.float64]

starts = st.tuples(numbers(-180.0, 180.0), numbers(-85.0, 85.0)).map(lambda angles: up_vector(*angles))


def energy_and_slope(
    afloat: Balance, normal: Array, offset: float, hanging: bool = False
) -> tuple[float, Array, Array]:
    gradient, hessian = np.empty(4), np.empty((4, 4))
    energy = evaluate(afloat, normal, offset, hanging, gradient, hessian, np.empty(CUT_SIZE))
    return float(energy), gradient, hessian


def loads(boat: RandomBoat, rest: Equilibrium) -> tuple[float, Array, float]:
    """Unbalanced force [kg] and moment (3,) [kg m], from cuts of each solid and tank alone; and the mass."""
    mass, moment = boat.mass, boat.mass * boat.centre
    for tank in boat.tanks:
        trees = RandomBoat((tank.solid,), 1.0, np.zeros(3), 1.0).balance().forest
        _, water = level(trees, rest.normal, tank.volume_m3)
        mass += boat.density * water.volume
        moment = moment + boat.density * water.moment
    lifted, lift_moment = 0.0, np.zeros(3)
    for solid in boat.solids:
        trees = RandomBoat((solid,), 1.0, np.zeros(3), 1.0).balance().forest
        part = cut(trees, rest.normal, rest.offset_m)
        lifted += boat.density * part.volume
        lift_moment += boat.density * part.moment
    return lifted - mass, np.cross(lift_moment - moment, rest.normal), mass


@steady
@given(boats(), starts)
def test_what_is_found_balances_within_its_stated_residual(boat: RandomBoat, start: Array) -> None:
    """Force and moment from cuts of each solid by itself: the residual that is stated is the one there is."""
    afloat = boat.balance()
    assume(not sinks(afloat))
    rest = find(afloat, start)
    assert rest.force_residual < 1e-9
    assert rest.moment_residual < 1e-9
    force, moment, mass = loads(boat, rest)
    assert mass == pytest.approx(rest.mass_kg, rel=1e-9)
    assert abs(force) / mass == pytest.approx(rest.force_residual, abs=1e-11)
    assert np.linalg.norm(moment) / (2.0 * afloat.radius * mass) == pytest.approx(
        rest.moment_residual, abs=1e-11
    )


@settings(steady, max_examples=15)
@given(boats(most=3))
def test_all_rests_balance_and_are_of_the_kind_they_say(boat: RandomBoat) -> None:
    """A stable one is a minimum; any other has as many ways down as it says, by real pushes in three ways."""
    afloat = boat.balance()
    assume(not sinks(afloat))
    everything = all_equilibria(afloat, starts=60)
    assert any(rest.stable or rest.neutral for rest in everything.found)
    for rest in everything.found:
        force, moment, mass = loads(boat, rest)
        assert abs(force) < 1e-6 * mass
        assert np.linalg.norm(moment) < 2e-8 * mass * afloat.radius
        along, between, across = (
            pushed(afloat, rest, angle, 1e-5) for angle in (0.0, 0.25 * math.pi, 0.5 * math.pi)
        )
        twist = between - 0.5 * (along + across)
        ways = np.linalg.eigvalsh([[along, twist], [twist, across]])
        if np.min(np.abs(ways)) > 1e-4:
            assert int(np.sum(ways < 0.0)) == rest.falling_ways
            assert rest.stable == (rest.falling_ways == 0)
            both = (rest.gm_transverse_m + rest.gm_longitudinal_m) / afloat.radius
            assert float(np.sum(ways)) == pytest.approx(both, rel=0.02, abs=2e-4)
    if everything.complete:
        assert sum((-1) ** rest.falling_ways for rest in everything.found) == 2


def pushed(afloat: Balance, rest: Equilibrium, direction: float, angle: float) -> float:
    """Rise of energy over (mass x radius x angle^2 / 2) after a small turn, immersion let free."""
    side = np.cross(rest.normal, [0.3, -0.5, 0.8])
    side /= np.linalg.norm(side)
    tangent = math.cos(direction) * side + math.sin(direction) * np.cross(rest.normal, side)
    normal = math.cos(angle) * rest.normal + math.sin(angle) * tangent
    _, slope, curve = energy_and_slope(afloat, rest.normal, rest.offset_m)
    offset = rest.offset_m - float(curve[3, :3] @ (normal - rest.normal)) / curve[3, 3]
    # the integral of the slope along the way, which keeps digits that a difference of energies would lose
    rise, steps = 0.0, 8
    for share in (np.arange(steps) + 0.5) / steps:
        here = math.cos(share * angle) * rest.normal + math.sin(share * angle) * tangent
        along = -math.sin(share * angle) * rest.normal + math.cos(share * angle) * tangent
        _, slope, _ = energy_and_slope(afloat, here, rest.offset_m + share * (offset - rest.offset_m))
        rise += (float(slope[:3] @ along) * angle + float(slope[3]) * (offset - rest.offset_m)) / steps
    return 2.0 * rise / (rest.mass_kg * afloat.radius * angle**2)


@steady
@given(boats(), starts, st.integers(0, 2**32 - 1))
def test_stable_rest_is_the_lowest_place_around(boat: RandomBoat, start: Array, seed: int) -> None:
    """Random pushes in immersion and attitude together, far bigger than rounding, always cost energy."""
    afloat = boat.balance()
    assume(not sinks(afloat))
    rest = find(afloat, start)
    assume(
        rest.stable and min(rest.gm_transverse_m, rest.gm_longitudinal_m) > 1e-3 and rest.waterplane_m2 > 1e-3
    )
    chance = np.random.default_rng(seed)
    for _ in range(20):
        normal = rest.normal + 3e-4 * chance.uniform(-1.0, 1.0, 3)
        normal /= np.linalg.norm(normal)
        offset = rest.offset_m + 1e-4 * chance.uniform(-1.0, 1.0) * afloat.radius
        assert energy_and_slope(afloat, normal, offset)[0] > rest.energy_kg_m - 1e-14 * boat.mass
    assert rest.energy_kg_m == pytest.approx(
        energy_and_slope(afloat, rest.normal, rest.offset_m)[0], abs=1e-15
    )


@steady
@given(boats(), starts, numbers(-0.08, 0.08), shares)
def test_slope_and_curvature_are_those_of_the_energy(
    boat: RandomBoat, normal: Array, offset: float, air_share: float
) -> None:
    """Central differences in attitude and depth; an open-bottomed tank with air included."""
    room = shapes.box(0.12, 0.05, 0.06).moved((0.03, 0.0, -0.02))
    open_tank = TankWater(room, 0.0, air_share * room.volume)
    afloat = RandomBoat(
        (*boat.solids, room), boat.mass, boat.centre, boat.density, (*boat.tanks, open_tank)
    ).balance()
    depth = float(normal @ boat.centre) + offset
    _, slope, curve = energy_and_slope(afloat, normal, depth)
    assert curve == pytest.approx(curve.T, abs=1e-12)
    small = 1e-6
    for turn in _frame(normal)[:2]:
        ahead, behind = (math.cos(small) * normal + sign * math.sin(small) * turn for sign in (1.0, -1.0))
        poses = ((ahead, depth), (normal, depth), (behind, depth))
        compare(afloat, poses, float(slope[:3] @ turn), curve[:, :3] @ turn)
    poses = ((normal, depth + small), (normal, depth), (normal, depth - small))
    compare(afloat, poses, float(slope[3]), curve[:, 3])


Pose = tuple[Array, float]


def compare(afloat: Balance, poses: tuple[Pose, Pose, Pose], slope: float, curvature: Array) -> None:
    """Differences between the poses ahead, here and behind, 1e-6 apart, against slope and curvature.

    Curvature jumps where a flat face meets the surface exactly; one-sided differences that disagree show it.
    """
    small = 1e-6
    (e1, g1, _), (_, g, _), (e0, g0, _) = (energy_and_slope(afloat, *pose) for pose in poses)
    size = 1.0 + float(np.abs(curvature).max())
    assume(float(np.abs((g1 - g) - (g - g0)).max()) < 1e-4 * size * small)
    assert (e1 - e0) / (2.0 * small) == pytest.approx(slope, abs=1e-7)
    assert (g1 - g0) / (2.0 * small) == pytest.approx(curvature, abs=2e-4 * size)


def _frame(normal: Array) -> Array:
    side = np.cross(normal, [0.3, -0.5, 0.8])
    side /= np.linalg.norm(side)
    return np.array([side, np.cross(normal, side), normal])


@steady
@given(numbers(0.2, 4.0), numbers(0.01, 0.9), numbers(0.005, 0.05), numbers(-0.15, 0.15), vectors(0.05))
def test_dived_boat_pitches_by_the_mass_moved_along_the_keel(
    length: float, share: float, bg: float, move: float, place: Array
) -> None:
    """tan(angle) = m d / (M BG), with M and BG including m; bow down for a weight moved forward."""
    hull = shapes.capsule(length, 0.1 * length).moved(place)
    mass = 1000.0 * hull.volume * 1.002
    centre = hull.centre - np.array([0.0, 0.0, bg])
    moved = share * mass
    level_boat = RandomBoat((hull,), mass, centre, 1000.0)
    rest = find(level_boat.balance(), hanging=True)
    assert [rest.heel_deg, rest.trim_deg] == pytest.approx([0.0, 0.0], abs=1e-9)
    shifted = RandomBoat((hull,), mass, centre + np.array([move * moved / mass, 0.0, 0.0]), 1000.0)
    pitched = find(shifted.balance(), hanging=True)
    assert math.tan(math.radians(pitched.trim_deg)) == pytest.approx(
        -moved * move / (mass * bg), rel=1e-8, abs=1e-12
    )
    assert pitched.heel_deg == pytest.approx(0.0, abs=1e-8)
    rolled = RandomBoat((hull,), mass, centre + np.array([0.0, move * moved / mass, 0.0]), 1000.0)
    listed = find(rolled.balance(), hanging=True)
    assert math.tan(math.radians(listed.heel_deg)) == pytest.approx(
        -moved * move / (mass * bg), rel=1e-8, abs=1e-12
    )


@steady
@given(boats(), numbers(-20.0, 20.0))
def test_work_of_a_whole_turn_is_nothing(boat: RandomBoat, trim: float) -> None:
    """GZ is the slope of one energy, so over 360 degrees at a held trim it adds up to zero."""
    afloat = boat.balance()
    assume(not sinks(afloat))
    heels = np.arange(-180.0, 180.0, 1.0)
    arms = arm_curve(afloat, heels, free_trim=False, start_trim_deg=trim).arms_m
    assert abs(float(np.mean(arms))) < 2e-3 * float(np.max(np.abs(arms))) + 1e-12


@steady
@given(boats(), starts)
def test_energy_between_two_heels_is_the_area_under_the_arms(boat: RandomBoat, start: Array) -> None:
    """Free trim too: no work is done by trim, since its moment is nil all the way."""
    afloat = boat.balance()
    assume(not sinks(afloat))
    rest = find(afloat, start)
    assume(rest.stable and abs(rest.trim_deg) < 60.0)
    heels = rest.heel_deg + np.linspace(0.0, 6.0, 241)
    curve = arm_curve(afloat, heels, start_trim_deg=rest.trim_deg)
    assume(curve.settled and float(np.max(np.abs(np.diff(curve.trims_deg)))) < 0.5)
    assert curve.arms_m[0] == pytest.approx(0.0, abs=1e-9)
    assert curve.trims_deg[0] == pytest.approx(rest.trim_deg, abs=1e-6)
    steps = np.diff(np.radians(heels))
    area = float(np.sum(0.5 * (curve.arms_m[1:] + curve.arms_m[:-1]) * steps))
    last = held(afloat, heels[-1], curve.trims_deg[-1])
    assert rest.mass_kg * area == pytest.approx(last - rest.energy_kg_m, rel=2e-3, abs=1e-9 * boat.mass)


def held(afloat: Balance, heel_deg: float, trim_deg: float) -> float:
    """Energy afloat at an attitude held."""
    normal = up_vector(heel_deg, trim_deg)
    return energy_and_slope(afloat, normal, level_offset(afloat, normal))[0]


@steady
@given(boats(tanks=False, afloat=False))
def test_sinkers_and_risers_are_told_apart(boat: RandomBoat) -> None:
    """She sinks exactly when heavier than all the water she can displace; find says so, not a guess."""
    heavier = boat.mass > boat.density * boat.volume * (1.0 + 1e-12)
    lighter = boat.mass < boat.density * boat.volume * (1.0 - 1e-12)
    assume(heavier or lighter)
    assert sinks(boat.balance()) == heavier
    if heavier:
        with pytest.raises(ValueError, match="She sinks"):
            find(boat.balance())


@steady
@given(numbers(0.01, 1.0), numbers(0.0, 30.0), starts)
def test_air_in_an_open_tank_is_squeezed_by_boyle_s_law(share: float, depth: float, normal: Array) -> None:
    """At depth the air left, times the pressure at its lower face, is what was shut in at the surface."""
    room = shapes.cylinder(0.2, 0.06)
    tank = TankWater(room, 0.0, share * room.volume)
    boat = RandomBoat((room,), 1e-9, np.zeros(3), 1000.0, (tank,))
    _, slope, _ = energy_and_slope(boat.balance(), normal, depth + 0.2)
    # dE/dd = rho V_room - m - water in the tank, so what is left over is the air
    air = (slope[3] + 1e-9) / 1000.0
    assume(air > 1e-12)
    trees = boat.balance().forest
    surface, _ = level(trees, normal, room.volume - air, 1, 2)
    head = 101325.0 / (1000.0 * 9.80665)
    assert (head + depth + 0.2 - surface) * air == pytest.approx(head * share * room.volume, rel=1e-8)


@pytest.mark.parametrize("volume", [1e-300, 1e-30, 1e-21, 1e-16, 1e-12])
@pytest.mark.parametrize(
    "tank", [shapes.cylinder(0.2, 0.05), shapes.sphere(0.06), shapes.box(0.1, 0.05, 0.03)]
)
def test_film_of_water_left_in_a_tank_changes_no_draught(tank: Solid, volume: float) -> None:
    """From less than any molecule to a thousandth of a millilitre: she settles, and lies as with the tank dry."""
    hull, centre = shapes.capsule(0.6, 0.1), np.array([0.01, 0.0, -0.02])
    room = tank.moved((0.05, 0.0, 0.0))
    mass = 700.0 * hull.volume
    start = up_vector(20.0, 3.0)
    dry = find(RandomBoat((hull,), mass, centre, 1000.0).balance(), start)
    film = find(RandomBoat((hull,), mass, centre, 1000.0, (TankWater(room, volume),)).balance(), start)
    assert film.offset_m == pytest.approx(dry.offset_m, abs=1e-6)
    assert film.normal == pytest.approx(dry.normal, abs=1e-6)

"""Turning, moving, mirroring or scaling the frame, or reordering the parts, changes nothing physical."""

from random import Random

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from dabchick.physics import inertia, shapes
from dabchick.physics.balance import TankWater, balance
from dabchick.physics.cut import lowest
from dabchick.physics.equilibrium import Equilibrium, find, sinks, up_vector
from dabchick.physics.solid import Solid, together
from tests.support.random_boats import RandomBoat, boats, numbers, rotations, steady, vectors

Array = NDArray[np.float64]


def settled(boat: RandomBoat, start: Array) -> Equilibrium:
    """A firm equilibrium: one whose stiffness is not nearly gone, so that rounding cannot move it far."""
    afloat = boat.balance()
    assume(not sinks(afloat))
    rest = find(afloat, start)
    assume(rest.stable)
    firm = rest.gm_transverse_m * rest.gm_longitudinal_m
    assume(firm > 1e-6 and min(rest.gm_transverse_m, rest.gm_longitudinal_m) > 5e-4)
    return rest


def lowest_point(boat: RandomBoat, normal: Array) -> float:
    """Lowest n.x of all that displaces: the keel she has at this attitude."""
    afloat = boat.balance()
    return float(lowest(afloat.forest, 0, afloat.last_displacer, *(float(part) for part in normal)))


starts = st.tuples(numbers(-180.0, 180.0), numbers(-80.0, 80.0)).map(lambda angles: up_vector(*angles))


@steady
@given(boats(), starts, vectors(3.0), rotations(), st.booleans())
def test_moved_turned_or_mirrored_frame(
    boat: RandomBoat, start: Array, shift: Array, turn: Array, mirror: bool
) -> None:
    """Attitude turns with the frame; draught, displacement, energy and the sum of both GM stay."""
    rotation = turn @ np.diag([1.0, -1.0, 1.0]) if mirror else turn
    rest = settled(boat, start)
    other = boat.moved(shift, rotation)
    again = find(other.balance(), rotation @ rest.normal)
    assert again.normal == pytest.approx(rotation @ rest.normal, abs=1e-7)
    assert again.displaced_m3 == pytest.approx(rest.displaced_m3, rel=1e-9)
    assert again.mass_kg == pytest.approx(rest.mass_kg, rel=1e-12)
    draught = rest.offset_m - lowest_point(boat, rest.normal)
    draught_again = again.offset_m - lowest_point(other, again.normal)
    assert draught_again == pytest.approx(draught, abs=1e-7)
    both = rest.gm_transverse_m + rest.gm_longitudinal_m
    assert again.gm_transverse_m + again.gm_longitudinal_m == pytest.approx(both, rel=1e-5, abs=1e-7)
    assert again.energy_kg_m == pytest.approx(rest.energy_kg_m, abs=1e-9 * boat.mass)
    assert again.centre_of_buoyancy_m == pytest.approx(rotation @ rest.centre_of_buoyancy_m + shift, abs=1e-7)


@steady
@given(boats(), starts)
def test_mirrored_boat_heels_the_other_way_with_the_same_gm(boat: RandomBoat, start: Array) -> None:
    rest = settled(boat, start)
    mirror = np.diag([1.0, -1.0, 1.0])
    again = find(boat.moved(np.zeros(3), mirror).balance(), mirror @ rest.normal)
    assert again.heel_deg == pytest.approx(-rest.heel_deg, abs=1e-5)
    assert again.trim_deg == pytest.approx(rest.trim_deg, abs=1e-5)
    assert again.gm_transverse_m == pytest.approx(rest.gm_transverse_m, rel=1e-5, abs=1e-7)
    assert again.gm_longitudinal_m == pytest.approx(rest.gm_longitudinal_m, rel=1e-5, abs=1e-7)


@steady
@given(boats(afloat=False), starts, vectors(3.0), rotations())
def test_hang_angle_turns_with_the_frame(boat: RandomBoat, start: Array, shift: Array, turn: Array) -> None:
    """Wholly under and held, she hangs with the same face up whatever the frame."""
    rest = find(boat.balance(), start, hanging=True)
    assume(rest.stable and rest.gm_transverse_m > 5e-4 and rest.gm_longitudinal_m > 5e-4)
    again = find(boat.moved(shift, turn).balance(), turn @ rest.normal, hanging=True)
    assert again.normal == pytest.approx(turn @ rest.normal, abs=1e-7)
    both = rest.gm_transverse_m + rest.gm_longitudinal_m
    assert again.gm_transverse_m + again.gm_longitudinal_m == pytest.approx(both, rel=1e-6)


@steady
@given(boats(most=4), starts, st.permutations(range(4)))
def test_parts_in_any_order(boat: RandomBoat, start: Array, order: list[int]) -> None:
    rest = settled(boat, start)
    count = len(boat.solids)
    shuffled = tuple(boat.solids[index] for index in order if index < count)
    again = find(balance(shuffled, boat.mass, boat.centre, boat.density, boat.tanks[::-1]), rest.normal)
    assert again.normal == pytest.approx(rest.normal, abs=1e-9)
    assert again.offset_m == pytest.approx(rest.offset_m, abs=1e-10)
    assert again.gm_transverse_m == pytest.approx(rest.gm_transverse_m, rel=1e-7, abs=1e-9)


@steady
@given(
    st.lists(st.tuples(numbers(0.001, 5.0), vectors(1.0), numbers(0.0, 0.1)), min_size=1, max_size=8),
    st.randoms(),
)
def test_masses_combine_in_any_order_and_by_any_grouping(
    parts: list[tuple[float, Array, float]], random: Random
) -> None:
    def total(rows: list[tuple[float, Array, Array]]) -> tuple[float, Array, Array]:
        masses, centres, tensors = zip(*rows, strict=True)
        return inertia.combine(masses, centres, tensors)

    rows = [(mass, centre, mass * spread**2 * np.diag([1.0, 2.0, 2.5])) for mass, centre, spread in parts]
    expected = total(rows)
    random.shuffle(rows)
    split = random.randint(0, len(rows) - 1)
    grouped = [total(rows[: split + 1]), *rows[split + 1 :]]
    for found in (total(rows), total(grouped)):
        assert found[0] == pytest.approx(expected[0], rel=1e-14)
        assert found[1] == pytest.approx(expected[1], abs=1e-13)
        assert found[2] == pytest.approx(expected[2], abs=1e-12)


@steady
@given(boats(), starts, numbers(0.2, 5.0))
def test_scaled_boat_lies_alike(boat: RandomBoat, start: Array, scale: float) -> None:
    """Lengths by k and masses by k^3: same attitude, offset and GM by k. Solids are scaled as fine meshes."""
    rest = settled(RandomBoat(_tessellated(boat, 1.0), boat.mass * 0.9, boat.centre, boat.density), start)
    bigger = RandomBoat(
        _tessellated(boat, scale), boat.mass * 0.9 * scale**3, scale * boat.centre, boat.density
    )
    again = find(bigger.balance(), rest.normal)
    assert again.normal == pytest.approx(rest.normal, abs=1e-7)
    assert again.offset_m == pytest.approx(scale * rest.offset_m, abs=1e-8 * scale)
    assert again.gm_transverse_m == pytest.approx(scale * rest.gm_transverse_m, rel=1e-5)


def _tessellated(boat: RandomBoat, scale: float) -> tuple[Solid, ...]:
    """The boat's solids as coarse meshes of another size."""

    def scaled(solid: Solid) -> Solid:
        meshes = solid.meshes(16)
        return together([shapes.mesh(scale * v, faces).weighted(weight) for v, faces, weight in meshes])

    return tuple(scaled(solid) for solid in boat.solids)


@steady
@given(boats(tanks=False), starts, numbers(0.001, 0.05))
def test_lowering_the_weight_along_up_adds_to_gm(boat: RandomBoat, start: Array, lower: float) -> None:
    """G moved by z straight down leaves the rest as it is and adds z to both GM."""
    rest = settled(boat, start)
    deeper = RandomBoat(boat.solids, boat.mass, boat.centre - lower * rest.normal, boat.density)
    again = find(deeper.balance(), rest.normal)
    assert again.normal == pytest.approx(rest.normal, abs=1e-8)
    assert again.offset_m == pytest.approx(rest.offset_m, abs=1e-9)
    assert again.gm_transverse_m == pytest.approx(rest.gm_transverse_m + lower, rel=1e-7)
    assert again.gm_longitudinal_m == pytest.approx(rest.gm_longitudinal_m + lower, rel=1e-7)


@steady
@given(boats(tanks=False), starts, numbers(0.02, 0.08))
def test_brim_full_tank_is_a_plain_weight(boat: RandomBoat, start: Array, width: float) -> None:
    """No free surface: a full tank weighs as solid water at its middle would."""
    room = shapes.box(0.1, width, 0.04).moved((0.02, 0.01, -0.01))
    water = boat.density * room.volume
    assume(boat.mass > 2.0 * water)
    dry = boat.mass - water
    with_tank = RandomBoat(boat.solids, dry, boat.centre, boat.density, (TankWater(room, room.volume),))
    whole = (dry * boat.centre + water * room.centre) / boat.mass
    rest = settled(RandomBoat(boat.solids, boat.mass, whole, boat.density), start)
    again = find(with_tank.balance(), rest.normal)
    assert again.normal == pytest.approx(rest.normal, abs=1e-8)
    assert again.gm_transverse_m == pytest.approx(rest.gm_transverse_m, rel=1e-6)

"""The room in a dry part: walls off, contents off once, exactly; against closed forms or manifold3d alone."""

import math
from dataclasses import replace

import manifold3d
import numpy as np
import pytest

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Item
from dabchick.physics import shapes
from dabchick.studies.leak_room import dry_rooms, inner_of, room_in
from tests.support.leaking import box_boat, thing, tube_boat
from tests.support.vessels import small_vessel


def test_walls_of_a_cylinder_a_capsule_a_ball_and_a_box_are_exact() -> None:
    """Closed forms: each size less two walls."""
    wall = 0.0025
    tube = inner_of(shapes.cylinder(0.49, 0.08).moved((0.3, 0.0, 0.05)), wall)
    assert tube is not None
    assert tube.volume == pytest.approx(0.25 * math.pi * 0.075**2 * 0.485, rel=1e-12)
    assert tube.centre == pytest.approx([0.3, 0.0, 0.05], abs=1e-12)
    pill = inner_of(shapes.capsule(0.3, 0.08), wall)
    assert pill is not None
    ball, straight = math.pi / 6.0 * 0.075**3, 0.25 * math.pi * 0.075**2 * 0.22
    assert pill.volume == pytest.approx(ball + straight, rel=1e-12)
    round_one = inner_of(shapes.sphere(0.1), wall)
    assert round_one is not None
    assert round_one.volume == pytest.approx(math.pi / 6.0 * 0.095**3, rel=1e-12)
    box = inner_of(shapes.box(0.3, 0.1, 0.08), wall)
    assert box is not None
    assert box.volume == pytest.approx(0.295 * 0.095 * 0.075, rel=1e-12)


def test_a_cone_goes_by_its_polyhedron() -> None:
    """A cone within walls is a smaller cone: its tip moves by t / sin(half angle), its base by t."""
    wall, length, wide = 0.002, 0.2, 0.1
    inner = inner_of(shapes.cone(length, wide), wall)
    assert inner is not None
    half = math.atan(0.5 * wide / length)
    left = length - wall - wall / math.sin(half)
    expected = math.pi / 3.0 * (left * math.tan(half)) ** 2 * left
    # 240 sides round it
    assert inner.volume == pytest.approx(expected, rel=3e-4)


@pytest.mark.parametrize("wall", [0.0, -0.001, float("nan"), 0.05, 0.2])
def test_walls_that_leave_nothing(wall: float) -> None:
    assert inner_of(shapes.cylinder(0.4, 0.08), wall) is None
    with pytest.raises(BoatError) as fault:
        dry_rooms(tube_boat(1.0, (0.2, 0.0, 0.03)), wall)
    assert fault.value.advice[0].key == "wall"


def test_things_that_stand_free_are_taken_off_exactly() -> None:
    motor = shapes.cylinder(0.06, 0.03)
    cells = shapes.box(0.12, 0.05, 0.03)
    vessel = box_boat(
        3.0,
        (0.3, 0.0, 0.03),
        *(thing("cells", (0.2, 0.0, 0.03), cells), thing("motor", (0.45, 0.0, 0.05), motor)),
    )
    [room] = dry_rooms(vessel, 0.002)
    inner = 0.596 * 0.116 * 0.096
    expected = inner - 0.12 * 0.05 * 0.03 - 0.25 * math.pi * 0.03**2 * 0.06
    assert room.volume_m3 == pytest.approx(expected, rel=1e-12)
    assert [entry.name for entry in room.contents] == ["cells", "motor"]
    # the polyhedron says the same but for the 240 sides of the motor
    assert float(room.whole.whole.volume()) == pytest.approx(expected, rel=1e-5)


def test_shared_room_counts_once_and_what_stands_out_not_at_all() -> None:
    """Cubes by hand: two of 40 mm that share 20 x 40 x 40 mm, one that stands half in the wall."""
    cube = shapes.box(0.04, 0.04, 0.04)
    inside = (
        thing("a", (0.2, 0.0, 0.05), cube),
        thing("b", (0.22, 0.0, 0.05), cube),
        thing("c", (0.598, 0.0, 0.05), cube),
    )
    [room] = dry_rooms(box_boat(3.0, (0.3, 0.0, 0.03), *inside), 0.002)
    both = 0.06 * 0.04 * 0.04
    poking = 0.02 * 0.04 * 0.04
    assert room.volume_m3 == pytest.approx(0.596 * 0.116 * 0.096 - both - poking, rel=1e-12)


def test_a_crowded_tube_is_what_manifold3d_says_alone() -> None:
    """The other route builds its own primitives, joins and subtracts them; only the count of sides is alike."""
    sides = 960

    def rod(length: float, wide: float, at: tuple[float, float, float]) -> manifold3d.Manifold:
        body = manifold3d.Manifold.cylinder(length, 0.5 * wide, 0.5 * wide, sides, True)
        return body.rotate((0.0, 90.0, 0.0)).translate(at)

    def block(size: tuple[float, float, float], at: tuple[float, float, float]) -> manifold3d.Manifold:
        return manifold3d.Manifold.cube(size, True).translate(at)

    other = rod(0.394, 0.074, (0.2, 0.0, 0.04)) - (
        rod(0.03, 0.075, (0.015, 0.0, 0.04))
        + block((0.1, 0.05, 0.03), (0.1, 0.0, 0.03))
        + block((0.1, 0.02, 0.06), (0.13, 0.01, 0.05))
        + rod(0.08, 0.04, (0.3, 0.0, 0.045))
    )
    inner = inner_of(shapes.cylinder(0.4, 0.08).moved((0.2, 0.0, 0.04)), 0.003)
    assert inner is not None
    things = [
        shapes.cylinder(0.03, 0.075).moved((0.015, 0.0, 0.04)),
        shapes.box(0.1, 0.05, 0.03).moved((0.1, 0.0, 0.03)),
        shapes.box(0.1, 0.02, 0.06).moved((0.13, 0.01, 0.05)),
        shapes.cylinder(0.08, 0.04).moved((0.3, 0.0, 0.045)),
    ]
    solid, whole, _ = room_in(inner, things)
    assert whole is not None
    assert solid.volume == pytest.approx(float(other.volume()), rel=3e-4)
    assert float(whole.whole.volume()) == pytest.approx(float(other.volume()), rel=3e-4)


def test_a_tank_in_the_part_takes_its_own_room_and_points_take_none() -> None:
    """The small vessel: tube 400 x 80 mm, battery 120 x 40 x 20 mm, tank 75 mm of 70 mm bore."""
    [room] = dry_rooms(small_vessel(), 0.003)
    inner = 0.25 * math.pi * 0.074**2 * 0.394
    tank = 0.25 * math.pi * 0.070**2 * 0.075
    battery_box = 0.12 * 0.04 * 0.02
    low = 0.022 - 0.01
    # the battery's lower corners reach into the wall: 20 mm out, the inner face stands at 0.05 - sqrt(0.037^2 - y^2)
    y = np.linspace(-0.02, 0.02, 200_001)
    outside = np.clip(0.05 - np.sqrt(0.037**2 - y**2) - low, 0.0, None)
    # the battery reaches 47.5 mm into the tank: what they share counts once
    shared = np.clip(0.032 - np.maximum(low, 0.05 - np.sqrt(0.035**2 - y**2)), 0.0, None)
    battery = battery_box - 0.12 * float(np.trapezoid(outside, y)) - 0.0475 * float(np.trapezoid(shared, y))
    expected = inner - tank - battery
    assert room.volume_m3 == pytest.approx(expected, rel=1e-4)
    assert dict(room.shapeless) == {"piston drive": 0.20, "electronics": 0.10, "motor": 0.18}


def test_slabs_add_up_and_halves_are_those_slabs() -> None:
    [room] = dry_rooms(small_vessel(), 0.003)
    aft, fore = room.ends_m
    for x in (0.3, 0.43, 0.5):
        behind, ahead = room.slab(aft - 1.0, x)[0], room.slab(x, fore + 1.0)[0]
        assert behind + ahead == pytest.approx(room.volume_m3, rel=1e-12)
        halves = room.divided(x)
        assert [half.volume for half in halves] == pytest.approx([behind, ahead], rel=3e-4)


def test_a_dry_part_without_a_shape_is_named() -> None:
    def shapeless(item: Item) -> Item:
        return replace(item, envelope=None) if item.kind == "dry" else item

    vessel = small_vessel()
    with pytest.raises(BoatError) as fault:
        dry_rooms(small_vessel(items=tuple(map(shapeless, vessel.items))))
    assert "cylinder" in fault.value.advice[0].what

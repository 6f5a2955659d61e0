"""What holds of any sealed part that fills: lift by weight, room within the body, shared room once."""

from dataclasses import replace

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from dabchick.model.advice import BoatError
from dabchick.model.vessel import Vessel
from dabchick.physics import shapes
from dabchick.physics.solid import Solid
from dabchick.studies import leak
from dabchick.studies.leak_room import dry_rooms
from tests.support.leaking import of_bodies, thing
from tests.support.random_boats import numbers, steady
from tests.support.vessels import item

few = settings(parent=steady, max_examples=6)
"""Each is a whole study."""


@st.composite
def bodies(draw: st.DrawFn, least: float, most: float, kinds: tuple[str, ...]) -> Solid:
    """A body of one of these kinds and of some size."""
    length = draw(numbers(3.0 * least, 3.0 * most))
    wide = draw(numbers(least, most))
    kind = draw(st.sampled_from(kinds))
    return {
        "cylinder": lambda: shapes.cylinder(length, wide),
        "capsule": lambda: shapes.capsule(max(length, 1.2 * wide), wide),
        "cone": lambda: shapes.cone(length, wide, 0.4 * wide),
        "box": lambda: shapes.box(length, wide, 0.7 * wide),
    }[kind]()


@st.composite
def leaking(draw: st.DrawFn) -> Vessel:
    """A dry part with things in it that may overlap and stick out, on a keel that may be light or heavy."""
    body = draw(bodies(0.05, 0.12, ("cylinder", "capsule", "cone", "box")))
    inside = []
    for number in range(draw(st.integers(0, 4))):
        at = (draw(numbers(-0.12, 0.12)), draw(numbers(-0.03, 0.03)), draw(numbers(-0.03, 0.03)))
        mass = draw(numbers(0.01, 0.2))
        inside.append(
            thing(f"thing {number}", at, draw(bodies(0.01, 0.05, ("cylinder", "cone", "box"))), "pot", mass)
        )
    share = draw(numbers(0.1, 1.1))
    pot = item("pot", "dry", share * 998.2 * body.volume, (0.0, 0.0, 0.0), body)
    at = (draw(numbers(-0.05, 0.05)), draw(numbers(-0.01, 0.01)), draw(numbers(-0.03, 0.01)))
    keel_at = (draw(numbers(-0.1, 0.1)), draw(numbers(-0.01, 0.01)), -0.08)
    keel = item("keel", "lead", draw(numbers(0.05, 0.5)), keel_at, shapes.box(0.1, 0.02, 0.01))
    return of_bodies((replace(pot, centre_m=at), keel, *inside), body)


@few
@given(leaking(), numbers(0.001, 0.008))
def test_of_any_leak(vessel: Vessel, wall: float) -> None:
    try:
        result = leak.run(vessel, wall_m=wall)
    except BoatError:
        # walls and contents leave no room at all
        reject()
    part, rho = result.chosen, result.water_density_kg_m3
    assert 0.0 < part.room_m3 < part.body_m3
    lift = result.reserves[0].lift_kg.value
    assert part.reserve_m3 == pytest.approx(min(part.room_m3, max(lift, 0.0) / rho), rel=1e-9, abs=1e-15)
    assert part.floods_wholly == (lift > rho * part.room_m3 and lift > 0.0)
    for stage in result.stages:
        assert lift - stage.afloat.lift_kg.value == pytest.approx(rho * stage.water_m3, abs=1e-11)
        assert stage.free_surface_afloat_m >= -1e-12
        assert stage.free_surface_dived_m >= -1e-12
    waters = [event.water_m3 for event in part.events]
    assert waters == sorted(waters)
    assert all(0.0 <= water <= part.reserve_m3 * (1.0 + 1e-12) for water in waters)
    for alarm in part.alarms:
        assert all(0.0 <= row.water_m3 <= part.room_m3 for row in alarm.wettings)


@few
@given(leaking())
def test_a_thing_listed_twice_takes_its_room_once(vessel: Vessel) -> None:
    """Also: both forms of the room, exact sum and polyhedron, hold the same."""
    twice = tuple(
        replace(entry, name=f"{entry.name} again") for entry in vessel.items if entry.kind == "inside"
    )
    try:
        [room] = dry_rooms(vessel, 0.002)
    except BoatError:
        reject()
    [again] = dry_rooms(replace(vessel, items=(*vessel.items, *twice)), 0.002)
    assert again.volume_m3 == pytest.approx(room.volume_m3, rel=1e-3)
    assert float(room.whole.whole.volume()) == pytest.approx(room.volume_m3, rel=1e-3)
